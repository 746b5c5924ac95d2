"""`tabterm phrases`: the phrase book: looked through, filled, carried to another machine, put into a score.

With `--json`, `list` and `find` print a list of objects: `number`, `name`, `tags`, `remark`, `source`, `chords` as
numerals, `degrees`, `contour`, `rhythm` (note values), `rhythm_name`, `metre`, `key`, `measures`, `tempo`, its
difficulty as `percent` and `level`, and (null where it was not asked for) `apart` in semitones and `fit`, which is
`same time`, `same chords` or `same steps`. `show` prints one of them with its `tab`, the others what they did.
"""

from __future__ import annotations

import argparse
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import BAD_INPUT, check_one_answer
from tabterm.cli.output import complain, note, tell
from tabterm.cli.scores import (
    add_measures,
    add_to_format,
    check_out,
    mine,
    number_from_0,
    number_from_1,
    opened,
    page,
    tell_written,
    write,
)
from tabterm.cli.tables import print_table
from tabterm.errors import ScoreError, StorageError
from tabterm.piece.phrase_book.book import LIMIT, Book, Found
from tabterm.piece.phrase_book.entry import LEVELS, Label, cut_out, figure, tags_of, whole
from tabterm.piece.phrase_book.folder import starting_book, taken_in, written_out
from tabterm.piece.phrase_book.inserting import bar_at, inserted
from tabterm.piece.phrase_book.wish import WITHIN, Wish, setting_at, wish_of
from tabterm.piece.piece import Piece, span_of
from tabterm.printable import counted
from tabterm.score.place import Place, display_number
from tabterm.storage.names import check_free

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.harmony.figures import Figure
    from tabterm.piece.phrase_book.wish import Setting
    from tabterm.score.model import Score

FITS = ("same time", "same chords", "same steps")
"""How a phrase fits chords, in words, by its rank."""

MOST = 100_000
"""Phrases that one command lists or writes out, where it is not told how many."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "way",
        nargs="?",
        choices=tuple(WAYS),
        default="list",
        help="list: list all phrases (the default); find WORD ...: list those that match; show N: print phrase N; "
        "add FILE: keep measures of a score; insert N FILE: put phrase N into a score; "
        "export FOLDER: write phrases as files; import FOLDER or FILE: add them (the starting phrases); "
        "remove N ...: delete phrases; backup OUT: copy the whole book",
    )
    parser.add_argument("words", nargs="*", metavar="WORD", help="numbers, a file, a folder, or words to find")
    search = parser.add_argument_group("for find and export")
    search.add_argument("--tag", action="append", default=[], help="with this tag; with add: give it this tag")
    search.add_argument("--chords", default="", metavar="NUMERALS", help="over these chords, such as 'V I'")
    search.add_argument("--degrees", default="", help="with these degrees in a row, such as '1 b3 3'")
    search.add_argument(
        "--contour", default="", metavar="WORDS", help="with this contour: rises, or falls and rises"
    )
    search.add_argument("--rhythm", default="", help="with these note values in a row ('8 8 4'), or this rhythm")
    search.add_argument("--metre", default="", help="in this metre, such as 6/8")
    search.add_argument("--level", default="", choices=tuple(LEVELS), help="of this level for your hand")
    search.add_argument(
        "--percent", type=number_from_0, metavar="P", help="at most P%% of your limit, at its tempo"
    )
    search.add_argument("--like", metavar="N|FILE", help="like this phrase, the closest first")
    search.add_argument(
        "--within",
        type=number_from_0,
        default=WITHIN,
        metavar="S",
        help=f"with --like: the largest distance, in semitones ({WITHIN:g})",
    )
    search.add_argument("--fits", type=Path, metavar="FILE", help="that fit the chords of this score at --from")
    search.add_argument(
        "--most", type=number_from_1, metavar="N", help=f"how many to list at most (find: {LIMIT})"
    )
    add_measures(parser)
    kept = parser.add_argument_group("for add and insert")
    kept.add_argument("--name", default="", help="with add: what to call the phrase (the title and the measures)")
    kept.add_argument("--remark", default="", help="with add: a remark, such as what it is good for")
    kept.add_argument("--source", default="", help="with add: its source")
    kept.add_argument("--again", action="store_true", help="with add: keep it even if it is already in the book")
    kept.add_argument("-o", "--out", type=Path, metavar="OUT", help="with insert: write this file; - prints it")
    kept.add_argument("--force", action="store_true", help="overwrite an existing file")
    add_to_format(kept)
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Do what the first word says, and tell what was noticed about the book."""
    check_one_answer(arguments.out, as_data=arguments.json)
    book = Book()
    try:
        data = WAYS[arguments.way](book, arguments)
    finally:
        for line in book.notes:
            note(f"tabterm: {line}")
    if arguments.json:
        print(printable.as_json(data, indent=2))
    return BAD_INPUT if isinstance(data, dict) and data.get("refused") else 0


