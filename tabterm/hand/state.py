"""The hand at a moment: what is stopped, what rings on, and how far it reaches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.hand.reach import widest
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from tabterm.score.model import Note, Score
    from tabterm.score.place import Place

LOOK_BACK = 4
"""Measures that are searched for notes that still ring."""


@dataclass(frozen=True, slots=True)
class HandState:
    """What the left hand does at a moment.

    Attributes:
        fingers: Finger (None: not known), course and fret of each note that sounds from this event.
        sounding: Course and fret of notes that were let ring and sound still.
        reach_mm: The widest reach between two fingers, 0 where there is none.
        limit_mm: Up to where that reach is comfortable for this hand.
        verdict: What it asks, "" where there is no reach.
    """

    fingers: tuple[tuple[int | None, int, int], ...] = ()
    sounding: tuple[tuple[int, int], ...] = ()
    reach_mm: float = 0.0
    limit_mm: float = 0.0
    verdict: str = ""


def hand_at(score: Score, place: Place) -> HandState:
    """The hand at a place of the score."""
    found = event_at(score, place)
    if found is None:
        return HandState()
    onset, event = found
    ringing = ringing_at(score, onset)
    notes = [*event.notes, *(note for note in ringing if event.on_course(note.course) is None)]
    reach = widest(score.head, notes)
    return HandState(
        fingers=tuple((note.finger_shown, note.course, note.fret) for note in event.notes),
        sounding=tuple((note.course, note.fret) for note in ringing if event.on_course(note.course) is None),
        reach_mm=reach.reach_mm if reach else 0.0,
        limit_mm=reach.comfortable_mm if reach else 0.0,
        verdict=reach.verdict.value if reach else "",
    )


def ringing_at(score: Score, place: Place) -> list[Note]:
    """Notes let ring before a place and not yet cut off by another note on their course."""
    ringing: dict[int, Note | None] = {}
    for index in range(place.measure, max(place.measure - LOOK_BACK, -1), -1):
        for offset, event in reversed(tuple(score.measures[index].timed())):
            if index == place.measure and offset >= place.offset:
                continue
            for note in event.notes:
                ringing.setdefault(note.course, note if note.ring else None)
    return [note for note in ringing.values() if note is not None]
