"""No sign of a page touches another: all boxes of scores of chance with every sign there is, in every layout."""

from __future__ import annotations

import pytest

from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tests.sheet.drawn import NATIVE, opened
from tests.sheet.generated import score
from tests.sheet.touching import touching
from tests.thorough import many

ALL_ROWS = ("remark", "chord", "count", "finger", "stroke", "degree", "class")
LAYOUTS = (
    Layout(),
    Layout(parts="tab"),
    Layout(parts="notation"),
    Layout(parts="lead", rows=("chord",), paper="letter"),
    Layout(large=True, landscape=True),
    Layout(original=True),
    Layout(rows=ALL_ROWS, silent_strokes=True),
    Layout(parts="tab", rows=ALL_ROWS, margin_mm=25, excerpt_width_mm=150),
)


def assert_free(drawn, layout):
    for page in engrave(drawn, layout).pages:
        assert touching(page) == []
        for sign in page.signs:
            x, y, width, height = sign.box
            assert min(x, y) > -0.5, sign
            assert x + width < page.width_mm + 0.5, sign
            assert y + height < page.height_mm + 0.5, sign


@pytest.mark.parametrize("seed", range(30))
def test_no_sign_touches_another_in_a_score_of_chance(seed):
    assert_free(score(seed, many(6, 14)), LAYOUTS[seed % len(LAYOUTS)])


@pytest.mark.parametrize("path", NATIVE, ids=lambda path: path.stem)
def test_no_sign_touches_another_in_a_sample(path):
    for layout in LAYOUTS[: many(2, len(LAYOUTS))]:
        assert_free(opened(path), layout)
