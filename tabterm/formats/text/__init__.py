"""Text tab: four lines of dashes and frets, as players write it to each other.

What is written reads back equal, but for what text does not carry: proposed fingers, the fingers of grace
notes, and the source line. The signs of the notes are those of `tabterm.formats.columns`.
"""

from tabterm.formats.text.reader import read
from tabterm.formats.text.writer import DEFAULT_ROWS, ROWS, write

__all__ = ["DEFAULT_ROWS", "ROWS", "read", "write"]
