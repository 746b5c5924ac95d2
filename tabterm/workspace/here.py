"""Where the player is in the score: the cursor, what is selected, what stands there, and the note written next."""

from __future__ import annotations

from dataclasses import field, replace
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.score.duration import EIGHTH, Duration
from tabterm.score.kinds import Reached
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import attack_of, distance, event_at, move_by, next_event, previous_event, whole_length
from tabterm.workspace import cursor as cursors
from tabterm.workspace.cursor import Cursor

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.score.kinds import Direction
    from tabterm.score.model import Event, Note, Score
    from tabterm.workspace.document import Document


@dataclass
class Here:
    """The cursor in the score of a document.

    Attributes:
        document: Whose score it is.
        cursor: Where the next key writes.
        anchor: Where the selection began that ends at the cursor; None when nothing is selected.
        written: Where the event was written last, and where the cursor went behind it.
        added: The course of the note that was added to it last, beside the cursor's.
    """

    document: Document
    cursor: Cursor = field(default_factory=Cursor)
    anchor: Place | None = None
    written: tuple[Place, Place] | None = None
    added: int | None = None

    @property
    def _score(self) -> Score:
        return self.document.score

    def event(self) -> tuple[Place, Event] | None:
        """The event sounding (or resting) at the cursor, with its onset; None after the last measure."""
        return event_at(self._score, self.cursor.place)

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

    def just_written(self) -> tuple[Place, Event] | None:
        """The event that was written last, while the cursor stands behind it; None when it has moved on."""
        if self.written is None or self.written[1] != self.cursor.place:
            return None
        found = attack_of(self._score, self.written[0])
        return found if found and not found[1].is_rest else None

    def note_meant(self) -> tuple[Place, Note]:
        """The note that a mark is about: just written, under the cursor, or else the only one that sounds here.

        Raises:
            ScoreError: No note sounds here, or several on other courses.
        """
        written = self.just_written()
        place, event = self.event_meant()
        course = self.cursor.course if written is None or self.added is None else self.added
        note = event.on_course(course)
        if note is None and written is None and len(event.notes) > 1 and self.cursor.row is COURSE:
            letters = self._score.head.instrument.course_letters()
            others = " and ".join(letters[other.course - 1] for other in event.notes)
            raise ScoreError(f"no note on course {letters[course - 1]} here; {others} have one")
        return place, note or event.notes[0]

    def event_meant(self) -> tuple[Place, Event]:
        """The event just written or else the one that sounds here; raises ScoreError where none does."""
        for found in (self.just_written(), self.event()):
            if found is not None and not found[1].is_rest:
                return found
        raise ScoreError("no note here", hint="go to a note first")

    def elsewhere(self, place: Place, course: int | None = None) -> str:
        """Where a command acts in words, ` (A course, measure 2, beat 1)`; nothing where the cursor stands.

        Without a course it acts on a whole event.
        """
        other = course is not None and course != self.cursor.course and self.cursor.row is COURSE
        if place == self.cursor.place and not other:
            return ""
        letters = self._score.head.instrument.course_letters()
        parts = [] if course is None else [f"{letters[course - 1]} course"]
        return f" ({', '.join([*parts, describe(self._score, place)])})"

    def event_before(self) -> tuple[Place, Event] | None:
        """The event that ends at, or goes on under, the cursor from before it."""
        return previous_event(self._score, self.cursor.place)

    def before(self) -> tuple[Place, Event] | None:
        """The event before the cursor, from where it is struck."""
        before = self.event_before()
        return None if before is None else attack_of(self._score, before[0])

    def end_of_event(self, place: Place) -> Place:
        """Where the event that sounds at a place ends; the place itself where there is none."""
        found = event_at(self._score, place)
        return place if found is None else move_by(self._score, found[0], found[1].length)

    # The selection

    def selection(self) -> Span | None:
        """The selected time, whole events at both ends; None when nothing is selected."""
        if self.anchor is None:
            return None
        span = Span.between(self.anchor, self.cursor.place)
        return Span(span.start, self.end_of_event(span.end))

    def target(self) -> Span:
        """What a command on a stretch works on: the selection, or the event at the cursor."""
        selected = self.selection()
        if selected is not None:
            return selected
        found = self.event()
        if found is None:
            raise ScoreError("the cursor is past the last measure", hint="go back to the music")
        return Span(found[0], self.end_of_event(found[0]))

    def measures(self) -> tuple[int, int]:
        """First and last index of the measures that the selection, or the cursor, touches."""
        last = len(self._score.measures) - 1
        if self.anchor is None:
            index = min(self.cursor.place.measure, last)
            return index, index
        span = Span.between(self.anchor, self.cursor.place)
        return min(span.start.measure, last), min(span.end.measure, last)

    # Moving

    def stay_inside(self) -> None:
        """Bring the cursor back onto the score where a change has left it outside."""
        self.cursor = cursors.kept_inside(self._score, self.cursor)

    def go(self, place: Place) -> None:
        """Move the cursor in time."""
        self.written = self.added = None
        self.cursor = cursors.kept_inside(self._score, self.cursor.at(place))

    def go_by(self, length: Fraction) -> None:
        """Move the cursor on by a length, over bar lines."""
        self.go(move_by(self._score, self.cursor.place, length))

    def go_behind(self, place: Place) -> None:
        """Move the cursor to the end of the event written at a place, with all that is tied to it."""
        head = attack_of(self._score, place)
        if head is not None:
            self.go(move_by(self._score, head[0], whole_length(self._score, head[0])))
            self.wrote(head[0])

    def wrote(self, place: Place) -> None:
        """What is said next, without a move before, is about the event written at a place."""
        self.written, self.added = (place, self.cursor.place), None

    def go_to_next_event(self) -> None:
        """Move the cursor to the next event that sounds; stay when there is none."""
        place = self.cursor.place
        while (found := next_event(self._score, place)) is not None:
            place, event = found
            if not event.is_rest:
                self.go(place)
                return


