"""File formats: one module each, found by the ending of a file's name.

Every reader gives a `Reading`: the score or the line, and a report of what could not be carried
over or was proposed.
"""

from __future__ import annotations

import errno
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, StorageError
from tabterm.score.report import NOTHING, Report
from tabterm.storage import opening

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tabterm.score.line import Line
    from tabterm.score.model import Score

MAX_BYTES = 64_000_000
"""Larger files are refused before they are read."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a reader found in a file: a score, or of a file without courses and frets for it a line."""

    music: Score | Line
    report: Report = NOTHING


@dataclass(frozen=True, slots=True)
class Writing:
    """What a writer made of a score: the bytes of the file, and what they do not carry."""

    data: bytes
    report: Report = NOTHING


class Rules(Protocol):
    """What the module of a format offers."""

    @property
    def read(self) -> Callable[..., Score | Reading]:
        """`read(bytes, **choice)`: the music in a file."""

    @property
    def write(self) -> Callable[..., bytes | Writing]:
        """`write(score, **options)`: the file of a score."""


@dataclass(frozen=True, slots=True)
class Format:
    """A format.

    Attributes:
        load: The module that knows it, loaded only when a file is read or written.
        name: What it is called.
        reads: It can be read.
        writes: It can be written.
        choice: By what the music to read is chosen where a file holds several: the words that `read` takes,
            such as `tune`, `track`, `part`.
        options: What `write` may be told: its words beside the score.
        binary: It is no text.
        foreign: It holds pitches for any instrument: its reader may give a line.
        names_chords: Chord symbols are as people write them, in English or in German.
    """

    load: Callable[[], Rules]
    name: str
    reads: bool = True
    writes: bool = True
    choice: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    binary: bool = False
    foreign: bool = False
    names_chords: bool = False


def _native() -> Rules:
    from tabterm.formats import native

    return native


def _text() -> Rules:
    from tabterm.formats import text

    return text


def _abc() -> Rules:
    from tabterm.formats import abc

    return abc


def _musicxml() -> Rules:
    from tabterm.formats import musicxml

    return musicxml


def _compressed() -> Rules:
    from tabterm.formats.musicxml import compressed

    return compressed


def _smf() -> Rules:
    from tabterm.formats import smf

    return smf


_MUSICXML = Format(_musicxml, "MusicXML", choice=("part", "voice"), options=("view",), foreign=True)
_SMF = Format(
    _smf,
    "Standard MIDI File",
    choice=("track", "channel", "grid", "pickup", "measures"),
    options=("span", "options"),
    binary=True,
    foreign=True,
)

FORMATS: dict[str, Format] = {
    ".tabterm": Format(_native, "tabterm"),
    ".txt": Format(_text, "text tab", names_chords=True),
    ".tab": Format(_text, "text tab", names_chords=True),
    ".abc": Format(_abc, "ABC tune", choice=("tune", "part"), foreign=True),
    ".musicxml": _MUSICXML,
    ".xml": _MUSICXML,
    ".mxl": replace(_MUSICXML, load=_compressed, name="MusicXML, compressed", binary=True),
    ".mid": _SMF,
    ".midi": _SMF,
}
"""By ending."""


def format_of(path: Path) -> Format:
    """The format that a file's ending names; raises FormatError for an unknown one."""
    try:
        return FORMATS[path.suffix.lower()]
    except KeyError:
        endings = ", ".join(FORMATS)
        raise FormatError(
            f"unknown file extension '{path.suffix}'", place=str(path), hint=f"one of: {endings}"
        ) from None


def kind_of(path: Path, ending: str = "") -> Format:
    """The format of a file by its ending, or by another one that is said to be its; raises FormatError."""
    return format_of(path.with_name(f"file{ending}") if ending else path)


def read(path: Path, *, ending: str = "", data: bytes | None = None, **choice: int | str | None) -> Reading:
    """Read a file.

    Args:
        path: The file.
        ending: The ending of the format that it is in; "": its own.
        data: What it holds, where that has been read.
        choice: Which of the tunes, tracks or parts in it, None where it is not said.

    Raises:
        FormatError: It is not in the format that its ending names, or that format is only written.
        StorageError: It cannot be opened.
    """
    if data is None and not path.exists():
        _bytes_of(path)  # which says so, whatever its ending
    kind = kind_of(path, ending)
    if not kind.reads:
        raise FormatError(f"a {kind.name} can be written but not read", place=str(path))
    chosen = {word: value for word, value in choice.items() if value is not None}
    for word in chosen.keys() - set(kind.choice):
        raise FormatError(f"a {kind.name} has no {word} to choose", place=str(path), hint=f"leave out --{word}")
    try:
        result = kind.load().read(_bytes_of(path) if data is None else data, **chosen)
    except FormatError as error:
        place = f"{path}: {error.place}" if error.place else str(path)
        raise FormatError(error.message, hint=error.hint, place=place) from None
    return result if isinstance(result, Reading) else Reading(result)


def write(path: Path, score: Score, **options: Any) -> Report:
    """Write a score to a file, wholly or not at all, and return what the file does not carry.

    Raises:
        FormatError: The ending names no format, or one that cannot be told that.
        StorageError: The disk refused.
    """
    from tabterm.storage.whole import atomic_write

    writing = written(path, score, **options)
    atomic_write(path, writing.data)
    return writing.report


def written(path: Path, score: Score, **options: Any) -> Writing:
    """A score as the file of a name, without writing it.

    `options` go to the format's `write`, None where it is not said.

    Raises:
        FormatError: The ending names no format, or one that cannot be told that.
    """
    kind = format_of(path)
    told = {word: value for word, value in options.items() if value is not None}
    for word in told.keys() - set(kind.options):
        raise FormatError(f"a {kind.name} has no {word}", place=str(path), hint=f"leave out --{word}")
    result = kind.load().write(score, **told)
    return result if isinstance(result, Writing) else Writing(result)


def _bytes_of(path: Path) -> bytes:
    try:
        return opening.read(path, most=MAX_BYTES)
    except OSError as error:
        if error.errno == errno.EFBIG:
            raise FormatError(
                "the file is too large", place=str(path), hint=f"at most {MAX_BYTES} bytes"
            ) from None
        reason = error.strerror or str(error)
        raise StorageError(f"cannot be read: {reason}", place=str(path), hint="check the name") from error
