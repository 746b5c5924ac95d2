"""Commands on note values: the step, and the rhythm of what is written."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from time import monotonic
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.duration import NOTE_VALUES, QUARTER, TRIPLET, TUPLETS, Duration, Tuplet
from tabterm.score.place import Place, display_number, lead_in
from tabterm.score.query import attack_of, whole_length
from tabterm.workspace.here import Beat, Rhythm
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.score.model import Score
    from tabterm.workspace.session import Session


@command(
    "step",
    "Set the step to a note value: 1, 2, 4 ... 64, dotted 8., tuplet 8(3:2)",
    Group.RHYTHM,
    asks="note value, such as 8, 4. or 8(3:2)",
)
def step(session: Session, text: str) -> None:
    """The note value that the next key writes and that the arrows move by."""
    _set_step(session, Duration.parse(text))


def _set_step(session: Session, value: Duration) -> None:
    """Take a note value for the next keys, whatever rhythm they were typed to."""
    session.next_note.step, session.next_note.rhythm, session.next_note.taps_s = value, None, ()


@command("longer-step", "Double the step", Group.RHYTHM)
def longer_step(session: Session) -> None:
    """The next longer note value."""
    _shift_step(session, -1)


@command("shorter-step", "Halve the step", Group.RHYTHM)
def shorter_step(session: Session) -> None:
    """The next shorter note value."""
    _shift_step(session, 1)


def _shift_step(session: Session, by: int) -> None:
    index = NOTE_VALUES.index(session.next_note.step.value) + by
    if not 0 <= index < len(NOTE_VALUES):
        raise ScoreError(
            f"the step is already the {'shortest' if by > 0 else 'longest'}", hint="whole note to 64th"
        )
    step = session.next_note.step
    _set_step(session, Duration(NOTE_VALUES[index], step.dots, step.tuplet))


@command("triplet-step", "Make the step a triplet, or plain again", Group.RHYTHM)
def triplet_step(session: Session) -> None:
    """Put the step in a 3:2 tuplet, or take it out of its tuplet."""
    step = session.next_note.step
    _set_step(session, step.in_tuplet(None if step.tuplet else TRIPLET))


@command("dotted-step", "Make the step dotted, or plain again", Group.RHYTHM)
def dotted_step(session: Session) -> None:
    """Dot the step, or take its dot away."""
    step = session.next_note.step
    _set_step(session, step.with_dots(0 if step.dots else 1))


@command(
    "rhythm-before",
    "Type pitches in the rhythm of the measure before, or by the step again",
    Group.RHYTHM,
    rows=Rows.COURSES,
)
def rhythm_before(session: Session) -> None:
    """Take the values of the notes from the measure before the cursor's, measure after measure."""
    if session.next_note.rhythm is not None:
        session.next_note.rhythm = None
        session.host.say("by the step again")
        return
    index = min(session.here.cursor.place.measure, len(session.score.measures)) - 1
    beats = beats_of(session.score, index) if index >= 0 else ()
    if not beats:
        raise ScoreError("the measure before has no notes", hint="write a rhythm first")
    period = session.score.measures[index].length
    take_rhythm(session, Rhythm(Place(index + 1), beats, period), f"m{display_number(session.score, index)}")


@command(
    "tap",
    "Tap a rhythm: each note and the end of the last; then type the pitches",
    Group.RHYTHM,
    rows=Rows.COURSES,
)
def tap(session: Session) -> None:
    """Take the time of a key; the first pitch typed makes a rhythm of the taps."""
    session.next_note.taps_s = (*session.next_note.taps_s, monotonic())
    count = len(session.next_note.taps_s)
    session.host.say("tapped once" if count == 1 else f"{count} taps: type {count - 1} pitches, or keep tapping")


def take_taps(session: Session) -> None:
    """Have the next pitches typed to what was tapped, at the tempo that it is played at here."""
    taps_s, session.next_note.taps_s = session.next_note.taps_s, ()
    if len(taps_s) < 2:
        return
    tempo = session.tempo()
    quarters = tempo.quarters_per_minute * session.transport.percent(tempo) / 100 / 60
    place = session.here.cursor.place
    start = place.offset + lead_in(session.score, place.measure)
    beats = tapped([(tap_s - taps_s[0]) * quarters for tap_s in taps_s], start % 1)
    if beats:
        take_rhythm(session, Rhythm(place, beats), "your taps")


GRIDS = (4, 3)
"""Parts of a quarter that taps are heard on: sixteenths, triplets."""

