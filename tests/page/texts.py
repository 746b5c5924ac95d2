"""The text of a row of the page, without its weights."""

from __future__ import annotations

from tabterm.page.cells import View
from tabterm.page.rows import row_named


def row_texts(score, index, name):
    """Text by offset of a row of a measure, as the screen shows it."""
    shown = row_named(name).cells(View(score), index)
    return {offset: "".join(piece.text for piece in pieces) for offset, pieces in shown.items()}