# Looked through


def _list(book: Book, arguments: argparse.Namespace) -> object:
    _no_words(arguments)
    return _shown(book, book.find(Wish(), arguments.most or MOST), arguments)


def _find(book: Book, arguments: argparse.Namespace) -> object:
    wish = _wish(book, arguments, " ".join(arguments.words))
    return _shown(book, book.find(wish, arguments.most or LIMIT), arguments)


def _wish(book: Book, arguments: argparse.Namespace, text: str = "") -> Wish:
    line = wish_of(text)
    return replace(
        line,
        tags=(*line.tags, *arguments.tag),
        chords=arguments.chords or line.chords,
        degrees=arguments.degrees or line.degrees,
        contour=arguments.contour,
        rhythm=arguments.rhythm,
        metre=arguments.metre or line.metre,
        level=arguments.level or line.level,
        most_percent=arguments.percent,
        like=None if arguments.like is None else _like(book, arguments.like),
        within=arguments.within,
        fits=None if arguments.fits is None else _setting(arguments),
    )


def _like(book: Book, word: str) -> Figure:
    return figure(book.score(_number(word)) if word.isdecimal() else opened(Path(word)).score)


def _setting(arguments: argparse.Namespace) -> Setting:
    score = opened(arguments.fits).score
    return setting_at(score, bar_at(score, _start(score, arguments)))


def _start(score: Score, arguments: argparse.Namespace) -> Place:
    """Where the measure of `--from` begins, or the score."""
    span = span_of(score, arguments.first, arguments.first)
    return Place(0) if span is None else span.start


def _shown(book: Book, found: list[Found], arguments: argparse.Namespace) -> object:
    data = [as_data(each) for each in found]
    if arguments.json:
        return data
    if not found:
        empty = book.count() == 0
        print("the phrase book is empty; `tabterm phrases import` fills it" if empty else "no phrase matches")
    else:
        print_table(("no.", "name", "chords", "metre", "level", "key", "tags"), [_row(each) for each in found])
    return data


def _row(found: Found) -> tuple[str, ...]:
    one = found.entry
    tags = " ".join(one.label.tags)
    return f"{one.number}", one.label.name, one.chords, one.metre, one.level, one.key, tags


def as_data(found: Found) -> dict[str, object]:
    """A phrase as plain data."""
    entry = asdict(found.entry)
    return {
        "number": found.entry.number,
        **entry.pop("label"),
        **entry,
        "level": found.entry.level,
        "apart": None if found.apart is None else round(found.apart, 3),
        "fit": None if found.fit is None else FITS[found.fit],
    }


def _show(book: Book, arguments: argparse.Namespace) -> object:
    (number,) = _numbers(arguments, 1)
    entry, piece = book.entry(number), Piece(book.score(number), mine()).fingered()
    if not arguments.json:
        tags = "".join(f" #{tag}" for tag in entry.label.tags)
        tell(f"{number}  {entry.label.name}{tags}")
        tell(f"{entry.chords}: {entry.degrees}; {entry.contour}; {entry.level}, {entry.percent:g}%")
        for words in filter(None, (entry.label.remark, entry.label.source)):
            tell(words)
        head = piece.score.head
        print(f"title: {entry.label.name}", f"key: {head.key}", f"tempo: {head.tempo}", "", sep="\n")
        print(piece.excerpt(), end="")
    return as_data(Found(entry)) | {"tab": piece.text()}


# Filled and carried


