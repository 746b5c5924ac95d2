"""The open document: a score with its history, its journal, its lock and its file."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, StorageError, TabtermError
from tabterm.formats import native
from tabterm.score.change import Change
from tabterm.storage.lock import Lock, LockHolder
from tabterm.storage.names import NATIVE, existing_or_new, free_name
from tabterm.storage.temporaries import clear_stale
from tabterm.storage.whole import atomic_write
from tabterm.workspace import drafts
from tabterm.workspace.history import History, earlier, replay
from tabterm.workspace.journal import Salvage
from tabterm.workspace.keeper import Keeper, bytes_of, lock_of, score_of
from tabterm.workspace.outside import Doubt, DoubtError, doubt_to_replace
from tabterm.workspace.records import Record, digest_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.hand.player import Player
    from tabterm.score.kinds import ChordNames
    from tabterm.score.model import Score
    from tabterm.workspace.drafts import Draft

    Propose = Callable[[Score, Player, Change | None], Score]


@dataclass
class Document:
    """A score being edited; whatever `apply` has acknowledged survives the death of the process.

    Attributes:
        path: Its file, which need not exist yet.
        score: As it stands.
        player: Whose hands play it, where the score says nothing of them.
        read_only: Who holds the document, when somebody else does.
        notices: What there is to tell the player: what was recovered, what the disk refused.
    """

    path: Path
    score: Score
    player: Player
    propose: Propose | None = None
    read_only: LockHolder | None = None
    notices: list[str] = field(default_factory=list)
    _history: History = field(default_factory=History)
    _told: History = field(default_factory=History)
    _saved: Change | None = None
    _lock: Lock | None = None
    _sure: bool = False
    _tried: list[tuple[Change | None, str]] = field(default_factory=list)
    _left: list[Score] = field(default_factory=list)
    _base: Score = field(init=False)
    _keeper: Keeper = field(init=False)

    def __post_init__(self) -> None:
        self._base = self.score
        self._keeper = Keeper(self.path, self.notices, b"", self._retold)

    @classmethod
    def open(
        cls,
        path: Path,
        player: Player,
        *,
        propose: Propose | None = None,
        blank: Callable[[], Score],
        choice: Mapping[str, int | str | None] | None = None,
        chord_names: ChordNames | None = None,
    ) -> Document:
        """Open a file, or begin a new one from `blank` where there is none; recover what was not saved.

        A file in another format is taken in (`choice` and `chord_names` say how, see `take_in`), and will be saved
        in the native one beside it. A name without an ending, where no such file is, gets the native one.

        Raises:
            FormatError: The file is there but cannot be read, or there is nothing to choose in it.
            StorageError: The disk refuses to give it, or there is none and its ending is that of no document.
        """
        path = existing_or_new(Path(os.path.realpath(path)))
        if path.suffix.lower() != NATIVE:
            from tabterm.piece.intake import take_in

            taken = take_in(path, player, choice, chord_names=chord_names)
            path = free_name(path.with_suffix(NATIVE))
            told = [*taken.report.lines(taken.score, details=False, most=3), f"will be saved as {path.name}"]
            return cls._begun(path, taken.score, player, None, lock_of(path, told), told, propose)
        chosen = next((word for word, value in (choice or {}).items() if value is not None), None)
        if chosen is not None:
            raise FormatError(f"a tabterm file has no {chosen} to choose", place=str(path))
        notices: list[str] = []
        lock = lock_of(path, notices)
        try:
            data = bytes_of(path)
            score = score_of(path, data) if data is not None else blank()
        except BaseException:
            if isinstance(lock, Lock):
                lock.release()
            raise
        return cls._begun(path, score, player, data, lock, notices, propose)

    @classmethod
    def _begun(
        cls,
        path: Path,
        score: Score,
        player: Player,
        data: bytes | None,
        lock: Lock | LockHolder | None,
        notices: list[str],
        propose: Propose | None,
    ) -> Document:
        document = cls(path, score, player, notices=notices)
        document._hold(lock)
        document._keep(native.write(score) if data is None else data, data)
        if document.read_only is None:
            clear_stale(path)
            document._recover(*() if data is not None else (native.as_version_1(native.write(score)),))
        if propose is not None:
            document.begin_proposing(propose)
        return document

    def begin_proposing(self, propose: Propose) -> None:
        """Propose with each change from now on, and at once for the score as it stands.

        What is proposed is no change of the player's: it is neither journalled nor undone.
        """
        self.propose = propose
        self.score = propose(self.score, self.player, None)

    def _hold(self, lock: Lock | LockHolder | None) -> None:
        if isinstance(lock, LockHolder):
            self.read_only = lock
            self.notices.append(f"opened read-only: in use by {lock}")
        else:
            self._lock, self.read_only = lock, None

    def _keep(self, data: bytes, there: bytes | None) -> None:
        """Keep the score, which is that of `data`; `there` is what the file holds."""
        self._base = self.score
        self._keeper = Keeper(self.path, self.notices, data, self._retold)
        self._keeper.watch.saw(there)

    def _recover(self, *former: bytes) -> None:
        """Carry out what a journal holds beyond the file, and go on with it; put those that do not fit aside.

        `former` is what a new document was in former versions of the format.
        """
        found = drafts.claim(self.path)
        for what in found.strange:
            self._keeper.tell(f"{what}; left alone")
        if found.in_use:
            self._keeper.tell("you have this file open in another editor")
        digests = {self._keeper.digest, *map(digest_of, former)}
        taken = drafts.chosen(found.drafts, digests, self.score)
        others = [draft for draft in found.drafts if draft is not taken]
        recovered = None if taken is None else self._take(taken, digests)
        old = drafts.superseded(others, taken) if taken is not None and recovered else []
        for draft in found.drafts if not recovered else others:
            if draft in old:
                continue
            draft.close()
            if draft.changes:
                fits = recovered and draft.start(digests, self._base) is not None
                why = "another editor left it" if fits else "it belongs to another version of the file"
                self._keeper.put_aside(draft.place, why)
            else:
                with suppress(OSError):
                    draft.remove()
        if taken is not None and recovered:
            self._keeper.resume(taken)
        else:
            self._keeper.begin()
        for draft in old:
            with suppress(OSError):
                draft.remove()
        if not self.put_aside and drafts.fits_again(self.path, digests):
            self._keeper.tell("unsaved work put aside earlier fits the file again; the command 'recover' lists it")

    def _take(self, draft: Draft, digests: set[str]) -> bool:
        """Carry out a draft; False where it does not fit the file after all."""
        start = draft.start(digests, self.score) or 0
        records, lost = draft.reading.records, ""
        history = earlier(records[:start])
        saved = history.last
        try:
            if draft.reading.damaged:
                salvage = Salvage(self.score).carry_out(records[start:])
                score, history, saved, count = salvage.score, salvage.history, None, salvage.done
                lost = f"; {salvage.passed_over or 'some'} lost: the journal was damaged"
            else:
                score = replay(self.score, records[start:], history)
                count = sum(record.kind != "mark" for record in records[start:])
        except TabtermError:
            return False
        if draft.reading.torn:
            self.notices.append("the journal's last line was incomplete and has been removed")
        self.score, self._history, self._saved = score, history, saved
        self._told = history.copy()
        if count or lost:
            changes = "a change" if count == 1 else f"{count} changes"
            self.notices.append(f"recovered {changes} not yet saved{lost}")
        return True

    def close(self, *, keep_draft: bool) -> None:
        """Let the document go; with `keep_draft`, unsaved changes stay in the journal for the next time."""
        self._keeper.close(remove=not (keep_draft and self.unsaved))
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    @property
    def unsaved(self) -> bool:
        """The score differs from the file by at least one change."""
        return self.latest is not self._saved

    @property
    def keeps_draft(self) -> bool:
        """All that was changed is in the journal, and would be there the next time."""
        return self._keeper.keeps_all

    @property
    def put_aside(self) -> bool:
        """Unsaved work that does not fit the file was put aside on opening."""
        return self._keeper.puts_aside

    @property
    def latest(self) -> Change | None:
        """The last change that was made and not undone."""
        return self._history.last

    def apply(self, score: Score, label: str) -> Change | None:
        """Take a changed score; return the change, or None where nothing differs.

        Raises:
            StorageError: The document is open read-only.
        """
        if self.read_only is not None:
            raise StorageError(f"read-only: in use by {self.read_only}", hint="save-as a copy")
        if score is self.score:
            return None
        if self.propose is not None:
            score = self.propose(score, self.player, Change.between(self.score, score))
        change, before = Change.between(self.score, score, label), len(self.score.measures)
        if change is not None:
            self.score = score
            self._left.clear()
            self._history.add(change)
            self._told.add(change)
            self._keeper.record(Record("change", label, change, measures=before))
        return change

    def annotate(self, asked: Score, score: Score) -> Change | None:
        """Take proposals worked out for a score, if it is still the one that stands; None where nothing differs.

        They are no change of the player's: they are neither journalled nor undone.
        """
        if self.score is not asked or score is asked:
            return None
        self.score = score
        return Change.between(asked, score)

    def undo(self) -> Change | None:
        """Undo the last change; None at the beginning."""
        left = self.score
        step = self._history.back(left)
        if step is not None:
            self._left.append(left)
        return self._travel(step, "undo", self._history.undone)

    def redo(self) -> Change | None:
        """Redo the change last undone; None without one.

        The score is then the very one that was left by undoing, with all that was proposed for it.
        """
        step = self._history.forward(self.score)
        if step is not None and self._left:
            left, change = self._left.pop(), step[1]
            step = left, Change.between(self.score, left, change.label) or change
        return self._travel(step, "redo", self._history.done)

    def _travel(self, step: tuple[Score, Change] | None, kind: str, moved: list[Change]) -> Change | None:
        """Go where a step leads; one that the journal's own records do not tell of is told as a change."""
        if step is None:
            return None
        (score, change), before = step, len(self.score.measures)
        self.score = score
        if self._told.repeat(kind, moved[-1]):
            self._keeper.record(Record(kind, change=moved[-1]))
        else:
            self._told.add(change)
            self._keeper.record(Record("change", change.label, change, measures=before))
        return change

    def save(self, *, sure: bool = False) -> None:
        """Write the file; the journal notes beforehand which bytes it will be.

        Raises:
            DoubtError: The file is not as it was left, or would lose something else by being replaced, and the
                player is not `sure`.
            StorageError: The disk refused, or somebody else holds the document; nothing is lost.
        """
        if self.read_only is not None:
            raise StorageError(f"read-only: in use by {self.read_only}", hint="use save-as to keep a copy")
        doubt = None if sure else self.doubt(closely=True) or (not self._sure and doubt_to_replace(self.path))
        if doubt:
            raise DoubtError(doubt, self.path)
        data = native.write(self.score)
        try:
            anew = self._keeper.save(data)
        except StorageError as error:
            self._tried.append((self.latest, digest_of(data)))
            self._keeper.tell(str(error))  # beside what the journal says, once the keys rest
            raise
        self._tried.clear()
        self._saved, self._base = self.latest, self.score
        self._sure = sure or self._sure
        if anew:
            self._told = History()

    def doubt(self, *, closely: bool = False) -> Doubt | None:
        """What another program has done to the file since it was read or written here."""
        return None if self.read_only is not None else self._keeper.watch.look(closely=closely)

    def save_as(self, path: Path) -> None:
        """Write to another file, which must not exist yet, and go on with that one.

        Raises:
            StorageError: The file exists, or the disk refused.
        """
        path = Path(os.path.realpath(path if path.suffix else path.with_suffix(NATIVE)))
        if path.suffix != NATIVE:
            raise StorageError(f"not a name for a score: '{path.name}'", hint=f"use the extension {NATIVE}")
        if path.exists():
            raise StorageError(f"{path.name} already exists", hint="choose another name")
        data = native.write(self.score)
        atomic_write(path, data, like=self.path if self.path.exists() else None)
        self.close(keep_draft=False)
        self.path, self._saved, self._told, self._sure = path, self.latest, History(), False
        self._tried.clear()
        self._hold(lock_of(path, self.notices))
        self._keep(data, data)
        for draft in drafts.claim(path).drafts:
            draft.close()
            self._keeper.put_aside(draft.place, "it belongs to an older file of that name")
        self._keeper.begin()

    def save_beside(self) -> None:
        """Keep both: write under a new name beside the file, and go on with that; raises StorageError."""
        self.save_as(free_name(self.path.with_name(f"{self.path.stem}-mine{self.path.suffix}")))

    def take_theirs(self) -> Change | None:
        """Take the file as another program has left it; what stood here can be had again by undo.

        Raises:
            FormatError, StorageError: It cannot be read, or is no more.
        """
        data = bytes_of(self.path)
        if data is None:
            raise StorageError(f"{self.path.name} is gone", hint="save writes it again")
        change = self.apply(score_of(self.path, data), "take theirs")
        self._keeper.saw(data)
        self._tried.clear()
        self._saved, self._base = self.latest, self.score
        self._keeper.record(Record("mark", digest=self._keeper.digest))
        return change

    def flush(self) -> None:
        """Force the journal to the disk; what the disk refuses is tried again with the next change."""
        self._keeper.flush()

    def _retold(self) -> list[Record]:
        """All that is not saved, as the records of a new journal."""
        later = self._history.since(self._saved)
        if later is None:
            change = Change.between(self._base, self.score)
            later = [] if change is None else [change]
        self._told = History([*later])
        records, count = self._tried_at(self._saved), len(self._base.measures)
        for change in later:
            records.append(Record("change", change.label, change, measures=count))
            records += self._tried_at(change)
            count += len(change.inserted) - len(change.removed)
        return records

    def _tried_at(self, latest: Change | None) -> list[Record]:
        """Marks of saves that failed after a change, and may have come so far that the file is theirs."""
        return [Record("mark", digest=digest) for change, digest in self._tried if change is latest]
