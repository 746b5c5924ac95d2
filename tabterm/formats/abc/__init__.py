"""ABC notation 2.1: tunes written as letters (abc standard 2.1, December 2011)."""

from tabterm.formats.abc.reader import read
from tabterm.formats.abc.writer import write

__all__ = ["read", "write"]
