"""The journal: every change on disk before it is acknowledged, in a sidecar beside the document.

A record is one line: eight hexadecimal digits of the CRC-32 of what follows, a space, and compact JSON. Kinds:

* `mark`: from here on the journal goes on from a file with this SHA-256 (at the first opening, and before each
  save, when the digest is that of the bytes about to be written);
* `change`: a run of measures replaced, both sides, and the head where it differs;
* `undo`, `redo`: the last change taken back, or made again.

A torn or damaged tail is cut off when the journal is read. Since a `change` holds both sides, the history
before a mark can be rebuilt by walking backwards from the document's file.
"""

from __future__ import annotations

import hashlib
import json
import os
import zlib
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import platformdirs
from pydantic import TypeAdapter, ValidationError

from tabterm.errors import TabtermError
from tabterm.score.change import Change

if TYPE_CHECKING:
    from pathlib import Path

SYNC_EVERY = 10
"""Records after which the journal is forced to disk even while the keys do not rest."""

_CHANGE = TypeAdapter(Change)


@dataclass(frozen=True, slots=True)
class Record:
    """One line of a journal.

    Attributes:
        kind: `mark`, `change`, `undo` or `redo`.
        label: What the player did, on a change.
        change: On a change.
        digest: On a mark.
    """

    kind: str
    label: str = ""
    change: Change | None = None
    digest: str = ""


def digest_of(data: bytes) -> str:
    """SHA-256 of a document's bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def sidecar(path: Path) -> Path:
    """Where the journal of a document is."""
    return path.with_name(f".{path.name}.journal")


def fallback(path: Path, kind: str = "journal") -> Path:
    """Where a sidecar goes when the document's folder cannot be written to."""
    key = hashlib.sha256(os.fsencode(path)).hexdigest()[:16]
    return platformdirs.user_state_path("tabterm") / f"{kind}s" / f"{key}-{path.name}.{kind}"


def encode(number: int, record: Record) -> bytes:
    """A record as a line."""
    if record.change is not None:
        change = record.change.model_dump_json(exclude_defaults=True)
        body = f'{{"n":{number},"kind":"change","label":{json.dumps(record.label)},"change":{change}}}'
    elif record.kind == "mark":
        body = json.dumps({"n": number, "kind": "mark", "digest": record.digest}, separators=(",", ":"))
    else:
        body = json.dumps({"n": number, "kind": record.kind}, separators=(",", ":"))
    data = body.encode()
    return b"%08x %s\n" % (zlib.crc32(data), data)


def decode(line: bytes, number: int) -> Record | None:
    """The record of a line, or None where it is damaged or out of sequence."""
    try:
        check, body = line.split(b" ", 1)
        if int(check, 16) != zlib.crc32(body):
            return None
        words = json.loads(body)
        if words["n"] != number:
            return None
        change = _CHANGE.validate_python(words["change"]) if words["kind"] == "change" else None
        return Record(str(words["kind"]), str(words.get("label", "")), change, str(words.get("digest", "")))
    except (ValueError, KeyError, TypeError, RecursionError, ValidationError, TabtermError):
        return None


def read(data: bytes) -> tuple[list[Record], int]:
    """The records of a journal up to the first damaged one, and the number of bytes they take."""
    records: list[Record] = []
    good = 0
    for line in data.splitlines(keepends=True):
        record = decode(line[:-1], len(records)) if line.endswith(b"\n") else None
        if record is None:
            break
        records.append(record)
        good += len(line)
    return records, good


def has_unsaved(path: Path) -> bool:
    """Whether a journal holds changes to a document as its file is now, which an editor would recover.

    Raises:
        OSError: A journal, or the file, cannot be read.
    """
    for place in (sidecar(path), fallback(path)):
        records = read(place.read_bytes())[0] if place.exists() else []
        if records:
            digest = digest_of(path.read_bytes()) if path.exists() else records[0].digest
            marks = [number for number, record in enumerate(records) if record.digest == digest]
            return bool(marks) and any(record.kind != "mark" for record in records[marks[-1] :])
    return False


class Journal:
    """A journal open for appending."""

    def __init__(self, path: Path, *, keep: int = 0, count: int = 0) -> None:
        """Open the file at `path`, keeping its first `keep` bytes, which hold `count` records.

        Raises:
            OSError: The file cannot be opened or cut.
        """
        self.path = path
        self.count = count
        self._unsynced = 0
        self._descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        os.ftruncate(self._descriptor, keep)
        self._size = os.lseek(self._descriptor, 0, os.SEEK_END)

    def append(self, record: Record) -> None:
        """Write a record; once this returns, the record outlives the process.

        Raises:
            OSError: The disk refused; what was written of the record is cut off again.
        """
        data = encode(self.count, record)
        try:
            written = 0
            while written < len(data):
                written += os.write(self._descriptor, data[written:])
        except OSError:
            os.ftruncate(self._descriptor, self._size)
            os.lseek(self._descriptor, self._size, os.SEEK_SET)
            raise
        self._size += len(data)
        self.count += 1
        self._unsynced += 1
        if self._unsynced >= SYNC_EVERY:
            with suppress(OSError):  # it is written; whoever syncs next is told
                self.sync()

    def sync(self) -> None:
        """Force what has been written to the disk itself, where something has been."""
        if self._unsynced:
            os.fsync(self._descriptor)
            self._unsynced = 0

    def restart(self) -> None:
        """Forget every record."""
        os.ftruncate(self._descriptor, 0)
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        self._size = self.count = self._unsynced = 0

    def is_on_disk(self) -> bool:
        """The file is still where it was opened."""
        try:
            there = self.path.stat()
        except OSError:
            return False
        ours = os.fstat(self._descriptor)
        return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)

    def moved_to(self, path: Path) -> Journal:
        """The same journal, copied to another place and open there; raises OSError."""
        data = os.pread(self._descriptor, self._size, 0)
        moved = Journal(path, count=self.count)
        os.write(moved._descriptor, data)
        moved._size = len(data)
        moved._unsynced = 1
        moved.sync()
        os.close(self._descriptor)
        return moved

    @property
    def size(self) -> int:
        """Bytes written."""
        return self._size

    def close(self, *, remove: bool) -> None:
        """Close the file; with `remove`, take it away or, where its folder may not be written to, empty it.

        Raises:
            OSError: The disk refused; it is closed all the same.
        """
        try:
            if not remove:
                self.sync()
                return
            try:
                self.path.unlink(missing_ok=True)
            except OSError:
                self.restart()
        finally:
            os.close(self._descriptor)
