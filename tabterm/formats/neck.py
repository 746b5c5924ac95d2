"""Notes of another instrument on the neck, for the time being: each on the lowest fret that is free.

A reader lays what it reads like this and keeps the pitches as written in `Measure.source`. `tabterm.hand.adapt`
makes from these what a hand plays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.model import Note, SourceEvent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.instrument import Instrument
    from tabterm.score.model import Event

MOST_NOTES = 4

LONGEST_SLUR = 4
"""Notes under a slur that a left hand still sounds; longer ones are phrases (common practice, no source)."""


def on_neck(instrument: Instrument, pitches: Sequence[int]) -> tuple[Note | None, ...]:
    """A struck note for each MIDI note number, in the order given; None for one that finds no course.

    A pitch beyond the neck is moved by octaves onto it. The highest pitch goes first, so that the melody finds
    a course; each course is used once, and the notes below go on lower courses.
    """
    placed: dict[int, Note] = {}
    course = 0
    for pitch in sorted({within(instrument, pitch) for pitch in pitches}, reverse=True):
        places = [place for place in instrument.places_of(pitch) if place[0] > course]
        if places and len(placed) < MOST_NOTES:
            course, fret = places[0]
            placed[pitch] = Note(course=course, fret=fret)
    return tuple([placed.pop(within(instrument, pitch), None) for pitch in pitches])


def within(instrument: Instrument, pitch: int) -> int:
    """The pitch, moved by as few octaves as bring it onto the neck; the neck's end where it has less than one."""
    lowest = min(course.pitch for course in instrument.courses)
    highest = max(course.pitch for course in instrument.courses) + instrument.frets
    if pitch < lowest:
        pitch += -(-(lowest - pitch) // 12) * 12
    elif pitch > highest:
        pitch -= -(-(pitch - highest) // 12) * 12
    return min(max(pitch, lowest), highest)


def source_of(events: Iterable[Event], pitches: Iterable[Sequence[int]]) -> tuple[SourceEvent, ...]:
    """The source line of a measure whose events have these pitches as written, one entry for each event."""
    return tuple(
        SourceEvent(
            duration=event.duration,
            pitches=tuple(sorted(each, reverse=True)),
            tied=bool(event.notes) and all(note.tied for note in event.notes),
        )
        for event, each in zip(events, pitches, strict=True)
    )
