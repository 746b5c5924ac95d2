"""Notes cut into tied parts, and tied parts put together again."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.score import operations as do
from tabterm.score.duration import Duration
from tabterm.score.kinds import Direction, Stroke
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Measure, Note, Score
from tabterm.score.operations.draft import MeasureDraft
from tabterm.score.operations.timeline import Mould, in_parts, lay, rest_measure
from tabterm.score.source import Bend
from tests.build import music, place, text

HALF = Duration.parse("2")
RICH = Event(
    duration=Duration.parse("1"),
    notes=(
        Note(course=1, fret=3, finger=2, slide_in=Direction.UP, slide_out=Direction.DOWN, ring=True),
        Note(course=2, fret=5, bend=Bend(cents=50), vibrato=True),
        Note(course=3, fret=2, muted=True),
    ),
    stroke=Stroke.UP,
    tremolo=True,
    accent=True,
    staccato=True,
    roll=Direction.UP,
    grace=(Note(course=1, fret=2),),
)


def test_each_mark_stands_at_its_end_of_a_note_in_parts():
    first, middle, last = in_parts(RICH, [HALF, HALF, HALF])
    high, bent, dead = RICH.notes
    assert first == RICH.with_(duration=HALF, notes=(high.with_(slide_out=None), bent, dead))
    held = (high.with_(slide_in=None, slide_out=None, tied=True), bent.with_(bend=None, tied=True))
    assert middle == Event(duration=HALF, notes=held, tremolo=True)
    assert last == middle.with_(notes=(held[0].with_(slide_out=Direction.DOWN), held[1]))


def sounding(*events):
    """A score of one measure in 4/4 for each event of a whole note."""
    return Score(measures=tuple(Measure(events=(event,)) for event in events))


def test_parts_are_one_note_again_when_the_bar_lines_go():
    event = RICH.with_(notes=RICH.notes[:2])
    halves = do.set_metre(sounding(event), 0, Metre.parse("2/4"))
    assert len(halves.measures) == 2
    assert do.set_metre(halves, 0, Metre.parse("4/4")) == sounding(event)


@pytest.mark.parametrize(
    "changes",
    [
        {"tremolo": True},
        {"stroke": Stroke.DOWN},
        {"accent": True},
        {"staccato": True},
        {"roll": Direction.UP},
        {"grace": (Note(course=2, fret=2),)},
        {"notes": (Note(course=2, fret=3, tied=True, vibrato=True),)},
        {"notes": (Note(course=2, fret=3, tied=True, ring=True),)},
        {"notes": (Note(course=2, fret=3, tied=True, bend=Bend()),)},
        {"notes": (Note(course=2, fret=3, tied=True, finger=1),)},
        {"notes": (Note(course=1, fret=0), Note(course=2, fret=3, tied=True))},
    ],
)
def test_a_tied_note_with_something_of_its_own_stays_apart(changes):
    score = music("2 2.3 | 2 (2.3", "2/4")
    first, second = score.measures
    marked = second.with_(events=(second.events[0].with_(**changes),))
    after = do.set_metre(score.with_(measures=(first, marked)), 0, Metre.parse("4/4"))
    assert after.measures[0].events[1] == marked.events[0]
    assert text(do.set_metre(score, 0, Metre.parse("4/4"))) == "1 2.3"


def test_what_the_program_proposes_keeps_no_parts_apart():
    score = music("2 2.3 | 2 (2.3", "2/4")
    first, second = score.measures
    (event,) = second.events
    proposed = event.with_(notes=(event.notes[0].with_(proposed_finger=3),))
    score = score.with_(measures=(first, second.with_(events=(proposed,))))
    assert text(do.set_metre(score, 0, Metre.parse("4/4"))) == "1 2.3"


def test_a_note_cut_short_keeps_the_slide_off_at_its_new_end():
    score = do.set_slide_out(music("1 2.3"), place(1), 2, Direction.DOWN)
    after = do.write(score, place(1, "5/2"), Duration.parse("8"))
    assert text(after) == "2 2.3, 8 (2.3, 8, 4"
    assert [event.notes[0].slide_out for event in after.measures[0].events[:2]] == [None, Direction.DOWN]


def test_a_long_silence_leaves_silent_measures_as_they_are_and_ends_with_them():
    metre = Metre.parse("3/4")
    silent = rest_measure(metre)
    assert (
        lay([Mould(silent, metre)] * 4, Fraction(0), [(None, 2 * metre.length)]) == [MeasureDraft.of(silent)] * 2
    )
