"""Phrases as a folder of `.tabterm` files, written out and taken in; the starting book is such a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tabterm.errors import StorageError, TabtermError
from tabterm.formats import native
from tabterm.piece.phrase_book.entry import kept
from tabterm.storage.names import NATIVE, named_after
from tabterm.storage.opening import read
from tabterm.storage.whole import atomic_write, filling

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.player import Player
    from tabterm.piece.phrase_book.book import Book
    from tabterm.score.model import Score

MOST_BYTES = 1_000_000
"""Of a file with a phrase."""

MOST_FILES = 20_000


class TakenIn(NamedTuple):
    """What became of a folder.

    Attributes:
        new: Phrases that were put into the book.
        known: Phrases that were in it before.
        refused: What could not be taken in, a line each.
    """

    new: int
    known: int
    refused: tuple[str, ...]


def starting_book() -> Path:
    """The folder of the phrases that come with the program."""
    import tabterm

    return Path(tabterm.__file__).parent / "samples" / "phrases"


def written_out(book: Book, numbers: Sequence[int], folder: Path) -> int:
    """Write phrases into a new or empty folder, wholly or not at all; gives how many.

    Raises:
        StorageError: Something already exists there, or the disk refused.
    """
    if folder.exists() and not (folder.is_dir() and next(folder.iterdir(), None) is None):
        message = "the folder is not empty" if folder.is_dir() else "it already exists"
        raise StorageError(message, place=str(folder), hint="name a new or an empty folder")
    scores = [book.score(number) for number in numbers]
    taken: dict[str, int] = {}
    with filling(folder) as new:
        for score in scores:
            name = named_after(score.head.title)
            taken[name] = count = taken.get(name, 0) + 1
            stem = name if count == 1 else named_after(score.head.title, str(count))
            atomic_write(new / f"{stem}{NATIVE}", native.write(score))
    return len(scores)


def taken_in(book: Book, place: Path, player: Player) -> TakenIn:
    """Put the phrases of a folder, or of one file, into the book; one that is in it already stays as it is.

    Raises:
        StorageError: No such folder or file, or the book cannot be written to.
    """
    files = sorted(each for each in place.iterdir() if each.suffix == NATIVE) if place.is_dir() else [place]
    if not place.exists() or not files:
        raise StorageError(f"no {NATIVE} file here", place=str(place), hint="name a folder of phrases")
    scores: list[Score] = []
    refused: list[str] = []
    for file in files[:MOST_FILES]:
        try:
            scores.append(_named(kept(native.read(read(file, most=MOST_BYTES))), file))
        except TabtermError as error:
            refused.append(f"{file.name}: {error}")
        except OSError as error:
            refused.append(f"{file.name}: {error.strerror or error}")
    new, known = book.add_new(scores, player) if scores else (0, 0)
    return TakenIn(new, known, tuple(refused))


def _named(score: Score, file: Path) -> Score:
    """A phrase's score with the name of its file as its title where it has none."""
    return score if score.head.title else score.with_(head=score.head.with_(title=file.stem[:200]))
