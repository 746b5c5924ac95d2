"""Where phrases are: in tunes as a teacher parts them, and the same wherever the program speaks of them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

import tabterm
from tabterm.harmony.explaining import explained
from tabterm.harmony.phrases import phrase_ranges, phrases
from tabterm.piece.handout.phrases import phrases_of
from tabterm.score.operations import set_section
from tabterm.score.place import Place
from tests.build import PLAYER, music
from tests.typist import Typist

LISTED = Path("tests/harmony/phrases_of_tunes.txt").read_text(encoding="utf-8").splitlines()
TUNES = dict(line.split(": ") for line in LISTED if not line.startswith("#"))


def place(word):
    measure, _, offset = word.partition("+")
    return Place(int(measure), Fraction(offset or 0))


def starts(score):
    return [each.start for each in phrases(score)]


# What a teacher says of a solo: a rest of half a measure is a breath, as is a long note; a short rest is not.
@pytest.mark.parametrize(
    ("notes", "told"),
    [
        ("1 2.0 | 2 2.2, 2 | 1 2.0 | 1 2.2", "0 2"),
        ("1 2.0 | 4 2.2, 4, 4 2.0, 4 | 1 2.0 | 1 2.2", "0"),
        ("1 2.0 | 2, 4, 8 2.0, 8 2.2 | 1 2.3 | 1 2.5", "0 1+3"),
        ("1 2.0 | 4 2.2, 2, 4 2.0 | 1 2.2 | 1 2.0", "0 1+3"),
        ("1 2.0 | 1 (2.0 | 1 2.2 | 1 2.0", "0 2"),
    ],
)
def test_a_long_rest_or_a_long_note_is_a_breath(notes, told):
    assert starts(music(notes)) == [place(word) for word in told.split()]


def test_every_tune_is_listed():
    assert set(TUNES) == {path.stem for path in Path("samples/tunes").glob("*.tabterm")}


@pytest.mark.parametrize("tune", TUNES)
def test_a_tune_is_parted_as_a_teacher_parts_it(tune):
    score = tabterm.open(f"samples/tunes/{tune}.tabterm", player=tabterm.Player()).score
    assert starts(score) == [place(word) for word in TUNES[tune].split()]
    first = [each.measure + (each.offset > 0) for each in starts(score)]
    last = [*(each - 1 for each in first[1:]), len(score.measures) - 1]
    assert [*phrase_ranges(score)] == [*zip(first, last, strict=True)]


def test_a_section_of_one_measure_is_a_phrase_and_an_ending_is_not():
    tune = set_section(set_section(music("1 2.0 | 1 2.2 | 1 2.0 | 1 2.2"), 0, "A"), 3, "B")
    assert starts(tune) == [Place(0), Place(3)]
    ended = tune.with_(measures=(*tune.measures[:3], tune.measures[3].with_(section="", endings=(2,))))
    ends = ended.measures[2].with_(endings=(1,), repeat_times=2)
    assert starts(ended.with_(measures=(*ended.measures[:2], ends, ended.measures[3]))) == [Place(0)]


@pytest.mark.parametrize("tune", ["greensleeves", "soldiers-joy", "the-girl-i-left-behind-me"])
def test_the_editor_explain_and_the_handout_have_the_same_phrases(tune):
    score = tabterm.open(f"samples/tunes/{tune}.tabterm", player=PLAYER).fingered().score
    told = phrases(score)
    assert [each.phrase.span for each in explained(score)] == [*told]
    handed = [(each.first, each.last) for each in phrases_of(score, PLAYER)]
    assert [first for first, _ in handed] == [each.start.measure + (each.start.offset > 0) for each in told]
    selected = []
    for span in told:
        player = Typist(score)
        player.session.here.go(Place(span.start.measure + 1))
        player.press("P")
        assert player.session.here.selection() == player.session.here.target()
        selected.append(player.session.here.selection())
    assert selected == [*told]
