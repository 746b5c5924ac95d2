"""Side files of a document: what is kept beside it, or in the user's own folder where that cannot be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import StorageError
from tabterm.storage import names, opening
from tabterm.storage.refusals import disk_words
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOST_BYTES = 5_000_000
"""A larger file is none of ours."""


def places(path: Path, kind: str) -> tuple[Path, Path]:
    """Where the side file of a kind may be: beside the document, or in the user's own folder."""
    return names.beside(path, kind), names.away(path, kind)


def read(path: Path, kind: str) -> Iterator[bytes]:
    """What can be read of the side files of a kind, the one written last first."""
    for place in sorted(places(path, kind), key=_written_s, reverse=True):
        try:
            yield opening.read(place, most=MOST_BYTES, ours=True)
        except OSError:
            continue


def write(path: Path, kind: str, data: bytes) -> None:
    """Keep it beside the document, else in the user's own folder; raises StorageError where neither takes it."""
    why = "another file is in its place"
    for place in places(path, kind):
        if not opening.is_ours(place):
            continue
        try:
            if place.parent != path.parent:
                opening.make_own_folder(place.parent)
            atomic_write(place, data, like=path)
        except OSError as error:
            why = disk_words(error)
        except StorageError as error:
            why = error.message
        else:
            return
    raise StorageError(
        f"the {kind} of {path.name} cannot be kept: {why}", hint="make room, or choose another folder"
    )


def _written_s(file: Path) -> float:
    try:
        return file.stat().st_mtime
    except OSError:
        return 0.0
