"""Text tab: four lines of dashes and frets, as players write it to each other.

What is written with all its rows reads back equal, but for proposals that a choice of the player covers: they
are not seen, and are made anew at every edit. The signs of the notes are those of `tabterm.page.signs`,
those of the rows below them stand in `events`, what fits no row in `marks`.
"""

from tabterm.formats.text.reader import read
from tabterm.formats.text.writer import DEFAULT_ROWS, NARROWEST, ROWS, WIDEST, write

__all__ = ["DEFAULT_ROWS", "NARROWEST", "ROWS", "WIDEST", "read", "write"]
