"""Pages look as they did: drawn from the PDF by PDFium, beside pictures that were looked at."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from tests.sheet import golden
from tests.test_docs import ROOT, make

TOLERANCE = 0.0005
"""Share of blocks that may differ: PDFium draws edges a little otherwise from release to release; tuned here."""


@pytest.mark.parametrize("name", golden.PAGES)
def test_a_page_looks_as_it_did(name):
    assert golden.distance(golden.drawn(name), golden.kept(name)) <= TOLERANCE, (
        "look at the page; if it is better now: python -m tests.sheet.golden"
    )


def test_a_page_that_looks_otherwise_is_seen():
    picture = golden.kept("both")
    moved, gone = np.roll(picture, 1, axis=0), picture.copy()
    gone[150:200, 60:110] = 255
    assert golden.distance(picture, moved) > 10 * TOLERANCE
    assert golden.distance(picture, gone) > TOLERANCE
    assert golden.distance(picture, picture[1:]) == 1.0


def test_the_picture_of_the_sheet_is_that_of_today():
    made, kept = (
        np.asarray(Image.open(io.BytesIO(each)).convert("L"))
        for each in (make.sheet_picture(), (ROOT / "docs" / "sheet.png").read_bytes())
    )
    assert golden.distance(made, kept) <= TOLERANCE, "python docs/make.py sheet-picture"
