"""The compressed file, `.mxl`: the same score in an archive."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.formats import Writing
from tabterm.formats.musicxml.archive import packed
from tabterm.formats.musicxml.reader import read
from tabterm.formats.musicxml.writer import NOTES
from tabterm.formats.musicxml.writer import write as write_plain

if TYPE_CHECKING:
    from tabterm.score.model import Score

__all__ = ["read", "write"]


def write(score: Score, *, view: str = NOTES) -> Writing:
    """A score as the bytes of a compressed file; see `writer.write`.

    Raises:
        FormatError: No such view.
    """
    plain = write_plain(score, view=view)
    return Writing(packed(plain.data), plain.report)
