"""The journal of an editor: every change on disk before it is acknowledged, in a file of this editor alone.

It stands beside the document, or in the user's own state folder where that cannot be. A journal that takes no more
is followed by another, which begins with all that has not been saved.
"""

from __future__ import annotations

import os
import secrets
import socket
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tabterm.storage import names
from tabterm.storage.appending import AppendedFile
from tabterm.storage.opening import make_own_folder
from tabterm.workspace.records import Origin, Record, digest_of, encode

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from tabterm.score.change import Change
    from tabterm.workspace.records import JournalReading

JOURNAL = "journal"
"""The kind of file that a journal is."""

NUMBERED = 9
"""Journals of one document that get a number in the user's own folder; more get a word by chance."""


def places(path: Path) -> Iterator[Path]:
    """Where a new journal of a document may stand, the best place first."""
    yield names.beside(path, JOURNAL)
    yield names.away(path, JOURNAL)
    for number in range(2, NUMBERED + 1):
        yield names.away(path, JOURNAL, str(number))
    yield names.away(path, JOURNAL, secrets.token_hex(4))


class Lines:
    """The records of one editor as numbered lines.

    Attributes:
        session: A word that all journals of this editor share.
        number: Of the next record.
    """

    def __init__(self, session: str = "", number: int = 0) -> None:
        self.session = session or secrets.token_hex(8)
        self.number = number
        self._numbers: dict[int, int] = {}

    def of(self, record: Record) -> bytes:
        """The next record as a line."""
        line = encode(replace(record, number=self.number), self._numbers.get(id(record.change), -1))
        self.know(record.change if record.kind == "change" else None, self.number)
        self.number += 1
        return line

    def know(self, change: Change | None, number: int) -> None:
        """A change has the record of this number."""
        if change is not None:
            self._numbers[id(change)] = number

    def opening(self, path: Path, data: bytes, records: Sequence[Record] = ()) -> bytes:
        """The first lines of a journal of a document that goes on from a file's bytes."""
        self._numbers.clear()
        process = f"{socket.gethostname()}:{os.getpid()}"
        origin = Origin(os.fspath(path), self.session, process, len(records), data)
        first = Record("mark", digest=digest_of(data), origin=origin)
        return b"".join(self.of(record) for record in (first, *records))


@dataclass
class Journal:
    """A journal open for appending.

    Attributes:
        file: Where the records go.
        lines: What makes lines of them.
        why: What the disk said to a better place, or None.
    """

    file: AppendedFile
    lines: Lines
    why: OSError | None = None

    @classmethod
    def begun(cls, path: Path, data: bytes, records: Sequence[Record], lines: Lines) -> Journal:
        """A new journal that goes on from a file's bytes, in the first place that takes it.

        Raises:
            OSError: No place takes it; what the best one said.
        """
        why: OSError | None = None
        for place in places(path):
            file = None
            try:
                if place.parent != path.parent:
                    make_own_folder(place.parent)
                file = AppendedFile.made(place)
                file.append(lines.opening(path, data, records))
                file.sync()
            except OSError as error:
                why = why or error
                if file is not None:
                    with suppress(OSError):
                        file.remove()
            else:
                return cls(file, lines, why)
        raise why or OSError("no place for a journal")

    @classmethod
    def rewritten(cls, place: Path, path: Path, data: bytes, records: Sequence[Record]) -> Journal:
        """A new journal in place of one whose lines are of a former form; raises OSError, StorageError."""
        lines = Lines()
        return cls(AppendedFile.replaced(place, lines.opening(path, data, records)), lines)

    @classmethod
    def resumed(cls, file: AppendedFile, reading: JournalReading) -> Journal:
        """A journal that another process has left, gone on with; raises OSError."""
        if reading.torn:
            file.cut(reading.good)
        lines = Lines(reading.origin.session, reading.last + 1)
        for record in reading.records:
            lines.know(record.change if record.kind == "change" else None, record.number)
        return cls(file, lines)

    def append(self, record: Record) -> None:
        """Write a record; once this returns, it outlives the process, see `AppendedFile`; raises OSError."""
        self.file.append(self.lines.of(record))

    def restart(self, path: Path, data: bytes) -> None:
        """Forget every record, and go on from a file's bytes; raises OSError, StorageError."""
        file = AppendedFile.replaced(self.file.path, self.lines.opening(path, data))
        self.file.close()
        self.file = file


def is_running(process: str) -> bool:
    """Whether the process that an origin names may still be there; that of another host may."""
    host, _, number = process.rpartition(":")
    if not number.isdecimal() or len(number) > 9:
        return False
    if host != socket.gethostname():
        return True
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return int(number) > 0
