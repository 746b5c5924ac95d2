"""The page of the advice shows how far chords and bends agree with what a student is told."""

from __future__ import annotations

from pathlib import Path

from tests.hand import chords

PAGE = Path(__file__).parents[2] / "docs" / "judgement.md"


def test_the_page_has_the_table_of_chords_as_it_is_counted_now():
    page = PAGE.read_text(encoding="utf-8")
    for each in chords.table():
        assert str(each) in page, "run `python -m tests.hand.chords`"
        assert each.right >= each.before
