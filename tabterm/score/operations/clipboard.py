"""Copying, cutting and pasting stretches of music."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Event, Score
from tabterm.score.operations.draft import struck
from tabterm.score.operations.entry import erase
from tabterm.score.operations.marks import chords_in, lay_chords
from tabterm.score.operations.timeline import Filling, flatten, splice
from tabterm.score.place import Span, describe
from tabterm.score.query import distance, end_of, move_by
from tabterm.values import Quarters, Value

if TYPE_CHECKING:
    from tabterm.score.place import Place


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
    """A copy of a span.

    Raises:
        ScoreError: The span is empty.
    """
    end = min(span.end, end_of(score))
    fillings = flatten(score, Span(span.start, end)) if span.start < end else []
    if not fillings:
        raise ScoreError("nothing to copy", place=describe(score, span.start), hint="select some music first")
    chords = tuple(
        ChordMark(offset=distance(score, span.start, at), symbol=symbol)
        for at, symbol in chords_in(score, Span(span.start, end))
    )
    events = tuple(ClipEvent(event=event, length=length) for event, length in fillings)
    return Clip(events=events, chords=chords)


def cut(score: Score, span: Span) -> tuple[Score, Clip]:
    """Take a span out, leaving silence, and give a copy of it; raises ScoreError when it is empty."""
    clip = copy(score, span)
    return erase(score, span), clip


def paste(score: Score, place: Place, clip: Clip, repeat: int = 1, *, chords: bool = False) -> Score:
    """Lay a copy over the time from `place` on, `repeat` times; measures are added at the end as needed.

    A first note that was tied or slurred from what stood before it is struck. Chord symbols stay with their
    measures; with `chords` those of the copy, if it has any, replace those that stand in its time.

    Raises:
        ScoreError: A note has no course on this instrument.
    """
    first, *others = [(each.event, each.length) for each in clip.events]
    fillings: list[Filling] = [(_cut_loose(first[0]), first[1]), *others]
    pasted = splice(score, place, fillings * repeat)
    if not (chords and clip.chords):
        return pasted
    symbols = {
        move_by(pasted, place, clip.length * number + mark.offset): mark.symbol
        for number in range(repeat)
        for mark in clip.chords
    }
    return lay_chords(pasted, Span(place, move_by(pasted, place, clip.length * repeat)), symbols)


def _cut_loose(event: Event | None) -> Event | None:
    """The event without ties and slurs from what stood before it."""
    if event is None or event.grace:
        return event
    return event.with_(notes=tuple(struck(note) for note in event.notes))
