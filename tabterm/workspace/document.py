"""The open document: a score with its history, its journal, its lock and its file."""

from __future__ import annotations

import errno
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import FormatError, StorageError, TabtermError
from tabterm.formats import native
from tabterm.score.change import Change
from tabterm.score.profile import REFERENCE_HAND, HandProfile, lend
from tabterm.storage.lock import Lock, LockHolder
from tabterm.storage.refusals import disk_words
from tabterm.storage.temporaries import clear_stale
from tabterm.storage.whole import atomic_write
from tabterm.workspace import journal as journals
from tabterm.workspace import learnt
from tabterm.workspace.history import History, earlier, replay
from tabterm.workspace.intake import take_in
from tabterm.workspace.journal import Journal, Record, digest_of
from tabterm.workspace.naming import NATIVE, existing_or_new, free_name

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.formats import Remark
    from tabterm.score.model import Score

    Propose = Callable[[Score, Change | None], Score]

COMPACT_BYTES = 8_000_000
"""A journal longer than this starts anew at the next save."""


@dataclass
class Document:
    """A score being edited; whatever `apply` has acknowledged survives the death of the process.

    Attributes:
        path: Its file, which need not exist yet.
        score: As it stands; one without a hand profile of its own is lent the player's.
        read_only: Who holds the document, when somebody else does.
        notices: What there is to tell the player: what was recovered, what the disk refused.
        hand: The player's own profile, which is never saved.
    """

    path: Path
    score: Score
    propose: Propose | None = None
    read_only: LockHolder | None = None
    notices: list[str] = field(default_factory=list)
    hand: HandProfile = REFERENCE_HAND
    _history: History = field(default_factory=History)
    _told: History = field(default_factory=History)
    _saved: Change | None = None
    _journal: Journal | None = None
    _waiting: list[Record] = field(default_factory=list)
    _lock: Lock | None = None

    # Opening and closing

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        propose: Propose | None = None,
        blank: Callable[[], Score],
        hand: HandProfile = REFERENCE_HAND,
        choice: Mapping[str, int | str | None] | None = None,
    ) -> Document:
        """Open a file, or begin a new one from `blank` where there is none; recover what was not saved.

        A file in another format is taken in (`choice` says how, see `take_in`), and will be saved in the native
        one beside it. A name without an ending, where no such file is, gets the native one.

        Raises:
            FormatError: The file is there but cannot be read, or there is nothing to choose in it.
            StorageError: The disk refuses to give it, or there is none and its ending is that of no document.
        """
        path = existing_or_new(Path(os.path.realpath(path)))
        notices: list[str] = []
        data: bytes | None = None
        if path.suffix.lower() != NATIVE:
            taken = take_in(path, choice, hand=hand, weights=learnt.weights())
            score = taken.score
            notices.extend(_said(remark) for remark in taken.remarks[:3])
            notices += [taken.summary] if taken.summary else []
            path = free_name(path.with_suffix(NATIVE))
            notices.append(f"will be saved as {path.name}")
        else:
            chosen = next((word for word, value in (choice or {}).items() if value is not None), None)
            if chosen is not None:
                raise FormatError(f"there is no {chosen} to choose in a tabterm file", place=str(path))
            data = _read_bytes(path)
            score = _read(path, data) if data is not None else blank()
        document = cls(path, score, notices=notices, hand=hand)
        document._take_lock()
        if document.read_only is None:
            clear_stale(path)
            begun = [data] if data is not None else [new := native.write(score), native.as_version_1(new)]
            document._recover(*map(digest_of, begun))
        document.score = lend(document.score, hand)
        if propose is not None:
            document.begin_proposing(propose)
        return document

    def begin_proposing(self, propose: Propose) -> None:
        """Propose with each change from now on, and at once for the score as it stands.

        What is proposed is no change of the player's: it is neither journalled nor taken back.
        """
        self.propose = propose
        self.score = propose(self.score, None)

    def _take_lock(self) -> None:
        try:
            taken = Lock.take(self.path)
        except OSError as error:
            self.notices.append(f"no lock could be taken: {disk_words(error)}")
            return
        if isinstance(taken, LockHolder):
            self.read_only = taken
            self.notices.append(f"open read-only: held by {taken}")
        else:
            self._lock = taken

    def _recover(self, *digests: str) -> None:
        """Carry out what a journal holds beyond a file of one of these digests; put one that fits none aside."""
        for place in (journals.sidecar(self.path), journals.fallback(self.path)):
            data = _read_bytes(place)
            if not data:
                continue
            records, good = journals.read(data)
            marks = [i for i, record in enumerate(records) if record.digest in digests]
            if not marks:
                self._put_aside(place, "it belongs to another version of the file")
                continue
            try:
                history = earlier(records[: marks[-1]])
                saved = history.last
                score = replay(self.score, records[marks[-1] + 1 :], history)
            except TabtermError as error:
                self._put_aside(place, error.message)
                continue
            if good < len(data):
                self.notices.append("the journal's last line was torn and has been cut off")
            self.score, self._history, self._saved = score, history, saved
            self._told = history.copy()
            recovered = sum(record.kind != "mark" for record in records[marks[-1] + 1 :])
            if recovered:
                changes = "a change" if recovered == 1 else f"{recovered} changes"
                self.notices.append(f"recovered {changes} that had not been saved")
            self._open_journal(place, good, len(records))
            return
        self._open_journal(journals.sidecar(self.path), 0, 0)
        self._record(Record("mark", digest=digests[0]))

    def _put_aside(self, place: Path, why: str) -> None:
        aside = free_name(place.with_name(f"{place.name.lstrip('.')}.aside"))
        try:
            place.rename(aside)
        except OSError as error:
            self.notices.append(f"an old journal could not be put aside: {disk_words(error)}")
        else:
            self.notices.append(f"an old journal was kept as {aside.name}: {why}")

    def _open_journal(self, place: Path, keep: int, count: int) -> None:
        try:
            if not keep and _read_bytes(place):  # one that could not be put aside
                raise PermissionError(errno.EACCES, "an old journal stands there")
            self._journal = Journal(place, keep=keep, count=count)
        except OSError as error:
            second = journals.fallback(self.path)
            try:
                second.parent.mkdir(parents=True, exist_ok=True)
                self._journal = Journal(second)
                self.notices.append(f"{disk_words(error)}: the journal is kept in {second.parent}")
            except OSError as again:
                self.notices.append(f"no journal can be kept: {disk_words(again)}; save often")

    def close(self, *, keep_draft: bool) -> None:
        """Let the document go; with `keep_draft`, unsaved changes stay in the journal for the next time."""
        if self._journal is not None:
            self._flush_waiting()
            try:
                self._journal.close(remove=not (keep_draft and self.unsaved))
            except OSError as error:
                self._tell(f"the journal could not be closed: {disk_words(error)}")
            self._journal = None
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    # Editing

    @property
    def unsaved(self) -> bool:
        """The score differs from the file by at least one change."""
        return self.latest is not self._saved

    @property
    def keeps_draft(self) -> bool:
        """All that was changed is in the journal, and would be there the next time."""
        return self._journal is not None and not self._waiting

    @property
    def latest(self) -> Change | None:
        """The last change that was made and not taken back."""
        return self._history.last

    def apply(self, score: Score, label: str) -> Change | None:
        """Take a changed score; return the change, or None where nothing differs.

        Raises:
            StorageError: The document is open read-only.
        """
        if self.read_only is not None:
            raise StorageError(f"this view is read-only: held by {self.read_only}", hint="save-as a copy")
        if score is self.score:
            return None
        score = lend(score, self.hand)
        if self.propose is not None:
            score = self.propose(score, Change.between(self.score, score))
        change = Change.between(self.score, score)
        if change is not None:
            self.score = score
            self._history.add(change)
            self._told.add(change)
            self._record(Record("change", label, change))
        return change

    def annotate(self, asked: Score, score: Score) -> Change | None:
        """Take proposals worked out for a score, if it is still the one that stands; None where nothing differs.

        They are no change of the player's: they are neither journalled nor taken back.
        """
        if self.score is not asked or score is asked:
            return None
        self.score = score
        return Change.between(asked, score)

    def undo(self) -> Change | None:
        """Take the last change back; None at the beginning."""
        step = self._history.back(self.score)
        return self._travel(step, "undo", self._history.undone)

    def redo(self) -> Change | None:
        """Make the change last taken back again; None where there is none."""
        step = self._history.forward(self.score)
        return self._travel(step, "redo", self._history.done)

    def _travel(self, step: tuple[Score, Change] | None, kind: str, moved: list[Change]) -> Change | None:
        """Go where a step leads; one that the journal's own records do not tell of is told as a change."""
        if step is None:
            return None
        score, change = step
        self.score = lend(score, self.hand)
        if self._told.repeat(kind, moved[-1]):
            self._record(Record(kind))
        else:
            self._told.add(change)
            self._record(Record("change", kind, change))
        return change

    # The disk

    def save(self) -> None:
        """Write the file; the journal notes beforehand which bytes it will be.

        Raises:
            StorageError: The disk refused, or somebody else holds the document; nothing is lost.
        """
        if self.read_only is not None:
            raise StorageError(f"held by {self.read_only}", hint="use save-as to keep a copy")
        data = native.write(self.score)
        self._record(Record("mark", digest=digest_of(data)))
        self.flush()
        atomic_write(self.path, data)
        self._saved = self.latest
        if self._journal is not None and self._journal.size > COMPACT_BYTES:
            self._journal.restart()
            self._told = History()
            self._record(Record("mark", digest=digest_of(data)))

    def save_as(self, path: Path) -> None:
        """Write to another file, which must not exist yet, and go on with that one.

        Raises:
            StorageError: The file exists, or the disk refused.
        """
        path = Path(os.path.realpath(path if path.suffix else path.with_suffix(NATIVE)))
        if path.suffix != NATIVE:
            raise StorageError(f"'{path.name}' is not a name for a document", hint=f"end it in {NATIVE}")
        if path.exists():
            raise StorageError(f"{path.name} is there already", hint="choose another name")
        data = native.write(self.score)
        atomic_write(path, data)
        self.close(keep_draft=False)
        self.path, self.read_only = path, None
        self._waiting.clear()
        self._take_lock()
        self._saved = self.latest
        self._told = History()
        for place in (journals.sidecar(path), journals.fallback(path)):
            if _read_bytes(place):
                self._put_aside(place, "it is of a draft of that name")
        self._open_journal(journals.sidecar(path), 0, 0)
        self._record(Record("mark", digest=digest_of(data)))

    def flush(self) -> None:
        """Force the journal to the disk; what the disk refuses is tried again with the next change."""
        if self._journal is None:
            return
        try:
            self._journal.sync()
        except OSError as error:
            self._tell(f"the journal could not be written: {disk_words(error)}")
        if self._flush_waiting():
            self._follow_vanished_folder()

    def _record(self, record: Record) -> None:
        if self._journal is not None:
            self._waiting.append(record)
            self._flush_waiting()

    def _flush_waiting(self) -> bool:
        """Write the records that wait; True when none waits any more."""
        while self._waiting and self._journal is not None:
            record = self._waiting.pop(0)  # before it is written: a signal's handler would write it once more
            try:
                self._journal.append(record)
            except OSError as error:
                self._waiting.insert(0, record)
                self._tell(f"the journal could not be written: {disk_words(error)}; the work is in memory only")
                return False
        return True

    def _follow_vanished_folder(self) -> None:
        """When the journal's file has been taken away, go on in the user's own folder."""
        journal = self._journal
        if journal is None or journal.is_on_disk():
            return
        second = journals.fallback(self.path)
        try:
            second.parent.mkdir(parents=True, exist_ok=True)
            self._journal = journal.moved_to(second)
        except OSError as error:
            self._tell(f"no journal can be kept: {disk_words(error)}; save often")
        else:
            self._tell(f"the journal's file has vanished: it is kept in {second.parent} now")

    def _tell(self, notice: str) -> None:
        if notice not in self.notices[-1:]:
            self.notices.append(notice)


def _said(remark: Remark) -> str:
    if not remark.line:
        return remark.message
    place = f"line {remark.line}" + (f", column {remark.column}" if remark.column > 1 else "")
    return f"{place}: {remark.message}"


def _read_bytes(path: Path) -> bytes | None:
    """The bytes of a file, or None where there is none."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = error.strerror or str(error)
        raise StorageError(f"cannot be read: {reason}", place=str(path), hint="check the name") from error


def _read(path: Path, data: bytes) -> Score:
    try:
        return native.read(data)
    except FormatError as error:
        place = f"{path}: {error.place}" if error.place else str(path)
        raise FormatError(error.message, hint=error.hint, place=place) from None
