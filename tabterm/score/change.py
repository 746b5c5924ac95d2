"""The one description of a change, derived by comparing two scores."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import Head, Measure, Score
from tabterm.score.place import Place, Span
from tabterm.values import Value

if TYPE_CHECKING:
    from typing import Self


class Change(Value):
    """A run of measures replaced by another, and the head before and after where it differs.

    Attributes:
        first: Index of the first measure replaced.
        removed: Measures taken out.
        inserted: Measures put in their place.
        head_before: The old head, or None where the head is the same.
        head_after: The new head, or None where the head is the same.
        label: What the player did; no part of the change as a file has it.
    """

    first: int
    removed: tuple[Measure, ...] = ()
    inserted: tuple[Measure, ...] = ()
    head_before: Head | None = None
    head_after: Head | None = None
    label: str = ""

    @classmethod
    def between(cls, old: Score, new: Score, label: str = "") -> Self | None:
        """The change that turns one score into another, or None when they are equal.

        Measures and heads that are the same object are taken as equal without looking inside.
        """
        before, after = old.measures, new.measures
        shorter = min(len(before), len(after))
        first = 0
        while first < shorter and (before[first] is after[first] or before[first] == after[first]):
            first += 1
        tail = 0
        while tail < shorter - first and (before[~tail] is after[~tail] or before[~tail] == after[~tail]):
            tail += 1
        removed = before[first : len(before) - tail]
        inserted = after[first : len(after) - tail]
        head_differs = not same(old.head, new.head)
        if not (removed or inserted or head_differs):
            return None
        return cls(
            first=first,
            removed=removed,
            inserted=inserted,
            head_before=old.head if head_differs else None,
            head_after=new.head if head_differs else None,
            label=label,
        )

    @property
    def inverse(self) -> Change:
        """The change that takes this one back: the same with its sides swapped."""
        return Change(
            first=self.first,
            removed=self.inserted,
            inserted=self.removed,
            head_before=self.head_after,
            head_after=self.head_before,
            label=self.label,
        )

    def moved(self, span: range) -> range:
        """Where a run of measures stands after the change.

        What is put in inside it belongs to it; so does what is put in where all its measures were taken out.
        """
        first, end = self.first, self.first + len(self.removed)

        def bar_line(index: int) -> int:
            if index >= end:
                return index + len(self.inserted) - len(self.removed)
            return min(index, first + len(self.inserted))

        stays = span.start < first or (span.start == first and (self.removed or not span))
        start = span.start if stays else bar_line(span.start)
        return range(start, max(start, span.stop if span and span.stop <= first else bar_line(span.stop)))

    def moved_span(self, span: Span) -> Span:
        """Where a stretch stands after the change, at the same offsets of its measures."""
        start, end = span.start, span.end
        last = end.measure + bool(end.offset)
        place = self.moved(range(start.measure, last))
        return Span(Place(place.start, start.offset), Place(end.measure + place.stop - last, end.offset))

    def apply(self, score: Score) -> Score:
        """Replay the change on the score it was derived from (or one equal to it).

        Raises:
            ScoreError: It would leave no measure, or break another rule of the model.
        """
        end = self.first + len(self.removed)
        measures = (*score.measures[: self.first], *self.inserted, *score.measures[end:])
        if not measures:
            raise ScoreError("a score needs at least one measure")
        return Score(head=self.head_after or score.head, measures=measures)


def same(one: Value, other: Value) -> bool:
    """Equal, looking inside only when the two are not one object."""
    return one is other or one == other
