"""What forms let in is what the library that judges would make of it; all else is left to that."""

from __future__ import annotations

import math
import pickle
from dataclasses import FrozenInstanceError, fields
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import TabtermError
from tabterm.forms import DoubtError, _annotation, form_of
from tabterm.judge import UnfitError, judged
from tabterm.piece.configuration import Configuration, OutputSettings
from tabterm.piece.practice import Practice
from tabterm.piece.recorded import Recorded
from tabterm.recording.timemap import TimeMap
from tabterm.score.duration import Duration
from tabterm.score.model import Event, Head, Note, Score
from tabterm.score.place import Place
from tabterm.sheet.layout import Layout
from tabterm.values import Value, plain, read_value
from tabterm.workspace.practice_file import Kept
from tests.strategies import scores
from tests.thorough import many

NUMBERS = [True, False, 0, 1, 2, 3, 8, 50, 100, -1, 128, 10**20, 0.0, 1.5, 143.0, 1e9, math.nan, math.inf]
TEXTS = ["", "x", "8.", "4", "3/2", "3/0", "1/4=96", "C", "G", "G\n", "G 7", "1m", "\u2028", "\ud800", "x" * 41]
TEXTS += ["x" * 501, "x" * 2001, "up", "down", "struck", "off", "solo", "written", "beat", "tab", "auto", "single"]
LISTS = [[], [1], [1, 2], [1.0, 2.0], [4, 3, 3], ["x"], [None], [[]], [["solo", 80]], [{"measure": 0, "at_s": 0}]]
LISTS += [[{"course": 2, "fret": 0}], [{"duration": "4"}], [{"duration": "4", "notes": [{}]}], [{"pitch": 60}]]
TABLES = [{}, {"x": 1}, {"x": {}}, {"course": 1, "fret": 2}, {"duration": "4"}, {"strokes": 9}, {"cents": 5}]
TABLES += [{"measure": 0}, {"measure": 1, "offset": "1/2"}, {"measure": 2, "later": 1}, {"auto": {}}, {"unit": 8}]
TABLES += [{"x": {"y": "z"}}, {"solo": 12}]
ODD = [None, *NUMBERS, *TEXTS, *LISTS, *TABLES]


def kinds():
    """Every kind of value, and the dataclasses that stand in side files."""
    found = [Place, Practice, *Value.__subclasses__()]
    for kind in found:
        found += [each for each in kind.__subclasses__() if each not in found]
    return [kind for kind in found if kind.__module__.startswith("tabterm")]


def outcome(make, *arguments, **options):
    try:
        return make(*arguments, **options)
    except (UnfitError, TabtermError):
        return "refused"


FIELDS = {
    (kind.__name__, each.name): _annotation(kind, each.name)
    for kind in kinds()
    for each in fields(kind)
    if each.init
}


def test_all_kinds_are_looked_at():
    assert {Score, Head, Configuration, OutputSettings, TimeMap, Recorded, Layout, Kept, Practice} <= set(kinds())
    assert len(FIELDS) > 150


def test_no_form_takes_what_the_library_refuses_or_makes_something_else_of():
    taken, seen = 0, []
    for place, annotation in FIELDS.items():
        if annotation in seen:
            continue
        seen.append(annotation)
        form = form_of(annotation)
        for odd in ODD:
            try:
                value = form(odd)
            except (DoubtError, ValueError, TabtermError):
                continue
            taken += 1
            for strict in (False, True):
                by_the_library = outcome(judged, annotation, odd, strict=strict)
                assert (value, type(value)) == (by_the_library, type(by_the_library)), (place, odd, strict)
    assert taken > 300


@st.composite
def damaged(draw):
    """The plain data of a score, with something odd at one place."""
    data = plain(draw(scores(max_measures=1)))
    owner, key = data, "measures"
    while True:
        inside = owner[key]
        keys = (
            list(inside)
            if isinstance(inside, dict)
            else list(range(len(inside)))
            if isinstance(inside, list)
            else []
        )
        if not keys or (owner is not data and draw(st.integers(0, 4)) == 0):
            break
        owner, key = inside, draw(st.sampled_from(keys))
    if isinstance(owner, dict) and draw(st.integers(0, 3)) == 0:
        owner["colour"] = 1
    else:
        owner[key] = draw(st.sampled_from(ODD))
    return data


@settings(max_examples=many(30, 2000), deadline=None)
@given(damaged())
def test_a_score_with_something_odd_in_it_is_read_as_the_library_reads_it(data):
    read = outcome(read_value, Score, data, strict=True)
    assert read == outcome(judged, Score, data, strict=True)
    assert read == "refused" or plain(read) == plain(judged(Score, data, strict=True))


@settings(max_examples=many(15, 400), deadline=None)
@given(scores(max_measures=3))
def test_what_we_write_is_plainly_right(score):
    assert form_of(Score)(plain(score)) == score
    assert form_of(Head)(plain(score.head, whole=True)) == score.head
    assert pickle.loads(pickle.dumps(score)) == score


def test_a_value_holds_what_differs_from_its_defaults():
    note = Note(course=2, fret=3, finger=None, tied=True)
    assert vars(note.with_(tied=False)) == {"course": 2, "fret": 3}
    assert repr(note) == "Note(course=2, fret=3, tied=True)"
    assert note == Note(course=2, fret=3, tied=True) != note.with_(fret=4)
    assert len({note, Note(course=2, fret=3, tied=True), note.with_(fret=4)}) == 2
    assert Event(duration=Duration.parse("4"), notes=[{"course": 2, "fret": 3, "tied": True}]).notes == (note,)
    with pytest.raises(FrozenInstanceError):
        del note.tied


@pytest.mark.parametrize(
    ("make", "said", "where"),
    [
        (lambda: Note(course=1), "is missing", ("fret",)),
        (lambda: Note(course=1, fret="2x"), "not a whole number", ("fret",)),
        (lambda: Note(course=1, fret=2, colour=1), "not known here", ("colour",)),
        (lambda: Score(measures=({"events": [{"duration": "1", "notes": [{"course": 1}]}]},)), "is missing", None),
        (lambda: read_value(Head, {"hand": 3}), "not a table", ("hand",)),
        (
            lambda: TimeMap(anchors=[{"measure": 1, "at_s": 2}, {"measure": 0, "at_s": 3}]),
            "the anchors of a map",
            (),
        ),
    ],
)
def test_what_cannot_be_says_so_in_our_words(make, said, where):
    with pytest.raises(UnfitError, match=said) as caught:
        make()
    assert caught.value.where == (("measures", 0, "events", 0, "notes", 0, "fret") if where is None else where)


def test_what_is_not_plainly_right_and_can_be_mended_is():
    note = Note(course="1", fret=2.0)
    assert (note.course, note.fret) == (1, 2)
    assert read_value(Place, {"measure": "3", "offset": "1/2"}) == Place(3, Fraction(1, 2))
