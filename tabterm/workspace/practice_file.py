"""The side file of a document, `.NAME.practice`: how it was practised last, and versions put aside.

It is beside the document's safety: what cannot be read counts as not there, and where it cannot be written,
nothing but this memory is lost.
"""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Annotated, Any

from tabterm.errors import FormatError, ScoreError, StorageError, TabtermError
from tabterm.forms import Limits
from tabterm.parsing import json_of
from tabterm.piece.practice import Heard, Practice
from tabterm.piece.takes import Take
from tabterm.score import operations as do
from tabterm.score.model import Measure
from tabterm.score.place import Place, Span
from tabterm.score.query import music
from tabterm.storage import side
from tabterm.values import Value, compact, plain, read_value

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.score.change import Change
    from tabterm.score.model import Score


MOST_KEPT = 4
"""Versions of a phrase; with one more, the oldest goes."""

Measures = tuple[Measure, ...]


class Versions(Value):
    """A phrase of whole measures and versions of it, the last one put aside first.

    Attributes:
        first: Index of the phrase's first measure in the score as it stands.
        count: Its measures there.
        kept: At least one version; one of them may be the one that stands in the score.
    """

    first: Annotated[int, Limits(ge=0)]
    count: Annotated[int, Limits(ge=0)]
    kept: Annotated[tuple[Annotated[Measures, Limits(min_length=1)], ...], Limits(min_length=1)]

    @property
    def place(self) -> range:
        """Indices of the phrase's measures in the score."""
        return range(self.first, self.first + self.count)

    def after(self, change: Change) -> Versions:
        """The same after a change of the score: the phrase may stand elsewhere, or be longer."""
        place = change.moved(self.place)
        return self if place == self.place else self.with_(first=place.start, count=len(place))

    def standing(self, score: Score) -> Measures:
        """The phrase as it stands in the score."""
        return score.measures[self.first : self.first + self.count]

    def other(self, score: Score) -> Measures:
        """The version put aside last that is not the one in the score; raises ScoreError where there is none."""
        now = music(self.standing(score))
        for phrase in self.kept:
            if music(phrase) != now:
                return phrase
        raise ScoreError("both versions are the same", hint="change the phrase first")

    def keep(self, phrase: Measures) -> Versions:
        """With one more version, or that one as the last put aside."""
        new = music(phrase)
        others = [each for each in self.kept if music(each) != new]
        return self.with_(kept=(phrase, *others[: MOST_KEPT - 1]))

    def taken(self, score: Score) -> Score:
        """The score with the other version in place of the one that stands there; raises ScoreError."""
        return do.replace_measures(score, self.first, self.count, self.other(score))

    def takes(self, score: Score, span: Span, heard: Heard) -> tuple[Take, ...]:
        """A stretch that the phrase has a part in, with the version or versions that are to be heard.

        Raises:
            ScoreError: There is no other version, or its metre does not fit.
        """
        one = Take(score, span)
        if heard is Heard.SCORE or not self.touches(span):
            return (one,)
        longer = len(self.other(score)) - self.count
        end = span.end
        if end.measure >= self.place.stop or (end.measure, end.offset) == (
            self.place.stop - 1,
            self._length(score),
        ):
            end = Place(end.measure + longer, end.offset)
        other = Take(self.taken(score), Span(span.start, end))
        return (other,) if heard is Heard.ASIDE else (one, other)

    def touches(self, span: Span) -> bool:
        """Whether a stretch has a part of the phrase in it."""
        return span.start < Place(self.place.stop) and Place(self.first) < span.end

    def _length(self, score: Score) -> object:
        return score.measures[self.place.stop - 1].length


def kept_from(score: Score, first: int, last: int) -> Versions:
    """Put a phrase of whole measures aside, both ends included."""
    phrase = score.measures[first : last + 1]
    return Versions(first=first, count=len(phrase), kept=(phrase,))


class Kept(Value):
    """What a side file holds.

    Attributes:
        practice: How the last loop was practised; None before the first.
        span: The last loop; None for the whole score, or before the first.
        versions: A phrase and its versions.
    """

    practice: Practice | None = None
    span: Span | None = None
    versions: Versions | None = None

    def after(self, change: Change) -> Kept:
        """The same after a change of the score."""
        span, versions = self.span, self.versions
        return self.with_(
            span=None if span is None else change.moved_span(span),
            versions=None if versions is None else versions.after(change),
        )

    def fitting(self, score: Score) -> Kept:
        """The same without what does not lie inside a score."""
        count = len(score.measures)
        span, versions = self.span, self.versions
        return self.with_(
            span=span if span is not None and _lies_in(span, count) else None,
            versions=versions if versions is not None and versions.place.stop <= count else None,
        )


def _lies_in(span: Span, count: int) -> bool:
    start, end = span.start, span.end
    return start < end and 0 <= start.measure < count and start.offset >= 0 and end.offset >= 0


_KINDS: dict[str, type] = {"practice": Practice, "span": Span, "versions": Versions}


PRACTICE = "practice"
"""The kind of file that a side file is."""


def read(path: Path) -> Kept:
    """What was kept for a document last; each part that cannot be read counts as not there."""
    for data in side.read(path, PRACTICE):
        try:
            found = json_of(data)
        except FormatError:
            continue
        if isinstance(found, dict):
            return Kept(**{name: _part(kind, found.get(name)) for name, kind in _KINDS.items()})
    return Kept()


def _part(kind: type, value: object) -> Any:
    try:
        return None if value is None else read_value(kind, value)
    except (TabtermError, TypeError, ValueError):
        return None


def write(path: Path, kept: Kept) -> None:
    """Keep it beside the document, else in the user's own folder, else not at all."""
    with contextlib.suppress(StorageError):
        side.write(path, PRACTICE, compact(plain(kept)).encode() + b"\n")