TRIPLET_GAIN = 0.6
"""Taps of a beat are triplets where they lie so much nearer to them, as part of their distance; tuned here."""

_VALUES = {
    each.length: each for value in (16, 8, 4, 2, 1) for each in (Duration(value), Duration(value, 0, TRIPLET))
}


def tapped(at: list[float], phase: Fraction) -> tuple[Beat, ...]:
    """The rhythm of taps, in quarters from the first one, which falls `phase` quarters after a beat.

    The taps of each beat are heard on the grid that they lie nearer to; the last one ends the last note.
    """
    onsets: dict[Fraction, None] = {}
    times = [tap + float(phase) for tap in at]
    early = 1 / (2 * max(GRIDS))
    for beat in sorted({math.floor(time + early) for time in times}):
        inside = [time - beat for time in times if math.floor(time + early) == beat]
        straight, triplets = ([Fraction(round(time * grid), grid) for time in inside] for grid in GRIDS)
        far = [
            sum(abs(time - float(at)) for time, at in zip(inside, each, strict=True))
            for each in (straight, triplets)
        ]
        for part in triplets if far[1] < TRIPLET_GAIN * far[0] else straight:
            onsets[beat + part] = None
    found = sorted(onsets)
    return tuple(
        Beat(start - found[0], end - start, _VALUES.get(end - start, QUARTER)) for start, end in pairwise(found)
    )


def beats_of(score: Score, index: int) -> tuple[Beat, ...]:
    """The rhythm of the notes that begin in a measure."""
    found = []
    for offset, event in score.measures[index].timed():
        place = Place(index, offset)
        if event.notes and attack_of(score, place) == (place, event):
            found.append(Beat(offset, whole_length(score, place), event.duration))
    return tuple(found)


def take_rhythm(session: Session, rhythm: Rhythm, name: str) -> None:
    """Have the next pitches typed to a rhythm, and go to its first beat from the cursor on."""
    place = session.here.cursor.place
    beat = rhythm.at(session.score, place)
    if beat is None:
        gap, beat = rhythm.after(session.score, place) or (Fraction(0), rhythm.beats[0])
        session.here.go_by(gap)
    session.next_note.rhythm, session.next_note.step = rhythm, beat.value
    session.host.say(f"the rhythm of {name}: type the pitches")


@command("dot", "Dot the note here or just written: once, twice, off", Group.RHYTHM, rows=Rows.NOTES)
def dot(session: Session) -> None:
    """Dot the event just written, or the one at the cursor."""
    place, _ = session.here.event_meant()
    moves = place != session.here.cursor.place
    dots = (do.value_of(session.score, place).dots + 1) % 3
    session.rework(do.set_dots(session.score, place, dots), "dot", quiet=True)
    if moves:
        session.here.go_behind(place)


@command("length", "Give the event here the length of the step", Group.RHYTHM, rows=Rows.NOTES)
def length(session: Session) -> None:
    """Set the duration of the event at the cursor to the step."""
    place, _ = session.here.event_meant()
    changed = do.set_duration(session.score, place, session.next_note.step)
    session.rework(changed, f"length 1/{session.next_note.step}", quiet=True)


@command(
    "tuplet",
    "Start a tuplet at the event here",
    Group.RHYTHM,
    rows=Rows.NOTES,
    asks="ratio, such as 3:2",
    choices=lambda _: tuple(map(str, TUPLETS)),
)
def tuplet(session: Session, ratio: str) -> None:
    """Turn the time from the event at the cursor into a tuplet of a ratio."""
    place, _ = session.here.event_meant()
    parsed = Tuplet.parse(ratio)
    session.rework(do.make_tuplet(session.score, place, parsed), f"tuplet {parsed}")


@command(
    "values",
    "Change the note values of this measure in order",
    Group.RHYTHM,
    asks="note values, such as 4 8 8 (they repeat; -4: a rest)",
)
def values(session: Session, text: str) -> None:
    """Correct the rhythm of a measure at once."""
    index = session.here.measures()[0]
    session.rework(do.set_values(session.score, index, text), f"values {text.strip()}")
    session.here.go(Place(index))


@command("split", "Split the event at the cursor, or in half", Group.RHYTHM, rows=Rows.NOTES)
def split(session: Session) -> None:
    """Strike the event again at the cursor or half-way."""
    session.rework(do.split(session.score, session.here.cursor.place), "split")


@command("join", "Join the event to the next one", Group.RHYTHM, rows=Rows.NOTES)
def join(session: Session) -> None:
    """Let the event take over the time of the next one."""
    session.rework(do.join(session.score, session.here.cursor.place), "join")
