"""The records of a journal: one line each, of its length, a check sum and compact JSON.

A line is eight hexadecimal digits with the bytes of the JSON, eight with its CRC-32, the JSON, and a line end,
parted by spaces. The number `n` goes up by one from record to record. Kinds:

* `mark`: from here on the journal goes on from a file with this SHA-256. The first one holds that file, whose
  journal it is and which process writes it; later ones stand before each save, with the digest of the bytes
  about to be written;
* `change`: a run of measures replaced, both sides, the head where it differs, and how many measures there were;
* `undo`, `redo`: the change of this number undone or redone.

What is damaged is passed over up to the next line that is whole; a line cut short at the end is torn.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import zlib
from dataclasses import field, replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.score.change import Change
from tabterm.values import compact, plain, read_value

if TYPE_CHECKING:
    from collections.abc import Collection

_HEAD = re.compile(rb"(?:([0-9a-f]{8}) )?([0-9a-f]{8}) (?=\{)")
_TELLS_OF = {"change", "undo", "redo"}

MOST_FILE_BYTES = 32_000_000
"""What the file in a mark may unpack to; the native format takes no larger one."""


@dataclass(frozen=True, slots=True)
class Origin:
    """What the first mark of a journal says of it.

    Attributes:
        path: The document, or "".
        session: A word that all journals of one editor share.
        process: Who writes it: a host and a process number, or "".
        told: How many records after this one repeat what an earlier journal of the session held.
        file: The bytes of the file that it goes on from, or b"".
    """

    path: str = ""
    session: str = ""
    process: str = ""
    told: int = 0
    file: bytes = b""


@dataclass(frozen=True, slots=True)
class Record:
    """One line of a journal.

    Attributes:
        kind: `mark`, `change`, `undo` or `redo`.
        label: What the player did, on a change.
        change: On a change; on `undo` and `redo` the one undone or redone, None where its record is lost.
        digest: On a mark.
        measures: How many measures there were before a change, 0 where that is not known.
        origin: On the first mark.
        number: In the journal.
    """

    kind: str
    label: str = ""
    change: Change | None = None
    digest: str = ""
    measures: int = 0
    origin: Origin | None = None
    number: int = -1


@dataclass(frozen=True, slots=True)
class JournalReading:
    """What was read of a journal.

    Attributes:
        records: Those that are whole.
        good: Bytes up to the last whole record, where nothing is damaged.
        damaged: Something is wrong before the end, or a record is missing.
        torn: The last record was cut short.
    """

    records: list[Record] = field(default_factory=list)
    good: int = 0
    damaged: bool = False
    torn: bool = False

    @property
    def origin(self) -> Origin:
        """What the journal says of itself."""
        return (self.records[0].origin if self.records else None) or Origin()

    @property
    def last(self) -> int:
        """The number of the last record, -1 where there is none."""
        return self.records[-1].number if self.records else -1

    @property
    def whole(self) -> bool:
        """All that the journal was begun with is there."""
        return bool(self.records) and len(self.records) > self.origin.told

    def since(self, digests: Collection[str]) -> int | None:
        """The index after the last mark of one of these digests, None where there is none."""
        marks = [index for index, record in enumerate(self.records) if record.digest in digests]
        return marks[-1] + 1 if marks else None

    def done_since(self, digests: Collection[str]) -> bool:
        """Something was done after the last mark of one of these digests."""
        start = self.since(digests)
        return start is not None and any(record.kind != "mark" for record in self.records[start:])

    @property
    def unsaved(self) -> bool:
        """Something was done after the last mark."""
        return bool(self.records) and self.records[-1].kind != "mark"


def digest_of(data: bytes) -> str:
    """SHA-256 of a document's bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def encode(record: Record, of: int = -1) -> bytes:
    """A record as a line; `of` is the number of the change that is undone or redone."""
    start = f'{{"n":{record.number},"kind":"{record.kind}"'
    if record.kind == "change" and record.change is not None:
        label, change = json.dumps(record.label), compact(plain(record.change, leave_out=("label",)))
        body = f'{start},"measures":{record.measures},"label":{label},"change":{change}}}'
    elif record.kind == "mark":
        words = {"digest": record.digest, **_origin_words(record.origin)}
        body = f"{start},{json.dumps(words, separators=(',', ':'))[1:]}"
    else:
        body = f'{start},"of":{of}}}'
    data = body.encode()
    return b"%08x %08x %s\n" % (len(data), zlib.crc32(data), data)


