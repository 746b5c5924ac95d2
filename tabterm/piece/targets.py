"""Targets: everything that a piece can be written to, by the ending of the file. A new one is one entry here."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from tabterm import formats
from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.score.report import NOTHING, Report

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from tabterm.score.model import Score

    Write = Callable[..., Report]


@dataclass(frozen=True, slots=True)
class Target:
    """A kind of file that can be written.

    Attributes:
        name: What it is called.
        write: Writes a score to a path, wholly or not at all, and says what the file does not carry; what else
            it may be told are its words.
        heard: It holds a performance rather than a score.
        printed: It is for a reader, and shows the fingers and strokes that are proposed.
    """

    name: str
    write: Write
    heard: bool = False
    printed: bool = False


SHEETS = {".pdf": "PDF sheet", ".svg": "SVG sheet", ".png": "PNG sheet", ".html": "HTML sheet"}
"""Kinds of printed sheets by ending, that need no extra to be named."""


AUDIO = {".wav": "WAV", ".flac": "FLAC", ".ogg": "Ogg Vorbis", ".mp3": "MP3"}
"""Kinds of audio files by ending, the same."""


@cache
def targets() -> Mapping[str, Target]:
    """By ending: the formats of scores, audio files, printed sheets."""
    found = {ending: Target(kind.name, formats.write) for ending, kind in formats.FORMATS.items() if kind.writes}
    found |= {ending: Target(name, _audio, heard=True) for ending, name in AUDIO.items()}
    return found | {ending: Target(name, _sheet, printed=True) for ending, name in SHEETS.items()}


def target_of(path: Path) -> Target:
    """The target that a file's ending names; raises FormatError for an unknown one."""
    found = targets().get(path.suffix.lower())
    if found is None:
        hint = f"one of: {', '.join(targets())}"
        raise FormatError(f"unknown file extension '{path.suffix}'", place=str(path), hint=hint)
    return found


def _audio(path: Path, score: Score, **told: Any) -> Report:
    from tabterm.piece import audio

    audio.render(path, score, **told)
    return NOTHING


def _sheet(path: Path, score: Score, **told: Any) -> Report:
    from tabterm.piece import sheet

    return sheet.write_sheet(path, score, **told).report
