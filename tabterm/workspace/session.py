"""A session: a document with a cursor, a step, a selection and a clip; everything but the screen."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from tabterm.errors import ScoreError, TabtermError
from tabterm.page.rows import COURSE, EDITABLE, ON_SCREEN
from tabterm.score.duration import EIGHTH, Duration
from tabterm.score.kinds import Reached
from tabterm.score.place import Place, Span
from tabterm.score.query import event_at, move_by, next_event
from tabterm.storage.refusals import refusal
from tabterm.workspace import cursor as cursors
from tabterm.workspace.cursor import Cursor
from tabterm.workspace.rehearsal import Rehearsal

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from fractions import Fraction

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.fingering import Fingering
    from tabterm.hand.player import Player
    from tabterm.page.rows import Row
    from tabterm.score.change import Change
    from tabterm.score.kinds import Direction
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.operations import Clip
    from tabterm.score.tempo import Tempo
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.commands.fingers import Audition
    from tabterm.workspace.document import Document
    from tabterm.workspace.drafts import Draft
    from tabterm.workspace.outside import Doubt
    from tabterm.workspace.registry import Command
    from tabterm.workspace.transport import Transport


class Host(Protocol):
    """What a session asks of the screen it runs in."""

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show one line until the next key."""

    def ask(self, question: str, suggestion: str, answer: Callable[[str], None]) -> None:
        """Put a question; `answer` is called with the player's line unless it is called off."""

    def open_panel(self, name: str) -> None:
        """Lay a screen over the score.

        It is `help`, `palette`, `findings`, `practice`, `leave` (the question before quitting unsaved), `doubt`
        (what to do with a file that is not as it was left) or `recover` (what was put aside).
        """

    def redraw(self) -> None:
        """Paint everything anew."""

    def leave(self) -> None:
        """End the program."""


@dataclass(frozen=True, slots=True)
class Pending:
    """What has been said about the next note before its fret is typed; shown at the cursor.

    Attributes:
        reached: It is slurred from the note before.
        tens: Added to the digit: 10 or 20.
        stack: It joins the event before the cursor instead of following it.
        muted: It is a dead note.
        slide_in: It is slid into from no particular fret.
        grace: It is a grace note of the event at the cursor.
    """

    reached: Reached = Reached.STRUCK
    tens: int = 0
    stack: bool = False
    muted: bool = False
    slide_in: Direction | None = None
    grace: bool = False


NOTHING_PENDING = Pending()


