"""What a change did to the music: where, and how many notes are gone; in words for the message line."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass
from tabterm.printable import counted
from tabterm.score.place import Place, Span, display_number
from tabterm.score.query import music

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.change import Change
    from tabterm.score.model import Measure, Score


@dataclass(frozen=True, slots=True)
class Effect:
    """Where the music differs after a change, whatever was proposed anew.

    Attributes:
        span: From the first event that differs to the end of the last one, in the score after the change.
        course: Of the first note that differs, 0 for none.
        gone: How many notes fewer there are.
        taken: First and last index, in the score before the change, of the measures that it took out.
    """

    span: Span
    course: int = 0
    gone: int = 0
    taken: tuple[int, int] | None = None

    def where(self, before: Score, after: Score) -> str:
        """The measures, those taken out by their numbers before the change: `in m5`, `in m5-8`."""
        score, (first, last) = before, self.taken or (0, 0)
        if self.taken is None:
            score = after
            first, last = self.span.start.measure, self.span.end.measure - (not self.span.end.offset)
        numbers = [display_number(score, index) for index in sorted({first, max(first, last)})]
        return f"in m{'-'.join(map(str, numbers))}"

    @property
    def losses(self) -> str:
        """How many notes are gone, behind what was done: `; 2 notes gone`, or nothing."""
        return f"; {counted(self.gone, 'note')} gone" if self.gone > 0 else ""


def effect_of(change: Change) -> Effect | None:
    """What a change did to the music; None where it touched only the head or what is proposed."""
    old, new = music(change.removed), music(change.inserted)
    lead = _alike(old, new)
    tail = _alike(old[lead:][::-1], new[lead:][::-1])
    old, new = old[lead : len(old) - tail], new[lead : len(new) - tail]
    if not (old or new):
        return None
    first = change.first + lead
    gone = _struck(old) - _struck(new)
    if not (old and new):
        taken = (first, first + len(old) - 1) if old else None
        return Effect(Span(Place(first), Place(first + len(new))), gone=gone, taken=taken)
    start, course = _first_difference(old[0], new[0])
    end = Place(first + len(new))
    if len(old) == len(new):
        same = _alike(old[-1].events[::-1], new[-1].events[::-1])
        last = change.inserted[lead + len(new) - 1]
        if 0 < same < len(last.events):
            end = Place(first + len(new) - 1, last.onsets[-same])
    return Effect(Span.between(Place(first, start), max(end, Place(first, start))), course, gone)


def _alike(one: Sequence[Any], other: Sequence[Any]) -> int:
    """How many items are the same from the beginning."""
    count = 0
    for a, b in zip(one, other, strict=False):
        if a != b:
            break
        count += 1
    return count


def _struck(measures: Sequence[Measure]) -> int:
    """Notes that begin in some measures."""
    events = (event for measure in measures for event in measure.events)
    return sum(not note.tied for event in events for note in event.notes)


def _first_difference(old: Measure, new: Measure) -> tuple[Fraction, int]:
    """Offset of the first event that differs, or else of the first chord symbol; the course of its note."""
    index = _alike(old.events, new.events)
    if index < len(new.events):
        notes = new.events[index].notes
        before = old.events[index].notes if index < len(old.events) else ()
        other = next((note for note in (*notes, *before) if note not in before or note not in notes), None)
        return new.onsets[index], 0 if other is None else other.course
    marks = (*old.chords, *new.chords)
    offsets = [mark.offset for mark in marks if mark not in old.chords or mark not in new.chords]
    return min(offsets, default=Fraction(0)), 0
