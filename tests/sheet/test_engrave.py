"""Every note of a score stands on its page: the right digit on the right line, the right pitch, in order."""

from __future__ import annotations

import pytest

from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tests.sheet.drawn import NATIVE, lines, opened, shown

CROSS = "\N{MULTIPLICATION SIGN}"


def digits_on(pages):
    """Course and text of every digit as it stands on the lines, system by system from left to right."""
    found = []
    for page in pages:
        staves, digits = lines(page.svg, "courses"), [each for each in shown(page.svg) if each.kind == "digit"]
        for staff in staves:
            middles = [(each.x, each.y - 0.67 * each.scale / 2, each.text) for each in digits]
            near = [each for each in middles if staff[0] - 0.5 < each[1] < staff[-1] + 0.5]
            placed = [(x, min(range(4), key=lambda at, y=y: abs(staff[at] - y)), y, text) for x, y, text in near]
            assert all(abs(staff[course] - y) < 0.15 for _, course, y, _ in placed)
            found += [(course + 1, text) for _, course, _, text in sorted(placed, key=lambda each: each[0])]
    return found


def digits_of(score):
    """The same of a score, the notes of a chord in any order."""
    for measure in score.measures:
        for event in measure.events:
            yield [
                (note.course, "\N{MULTIPLICATION SIGN}" if note.muted else str(note.fret)) for note in event.notes
            ]


@pytest.mark.parametrize("path", NATIVE, ids=lambda path: path.stem)
def test_every_digit_of_a_sample_stands_on_its_course_in_order(path):
    score = opened(path)
    found = digits_on(engrave(score).pages)
    for chord in digits_of(score):
        drawn, found = found[: len(chord)], found[len(chord) :]
        assert sorted(drawn) == sorted(chord)
    assert found == []


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
