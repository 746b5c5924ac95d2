"""Small passages for the left hand: on a short neck, with everything that ties one note to the next."""

from __future__ import annotations

from hypothesis import Phase, settings
from hypothesis import strategies as st

from tabterm.instrument import PRESETS
from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.operations.spelling import spell
from tabterm.score.source import Bend
from tabterm.score.tempo import Tempo

SEEDED = settings(deadline=None, derandomize=True, database=None, phases=[Phase.explicit, Phase.generate])
"""The same examples each time; a failing one is not made smaller, since each of them is small."""

SHORT_NECK = PRESETS["mandolin"].with_(frets=7)


@st.composite
def passages(draw, most=6, instrument=SHORT_NECK, pins=True):
    """A score of at most so many sounding events in one measure each of eighths or quarters."""
    events: list[Event] = []
    before: Event | None = None
    for _ in range(draw(st.integers(1, most))):
        value = Duration.parse(draw(st.sampled_from(["8", "4", "16"])))
        courses = draw(
            st.lists(st.integers(1, 4), unique=True, min_size=1, max_size=draw(st.sampled_from([1, 1, 2])))
        )
        before = Event(
            duration=value, notes=tuple(draw(_note(c, before, instrument, pins)) for c in sorted(courses))
        )
        events.append(before)
    return one_line(events, instrument, draw(st.sampled_from([60.0, 104.0, 160.0])))


@st.composite
def _note(draw, course, before, instrument, pins):
    partner = before.on_course(course) if before else None
    how = draw(st.integers(0, 5))
    finger = draw(st.none() | st.integers(1, 4)) if pins and draw(st.integers(0, 3)) == 0 else None
    fret = draw(st.integers(0, instrument.frets))
    note = Note(course=course, fret=fret, finger=finger if fret else None)
    if partner is None or how > 2:
        marks = {"ring": draw(st.booleans()), "bend": Bend() if draw(st.booleans()) else None}
        return note.with_(**marks) if how == 5 else note
    if how == 0:
        return Note(course=course, fret=partner.fret, tied=True)
    if how == 1:
        return note.with_(reached=Reached.SLIDE)
    return note.with_(reached=Reached.HAMMER if fret > partner.fret else Reached.PULL)


def one_line(events, instrument, tempo):
    """A score of one long measure in a metre that holds the events."""
    from tabterm.score.metre import Metre

    total = sum(event.length for event in events)
    count = int(total * 4) + 1
    metre = Metre.parse(f"{count}/16")
    rest = metre.length - total
    filled = [*events, *(Event(duration=value) for value in spell(total, rest, metre))]
    head = Head(instrument=instrument, metre=metre, tempo=Tempo(tempo))
    return Score(head=head, measures=(Measure(events=tuple(filled)),))
