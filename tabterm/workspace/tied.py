"""The recording of a document: which it is, where the measures lie in it, and what of it is heard by itself."""

from __future__ import annotations

from collections import deque
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError, StorageError
from tabterm.piece.takes import Tied

if TYPE_CHECKING:
    from tabterm.piece.recorded import Recorded
    from tabterm.recording.beats import Beats
    from tabterm.recording.timemap import Timeline, TimeMap
    from tabterm.recording.waveform import Waveform
    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.document import Document

STATES = 200
"""Changes of measures for which the map before is remembered, so that undo brings it back."""

OPEN_FIRST = "the command 'record' opens one"
TIE_FIRST = "tap its beats, or find them (f12)"


@dataclass
class TiedRecording:
    """The recording of a document, kept in its side file.

    Read when it is first wanted: the first screen does without it.

    Attributes:
        document: Whose.
        at_s: The moment of the recording that its commands are about.
        taps: Moments at which beats were tapped, in the recording's seconds.
        beats: The beats that were found, until the player takes them.
        proposed: Where the measures may lie by them.
        waveform: How loud it is, as far as it has been read.
    """

    document: Document
    at_s: float = 0.0
    taps: tuple[float, ...] = ()
    beats: Beats | None = None
    proposed: TimeMap | None = None
    waveform: Waveform | None = None
    _kept: Recorded | None = None
    _written: Recorded | None = None
    _path: Path | None = None
    _is_read: bool = False
    _before: list[tuple[Change, Score]] = field(default_factory=list)
    _lost: deque[tuple[Change, TimeMap]] = field(default_factory=lambda: deque(maxlen=STATES))
    _undone: list[TimeMap | None] = field(default_factory=list)

    @property
    def kept(self) -> Recorded | None:
        """What is kept of it; None where no recording was opened."""
        if not self._is_read:
            from tabterm.piece import recorded

            self._is_read = True
            kept = self._written = recorded.read(self.document.path)
            for change, score in self._before:
                kept = kept and kept.after(change, score)
            self._kept = kept
            self._before.clear()
            if kept is not None:
                self._look_for(kept)
        return self._kept

    def _look_for(self, kept: Recorded) -> None:
        found = kept.found(self.document.path)
        self._path = found.path
        if found.remark:
            self.document.notices.append(found.remark)

    @property
    def path(self) -> Path:
        """The file, where it can be found; raises ScoreError where there is none."""
        kept = self.kept
        if kept is None:
            raise ScoreError("no recording is open", hint=OPEN_FIRST)
        if self._path is None:
            raise ScoreError(f"{kept.path}: the recording is missing", hint="find it with the command 'record'")
        return self._path

    @property
    def name(self) -> str:
        """Of the file; "" where no recording is open."""
        return Path(self.kept.path).name if self.kept else ""

    @property
    def time_map(self) -> TimeMap:
        """Where the measures lie; raises ScoreError where that is not known."""
        kept = self.kept
        if kept is None:
            raise ScoreError("no recording is open", hint=OPEN_FIRST)
        if kept.time_map is None:
            raise ScoreError("the measures are not tied to it yet", hint=TIE_FIRST)
        return kept.time_map

    @property
    def line(self) -> Timeline:
        """The map laid on the score; raises ScoreError where there is none."""
        return self.time_map.on(self.document.score)

    @property
    def tied(self) -> Tied | None:
        """It as takes have it; None where nothing of it can be heard by the measures."""
        kept = self.kept
        if kept is None or kept.time_map is None or self._path is None:
            return None
        return Tied(str(self._path), kept.fingerprint, kept.time_map, kept.tuning_cents or 0.0)

    @property
    def part(self) -> tuple[float, float]:
        """The solo in it, in seconds; all of it where none is marked."""
        from tabterm.recording.audio import Recording

        length_s = Recording.opened(self.path).length_s
        kept = self.kept
        start_s, end_s = kept.part if kept and kept.part else (0.0, length_s)
        return start_s, min(end_s, length_s)

    def open(self, path: Path) -> None:
        """Take a recording for this score; the map of one that has moved, or changed, is kept.

        Raises:
            StorageError: It cannot be read.
            FormatError: It is no recording.
        """
        from tabterm.piece.recorded import Recorded
        from tabterm.recording.audio import Recording

        Recording.opened(path)
        kept = self.kept
        new = Recorded.of(self.document.path, path)
        if kept is not None and (kept.fingerprint == new.fingerprint or self._path is None):
            new = kept.moved(self.document.path, path)
        self._path, self.waveform, self.taps = path.absolute(), None, ()
        self.beats = self.proposed = None
        self._keep(new)

    def change(self, **changes: object) -> None:
        """Change what is kept of it; a map can be taken back by `undo`."""
        kept = self.kept
        if kept is None:
            raise ScoreError("no recording is open", hint=OPEN_FIRST)
        if "time_map" in changes:
            self._undone.append(kept.time_map)
            self._lost.clear()
        self._keep(kept.with_(**changes))

    def undo(self) -> None:
        """Take the last change of the map back; raises ScoreError where there was none."""
        kept = self.kept
        if kept is None or not self._undone:
            raise ScoreError("no change to the bar lines to undo")
        self._lost.clear()
        self._keep(kept.with_(time_map=self._undone.pop()))

    def _keep(self, kept: Recorded) -> None:
        self._kept = kept
        self.settle()

    def settle(self) -> None:
        """Let the side file follow; a document that has no file yet, or another holder, leaves none."""
        if not self._is_read or self._kept is None or self._kept == self._written:
            return
        from tabterm.piece import recorded

        with suppress(OSError):  # a folder that may not be looked into
            if self.document.read_only is None and self.document.path.exists():
                try:
                    recorded.write(self.document.path, self._kept)
                except StorageError as error:
                    self.document.notices.append(str(error))
                self._written = self._kept

    def saved(self) -> None:
        """The document has a file, which may be a new one."""
        self._written = None
        self.settle()

    def after(self, change: Change, score: Score) -> None:
        """Keep track of the measures when the score has changed; what is put back is where it was."""
        if not self._is_read:
            self._before.append((change, score))
            return
        kept = self._kept
        if kept is None or (kept.time_map is None and not self._lost):
            return
        if self._lost and _puts_back(change, self._lost[-1][0]):
            self._kept = kept.with_(time_map=self._lost.pop()[1])
            return
        self._kept = kept.after(change, score)
        if kept.time_map is not None and self._kept.time_map != kept.time_map:
            self._lost.append((change, kept.time_map))


def _puts_back(change: Change, earlier: Change) -> bool:
    """Whether a change puts as many measures back as another has taken out there."""
    return (
        change.first == earlier.first
        and len(change.inserted) == len(earlier.removed)
        and len(change.removed) == len(earlier.inserted)
    )
