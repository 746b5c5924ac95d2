"""File formats: one module each, found by the ending of a file's name.

Every reader gives a `Reading`: the score, and remarks on what could not be carried over or was proposed.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, StorageError

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.score.model import Score

MAX_BYTES = 64_000_000
"""Larger files are refused before they are read."""


@dataclass(frozen=True, slots=True)
class Remark:
    """What a reader could not carry over, or proposed; line and column count from 1, 0 is the whole file."""

    line: int
    column: int
    message: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What a reader found in a file."""

    score: Score
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Format:
    """A format: the module that knows it, and whether it can be read and written."""

    module: str
    name: str
    reads: bool = True
    writes: bool = True


FORMATS: dict[str, Format] = {
    ".tabterm": Format("tabterm.formats.native", "tabterm"),
    ".txt": Format("tabterm.formats.text", "text tab"),
    ".tab": Format("tabterm.formats.text", "text tab"),
    ".mid": Format("tabterm.formats.smf", "Standard MIDI File"),
    ".midi": Format("tabterm.formats.smf", "Standard MIDI File"),
}
"""By ending; a format's module has `read(bytes)` and `write(score, **options) -> bytes` as far as it can."""


def format_of(path: Path) -> Format:
    """The format that a file's ending names; raises FormatError for an unknown one."""
    try:
        return FORMATS[path.suffix.lower()]
    except KeyError:
        endings = ", ".join(FORMATS)
        raise FormatError(f"unknown ending '{path.suffix}'", place=str(path), hint=f"one of: {endings}") from None


def read(path: Path) -> Reading:
    """Read a file.

    Raises:
        FormatError: It is not in the format that its ending names, or that format is only written.
        StorageError: It cannot be opened.
    """
    kind = format_of(path)
    if not kind.reads:
        raise FormatError(f"a {kind.name} can be written, not read", place=str(path))
    data = _bytes_of(path)
    try:
        result = importlib.import_module(kind.module).read(data)
    except FormatError as error:
        place = f"{path}: {error.place}" if error.place else str(path)
        raise FormatError(error.message, hint=error.hint, place=place) from None
    return result if isinstance(result, Reading) else Reading(result)


def write(path: Path, score: Score, **options: Any) -> None:
    """Write a score to a file, wholly or not at all; `options` go to the format's `write`.

    Raises:
        FormatError: The ending names no format.
        StorageError: The disk refused.
    """
    from tabterm.formats.files import atomic_write

    kind = format_of(path)
    data: bytes = importlib.import_module(kind.module).write(score, **options)
    atomic_write(path, data)


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > MAX_BYTES:
            raise FormatError("the file is too large", place=str(path), hint=f"at most {MAX_BYTES} bytes")
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or str(error)
        raise StorageError(f"cannot be read: {reason}", place=str(path), hint="check the name") from error
