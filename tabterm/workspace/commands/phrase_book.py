"""Commands of the phrase book: phrases kept, searched for, put into the score."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.printable import counted
from tabterm.score.place import Span
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command(
    "keep-phrase",
    "Keep the selection or this measure in your phrase book",
    Group.THEORY,
    asks="name, then #tags",
)
def keep_phrase(session: Session, words: str) -> None:
    """With its chords; its source is the title of the piece."""
    from dataclasses import replace

    from tabterm.piece.phrase_book.book import Book
    from tabterm.piece.phrase_book.entry import cut_out, said

    book, head = Book(), session.score.head
    label = replace(said(words), source=head.title or session.document.path.stem)
    entry = book.add(cut_out(session.score, target(session)), label, session.player)
    words = f"kept as {entry.number} {label.name}: {entry.level}, {entry.percent:g}% of your hand"
    session.host.say("; ".join([words, *book.notes]))


def target(session: Session) -> Span:
    """What is meant: the selection, or the measure at the cursor."""
    return session.here.selection() or Span.of_measures(*session.here.measures())


@command("phrase-book", "Search your phrase book, hear a phrase here, insert it", Group.THEORY)
def phrase_book(session: Session) -> None:
    """The list narrows while you type."""
    session.host.open_panel("phrase-book")


@command(
    "insert-phrase", "Insert a phrase from your phrase book by number", Group.THEORY, asks="number of the phrase"
)
def insert_phrase(session: Session, word: str) -> None:
    """In the key, at the bar line and under the hand; what stood there is replaced."""
    from tabterm.piece.phrase_book.book import Book
    from tabterm.piece.phrase_book.inserting import inserted

    number = word.split(maxsplit=1)[0] if word.split() else ""
    if not number.isdecimal():
        raise ScoreError(f"not a phrase number: '{word.strip():.20}'", hint="the command 'phrase-book' shows them")
    book = Book()
    phrase = book.score(int(number))
    there = inserted(session.score, session.here.cursor.place, phrase, session.player)
    session.here.anchor = None
    session.rework(there.score, f"insert '{phrase.head.title}'")
    session.here.go(there.span.start)
    for line in book.notes:
        session.host.say(line)


@command("fill-phrase-book", "Add the phrases that come with tabterm to your phrase book", Group.THEORY)
def fill_phrase_book(session: Session) -> None:
    """Those that are in it already stay as they are."""
    from tabterm.piece.phrase_book.book import Book
    from tabterm.piece.phrase_book.folder import starting_book, taken_in

    player = session.player

    def fill(_: object) -> str:
        book = Book()
        taken = taken_in(book, starting_book(), player)
        return "; ".join([f"added {counted(taken.new, 'phrase')} to your phrase book", *book.notes])

    session.host.work(fill)
