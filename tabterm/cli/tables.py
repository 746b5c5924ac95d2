"""Tables: aligned and wrapped on a terminal, one row a line with tabs between where a program reads them."""

from __future__ import annotations

import io
import shutil
import sys
from typing import TYPE_CHECKING

from tabterm.cli.output import MANNER

if TYPE_CHECKING:
    from collections.abc import Sequence

SHARE = 4
"""A column that takes no more than this part of the width stays on one line."""

WIDEST = 120
"""Characters of a table, where the terminal has more."""


def is_read_by_a_person() -> bool:
    """Whether standard output is a terminal, or leads to one through the pager."""
    return MANNER.pages or (sys.stdout is not None and sys.stdout.isatty())


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows of cells; the last column takes the room that is left, and is wrapped."""
    if not is_read_by_a_person():
        for row in rows:
            print("\t".join(row))
        return
    print("\n".join(drawn(headings, rows, min(shutil.get_terminal_size((80, 24)).columns, WIDEST))))


def drawn(headings: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """The lines of a table that is at most so wide."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    unicode = "utf" in (getattr(sys.stdout, "encoding", "") or "").lower()
    table = Table(box=box.SIMPLE_HEAD if unicode else box.ASCII2, pad_edge=False)
    for number, heading in enumerate(headings):
        longest = max((len(row[number]) for row in rows), default=0)
        table.add_column(heading, no_wrap=longest <= width // SHARE, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))
    page = io.StringIO()
    Console(file=page, width=width, color_system=None).print(table)
    return [line.rstrip() for line in page.getvalue().splitlines() if line.strip()]
