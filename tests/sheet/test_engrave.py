"""What an engraving is as a whole: the same bytes, excerpts, breaks, pages."""

from __future__ import annotations

import pytest

from tabterm.instrument import preset
from tabterm.score.kinds import Break
from tabterm.score.model import Head, Score
from tabterm.score.operations import set_section
from tabterm.score.place import display_number
from tabterm.sheet.engrave import engrave
from tabterm.sheet.ink import Glyph, Group
from tabterm.sheet.layout import Layout
from tabterm.sheet.rows import with_accidentals
from tests.build import measure, music
from tests.build import score as build
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


def systems(page):
    """Left and right end of each system of a page, in mm, from top to bottom."""
    ends = [sign.box for sign in page.signs if sign.kind == "courses"]
    return [(x, x + width) for x, _, width, _ in sorted(ends, key=lambda box: box[1])]


def test_systems_are_as_wide_as_the_line_and_the_last_is_not_stretched():
    score = set_section(music(" | ".join(["8 2.0, 8 2.2, 8 2.3, 8 2.5, 4 1.0, 4 1.2"] * 9)), 8, "Tag")
    lines = [ends for page in engrave(score).pages for ends in systems(page)]
    assert all(ends == pytest.approx((15, 195), abs=0.2) for ends in lines[:-1])
    assert lines[-1][1] < 15 + 0.7 * 180


def test_a_break_that_is_set_begins_a_system_or_a_page():
    plain = measure("4 2.0, 4 2.2, 4 2.3, 4 2.5")
    score = build(
        plain, plain.with_(break_before=Break.SYSTEM), plain, plain.with_(break_before=Break.PAGE), plain
    )
    pages = engrave(score).pages
    assert [len(systems(page)) for page in pages] == [2, 1]
    assert [min(sign.measure for sign in page.signs if sign.kind == "digit") for page in pages] == [0, 3]


def last_measure(page):
    """Index of the last measure of a page."""
    return max(sign.measure for sign in page.signs if sign.kind == "digit")


def test_a_page_ends_with_a_rest_where_it_can():
    plain = ["4 2.0, 4 2.2, 4 2.3, 4 2.5"] * 88
    full = last_measure(engrave(music(" | ".join(plain))).pages[0])
    early = full - 4
    rested = [*plain[:early], "4 2.0, 4 2.2, 2", *plain[early + 1 :]]
    assert last_measure(engrave(music(" | ".join(rested))).pages[0]) == early


def test_measures_have_the_numbers_of_the_editor_and_pages_the_title():
    score = music("< 8 2.0 | " + " | ".join(["8 2.0, 8 2.2, 8 2.3, 8 2.5, 4 1.0, 4 1.2"] * 60), title="Long Ferry")
    pages = engrave(score).pages
    for page in pages:
        for sign in page.signs:
            if sign.kind == "number":
                assert int(sign.text) == display_number(score, sign.measure)
        assert [sign.text for sign in page.signs if sign.kind == "running-title"] == ["Long Ferry"]
    assert [sign.text for page in pages for sign in page.signs if sign.kind == "page-number"] == [
        f"{number} / {len(pages)}" for number in range(1, len(pages) + 1)
    ]


def test_progress_goes_up_to_all_measures():
    told = []
    engrave(music(" | ".join(["1 2.0"] * 20)), progress=lambda done, count: told.append((done, count)))
    assert told == sorted(told)
    assert told[-1] == (20, 20)


def test_sections_are_found_on_their_pages():
    plain = measure("4 2.0, 4 2.2, 4 2.3, 4 2.5")
    score = build(plain.with_(section="A"), plain.with_(section="B", break_before=Break.PAGE))
    assert [(name, page) for name, page, _ in engrave(score).sections] == [("A", 0), ("B", 1)]


def test_tuning_is_named_where_it_is_not_the_usual_one():
    def tunings(word):
        score = Score(head=Head(instrument=preset(word)), measures=(measure("1 2.0"),))
        return [sign.text for sign in engrave(score).pages[0].signs if sign.kind == "tuning"]

    assert tunings("mandolin") == []
    assert tunings("tenor-banjo") == ["Tenor banjo: C3 G3 D4 A4"]


def test_a_measure_that_is_wider_than_the_paper_is_made_smaller():
    score = music(", ".join(["64 1.12 2.14 3.13"] * 64))
    (page,) = engrave(score, Layout(large=True, margin_mm=50)).pages
    assert all(sign.box[0] + sign.box[2] <= 210 - 49 for sign in page.signs)


@pytest.mark.parametrize("path", NATIVE, ids=lambda path: path.stem)
def test_no_line_holds_a_pickup_or_a_stretched_measure_alone(path):
    score = opened(path)
    for page in engrave(score, Layout(parts="lead", large=True)).pages:
        tops = sorted(sign.box[1] for sign in page.signs if sign.kind == "staff")
        held = [set() for _ in tops]
        for sign in page.signs:
            if sign.kind == "notehead":
                held[min(range(len(tops)), key=lambda at, y=sign.box[1]: abs(tops[at] + 5 - y))].add(sign.measure)
        assert min(map(len, held)) > 1


def test_words_stay_inside_the_line_and_off_the_next_ones():
    wordy = measure("4 2.0, 4 2.2, 4 2.3, 4 2.5", section="W" * 40, remark="keep it low " * 30)
    page = engrave(build(*[wordy] * 4), Layout(parts="lead", large=True)).pages[0]
    assert all(sign.box[0] > 14.7 and sign.box[0] + sign.box[2] < 195.3 for sign in page.signs)
    remarks = [sign for sign in page.signs if sign.kind == "remark"]
    starts = {sign.measure: sign.box[0] for sign in remarks}
    for sign in remarks:
        assert sign.box[0] + sign.box[2] <= starts.get(sign.measure + 1, 0) or starts.get(sign.measure + 1, 0) < 20


def test_a_tie_into_another_system_is_two_half_arcs():
    held = build("1 2.0", measure("1 (2.0", break_before=Break.SYSTEM))
    here = build("1 2.0", "1 (2.0")
    arcs = [[sign.box for sign in engrave(each).pages[0].signs if sign.kind == "tie"] for each in (held, here)]
    assert list(map(len, arcs)) == [2, 1]
    above, below = arcs[0]
    assert above[1] < below[1]


def test_measures_that_are_not_there_are_refused():
    with pytest.raises(IndexError, match="no measures 3 to 9"):
        engrave(music("1 2.0"), Layout(measures=(3, 9)))


@pytest.mark.parametrize(
    ("text", "signs"), [("bVII", 1), ("V7/bVI", 1), ("#ivdim7", 1), ("subV7/I", 0), ("7susb9", 1)]
)
def test_a_numeral_has_its_accidental_as_a_sign_of_music(text, signs):
    drawn = with_accidentals(text, 0.0, 0.0, 3.0)
    parts = drawn.parts if isinstance(drawn, Group) else (drawn,)
    assert sum(isinstance(part, Glyph) for part in parts) == signs
