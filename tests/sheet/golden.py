"""Pictures of pages as PDFium draws them: `python -m tests.sheet.golden` makes those beside this file anew.

Look at each of them before it is kept.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image

from tabterm.formats import native
from tabterm.piece.sheet import laid_out
from tabterm.sheet.engrave import engrave
from tabterm.sheet.files import written

FOLDER = Path(__file__).parent / "golden"
SAMPLES = Path(__file__).parents[2] / "samples"
DPI = 60
GREYS = 16

PAGES = {
    "both": ("quarry-road-breakdown", {}),
    "tab": ("lantern-waltz", {"parts": "tab", "large": True, "landscape": True, "silent_strokes": True}),
    "notation": ("ferrymans-jig", {"parts": "notation", "rows": ("chord", "degree")}),
    "lead": ("cinder-lane-two-step", {"parts": "lead", "paper": "letter"}),
}
"""Of each picture: the sample, with the fingers and strokes of its file, and how it is laid out; a first page."""


def drawn(name):
    """The first page of a sheet, drawn from its PDF; grey values by row and column."""
    sample, told = PAGES[name]
    score = native.read((SAMPLES / f"{sample}.tabterm").read_bytes())
    sheet = engrave(score, laid_out(score, **{"paper": "a4"} | told))
    return picture(written(sheet, score, ".pdf", 0).files[0])


def picture(pdf):
    """The first page of a PDF; grey values by row and column."""
    page = pypdfium2.PdfDocument(io.BytesIO(pdf))[0]
    return page.render(scale=DPI / 72, grayscale=True).to_numpy().copy()


def kept(name):
    """The picture that is kept."""
    with Image.open(FOLDER / f"{name}.png") as image:
        return np.asarray(image.convert("L"))


def distance(one, other):
    """How far two pictures are apart: the share of blocks of 4 by 4 dots that differ by more than 24 of 255."""
    if one.shape != other.shape:
        return 1.0
    height, width = (side // 4 * 4 for side in one.shape)
    blocks = [
        each[:height, :width].astype(float).reshape(height // 4, 4, width // 4, 4).mean(axis=(1, 3))
        for each in (one, other)
    ]
    return float((np.abs(blocks[0] - blocks[1]) > 24).mean())


def main():
    """Write every picture."""
    FOLDER.mkdir(exist_ok=True)
    for name in PAGES:
        file = FOLDER / f"{name}.png"
        Image.fromarray(drawn(name)).quantize(GREYS).save(file, optimize=True)
        print(file, file.stat().st_size)


if __name__ == "__main__":
    main()
