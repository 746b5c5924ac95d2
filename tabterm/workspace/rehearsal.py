"""A rehearsal: which phrase of the document is practised, in which version, and what is remembered of it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError, StorageError
from tabterm.piece.practice import BEFORE_LOOPS, Heard, caution_due
from tabterm.piece.takes import Take, Tied, passage
from tabterm.score.comparison import has_source, source_score
from tabterm.score.place import Span
from tabterm.workspace.tied import TiedRecording

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tabterm.piece.practice_log import LogEntry, PracticeLog
    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.document import Document
    from tabterm.workspace.practice_file import Kept, Versions
    from tabterm.workspace.run import Run
    from tabterm.workspace.transport import Transport

SHORTEST_S = 10.0
"""A shorter loop is not entered in the practice log."""


@dataclass
class Rehearsal:
    """What is practised of a document; the transport plays it.

    The side file and the log are loaded when they are first wanted: the first screen does without them.

    Attributes:
        document: The document.
        transport: What plays.
        heard: Which version of the phrase is to be heard.
        span: What sounds, or sounded last; None for the whole score.
    """

    document: Document
    transport: Transport
    heard: Heard = Heard.SCORE
    span: Span | None = None
    _sounding: Heard = Heard.SCORE
    _selected: Span | None = None
    _refused: tuple[Score, Span | None, Heard, Tied | None] | None = None
    _said: set[str] = field(default_factory=set)
    _kept: Kept | None = None
    _written: Kept | None = None
    _changes: list[Change] = field(default_factory=list)
    _unsaved: list[Change] = field(default_factory=list)
    _original: tuple[Score, Score] | None = None

    def __post_init__(self) -> None:
        self.transport.ended = self._ended
        self.recording = TiedRecording(self.document)

    @cached_property
    def log(self) -> PracticeLog:
        """Where loops are entered."""
        from tabterm.piece.practice_log import PracticeLog

        return PracticeLog()

    @property
    def kept(self) -> Kept:
        """What the side file holds; read when it is first wanted."""
        if self._kept is None:
            from tabterm.workspace import practice_file

            kept = self._written = practice_file.read(self.document.path)
            for change in self._changes:
                kept = kept.after(change)
            self._kept = kept.fitting(self.document.score)
            self._changes.clear()
        return self._kept

    def _keep(self, **changes: object) -> None:
        """Change what the side file holds; a document that has no file yet, or another holder, leaves none."""
        self._kept = self.kept.with_(**changes)
        self.settle()

    def settle(self) -> None:
        """Let the side file follow: what it says of measures is to fit the score, wherever it is opened next."""
        if (self._kept is None and not self._changes) or self.kept == self._written:
            return
        from tabterm.workspace import practice_file

        with suppress(OSError):  # a folder that may not be looked into
            if self.document.read_only is None and self.document.path.exists():
                practice_file.write(self.document.path, self.kept)
                self._written = self.kept

    def saved(self) -> None:
        """The document's file, which may be a new one, is as the score is now."""
        self._unsaved.clear()
        if self._kept is not None:
            self._written = type(self._kept)()
        self.settle()
        self.recording.saved()

    def close(self, *, discarded: bool) -> None:
        """The document is let go; with `discarded`, its file will be as it was saved last."""
        score = self.document.score
        for change in self._unsaved[::-1] if discarded else ():
            score = change.inverse.apply(score)
            self._follow(change.inverse, score)
        self.settle()
        self.recording.settle()

    # Playing

    def play(self, span: Span | None, heard: Heard | None = None) -> str:
        """Play a stretch, or (None) the whole score, in the version to be heard or, this once, in another.

        Returns:
            The caution that is due before the first loop, or "".

        Raises:
            ScoreError: There is nothing to play, or no such version.
            SoundError: There is no way to.
        """
        self.transport.stop()
        self._sounding = self.heard if heard is None else heard
        self.span = span
        self.transport.play(self._takes(span))
        run = self.transport.run
        return BEFORE_LOOPS if run is not None and run.again and caution_due() else ""

    def audition(self, score: Score, span: Span) -> None:
        """Play a stretch of another score; raises SoundError where there is no way to."""
        self.transport.stop()
        self._sounding, self.span = Heard.SCORE, span
        self.transport.play((Take(score, span),))

    def play_last(self) -> str:
        """Play the loop that was practised last, as it was practised."""
        kept = self.kept
        if kept.practice is None:
            raise ScoreError("nothing looped yet", hint="select a phrase, turn the loop on, and play it")
        self.transport.stop()
        self.transport.practice, self.transport.rung = kept.practice, 0
        return self.play(kept.fitting(self.document.score).span)

    def go_on(self, selected: Span | None) -> None:
        """While a loop sounds, let it take in what has changed: selection, notes, version.

        Raises:
            ScoreError: It cannot be played so, and goes on as it was; told once for each change.
        """
        span = self.span if selected is None or selected == self._selected else selected
        self._selected = selected
        wish = self.document.score, span, self._sounding, self.recording.tied if self.transport.looping else None
        if self.transport.looping and wish != self._refused:
            self._refused = wish
            self.transport.take(self._takes(span))
            self._refused = None
        self.span = span

    def last_measure_played(self) -> int:
        """Index of the last measure of what sounds; the score's last where that is not known."""
        last = len(self.document.score.measures) - 1
        run = self.transport.run
        span = None if run is None else run.takes[-1].span
        return last if span is None else min(span.end.measure - (span.end.offset == 0), last)

    def _takes(self, span: Span | None) -> Sequence[Take]:
        """The music of a turn, with the recording where there is one to the same measures."""
        tied, count = self.recording.tied, len(self.document.score.measures)
        takes = self._without_recording(span)
        if tied is None:
            return takes
        return [replace(take, tied=tied) if len(take.score.measures) == count else take for take in takes]

    def _without_recording(self, span: Span | None) -> Sequence[Take]:
        score, versions = self.document.score, self.kept.versions
        if self._sounding in {Heard.ORIGINAL, Heard.BESIDE}:
            return self._with_original(score, span)
        if span is None or versions is None:
            return (Take(score, span),)
        return versions.takes(score, span, self._sounding)

    def _with_original(self, score: Score, span: Span | None) -> Sequence[Take]:
        """The original line, alone or before the arrangement on the same instrument."""
        if self._original is None or self._original[0] is not score:
            self._original = score, source_score(score)
        original = self._original[1]
        if self._sounding is Heard.ORIGINAL:
            return (Take(original, span),)
        span = span or Span.of_measures(0, len(score.measures) - 1)
        arrangement = score.with_(head=score.head.with_(instrument=original.head.instrument))
        return Take(original, span), Take(arrangement, span)

    def after(self, change: Change) -> None:
        """Keep track of the phrase, and of what sounds, when the score has changed."""
        self._unsaved.append(change)
        self._follow(change, self.document.score)

    def _follow(self, change: Change, score: Score) -> None:
        """Let what is kept beside the document follow a change that led to a score."""
        if self._kept is None:
            self._changes.append(change)
        else:
            self._kept = self._kept.after(change)
        self.recording.after(change, score)
        if self.span is not None:
            self.span = change.moved_span(self.span)

    # Versions of a phrase

    def put_aside(self, first: int, last: int) -> None:
        """Keep a phrase of whole measures as it stands; a phrase elsewhere is forgotten."""
        from tabterm.workspace.practice_file import kept_from

        score, versions = self.document.score, self.kept.versions
        if versions is not None and versions.place == range(first, last + 1):
            versions = versions.keep(versions.standing(score))
        else:
            versions = kept_from(score, first, last)
        self._keep(versions=versions)

    def hear_next(self) -> Heard:
        """Go from the version in the score to the one aside, to both in turn, to the original, and back.

        Raises:
            ScoreError: There is but the one in the score.
        """
        there, original = [Heard.SCORE], has_source(self.document.score)
        try:
            self._versions.other(self.document.score)
            there += [Heard.ASIDE, Heard.IN_TURN]
        except ScoreError:
            if self.heard is Heard.SCORE and not original:
                raise
        there += [Heard.ORIGINAL, Heard.BESIDE] if original else []
        now = there.index(self.heard) if self.heard in there else 0
        self.heard = self._sounding = there[(now + 1) % len(there)]
        return self.heard

    def with_other(self) -> Score:
        """The score with the version aside in place of the one that stands there, which is put aside."""
        score, versions = self.document.score, self._versions
        taken = versions.taken(score)
        self._keep(versions=versions.keep(versions.standing(score)))
        self.heard = self._sounding = Heard.SCORE
        return taken

    @property
    def _versions(self) -> Versions:
        if self.kept.versions is None:
            raise ScoreError("no version B yet", hint="the command 'put-aside' keeps one")
        return self.kept.versions

    # What is remembered

    def _ended(self, run: Run) -> None:
        """Keep the loop for the next time, and enter it in the log."""
        if not run.again:
            return
        practice = run.practice if run.practice.ladder else run.practice.with_(tempo_percent=run.percent)
        self._keep(practice=practice, span=self.span)
        entry = entry_of(run, self.document.path)
        try:
            self.log.add(*([entry] if entry else []))
        except StorageError as error:
            notice = str(error)
            if notice not in self._said:
                self._said.add(notice)
                self.document.notices.append(notice)

    def entries(self) -> list[LogEntry]:
        """What the log says of this piece, in order of time; raises StorageError."""
        return self.log.entries(self.document.path, self.document.score.head.title)


def entry_of(run: Run, file: Path) -> LogEntry | None:
    """What the practice log says of a run; None of one that was too short, or no loop."""
    if not run.again or run.reached is None or run.seconds < SHORTEST_S:
        return None
    from tabterm.piece.practice_log import LogEntry

    take = run.takes[0]
    first, last, name = passage(take)
    return LogEntry(
        begun=run.begun,
        title=take.score.head.title,
        file=str(file),
        first_measure=first,
        last_measure=last,
        passage=name,
        per_minute=take.tempo.per_minute * run.reached / 100.0,
        beat=str(take.tempo.beat),
        percent=run.reached,
        turns=sum(run.done.values()),
        seconds=run.seconds,
    )
