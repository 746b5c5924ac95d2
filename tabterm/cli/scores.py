"""What the commands share: reading a score as this player's, and not writing over one by mistake."""

from __future__ import annotations

import shutil
import sys
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.errors import StorageError
from tabterm.workspace import configuration

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.score.model import Score


def read_score(path: Path) -> Score:
    """The score of a file, lent the player's hand; what its reader remarks goes to standard error.

    Raises:
        TabtermError: The file cannot be read, or the configuration cannot.
    """
    reading = formats.read(path)
    for remark in reading.remarks:
        place = f":{remark.line}:{remark.column}" if remark.line else ""
        print(f"{path}{place}: {remark.message}", file=sys.stderr)
    return configuration.in_hand(reading.score)


def check_out(path: Path | None, *, force: bool) -> None:
    """Raise FormatError or StorageError where a file cannot be written, before any work is done."""
    if path is None:
        return
    if not formats.format_of(path).writes:
        raise StorageError("this format can be read, not written", place=str(path), hint="choose another ending")
    check_free(path, force=force)


def check_free(path: Path, *, force: bool) -> None:
    """Raise StorageError where a file would be written over by mistake."""
    if path.exists() and not force:
        raise StorageError("the file is there already", place=str(path), hint="--force writes over it")


def page(score: Score, width: int | None = None, rows: tuple[str, ...] | None = None) -> str:
    """A score as text tab, as wide as the terminal where no width is given."""
    from tabterm.formats.text import DEFAULT_ROWS, NARROWEST, WIDEST, write

    if width is None:
        width = min(max(shutil.get_terminal_size((80, 24)).columns, NARROWEST), WIDEST)
    return write(score, width=width, rows=DEFAULT_ROWS if rows is None else rows).decode()
