"""The side file of a document, `.NAME.practice`: how it was practised last, and versions put aside.

It is beside the document's safety: what cannot be read counts as not there, and where it cannot be written,
nothing but this memory is lost.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from tabterm.errors import FormatError, StorageError, TabtermError
from tabterm.parsing import json_of
from tabterm.piece.practice import Practice
from tabterm.score.place import Span
from tabterm.storage import names, opening
from tabterm.storage.whole import atomic_write
from tabterm.values import Value
from tabterm.workspace.versions import Versions

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.score.change import Change
    from tabterm.score.model import Score

MOST_BYTES = 5_000_000
"""A larger file is none of ours."""


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


def places(path: Path) -> tuple[Path, Path]:
    """Where the side file of a document may be: beside it, or in the user's own folder."""
    return names.beside(path, PRACTICE), names.away(path, PRACTICE)


def read(path: Path) -> Kept:
    """What was kept for a document last; each part that cannot be read counts as not there."""
    for place in sorted(places(path), key=_written_s, reverse=True):
        try:
            found = json_of(opening.read(place, most=MOST_BYTES, ours=True))
        except (OSError, FormatError):
            continue
        if isinstance(found, dict):
            return Kept(**{name: _part(kind, found.get(name)) for name, kind in _KINDS.items()})
    return Kept()


def _written_s(file: Path) -> float:
    try:
        return file.stat().st_mtime
    except OSError:
        return 0.0


def _part(kind: type, value: object) -> Any:
    try:
        return None if value is None else TypeAdapter(kind).validate_python(value)
    except (ValidationError, TabtermError, TypeError, ValueError):
        return None


def write(path: Path, kept: Kept) -> None:
    """Keep it beside the document, else in the user's own folder, else not at all."""
    data = kept.model_dump_json(exclude_defaults=True).encode() + b"\n"
    for place in places(path):
        if not opening.is_ours(place):
            continue
        try:
            if place.parent != path.parent:
                opening.make_own_folder(place.parent)
            atomic_write(place, data, like=path)
        except (OSError, StorageError):
            continue
        return
