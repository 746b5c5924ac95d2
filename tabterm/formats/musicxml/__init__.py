"""MusicXML 4.0: one part of a file becomes a score, a score becomes a part.

Read are versions 1.0 to 4.0, partwise and timewise, compressed or not. Written files are valid against the
schema of version 4.0.
"""

from tabterm.formats.musicxml.reader import read
from tabterm.formats.musicxml.writer import VIEWS, write

__all__ = ["VIEWS", "read", "write"]
