"""What the screen shows of a score, and how."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.page.rows import EDITABLE, ON_SCREEN

if TYPE_CHECKING:
    from tabterm.page.rows import Row
    from tabterm.score.change import Change


@dataclass
class Shown:
    """The player's choices of what is shown, and what the screen and the commands tell each other.

    Attributes:
        hidden_rows: Rows that are left out.
        silent_strokes: The strokes of the moving hand that strike nothing are shown.
        neck: The neck is shown where there is room.
        plain: For a screen reader: no lines drawn, the cursor in words.
        follows: The page follows what sounds.
        measures: How many measures are on the screen.
        last_change: The change that the score went through last; what it touches is painted anew.
    """

    hidden_rows: frozenset[Row] = frozenset(row for row in ON_SCREEN if row.hidden)
    silent_strokes: bool = False
    neck: bool = True
    plain: bool = False
    follows: bool = True
    measures: int = 4
    last_change: Change | None = None

    @property
    def rows(self) -> tuple[Row, ...]:
        """Rows that the cursor can stand on now."""
        return tuple(row for row in EDITABLE if row not in self.hidden_rows)
