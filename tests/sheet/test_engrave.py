"""What an engraving is as a whole: the same bytes, excerpts, breaks, pages."""

from __future__ import annotations

from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tests.sheet.drawn import NATIVE, opened


def test_the_same_score_gives_the_same_bytes():
    score = opened(NATIVE[0])
    assert engrave(score) == engrave(score)


def test_an_excerpt_has_its_width_the_height_of_its_ink_and_no_title():
    score = opened(NATIVE[-1])
    (page,) = engrave(score, Layout(excerpt_width_mm=120, measures=(1, 4))).pages
    assert page.width_mm == 120
    assert {sign.measure for sign in page.signs if sign.kind == "digit"} == {1, 2, 3, 4}
    assert not any(sign.kind in {"title", "page-number"} for sign in page.signs)
    assert all(
        x >= 0 and x + w <= 120 and y >= 0 and y + h <= page.height_mm for _, (x, y, w, h), *_ in page.signs
    )
