"""Copying, cutting and pasting stretches of music."""

from __future__ import annotations

from fractions import Fraction

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Event, Score
from tabterm.score.operations.chords import set_chord
from tabterm.score.operations.draft import struck
from tabterm.score.operations.entry import erase
from tabterm.score.operations.timeline import Piece, flatten, splice
from tabterm.score.place import Place, Span
from tabterm.score.query import distance, end_of, move_by
from tabterm.values import Quarters, Value


class ClipEvent(Value):
    """A copied event and how long it lasts, in quarters; no event: silence."""

    event: Event | None
    length: Quarters


class Clip(Value):
    """Copied music: its events in order and its chord symbols, by offset from its start."""

    events: tuple[ClipEvent, ...]
    chords: tuple[ChordMark, ...] = ()

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        return sum((each.length for each in self.events), Fraction(0))


def copy(score: Score, span: Span) -> Clip:
    """A copy of a span; raises ScoreError when it is empty.

    A note that came into the span tied or slurred from before it is struck in the copy when pasted elsewhere.
    """
    end = min(span.end, end_of(score))
    pieces = flatten(score, Span(span.start, end)) if span.start < end else []
    if not pieces:
        raise ScoreError("there is nothing to copy", hint="select some music first")
    chords = tuple(
        ChordMark(offset=distance(score, span.start, Place(index, mark.offset)), symbol=mark.symbol)
        for index in range(span.start.measure, min(end.measure + 1, len(score.measures)))
        for mark in score.measures[index].chords
        if span.start <= Place(index, mark.offset) < end
    )
    return Clip(
        events=tuple(
            ClipEvent(event=None if event is None or event.is_rest else event, length=length)
            for event, length in pieces
        ),
        chords=chords,
    )


def cut(score: Score, span: Span) -> tuple[Score, Clip]:
    """Take a span out, leaving silence, and give a copy of it."""
    return erase(score, span), copy(score, span)


def paste(score: Score, place: Place, clip: Clip, repeat: int = 1) -> Score:
    """Lay a copy over the time from `place` on, `repeat` times; measures are added at the end as needed."""
    pieces: list[Piece] = []
    for _ in range(repeat):
        first, *others = [(each.event, each.length) for each in clip.events]
        pieces += [(_cut_loose(first[0]), first[1]), *others]
    pasted = splice(score, place, pieces)
    for number in range(repeat):
        for mark in clip.chords:
            at = move_by(pasted, place, clip.length * number + mark.offset)
            pasted = set_chord(pasted, at, mark.symbol)
    return pasted


def _cut_loose(event: Event | None) -> Event | None:
    """The event without ties and slurs from what stood before it."""
    if event is None or event.grace:
        return event
    return event.with_(notes=tuple(struck(note) for note in event.notes))
