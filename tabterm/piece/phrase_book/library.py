"""The phrase book as scripts use it: `tabterm.PhraseBook`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.piece.phrase_book.book import LIMIT, Book
from tabterm.piece.phrase_book.entry import Label, cut_out, figure, tags_of, whole
from tabterm.piece.phrase_book.folder import starting_book, taken_in, written_out
from tabterm.piece.phrase_book.inserting import bar_at, inserted
from tabterm.piece.phrase_book.wish import setting_at, wish_of
from tabterm.piece.piece import Piece, span_of
from tabterm.score.place import Place

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable

    from tabterm.hand.player import Player
    from tabterm.piece.phrase_book.book import Found
    from tabterm.piece.phrase_book.entry import Entry
    from tabterm.piece.phrase_book.folder import TakenIn
    from tabterm.score.model import Score


class PhraseBook:
    """Your phrase book, or one in a file of its own; each call is a transaction of its own.

    Attributes:
        player: Whose hands say how hard a phrase is, and where it lies.
    """

    def __init__(self, path: str | os.PathLike[str] | None = None, *, player: Player) -> None:
        self.player = player
        self._book = Book() if path is None else Book(Path(path))

    def __len__(self) -> int:
        return self._book.count()

    @property
    def notes(self) -> list[str]:
        """What was noticed and done about damage."""
        return self._book.notes

    def find(
        self,
        line: str = "",
        *,
        like: Piece | None = None,
        fits: Piece | None = None,
        measure: int | None = None,
        limit: int = LIMIT,
        **wishes: Any,
    ) -> list[Found]:
        """Phrases by a line as it is typed in the editor, and by more: `tags`, `chords`, `degrees`, `level` ...

        Args:
            line: Words, `#tags`, `ii-V-I`, `6/8`, `easy`, `1,b3,3`.
            like: A phrase that they are like, the most alike first; `within` says how far in semitones.
            fits: A piece whose chords they fit, from a measure on.
            measure: That measure, as a player counts; None for the first.
            limit: How many at most.
            wishes: Fields of `tabterm.piece.phrase_book.wish.Wish`.

        Raises:
            ScoreError: What is looked for cannot be in a phrase.
            StorageError: The book cannot be read.
        """
        if like is not None:
            wishes["like"] = figure(like.score)
        if fits is not None:
            wishes["fits"] = setting_at(fits.score, bar_at(fits.score, _start(fits.score, measure)))
        try:
            wish = replace(wish_of(line), **wishes)
        except TypeError:
            raise ScoreError(f"cannot search phrases by {', '.join(wishes)}") from None
        return self._book.find(wish, limit)

    def piece(self, number: int) -> Piece:
        """A phrase as a piece; raises ScoreError where there is no such number."""
        return Piece(self._book.score(number), self.player)

    def keep(
        self, piece: Piece, name: str, *, tags: Iterable[str] = (), remark: str = "", again: bool = False
    ) -> Entry:
        """Keep a piece of at most 16 measures, such as `piece.measures(5, 6)`, with its title as the source.

        Raises:
            ScoreError: It is no phrase, or is kept already and not `again`.
            StorageError: The book cannot be written to.
        """
        label = Label(name, tags_of(tags), remark, piece.score.head.title)
        return self._book.add(cut_out(piece.score, whole(piece.score)), label, self.player, again=again)

    def insert(self, number: int, piece: Piece, measure: int | None = None) -> Piece:
        """A piece with a phrase from a measure on: in the key and under the hand there, its pickup before it.

        Raises:
            ScoreError: The phrase is in another metre, or has no room or place there.
        """
        place = _start(piece.score, measure)
        there = inserted(piece.score, place, self._book.score(number), self.player)
        return replace(piece, score=there.score)

    def remove(self, *numbers: int) -> None:
        """Remove phrases; raises ScoreError where there is no such number, and then removes none."""
        self._book.remove(*numbers)

    def write(self, folder: str | os.PathLike[str], numbers: Iterable[int] | None = None) -> int:
        """Write phrases, or all, as files into a new folder; gives how many; raises StorageError."""
        every = [each.entry.number for each in self._book.find(wish_of(""), -1)] if numbers is None else [*numbers]
        return written_out(self._book, every, Path(folder))

    def take_in(self, folder: str | os.PathLike[str] | None = None) -> TakenIn:
        """Put the phrases of a folder, or those that come with tabterm, into the book; raises StorageError."""
        return taken_in(self._book, starting_book() if folder is None else Path(folder), self.player)


def _start(score: Score, measure: int | None) -> Place:
    span = span_of(score, measure, measure)
    return Place(0) if span is None else span.start