@dataclass(frozen=True, slots=True)
class Pending:
    """What has been said about the next note before its fret is typed; shown at the cursor.

    Attributes:
        reached: It is slurred from the note before.
        tens: Added to the digit: 10 or 20.
        stack: It is added to the event just written, or here, instead of replacing what stands here.
        on: The course that it is added on, where that is not the cursor's.
        muted: It is a dead note.
        slide_in: It is slid into from no particular fret.
        grace: It is a grace note of the note typed after it, or of the event here.
        graces: Grace notes that have been typed for it.
    """

    reached: Reached = Reached.STRUCK
    tens: int = 0
    stack: bool = False
    on: int | None = None
    muted: bool = False
    slide_in: Direction | None = None
    grace: bool = False
    graces: tuple[Note, ...] = ()


NOTHING_PENDING = Pending()


class Beat(NamedTuple):
    """A note of a rhythm that pitches are typed to.

    Attributes:
        offset: Quarters from the start of the rhythm.
        length: Quarters.
        value: How it is written, or the first of several tied values.
    """

    offset: Fraction
    length: Fraction
    value: Duration


@dataclass(frozen=True, slots=True)
class Rhythm:
    """A rhythm that only pitches are typed to.

    Attributes:
        start: Where its first beat falls.
        beats: In order.
        period: After how many quarters it begins again; None when it is typed once.
    """

    start: Place
    beats: tuple[Beat, ...]
    period: Fraction | None = None

    def at(self, score: Score, place: Place) -> Beat | None:
        """The beat that falls on a place, or None."""
        phase = self._phase(score, place)
        return next((beat for beat in self.beats if beat.offset == phase), None)

    def after(self, score: Score, place: Place) -> tuple[Fraction, Beat] | None:
        """How many quarters after a place the next beat falls, and that beat; None behind the last."""
        phase = self._phase(score, place)
        for beat in self.beats:
            if phase is not None and beat.offset > phase:
                return beat.offset - phase, beat
        if phase is None or self.period is None:
            return None
        return self.period - phase + self.beats[0].offset, self.beats[0]

    def _phase(self, score: Score, place: Place) -> Fraction | None:
        if place < self.start:
            return None
        since = distance(score, self.start, place)
        return since if self.period is None else since % self.period


@dataclass
class NextNote:
    """What the next digit writes.

    Attributes:
        step: Its value, by which the cursor also moves.
        pending: What has been said about it.
        rhythm: Where its values come from while pitches are typed to a rhythm.
        taps_s: When a rhythm was tapped that no pitch has been typed to yet, by the monotonic clock.
    """

    step: Duration = EIGHTH
    pending: Pending = NOTHING_PENDING
    rhythm: Rhythm | None = None
    taps_s: tuple[float, ...] = ()

    def expect(self, **changes: object) -> None:
        """Say something about it, beside what was said already."""
        self.pending = replace(self.pending, **changes)  # type: ignore[arg-type]
