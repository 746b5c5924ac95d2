"""What keeps an open document: its lock, its journal wherever the disk takes one, and the watch over its file."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from tabterm.errors import FormatError, StorageError
from tabterm.formats import native
from tabterm.storage import opening
from tabterm.storage.lock import Lock, LockHolder
from tabterm.storage.refusals import disk_words
from tabterm.storage.whole import atomic_write
from tabterm.workspace import drafts
from tabterm.workspace.journal import Journal, Lines
from tabterm.workspace.outside import Watch
from tabterm.workspace.records import Record, digest_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from tabterm.score.model import Score
    from tabterm.storage.appending import AppendedFile
    from tabterm.workspace.drafts import Draft

    Retell = Callable[[], Sequence[Record]]

COMPACT_BYTES = 8_000_000
"""A journal longer than this starts anew at the next save; tuned here."""


class Keeper:
    """Writes what is done to the journal, and goes to another place when the disk refuses.

    Attributes:
        path: The document's file.
        watch: What was last seen of it.
        notices: Where it says what the player should know.
        journal: None while no place takes one: the work is in memory only.
        puts_aside: It has put a journal aside.
    """

    def __init__(self, path: Path, notices: list[str], data: bytes, retell: Retell) -> None:
        """Keep a document whose journal goes on from `data`; `retell` gives all that is not saved as records."""
        self.path = path
        self.watch = Watch(path)
        self.notices = notices
        self.journal: Journal | None = None
        self._data = data
        self._retell = retell
        self._left: list[AppendedFile] = []
        self._lines = Lines()
        self._keeps = False
        self.puts_aside = False

    def begin(self) -> None:
        """Begin a journal; say where it is, if not beside the document."""
        self._keeps = True
        self._begin()
        if self.journal is not None and self.journal.why is not None:
            folder = self.journal.file.path.parent
            self.tell(f"{disk_words(self.journal.why)}; keeping the journal in {folder}")

    def resume(self, draft: Draft) -> None:
        """Go on with a journal that was left, or with a new one that holds what was recovered from it."""
        self._keeps = True
        file, draft.file = draft.file, None
        if draft.reading.damaged or file is None:
            if file is not None:
                file.close()
            if draft.reading.damaged:
                self.put_aside(draft.place, "it is damaged")
            self.begin()
            if not draft.reading.damaged and self.journal is not None:
                with suppress(OSError):
                    draft.remove()
            return
        try:
            if draft.reading.origin.session:
                self.journal = Journal.resumed(file, draft.reading)
            else:  # its lines are of the former form
                self.journal = Journal.rewritten(draft.place, self.path, self._data, self._retell())
                file.close()
        except (OSError, StorageError):
            file.close()
            self.begin()

    @property
    def digest(self) -> str:
        """Of the bytes that the journal goes on from."""
        return digest_of(self._data)

    @property
    def keeps_all(self) -> bool:
        """All that was done is in a journal."""
        return self.journal is not None

    def record(self, record: Record) -> None:
        """Write what was done; what is not saved goes to another place where this one refuses."""
        if not self._keeps:
            return
        if self.journal is None:
            self._begin()
            if self.journal is None or record.kind != "mark":
                return
        try:
            self.journal.append(record)
        except OSError as error:
            self._go_elsewhere(error)
            if self.journal is not None and record.kind == "mark":
                with suppress(OSError):  # where it is not told of, the file is taken for another program's
                    self.journal.append(record)

    def flush(self) -> None:
        """Force the journal to the disk; follow it to another place where it has gone."""
        if not self._keeps:
            return
        if self.journal is None:
            self._begin()
            return
        try:
            self.journal.file.sync()
        except OSError as error:
            self._go_elsewhere(error)
        else:
            if not self.journal.file.is_in_place():
                self._go_elsewhere(FileNotFoundError())

    def save(self, data: bytes) -> bool:
        """Write the file; the journal notes beforehand which bytes it will be.

        Returns:
            Whether the journal, grown long, has begun anew: it tells of nothing before.

        Raises:
            StorageError: The disk refused.
        """
        self.record(Record("mark", digest=digest_of(data)))
        self.flush()
        try:
            atomic_write(self.path, data, protected=False)
        except StorageError:
            self.watch.tried(digest_of(data))
            raise
        self.saw(data)
        if self.journal is None or self.journal.file.size <= COMPACT_BYTES:
            return False
        try:
            self.journal.restart(self.path, data)
        except (OSError, StorageError):
            return False  # the long one is as good
        return True

    def saw(self, data: bytes) -> None:
        """The file holds these bytes, and what is recorded from now on goes on from them."""
        self._data = data
        self.watch.saw(data)

    def put_aside(self, place: Path, why: str) -> None:
        """Keep a journal under another name, and say so."""
        try:
            aside = drafts.put_aside(place)
        except OSError as error:
            self.tell(f"an older journal could not be put aside: {disk_words(error)}")
        else:
            self.puts_aside = True
            self.tell(f"unsaved work put aside as {aside.name}: {why}; the command 'recover' lists it")

    def close(self, *, remove: bool) -> None:
        """Let the journal go, and take it away where nothing in it is wanted; what the disk refuses is said."""
        if not self._keeps:
            return
        self._keeps = False
        moved = bool(self._left)
        self._drop_left()
        journal, self.journal = self.journal, None
        if journal is None:
            return
        try:
            if remove:
                journal.file.remove()
            else:
                try:
                    journal.file.sync()
                finally:
                    journal.file.close()
        except OSError as error:
            self.tell(f"the journal could not be closed: {disk_words(error)}")
        if remove and moved:
            drafts.forget(self.path, journal.lines.session)

    def tell(self, notice: str) -> None:
        """Say something once."""
        if notice not in self.notices[-1:]:
            self.notices.append(notice)

    def _begin(self) -> None:
        """Begin a journal with all that is not saved, in the first place that takes it."""
        try:
            self.journal = Journal.begun(self.path, self._data, self._retell(), self._lines)
        except OSError as error:
            self.tell(f"cannot keep a journal: {disk_words(error)}; your work is in memory only, so save often")
        else:
            self._drop_left()

    def _go_elsewhere(self, error: OSError) -> None:
        """Leave a journal that takes no more where it is, and begin another."""
        left, self.journal = self.journal, None
        if left is not None:
            self._left.append(left.file)
            self._lines = left.lines
        before = len(self.notices)
        self._begin()
        if self.journal is not None:
            del self.notices[before:]
            why = "the journal's file has vanished" if isinstance(error, FileNotFoundError) else disk_words(error)
            self.tell(f"{why}; keeping the journal in {self.journal.file.path.parent} now")

    def _drop_left(self) -> None:
        """Take away the journals all of which another one holds."""
        while self._left:
            with suppress(OSError):
                self._left.pop().remove()


def lock_of(path: Path, notices: list[str]) -> Lock | LockHolder | None:
    """The lock of a document, or who holds it; None where none can be had."""
    try:
        return Lock.take(path)
    except OSError as error:
        notices.append(f"could not lock the file: {disk_words(error)}")
        return None


def bytes_of(path: Path) -> bytes | None:
    """The bytes of a file, or None where there is none."""
    try:
        return opening.read(path)
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = error.strerror or str(error)
        raise StorageError(f"cannot be read: {reason}", place=str(path), hint="check the name") from error


def score_of(path: Path, data: bytes) -> Score:
    """The score in the bytes of a document's file; raises FormatError, which names the file."""
    try:
        return native.read(data)
    except FormatError as error:
        place = f"{path}: {error.place}" if error.place else str(path)
        raise FormatError(error.message, hint=error.hint, place=place) from None
