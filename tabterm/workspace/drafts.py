"""Journals that editors have left: found, chosen from, put aside, listed, and rebuilt into scores."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.formats import native
from tabterm.printable import counted
from tabterm.score.query import music
from tabterm.storage import names, opening
from tabterm.storage.appending import AppendedFile, TakenError
from tabterm.storage.lock import GONE_S
from tabterm.storage.names import free_name
from tabterm.storage.refusals import StrangeFileError
from tabterm.storage.whole import renamed
from tabterm.workspace import records as records_
from tabterm.workspace.journal import JOURNAL, Salvage, fits, is_running

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from tabterm.score.model import Score
    from tabterm.workspace.records import JournalReading

ASIDE = f"{JOURNAL}.aside"
"""What stands in the name of a journal that was put aside."""

MOST_BYTES = 256_000_000
"""A longer journal is not read; `COMPACT_BYTES` keeps ours far below."""


@dataclass
class Draft:
    """A journal that was left.

    Attributes:
        place: Its file.
        reading: What is in it.
        written_ns: When it was last written.
        file: Taken over from the process that wrote it; None where it was only read.
    """

    place: Path
    reading: JournalReading
    written_ns: int
    file: AppendedFile | None = None

    @property
    def written(self) -> str:
        """When it was last written, in local time."""
        return time.strftime("%Y-%m-%d %H:%M", time.localtime(self.written_ns / 1e9))

    @property
    def document(self) -> Path | None:
        """The document that it says it is of."""
        return Path(self.reading.origin.path) if self.reading.origin.path else None

    @property
    def changes(self) -> int:
        """How many records tell of something done."""
        return sum(record.kind != "mark" for record in self.reading.records)

    @property
    def said(self) -> str:
        """When it was written and how much is in it, in a few words."""
        damaged = ", damaged" if self.reading.damaged else ""
        return f"{self.written}, {counted(self.changes, 'change')}{damaged}"

    def start(self, digests: Collection[str], score: Score) -> int | None:
        """The index of the first record that goes on from a file of these digests; None where none does.

        Where the mark of that file is lost, the music tells.
        """
        found = self.reading.since(digests)
        if found is not None or not self.reading.damaged:
            return found
        records, origin = self.reading.records, self.reading.origin
        if not origin.file:
            first = next((record.change for record in records if record.kind == "change"), None)
            return 0 if first is not None and fits(first, score) else None
        return self._start_by_music(score)

    def _start_by_music(self, score: Score) -> int | None:
        """The index of the record after a gap at which a score is that of the journal."""
        try:
            salvage = Salvage(native.read(self.reading.origin.file))
        except TabtermError:
            return None
        wanted, before = music(score.measures), -1
        for index, record in enumerate(self.reading.records):
            gap, before = record.number != before + 1, record.number
            if gap and music(salvage.score.measures) == wanted:
                return index
            salvage.carry_out([record])
        return None

    def rebuilt(self) -> Score | None:
        """The score as the journal leaves it; None where the file it was based on is missing or has changed."""
        try:
            return Salvage(native.read(self.reading.origin.file)).carry_out(self.reading.records).score
        except TabtermError:
            return None

    def close(self) -> None:
        """Leave it to others."""
        if self.file is not None:
            self.file.close()
            self.file = None

    def remove(self) -> None:
        """Take it away: what it holds is elsewhere; raises OSError."""
        if self.file is not None:
            self.file.remove()
            self.file = None
        else:
            self.place.unlink(missing_ok=True)


@dataclass
class Found:
    """The journals of a document.

    Attributes:
        drafts: Those that processes have left which are no more.
        in_use: Those of editors that are running.
        strange: What was said of files that are none of ours.
    """

    drafts: list[Draft]
    in_use: list[Path]
    strange: list[str]


def claim(path: Path) -> Found:
    """Take over the journals of a document that nobody writes to any more."""
    found = Found([], [], [])
    for place in _journals(path):
        try:
            draft = _claimed(place)
        except TakenError:
            found.in_use.append(place)
        except StrangeFileError as error:
            found.strange.append(error.what)
        except FileNotFoundError:
            continue
        except OSError as error:
            found.strange.append(f"{place.name}: {error.strerror or error}")
        else:
            if draft is None:
                found.in_use.append(place)
            else:
                found.drafts.append(draft)
    return found


def chosen(drafts: Sequence[Draft], digests: Collection[str], score: Score) -> Draft | None:
    """The draft that goes on from a file: with unsaved work, of one editor the latest, else the newest."""
    fitting = [draft for draft in drafts if draft.start(digests, score) is not None]
    latest = [draft for draft in fitting if not any(_supersedes(other, draft) for other in fitting)]
    return max(latest, key=lambda draft: (draft.reading.unsaved, draft.written_ns), default=None)


def superseded(drafts: Iterable[Draft], by: Draft) -> list[Draft]:
    """Drafts of the same editor all of whose records another one holds."""
    return [draft for draft in drafts if _supersedes(by, draft)]


def _supersedes(one: Draft, other: Draft) -> bool:
    session = one.reading.origin.session
    return (
        one is not other
        and bool(session)
        and session == other.reading.origin.session
        and one.reading.whole
        and one.reading.last > other.reading.last
    )


def put_aside(place: Path) -> Path:
    """Keep a journal under another name, and return that; raises OSError."""
    stem = place.name.lstrip(".").removesuffix(f".{JOURNAL}")
    aside = free_name(place.with_name(names.fitted(stem, f".{ASIDE}", place.parent)))
    renamed(place, aside)
    return aside


def kept(path: Path | None = None) -> list[Draft]:
    """What was put aside or left by editors that have ended, the newest first.

    Of a document or, without one, of all in the working folder and in the user's own.
    """
    return _drafts([*_asides(path), *_journals(path)] if path else _strewn())


def kept_aside(path: Path) -> list[Draft]:
    """What was put aside of a document, the newest first; no journal is touched, least of all our own."""
    return _drafts(_asides(path))


def _drafts(places: Iterable[Path]) -> list[Draft]:
    drafts = []
    for place in places:
        with suppress(OSError):
            draft = _read(place) if ASIDE in place.name else _claimed(place)
            if draft is not None:
                draft.close()
                drafts.append(draft)
    return sorted((draft for draft in drafts if draft.changes), key=lambda each: each.written_ns, reverse=True)


def fits_again(path: Path, digests: Collection[str]) -> bool:
    """Whether something that was put aside, and is whole, goes on from a file of these digests."""
    return any(draft.reading.done_since(digests) for draft in kept_aside(path) if not draft.reading.damaged)


def has_unsaved(path: Path) -> bool:
    """Whether a journal holds changes to a document as its file is now, which an editor would recover.

    Raises:
        OSError: A journal, or the file, cannot be read.
    """
    drafts = [draft for draft in map(_read, _journals(path)) if draft.reading.records]
    there = records_.digest_of(opening.read(path)) if path.exists() else None
    return any(draft.reading.done_since({there or draft.reading.records[0].digest}) for draft in drafts)


def forget(path: Path, session: str) -> None:
    """Take away the journals of a document that an editor has left behind in other places."""
    for place in _journals(path):
        with suppress(OSError):
            if _read(place).reading.origin.session == session:
                place.unlink()


def _claimed(place: Path) -> Draft | None:
    """A journal taken over; where locks are unknown, read, and None while its process may be there.

    Raises:
        OSError: It is in use, or cannot be opened.
    """
    deadline = time.monotonic() + GONE_S
    while True:
        try:
            file = AppendedFile.claimed(place)
        except TakenError:
            if is_running(_read(place).reading.origin.process) or time.monotonic() > deadline:
                raise
            time.sleep(0.005)
        except (StrangeFileError, FileNotFoundError, PermissionError):
            raise
        except OSError:
            draft = _read(place)
            return None if is_running(draft.reading.origin.process) else draft
        else:
            draft = _read(place)
            draft.file = file
            return draft


def _read(place: Path) -> Draft:
    data = opening.read(place, most=MOST_BYTES, ours=True)
    return Draft(place, records_.read(data), place.stat().st_mtime_ns)


def _journals(path: Path) -> list[Path]:
    """Files that are journals of a document by their names and that are there."""
    away = names.away(path, JOURNAL)
    key = away.name.split("-")[0]
    numbered = [each for each in _listed(away.parent) if each.name.startswith(f"{key}-") and _is_journal(each)]
    beside = names.beside(path, JOURNAL)
    return [*([beside] if os.path.lexists(beside) else []), *numbered]


def _asides(path: Path) -> list[Path]:
    folder = names.own_folder(JOURNAL)
    key = names.away(path, JOURNAL).name.split("-")[0]
    stem = names.fitted(path.name, f".{ASIDE}", path.parent)
    return [
        *(each for each in _listed(path.parent) if each.name.startswith(stem)),
        *(each for each in _listed(folder) if each.name.startswith(f"{key}-") and ASIDE in each.name),
    ]


def _strewn() -> list[Path]:
    """Journals, put aside or not, of all documents in the working folder, and all in the user's own folder."""
    found = (*_listed(names.own_folder(JOURNAL)), *_listed(Path.cwd()))
    return [each for each in found if _is_journal(each) or ASIDE in each.name]


def _is_journal(place: Path) -> bool:
    return place.name.endswith(f".{JOURNAL}")


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError:
        return []
