"""Standard MIDI Files: written from the performance, read as notes that are fitted to a grid and to the neck."""

from tabterm.formats.smf.reader import read
from tabterm.formats.smf.writer import TICKS_PER_QUARTER, ascii_of, write

__all__ = ["TICKS_PER_QUARTER", "ascii_of", "read", "write"]
