"""Pairs: which notes are joined by a tie, a slur or a slide, and the chains that slurs make."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Note, Score

Place = tuple[int, int, int, int]
"""Measure, event, number of the grace note (-1: the event's own notes) and course."""


class Pair(NamedTuple):
    """Two notes that are joined: how the second is reached, or None for a tie."""

    start: Place
    end: Place
    reached: Reached | None


def pairs_of(score: Score) -> list[Pair]:
    """All ties and slurs of a score, in order."""
    pairs: list[Pair] = []
    last: list[tuple[Place, Note]] = []
    for index, measure in enumerate(score.measures):
        for number, event in enumerate(measure.events):
            before = last
            for grace, note in enumerate(event.grace):
                here = (index, number, grace, note.course)
                pairs += _reached(last, here, note)
                last = [(here, note)]
            for note in event.notes:
                here = (index, number, -1, note.course)
                if note.tied:
                    start = next((place for place, other in before if other.course == note.course), None)
                    pairs += [Pair(start, here, None)] if start else []
                pairs += _reached(last, here, note)
            last = [((index, number, -1, note.course), note) for note in event.notes]
    return pairs


def _reached(last: list[tuple[Place, Note]], here: Place, note: Note) -> list[Pair]:
    """The pair that a slurred note makes with the one before on its course, or else the highest before."""
    if not note.slurred or not last:
        return []
    start = next((place for place, other in last if other.course == note.course), last[0][0])
    return [Pair(start, here, note.reached)]


def chains(pairs: Iterable[Pair]) -> list[tuple[Place, Place]]:
    """Slurs: from the first note to the last of each chain of hammered and pulled notes, one to a moment."""
    found: list[list[Place]] = []
    for pair in pairs:
        if pair.reached in {None, Reached.SLIDE}:
            continue
        if found and found[-1][1][:3] == pair.end[:3] and found[-1][0][:3] <= pair.start[:3]:
            continue
        if found and found[-1][1][:3] == pair.start[:3]:
            found[-1][1] = pair.end
        else:
            found.append([pair.start, pair.end])
    return [(start, end) for start, end in found]
