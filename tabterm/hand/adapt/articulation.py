"""Slurs and bends of the original: kept where course and fret allow them, else picked or left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.bends import bounds
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.hand.fingering import Solved
    from tabterm.hand.stops import Stop
    from tabterm.instrument import Instrument
    from tabterm.score.model import Note

HARD = 3.0  #: points; derived: AT_HARD of tabterm.hand.bands
"""Points of a reach that is hard; a slur that asks more is picked instead."""

WORDS = {Reached.HAMMER: "hammer-on", Reached.PULL: "pull-off", Reached.SLIDE: "slide"}

WIDEST = {Reached.HAMMER: 7, Reached.PULL: 7, Reached.SLIDE: 12}  #: semitones; common practice, no source
"""Semitones that a slur spans at most: from an open course to the little finger of first position, and an octave
for a slide."""


def reached_between(instrument: Instrument, before: Iterable[int], pitch: int, reached: Reached) -> Reached:
    """How a note can be reached from one of the pitches before it on one course; struck where it cannot.

    A hammer-on that goes down is a pull-off, and the other way round.
    """
    ways = (each for old in before if (each := _between(instrument, old, pitch, reached)) is not Reached.STRUCK)
    return next(ways, Reached.STRUCK)


def _between(instrument: Instrument, old: int, pitch: int, reached: Reached) -> Reached:
    if old == pitch or abs(old - pitch) > WIDEST[reached]:
        return Reached.STRUCK
    if reached is not Reached.SLIDE:
        reached = Reached.HAMMER if pitch > old else Reached.PULL
    lowest = {Reached.HAMMER: 0, Reached.PULL: 0, Reached.SLIDE: 1}[reached]
    for course in instrument.courses:
        low, high = sorted((old - course.pitch, pitch - course.pitch))
        if lowest <= low and high <= instrument.frets:
            return reached
    return Reached.STRUCK


def breaches(solved: Solved, number: int) -> str:
    """Why the slurs of an onset cannot be played as the search would have it; "" where they can."""
    onset, grip = solved.phrase[number], solved.holds[number].grip
    slurred = [stop for note, stop in zip(onset.notes, grip.notes, strict=True) if note.slurred]
    if not slurred or not number:
        return ""
    before = solved.holds[number - 1].grip.notes
    for stop, note in zip(grip.notes, onset.notes, strict=True):
        if note.slurred and (why := _against(before, stop, note.reached)):
            return why
    terms = solved.terms(number)
    return "it is too far to reach" if terms.get("law", 0.0) > 0 or terms.get("reach", 0.0) > HARD else ""


def _against(before: Sequence[Stop], stop: Stop, reached: Reached) -> str:
    source = next((old for old in before if old.course == stop.course), None)
    if source is None:
        return "the note before is on another course"
    if reached is Reached.SLIDE and not (source.fret and stop.fret):
        return f"a slide {'from' if not source.fret else 'to'} an open course"
    return "" if source.fret != stop.fret else "both notes are at one fret"


def bend_trouble(instrument: Instrument, note: Note) -> str:
    """Why a note is not bent as the original has it; "" where it can be with comfort, or is not bent."""
    if note.bend is None:
        return ""
    if not note.fret:
        return "an open course cannot be bent"
    limits, cents = bounds(instrument, note.course, note.fret), note.bend.cents
    if cents > limits.possible_cents:
        return f"the course bends by {limits.possible_cents:.0f} cents there, not {cents}"
    return "" if cents <= limits.comfortable_cents else f"{cents} cents is more than is comfortable there"