def _add(book: Book, arguments: argparse.Namespace) -> object:
    (file,) = _words(arguments, 1, "a score")
    piece = opened(Path(file))
    part = piece.measures(arguments.first, arguments.last).score
    numbers = f", measures {arguments.first}-{arguments.last}" if arguments.first else ""
    name = arguments.name or f"{piece.score.head.title or Path(file).stem}{numbers}"
    label = Label(name, tags_of(arguments.tag), arguments.remark, arguments.source or piece.score.head.title)
    entry = book.add(cut_out(part, whole(part)), label, mine(), again=arguments.again)
    if not arguments.json:
        print(f"{entry.number}  {name}: kept")
    return {"added": entry.number}


def _insert(book: Book, arguments: argparse.Namespace) -> object:
    number, file = _words(arguments, 2, "the number of a phrase, and a score")
    piece, player = opened(Path(file)), mine()
    check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    phrase = book.score(_number(number))
    there = inserted(piece.score, _start(piece.score, arguments), phrase, player)
    done = replace(piece, score=there.score)
    first, last = there.span.start.measure, there.span.end.measure - (there.span.end.offset == 0)
    if arguments.out is not None:
        write(done, arguments.out, to_format=arguments.to_format)
        if not arguments.json:
            tell_written(arguments.out)
    elif not arguments.json:
        print(page(done.fingered()), end="")
    return {
        "first": display_number(there.score, first),
        "last": display_number(there.score, last),
        "semitones": there.semitones,
        "written": None if arguments.out is None else str(arguments.out),
    }


def _export(book: Book, arguments: argparse.Namespace) -> object:
    (folder,) = _words(arguments, 1, "a folder to make")
    numbers = [each.entry.number for each in book.find(_wish(book, arguments), arguments.most or MOST)]
    if not numbers:
        raise StorageError("no phrase matches", hint="`tabterm phrases` lists the phrases")
    count = written_out(book, numbers, Path(folder))
    if not arguments.json:
        print(f"{folder}: {counted(count, 'phrase')} written")
    return {"folder": folder, "written": count}


def _import(book: Book, arguments: argparse.Namespace) -> object:
    place = Path(_words(arguments, 1, "a folder or a file")[0]) if arguments.words else starting_book()
    taken = taken_in(book, place, mine())
    for line in taken.refused:
        complain(line)
    if not arguments.json:
        known = f"; {taken.known} already in the book" if taken.known else ""
        print(f"{counted(taken.new, 'phrase')} added{known}")
    return {"new": taken.new, "known": taken.known, "refused": taken.refused}


def _remove(book: Book, arguments: argparse.Namespace) -> object:
    numbers = _numbers(arguments)
    book.remove(*numbers)
    if not arguments.json:
        print(f"{counted(len(numbers), 'phrase')} removed")
    return {"removed": numbers}


def _backup(book: Book, arguments: argparse.Namespace) -> object:
    (file,) = _words(arguments, 1, "a file to write")
    check_free(Path(file), force=arguments.force)
    book.copy_to(Path(file))
    if not arguments.json:
        tell_written(Path(file))
    return {"written": file}


def _words(arguments: argparse.Namespace, count: int, wanted: str) -> list[str]:
    """The words behind the first; raises ScoreError where they are not so many."""
    if len(arguments.words) != count:
        raise ScoreError(f"`phrases {arguments.way}` takes {wanted}", hint="`tabterm help phrases` has examples")
    words: list[str] = arguments.words
    return words


def _no_words(arguments: argparse.Namespace) -> None:
    if arguments.words:
        raise ScoreError("`phrases list` takes no words", hint="write tabterm phrases find and the words")


def _number(word: str) -> int:
    try:
        return number_from_1(word)
    except argparse.ArgumentTypeError as error:
        raise ScoreError(str(error), hint="`tabterm phrases` lists the numbers") from None


def _numbers(arguments: argparse.Namespace, most: int = MOST) -> list[int]:
    numbers = [_number(word) for word in arguments.words]
    if not 1 <= len(numbers) <= most:
        message = f"`phrases {arguments.way}` takes the number of a phrase"
        raise ScoreError(message, hint="`tabterm phrases` lists them")
    return numbers


WAYS: dict[str, Callable[[Book, argparse.Namespace], object]] = {
    "list": _list,
    "find": _find,
    "show": _show,
    "add": _add,
    "insert": _insert,
    "export": _export,
    "import": _import,
    "remove": _remove,
    "backup": _backup,
}
"""What can be done with the book, by the word for it."""