def _origin_words(origin: Origin | None) -> dict[str, str | int]:
    if origin is None:
        return {}
    return {
        "path": origin.path,
        "session": origin.session,
        "process": origin.process,
        "told": origin.told,
        "file": base64.b64encode(zlib.compress(origin.file, 1)).decode(),
    }


def read(data: bytes) -> JournalReading:
    """The whole records of a journal, in order."""
    records: list[Record] = []
    changes: dict[int, Change] = {}
    position, good, damaged, torn = 0, 0, False, False
    while position < len(data):
        found = _record_at(data, position)
        if found is None or (records and found[0].number <= records[-1].number):
            line_end = data.find(b"\n", position)
            if line_end < 0:
                torn = True
                break
            damaged = True
            position = line_end + 1
            continue
        record, of, end = found
        if end == len(data):  # its line end is missing
            torn = True
            break
        position = end + (data[end : end + 1] == b"\n")
        damaged |= data[end : end + 1] != b"\n"
        damaged |= record.number != (records[-1].number + 1 if records else record.number)
        damaged |= not records and record.origin is None and record.number > 0
        if record.kind == "change" and record.change is not None:
            changes[record.number] = record.change
        elif record.kind in _TELLS_OF:
            record = replace(record, change=changes.get(of))
        records.append(record)
        good = position if not damaged else good
    return JournalReading(records, good, damaged, torn)


def _record_at(data: bytes, position: int) -> tuple[Record, int, int] | None:
    """The record whose line begins at a position, the number it refers to, and where its JSON ends."""
    head = _HEAD.match(data, position)
    if head is None:
        return None
    length, check = head.groups()
    line_end = data.find(b"\n", head.end())
    end = head.end() + int(length, 16) if length else line_end
    body = data[head.end() : end]
    if end > len(data) or end < 0 or zlib.crc32(body) != int(check, 16):
        return None
    if not length and line_end < 0:
        return None
    try:
        record, of = _record_of(json.loads(body))
    except (ValueError, KeyError, TypeError, RecursionError, zlib.error, TabtermError):
        return None
    return record, of, end


def _record_of(words: dict[str, object]) -> tuple[Record, int]:
    """A record, and the number of the change that it undoes or redoes; raises ValueError, KeyError, TypeError."""
    kind, number = str(words["kind"]), words["n"]
    if not isinstance(number, int) or number < 0 or kind not in _TELLS_OF | {"mark"}:
        raise ValueError("not a record")
    label, digest = str(words.get("label", "")), str(words.get("digest", ""))
    change = read_value(Change, words["change"]).with_(label=label) if kind == "change" else None
    of, measures = words.get("of", -1), words.get("measures", 0)
    if not isinstance(of, int) or not isinstance(measures, int):
        raise TypeError("not a number")
    origin = _origin_of(words) if "session" in words else None
    return Record(kind, label, change, digest, measures, origin, number), of


def _origin_of(words: dict[str, object]) -> Origin:
    told = words.get("told", 0)
    if not isinstance(told, int):
        raise TypeError("not a number")
    packed = base64.b64decode(str(words.get("file", "")), validate=True)
    unpacking = zlib.decompressobj()
    file = unpacking.decompress(packed, MOST_FILE_BYTES)
    if unpacking.unconsumed_tail:
        raise ValueError("too large")
    path, session, process = (str(words.get(name, "")) for name in ("path", "session", "process"))
    return Origin(path, session, process, told, file)
