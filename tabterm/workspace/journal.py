"""The journal of an editor: every change on disk before it is acknowledged; and what damage leaves of it.

A change holds both sides of the run of measures that it replaces, so that one that comes after a lost one brings
back what that one did to the same measures. Where measures were put in or taken out by a lost record, the place of
a later change is found by what it replaces; a change whose place is not known is passed over.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import field, replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.score.query import music
from tabterm.storage import names
from tabterm.storage.appending import AppendedFile
from tabterm.storage.opening import make_own_folder
from tabterm.workspace.history import History
from tabterm.workspace.records import Origin, Record, digest_of, encode

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from tabterm.score.change import Change
    from tabterm.score.model import Score
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
    yield names.away(path, JOURNAL, os.urandom(4).hex())


class Lines:
    """The records of one editor as numbered lines.

    Attributes:
        session: A word that all journals of this editor share.
        number: Of the next record.
    """

    def __init__(self, session: str = "", number: int = 0) -> None:
        self.session = session or os.urandom(8).hex()
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
        process = f"{os.uname().nodename}:{os.getpid()}"
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
    if host != os.uname().nodename:
        return True
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return int(number) > 0


@dataclass
class Salvage:
    """A score on which what is left of a journal is carried out.

    Attributes:
        score: As far as it has come.
        history: The changes that were carried out, where they were.
        done: How many records were carried out.
        passed_over: How many were not.
    """

    score: Score
    history: History = field(default_factory=History)
    done: int = 0
    passed_over: int = 0
    _placed: dict[int, Change] = field(default_factory=dict)

    def carry_out(self, records: Sequence[Record]) -> Salvage:
        """Carry out what fits, and return the salvage itself."""
        for record in records:
            if record.kind == "mark":
                continue
            before = self.score
            try:
                taken = self._change(record) if record.kind == "change" else self._travel(record)
            except TabtermError:
                taken, self.score = False, before
            self.done += taken
            self.passed_over += not taken
        return self

    def _change(self, record: Record) -> bool:
        change = self._place(record)
        if change is None or record.change is None:
            return False
        self.score = change.apply(self.score)
        self.history.add(change)
        self._placed[id(record.change)] = change
        return True

    def _place(self, record: Record) -> Change | None:
        """A change where it belongs now; None where that is not known."""
        change, standing = record.change, self.score.measures
        if change is None:
            return None
        shift = len(standing) - record.measures if record.measures else 0
        places = [change.first] if not shift else [change.first, change.first + shift]
        fitting = [first for first in places if _stands_at(change, first, self.score)]
        if not fitting and not shift and change.first + len(change.removed) <= len(standing):
            fitting = places
        return change.with_(first=fitting[0]) if fitting else None

    def _travel(self, record: Record) -> bool:
        """Undo or redo the change that the record names, where it is the one whose turn it is."""
        back = record.kind == "undo"
        turn = self.history.done if back else self.history.undone
        if record.change is None or not turn or self._placed.get(id(record.change)) is not turn[-1]:
            return False
        step = self.history.back(self.score) if back else self.history.forward(self.score)
        if step is not None:
            self.score = step[0]
        return step is not None


def fits(change: Change, score: Score) -> bool:
    """Whether a change is of a score: what it replaces stands there."""
    return _stands_at(change, change.first, score)


def _stands_at(change: Change, first: int, score: Score) -> bool:
    end = first + len(change.removed)
    return first >= 0 and end <= len(score.measures) and music(change.removed) == music(score.measures[first:end])
