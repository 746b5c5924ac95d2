"""A session: a document, where the player is in it, what is known, heard and shown of it; all but the screen."""

from __future__ import annotations

from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError, TabtermError, lacking
from tabterm.page.rows import COURSE, EDITABLE, ON_SCREEN, SOURCE
from tabterm.storage.refusals import refusal
from tabterm.workspace.effect import effect_of
from tabterm.workspace.here import NOTHING_PENDING, Here, NextNote
from tabterm.workspace.invention import Invention
from tabterm.workspace.known_hand import KnownHand, Lessons
from tabterm.workspace.proposals import Proposals
from tabterm.workspace.registry import Rows
from tabterm.workspace.rehearsal import Rehearsal
from tabterm.workspace.sheets import Sheets

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.hand.player import Player
    from tabterm.page.rows import Row
    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.score.operations import Clip
    from tabterm.score.place import Span
    from tabterm.score.tempo import Tempo
    from tabterm.sound.midi_input import MidiInput
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.document import Document
    from tabterm.workspace.drafts import Draft
    from tabterm.workspace.effect import Effect
    from tabterm.workspace.outside import Doubt
    from tabterm.workspace.registry import Command
    from tabterm.workspace.transport import Transport


@dataclass
class Shown:
    """The player's choices of what is shown, and what the screen and the commands tell each other.

    Attributes:
        hidden_rows: Rows that the player has hidden, or not asked for.
        wanted_rows: Rows that the player has asked for; they stay where others give way to another system.
        left_out: Rows that the screen leaves out for want of room.
        silent_strokes: The strokes of the moving hand that strike nothing are shown.
        neck: The neck is shown where there is room.
        plain: For a screen reader: no lines drawn, the cursor in words.
        follows: The page follows what sounds.
        measures: How many measures are on the screen.
        last_change: The change that the score went through last; what it touches is painted anew.
        lit: Where the last key changed more than a note, until the next one.
        proposals: Something that was heard waits to be confirmed, so that the cursor can stand on the source row.
    """

    hidden_rows: frozenset[Row] = frozenset(row for row in ON_SCREEN if row.hidden)
    wanted_rows: frozenset[Row] = frozenset()
    left_out: frozenset[Row] = frozenset()
    silent_strokes: bool = False
    neck: bool = True
    plain: bool = False
    follows: bool = True
    measures: int = 4
    last_change: Change | None = None
    lit: Span | None = None
    proposals: bool = False

    @property
    def rows(self) -> tuple[Row, ...]:
        """Rows that the cursor can stand on now."""
        return tuple(
            row for row in EDITABLE if row not in self.hidden_rows and (row is not SOURCE or self.proposals)
        )


