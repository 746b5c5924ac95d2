"""The first picture of a document: how its screen began the last time, drawn before the toolkit is loaded."""

from __future__ import annotations

import hashlib
import json
import os
import re
import select
import termios
from itertools import groupby
from typing import TYPE_CHECKING, Any, cast

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.storage.names import away, beside
from tabterm.storage.opening import make_own_folder, read
from tabterm.tui.terminal.abilities import size_of
from tabterm.tui.terminal.brush import MARKS, Pen
from tabterm.tui.terminal.modes import KEYBOARD, SCREEN, begun, farewell, set_raw
from tabterm.tui.terminal.wire import Wire
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tabterm.tui.terminal.abilities import Abilities
    from tabterm.tui.terminal.brush import Cell, GridRow

KIND, JOURNAL = "picture", "journal"
MOST_BYTES, MOST_KEPT = 1_000_000, 60
"""Of a picture, and how many are kept."""

_PARAMETERS = re.compile(r"[0-9;]{0,24}", re.ASCII)


@dataclass(frozen=True)
class Picture:
    """A screen.

    Attributes:
        rows: Its cells.
        cursor: Where the terminal's cursor stands on it, None where it is hidden.
    """

    rows: list[GridRow]
    cursor: tuple[int, int] | None


@dataclass
class First:
    """The first picture of a document on this terminal, if one is known, and what it must agree with to be shown.

    Attributes:
        file: The document.
        mark: A digest of the document, the terminal and what was asked for; a picture of another one is not shown.
        abilities: Those of the terminal.
        picture: What is shown; None where none was kept, or it would be of something else.
        wire: What the terminal shows, to go on from.
        modes_before: The terminal's modes before it was taken.
    """

    file: Path
    mark: str
    abilities: Abilities
    picture: Picture | None = None
    wire: Wire | None = None
    modes_before: list[Any] | None = None
    _is_kept: bool = True

    @classmethod
    def of(cls, file: Path, abilities: Abilities, asked: Sequence[object]) -> First | None:
        """That of a document, not shown yet; None where the file cannot be read, or work on it was left behind."""
        try:
            data = read(file)
            if any(map(_holds_work, (beside(file, JOURNAL), away(file.resolve(), JOURNAL)))):
                return None
        except OSError:
            return None
        said = repr((__version__, abilities, size_of(SCREEN), os.path.abspath(file), *asked))  # noqa: PTH100 - links stay
        mark = hashlib.sha256(said.encode(errors="replace") + data).hexdigest()
        return cls(file, mark, abilities, _kept(file, mark))

    def show(self) -> None:
        """Take the terminal and draw the picture, if there is one; keys that are typed meanwhile wait."""
        if self.picture is None:
            return
        rows = self.picture.rows
        self.wire = Wire(self.abilities, len(rows[0]), len(rows))
        self.wire.want(rows)
        self.wire.cursor = self.picture.cursor
        self.modes_before = termios.tcgetattr(KEYBOARD)
        set_raw(KEYBOARD)
        os.write(SCREEN, (begun(self.abilities) + self.wire.frame()).encode())

    def draw(self, picture: Picture, abilities: Abilities) -> None:
        """Show a picture that has just been painted for such a terminal."""
        self.picture, self.abilities, self._is_kept = picture, abilities, False
        self.show()

    def give_back(self) -> None:
        """Give the terminal back as it was, if it was taken."""
        if self.wire is not None and self.modes_before is not None:
            termios.tcsetattr(KEYBOARD, termios.TCSANOW, self.modes_before)
            if select.select([], [SCREEN], [], 0.0)[1]:
                os.write(SCREEN, farewell(self.abilities, self.wire.lines).encode())
            self.modes_before = None

    def keep(self, picture: Picture) -> None:
        """Keep a picture for the next time, unless it was shown this time; what the disk refuses is let be."""
        if picture == self.picture and self._is_kept:
            return
        from tabterm.storage.whole import atomic_write, forget_all_but

        path = away(self.file, KIND)
        try:
            make_own_folder(path.parent)
            atomic_write(path, _written(self.mark, picture))
            forget_all_but(path.parent, f"*.{KIND}", MOST_KEPT)
        except (OSError, TabtermError):
            return


def _holds_work(journal: Path) -> bool:
    """Whether a journal has more than the line that each begins with; raises OSError where it cannot be read."""
    return journal.exists() and read(journal).count(b"\n") > 1


def _kept(file: Path, mark: str) -> Picture | None:
    """The picture that was kept of a document, if it has this mark and all in it can be shown."""
    try:
        found = json.loads(read(away(file, KIND), most=MOST_BYTES, ours=True))
        if found["mark"] != mark:
            return None
        pens = [_pen(*each) for each in found["pens"]]
        rows = [[(_text(text), pens[number]) for number, run in row for text in run] for row in found["rows"]]
        cursor = found["cursor"]
        size = len(rows[0]), len(rows)
        if size != size_of(SCREEN) or any(len(row) != size[0] for row in rows):
            return None
        return Picture(rows, None if cursor is None else (int(cursor[0]), int(cursor[1])))
    except (OSError, ValueError, TypeError, KeyError, IndexError, RecursionError):
        return None


def _pen(ink: str, ground: str, marks: list[str]) -> Pen:
    if not (_PARAMETERS.fullmatch(ink) and _PARAMETERS.fullmatch(ground) and MARKS.keys() >= set(marks)):
        raise ValueError(ink)
    return Pen(ink, ground, frozenset(marks))


def _text(text: str) -> str:
    if len(text) > 16 or not text.isprintable():
        raise ValueError(text)
    return text


def _written(mark: str, picture: Picture) -> bytes:
    pens = list(dict.fromkeys(pen for row in picture.rows for _, pen in row))
    numbers = {pen: number for number, pen in enumerate(pens)}

    def runs(row: GridRow) -> list[tuple[int, str | list[str]]]:
        found: list[tuple[int, str | list[str]]] = []
        for pen, cells in groupby(row, key=lambda cell: cell[1]):
            texts = [text for text, _ in cast("list[Cell]", list(cells))]
            found.append((numbers[pen], "".join(texts) if all(len(text) == 1 for text in texts) else texts))
        return found

    return json.dumps(
        {
            "mark": mark,
            "cursor": picture.cursor,
            "pens": [(pen.ink, pen.ground, sorted(pen.marks)) for pen in pens],
            "rows": [runs(row) for row in picture.rows],
        },
        ensure_ascii=False,
    ).encode()