@dataclass
class Session:
    """State of the editor that is not on the screen; commands change it, the screen shows it."""

    document: Document
    host: Host
    transport: Transport
    cursor: Cursor = field(default_factory=Cursor)
    step: Duration = EIGHTH
    anchor: Place | None = None
    pending: Pending = NOTHING_PENDING
    clip: Clip | None = None
    hidden_rows: frozenset[Row] = frozenset(row for row in ON_SCREEN if row.hidden)
    silent_strokes: bool = False
    finding_index: int | None = None
    last_change: Change | None = None
    measures_on_screen: int = 4
    neck_shown: bool = True
    plain: bool = False
    advice: Advice | None = None
    audition: Audition | None = None
    lessons: set[int] = field(default_factory=set)
    follows: bool = True
    doubt: Doubt | None = None
    _found: tuple[Score, Player, tuple[Finding, ...]] | None = None
    _offered: tuple[Score, Finding, tuple[Remedy, ...]] | None = None

    def __post_init__(self) -> None:
        self.rehearsal = Rehearsal(self.document, self.transport)

    @property
    def score(self) -> Score:
        """The score as it stands."""
        return self.document.score

    @property
    def player(self) -> Player:
        """Whose hands play."""
        return self.document.player

    @property
    def rows(self) -> tuple[Row, ...]:
        """Rows that the cursor can stand on now."""
        return tuple(row for row in EDITABLE if row not in self.hidden_rows)

    # What is under the cursor

    def event(self) -> tuple[Place, Event] | None:
        """The event sounding (or resting) at the cursor, with its onset; None after the last measure."""
        return event_at(self.score, self.cursor.place)

    def note(self) -> tuple[Place, Note] | None:
        """The note meant by a key: of the event that begins at the cursor, the one on the cursor's course.

        Off the course rows an event with a single note gives that one.
        """
        found = self.event()
        if found is None or found[0] != self.cursor.place or found[1].is_rest:
            return None
        place, event = found
        note = event.on_course(self.cursor.course)
        if note is None and (self.cursor.row is not COURSE):
            note = event.notes[0]
        return None if note is None else (place, note)

    def note_or_before(self) -> tuple[Place, Note] | None:
        """The note at the cursor or, on an empty step, the one just written before it."""
        found = self.note()
        if found is not None:
            return found
        before = self.event_before()
        if before is None or before[1].is_rest:
            return None
        place, event = before
        note = event.on_course(self.cursor.course) or event.notes[0]
        return place, note

    def event_or_before(self) -> tuple[Place, Event]:
        """The event at the cursor where it sounds, else the one just written before it; raises ScoreError."""
        for found in (self.event(), self.event_before()):
            if found is not None and not found[1].is_rest:
                return found
        raise ScoreError("there is no note here", hint="go to a note first")

    def event_before(self) -> tuple[Place, Event] | None:
        """The event that ends at, or goes on under, the cursor from before it."""
        place = self.cursor.place
        before = cursors.to_left(self.score, place, self.score.measures[-1].length)
        return None if place == Place(0) else event_at(self.score, before)

    def selection(self) -> Span | None:
        """The selected time, whole events at both ends; None when nothing is selected."""
        if self.anchor is None:
            return None
        span = Span.between(self.anchor, self.cursor.place)
        return Span(span.start, self.end_of_event(span.end))

    def tempo(self) -> Tempo:
        """The written tempo of what sounds or, where nothing does, at the cursor."""
        run = self.transport.run
        return self.score.tempos[self.measures()[0]] if run is None else run.takes[0].tempo

    def last_measure_played(self) -> int:
        """Index of the last measure of what sounds; the score's last where that is not known."""
        last = len(self.score.measures) - 1
        run = self.transport.run
        span = None if run is None else run.takes[-1].span
        return last if span is None else min(span.end.measure - (span.end.offset == 0), last)

    def target(self) -> Span:
        """What a command on a stretch works on: the selection, or the event at the cursor."""
        selected = self.selection()
        if selected is not None:
            return selected
        found = self.event()
        if found is None:
            raise ScoreError("the cursor is after the last measure", hint="go back onto the music")
        return Span(found[0], self.end_of_event(found[0]))

    def measures(self) -> tuple[int, int]:
        """First and last index of the measures that the selection, or the cursor, touches."""
        last = len(self.score.measures) - 1
        if self.anchor is None:
            index = min(self.cursor.place.measure, last)
            return index, index
        span = Span.between(self.anchor, self.cursor.place)
        return min(span.start.measure, last), min(span.end.measure, last)

    def end_of_event(self, place: Place) -> Place:
        """Where the event that sounds at a place ends; the place itself where there is none."""
        found = event_at(self.score, place)
        return place if found is None else move_by(self.score, found[0], found[1].length)

    # What changes it

    def run(self, command: Command, word: str | None = None) -> None:
        """Carry a command out, asking for its word where none is given.

        What the player can mend is said in one line, and nothing is changed.
        """
        pending = self.pending
        try:
            if command.takes_word and word is None:
                suggestion = command.suggests(self) if command.suggests else ""
                self.host.ask(command.asks, suggestion, lambda answer: self.run(command, answer))
            else:
                command.run(self, word or "")
                self.rehearsal.go_on(self.selection())
        except TabtermError as error:
            self.host.say(str(error), trouble=True)
        except OSError as error:
            self.host.say(str(refusal(error, Path(error.filename or self.document.path))), trouble=True)
        if self.pending is pending and not command.keeps_pending:
            self.pending = NOTHING_PENDING

    def begin_proposing(self) -> None:
        """Have strokes proposed from now on: once the first screen is out, or a key has come."""
        if self.document.propose is None:
            from tabterm.hand.strokes import with_proposals

            self.document.begin_proposing(with_proposals)

    def edit(self, score: Score, label: str) -> None:
        """Make a changed score the document's; the cursor stays where it is, if that is still there."""
        self.take_change(self.document.apply(score, label))
        self.cursor = cursors.kept_inside(self.score, self.cursor)

    def take_in(self, draft: Draft) -> None:
        """Take in unsaved work that was put aside; what cannot be done is said instead."""
        score = draft.rebuilt()
        if score is None:
            self.host.say("it does not hold the file that it goes on from", trouble=True)
            return
        self.edit(score, "recover")
        self.host.say(f"recovered the work of {draft.written}; undo gives back what was here")

    def take_change(self, change: Change | None) -> None:
        """Have a change of the document heeded: what is painted anew, where phrases stand."""
        self.last_change = change
        if change is not None:
            self.rehearsal.after(change)

    def go(self, place: Place) -> None:
        """Move the cursor in time."""
        self.cursor = cursors.kept_inside(self.score, self.cursor.at(place))

    def go_by(self, length: Fraction) -> None:
        """Move the cursor on by a length, over bar lines."""
        self.go(move_by(self.score, self.cursor.place, length))

    def go_to_next_event(self) -> None:
        """Move the cursor to the next event that sounds; stay when there is none."""
        place = self.cursor.place
        while (found := next_event(self.score, place)) is not None:
            place, event = found
            if not event.is_rest:
                self.go(place)
                return

    def await_note(self, **changes: object) -> None:
        """Say something about the next note, beside what was said already."""
        self.pending = replace(self.pending, **changes)  # type: ignore[arg-type]

    def mend(self, finding: Finding, remedy: Remedy) -> None:
        """Apply a remedy of a finding, and say which; what cannot be done is said instead."""
        try:
            self.edit(remedy.operation(self.score, finding.place), remedy.label)
        except TabtermError as error:
            self.host.say(str(error), trouble=True)
        else:
            self.host.say(remedy.label)

    def learn(self) -> int:
        """Learn from the fingers that the player set against a proposal; in how many measures there were such.

        What was learnt holds from the next proposal on, and is kept for other scores.
        """
        from tabterm.hand.learning import learn
        from tabterm.hand.trial import surroundings
        from tabterm.piece import learnt

        lessons, player = sorted(self.lessons), self.player
        self.lessons.clear()
        if not player.learns:
            return 0
        for index in lessons:
            if index < len(self.score.measures):
                player = learn(surroundings(self.score, index)[0], player)
        if player is self.player:
            return 0
        learnt.store(player.weights)
        self.document.player = player
        return len(lessons)

    # What the hand does

    def levels(self, index: int) -> Mapping[Fraction, float]:
        """For each event of a measure, by its offset, the part of the player's limit that it asks for.

        Empty where the measure, or the player, has changed since that was worked out.
        """
        advice, measures = self.advice, self.score.measures
        if advice is None or advice.player is not self.player or index >= len(advice.score.measures):
            return {}
        return advice.levels.get(index, {}) if advice.score.measures[index] is measures[index] else {}

    def take_advice(self, advice: Advice) -> bool:
        """Take what was worked out for a score; False when the score has changed since."""
        if advice.asked is not self.score or advice.player is not self.player:
            return False
        change = self.document.annotate(advice.asked, advice.score)
        if change is not None:
            self.last_change = change
        self.advice = advice
        return True

    @property
    def needs_advice(self) -> bool:
        """Nothing has been worked out for the score and the player as they stand."""
        return self._advice() is None

    def _advice(self) -> Advice | None:
        """What has been worked out for the score and the player as they stand."""
        known = self.advice
        return known if known and known.score is self.score and known.player is self.player else None

    def hand(self) -> Fingering:
        """The fingering of the score as it stands."""
        from tabterm.hand.fingering import fingering

        known = self._advice()
        return fingering(self.score, self.player) if known is None else known.fingering

    def findings(self) -> tuple[Finding, ...]:
        """What the hands cannot do, or find hard, in score order."""
        from tabterm.hand.findings import findings

        known = self._advice()
        if known is not None and known.findings is not None:
            return known.findings
        found = self._found
        if found is None or found[0] is not self.score or found[1] is not self.player:
            found = self._found = (self.score, self.player, findings(self.score, self.player))
        return found[2]

    def remedies(self, finding: Finding) -> tuple[Remedy, ...]:
        """The remedies of a finding that help, tried out."""
        from tabterm.hand.trial import offered

        known = self.remedies_known(finding)
        if known is None:
            known = offered(self.score, self.player, finding)
            self.take_remedies(self.score, finding, known)
        return known

    def take_remedies(self, score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
        """Remember which remedies help, for as long as the score stands."""
        self._offered = (score, finding, remedies)

    def remedies_known(self, finding: Finding) -> tuple[Remedy, ...] | None:
        """The remedies that help, where that has been worked out already."""
        known = self._offered
        return known[2] if known and known[0] is self.score and known[1] is finding else None