class Host(Protocol):
    """What a session asks of the screen it runs in."""

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show one line until the next key."""

    def ask(
        self, question: str, suggestion: str, answer: Callable[[str], None], choices: Sequence[str] = ()
    ) -> None:
        """Put a question; `answer` is called with the line or the choice, unless it is called off."""

    def open_panel(self, name: str) -> None:
        """Lay a screen over the score, by its name in the table of panels."""

    def soon(self, action: Callable[[], None]) -> None:
        """Carry something out between the keys; may be called by any thread."""

    def work(self, job: Callable[[Callable[[float], None]], str]) -> None:
        """Have long work done beside the keys, and say in the end what it gives.

        The job is handed what it calls now and then with the part that is done, from 0 to 1.
        """

    def to_clipboard(self, text: str) -> None:
        """Put a text into the clipboard of the terminal; raises TabtermError where it has none, or no room."""

    def redraw(self) -> None:
        """Paint everything anew."""

    def leave(self) -> None:
        """End the program."""


@dataclass
class Session:
    """State of the editor that is not on the screen; commands change it, the screen shows it.

    Attributes:
        document: What is edited.
        host: The screen that the session runs in.
        transport: What plays.
        clips: What was copied, by the name that it was copied to; "" without one.
        doubt: What another program has done to the file, until the player has said what to do about it.
        midi_input: The MIDI port that notes are written from, None for none.
        here: Where the player is in the score.
        next_note: What the next digit writes.
        hand: What is known of the hand.
        lessons: What the player's fingers teach.
        shown: What the screen shows.
        recording: The recording of the document.
        proposals: What was heard in it and waits to be confirmed.
        rehearsal: What is practised.
        sheets: The sheet that is written of it.
        invention: How new phrases are made.
    """

    document: Document
    host: Host
    transport: Transport
    clips: dict[str, Clip] = field(default_factory=dict)
    doubt: Doubt | None = None
    midi_input: MidiInput | None = None

    def __post_init__(self) -> None:
        self.here = Here(self.document)
        self.next_note = NextNote()
        self.hand = KnownHand(self.document)
        self.lessons = Lessons(self.document)
        self.shown = Shown()
        self.rehearsal = Rehearsal(self.document, self.transport)
        self.sheets = Sheets(self.document)
        self.invention = Invention()
        self.recording = self.rehearsal.recording
        self.proposals = Proposals(self.document)
        self.shown.proposals = self.proposals.there

    @property
    def score(self) -> Score:
        """The score as it stands."""
        return self.document.score

    @property
    def player(self) -> Player:
        """Whose hands play."""
        return self.document.player

    def tempo(self) -> Tempo:
        """The written tempo of what sounds or, where nothing does, at the cursor."""
        run = self.transport.run
        return self.score.tempos[self.here.measures()[0]] if run is None else run.takes[0].tempo

    def run(self, command: Command, word: str | None = None) -> None:
        """Carry a command out, asking for its word where none is given.

        What the player can mend is said in one line, and nothing is changed.
        """
        pending, self.shown.lit = self.next_note.pending, None
        try:
            self._check_row(command)
            if command.takes_word and word is None:
                suggestion = command.suggests(self) if command.suggests else ""
                choices = command.choices(self) if command.choices else ()
                self.host.ask(command.asks, suggestion, lambda answer: self.run(command, answer), choices)
            else:
                command.run(self, word or "")
                self.rehearsal.go_on(self.here.selection())
        except TabtermError as error:
            self.host.say(str(error), trouble=True)
        except ModuleNotFoundError as error:
            self.host.say(str(lacking(error)), trouble=True)
        except OSError as error:
            self.host.say(str(refusal(error, Path(error.filename or self.document.path))), trouble=True)
        if self.next_note.pending is pending and not command.keeps_pending:
            self.next_note.pending = NOTHING_PENDING
        if self.next_note.rhythm and (beat := self.next_note.rhythm.at(self.score, self.here.cursor.place)):
            self.next_note.step = beat.value

    def _check_row(self, command: Command) -> None:
        """Raise ScoreError where a command writes what the row that the cursor is on does not take."""
        row = self.here.cursor.row
        if command.rows is Rows.COURSES and row is not COURSE:
            raise ScoreError(f"the {row.name} row takes no notes", hint="go to a course first")
        if command.rows is Rows.NOTES and not row.of_note:
            raise ScoreError(f"the {row.name} row takes no note marks", hint="go to a course first")

    def begin_proposing(self) -> None:
        """Have strokes proposed from now on: once the first screen is out, or a key has come."""
        if self.document.propose is None:
            from tabterm.hand.strokes import with_proposals

            self.document.begin_proposing(with_proposals)

    def edit(self, score: Score, label: str) -> None:
        """Make a changed score the document's; the cursor stays where it is, if that is still there."""
        self.take_change(self.document.apply(score, label))
        self.here.stay_inside()

    def rework(
        self,
        score: Score,
        label: str,
        *,
        told: str = "",
        quiet: bool = False,
        taken: tuple[int, int] | None = None,
    ) -> None:
        """Make a change that is more than a note, and say what it did and where, with what is gone.

        Args:
            score: The changed score.
            label: What was done, for undo to name.
            told: What there is to say behind it.
            quiet: Say it only where notes are gone.
            taken: First and last of the measures that are taken out, where those around them may be the same.
        """
        before = self.score
        change = self.document.apply(score, label)
        self.take_change(change)
        self.here.stay_inside()
        if change is None:
            self.host.say(f"{label}: nothing changed")
        else:
            effect = effect_of(change)
            if effect is not None and taken is not None:
                effect = replace(effect, taken=taken)
            losses = told if effect is None else effect.losses + told
            if losses or not quiet:
                self.light(effect, label, before, losses)

    def light(self, effect: Effect | None, words: str, before: Score, more: str = "") -> None:
        """Say what was done to the score as it was before, and light where until the next key."""
        self.host.say(words if effect is None else f"{words} {effect.where(before, self.score)}{more}")
        self.shown.lit = None if effect is None else effect.span

    def take_in(self, draft: Draft) -> None:
        """Take in unsaved work that was put aside; what cannot be done is said instead."""
        score = draft.rebuilt()
        if score is None:
            self.host.say("the file it was based on is missing or has changed", trouble=True)
            return
        self.edit(score, "recover")
        self.host.say(f"recovered the work from {draft.written}; undo brings back what was here")

    def take_change(self, change: Change | None) -> None:
        """Have a change of the document heeded: what is painted anew, where phrases stand."""
        self.shown.last_change = change
        if change is not None:
            self.rehearsal.after(change)
            self.shown.proposals = self.proposals.there
            if self.here.cursor.row is SOURCE and not self.shown.proposals:
                self.here.cursor = self.here.cursor.on(COURSE, self.here.cursor.course)

    def take_advice(self, advice: Advice) -> bool:
        """Take what was worked out for a score; False when the score has changed since."""
        if advice.asked is not self.score or advice.player is not self.player:
            return False
        change = self.document.annotate(advice.asked, advice.score)
        if change is not None:
            self.shown.last_change = change
        self.hand.advice = advice
        return True
