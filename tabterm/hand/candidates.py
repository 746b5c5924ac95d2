"""Candidates: phrases that are to be, laid on the neck among their neighbours, and what they ask of the player."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.ornaments import Played
from tabterm.hand.proposals import carried_out, with_hands
from tabterm.hand.trial import NO_HARDER, Judged
from tabterm.score.duration import Duration
from tabterm.score.model import Event, Note
from tabterm.score.operations import delete_measures, erase, map_events
from tabterm.score.operations.marks import drop_remarks, lay_chords, set_chord
from tabterm.score.operations.spelling import plain_value
from tabterm.score.operations.timeline import flatten, splice
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, events_in, move_by

if TYPE_CHECKING:
    from collections.abc import Iterable
    from collections.abc import Set as AbstractSet

    from tabterm.hand.player import Player
    from tabterm.harmony.sketches import Sketch
    from tabterm.score.model import Score

NEXT = Fraction(1, 64)  #: quarters; definition: what begins where a phrase ends is heard with it

ROUND = 1  #: measures; tuned here
"""What stands so far before and behind a phrase is judged with it."""

FIRST_POSITION = 7  #: frets; common practice, no source: the little finger's note in first position
"""A new phrase for one that lies below this stays there, wherever the neck has its notes there."""

EASIER = 0.01  #: part of the limit; tuned here
"""A plainer phrase asks for so much less of the player's limit at its hardest place."""

LESS = 0.9  #: times; tuned here
"""Or for so much in all, and for no more at that place."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A new phrase in its score.

    Attributes:
        score: The whole score with it.
        span: Where it is.
        told: What was done, in a few words.
        points: What a teacher would mend in it; less is better.
        use: The part of the player's limit that it asks for.
        apart: How much it differs from the phrase that it was made from.
    """

    score: Score
    span: Span
    told: str
    points: float
    use: float
    apart: float


@dataclass(frozen=True)
class Draft:
    """A phrase that is to be laid on the neck.

    Attributes:
        start: Where it begins.
        played: What happens.
        marks: What it is told apart by: each moment with its pitches and how they are played.
        points: What a teacher would mend in it.
        told: What was done.
        chords: Chord symbols that take the place of those that stand there.
    """

    start: Place
    played: tuple[Played, ...]
    marks: frozenset[object]
    points: float = 0.0
    told: str = ""
    chords: tuple[tuple[Place, str], ...] = ()


def apart(one: frozenset[object], other: frozenset[object]) -> float:
    """How much two phrases differ by their marks: 0 the same, 1 not a note in common; see above."""
    longer = max(len(one), len(other), 1)
    return 1.0 - len(one & other) / longer


class Room:
    """The measures around a phrase, on which candidates are tried."""

    def __init__(self, score: Score, player: Player, span: Span) -> None:
        """Take a phrase of a score, and who is to play."""
        self._score, self._player, self._span = score, player, span
        self.neck = neck_of(score.head, player)
        self._first = max(span.start.measure - ROUND, 0)

    @cached_property
    def _before(self) -> Judged:
        return self._judged(self._score, self._span)

    def _judged(self, score: Score, span: Span) -> Judged:
        return Judged(with_hands(self._piece(score, span), self._player), self._player)

    def _piece(self, score: Score, span: Span) -> Score:
        """The measures around a span of a score."""
        last = min(span.end.measure + ROUND, len(score.measures) - 1)
        piece = score
        if last + 1 < len(piece.measures):
            piece = delete_measures(piece, last + 1, len(piece.measures) - 1)
        return delete_measures(piece, 0, self._first - 1) if self._first else piece

    def _there(self, place: Place) -> Place:
        """A place of the score in the measures that are judged."""
        return Place(place.measure - self._first, place.offset)

    def _heard(self, span: Span) -> Span:
        """A span in the measures that are judged, with the note that follows it."""
        end = self._there(span.end)
        return Span(self._there(span.start), Place(end.measure, end.offset + NEXT))

    def marks(self, played: Iterable[Played]) -> frozenset[object]:
        """What a phrase is told apart by."""
        pitch = self.neck.instrument.pitch
        return frozenset(
            (
                each.at,
                *((pitch(*note.spot), note.reached, note.muted) for note in each.event.notes),
                *(pitch(*note.spot) for note in each.event.grace),
            )
            for each in played
            if each.event is not None and each.event.notes
        )

    def draft(self, sketch: Sketch, told: str) -> Draft:
        """A sketch with each note where it has the lowest fret, and what is told of it."""
        played = []
        for note in sketch.notes:
            event = None
            if note.pitch is not None:
                course, fret = self.neck.instrument.places_of(note.pitch)[0]
                value = note.event.duration if note.event else plain_value(note.length) or Duration(4)
                event = Event(duration=value, notes=(Note(course=course, fret=fret),))
            played.append(Played(note.at, note.length, event, free=True))
        return Draft(sketch.start, tuple(played), self.marks(played), sketch.points, told, sketch.chords)

    def candidate(self, draft: Draft, differs: float, *, limit: float, easier: bool) -> Candidate | None:
        """A draft on the neck, or None.

        Args:
            draft: What is tried.
            differs: How much it differs from the phrase.
            limit: The part of the player's limit that it may ask for.
            easier: It has to be easier than the phrase.
        """
        score, span = self._laid(draft)
        after, here = self._judged(score, span), self._heard(span)
        new = after.findings.keys() - self._before.findings.keys()
        if any(after.findings[name].place in here for name in new):
            return None
        use = after.use(Span(here.start, self._there(span.end)))
        if use > limit or (easier and not self._is_easier(score, span)):
            return None
        return Candidate(score, span, draft.told, draft.points, use, differs)

    @cached_property
    def _asked(self) -> tuple[float, float]:
        return self._alone(self._score, self._span)

    def _is_easier(self, score: Score, span: Span) -> bool:
        """Whether a phrase asks for less at its hardest place, or no more there and less in all."""
        (most, total), (old_most, old_total) = self._alone(score, span), self._asked
        return most < old_most - EASIER or (most <= old_most + NO_HARDER and total < LESS * old_total)

    def _alone(self, score: Score, span: Span) -> tuple[float, float]:
        """The part of the limit that a phrase alone asks for: at most, and all its notes together."""
        piece = self._piece(score, span)
        start, end = self._there(span.start), self._there(span.end)
        for beside in (Span(Place(0), start), Span(end, end_of(piece))):
            piece = erase(piece, beside) if beside.start < beside.end else piece
        judged = Judged(with_hands(piece, self._player), self._player)
        return judged.use(Span(start, end)), sum(judged.uses.values())

    def _laid(self, draft: Draft) -> tuple[Score, Span]:
        """The score with a draft in it, its free notes where the search has them, and where it is."""
        laid = splice(self._score, draft.start, [(each.event, each.length) for each in draft.played])
        length = draft.played[-1].at + draft.played[-1].length
        span = Span(draft.start, move_by(laid, draft.start, length))
        if draft.chords:
            inside = {place: symbol for place, symbol in draft.chords if place in span}
            behind = {place: symbol for place, symbol in draft.chords if place not in span}
            laid = lay_chords(laid, span, inside)
            for place, symbol in behind.items():
                laid = set_chord(laid, place, symbol)
        laid = drop_remarks(laid, self._score, span)
        return (self._placed(laid, span, draft), span) if any(each.free for each in draft.played) else (laid, span)

    def _placed(self, score: Score, span: Span, draft: Draft) -> Score:
        """The free notes of a span on the courses of the least effort; all else stays."""
        free = {self._there(move_by(score, span.start, each.at)) for each in draft.played if each.free}
        piece = self._piece(score, span)
        chosen = self._chosen(piece, free)
        if self._is_in_first_position:
            away = {place for place, event in events_in(chosen, _all(chosen)) if _highest(event) > FIRST_POSITION}
            if away & free:
                chosen = self._chosen(piece, free - away)
        there = Span(self._there(span.start), self._there(span.end))
        found = [
            (None if event is None else _bound(event, stay=False), size) for event, size in flatten(chosen, there)
        ]
        return splice(score, span.start, found)

    @cached_property
    def _is_in_first_position(self) -> bool:
        """Whether the phrase, or what stands around it where that is silent, lies in first position."""
        piece = self._piece(self._score, self._span)
        here = Span(self._there(self._span.start), self._there(self._span.end))
        tops = [[_highest(event) for _, event in events_in(piece, part)] for part in (here, _all(piece))]
        return (max(tops[0], default=0) or max(tops[1], default=0)) <= FIRST_POSITION

    def _chosen(self, piece: Score, free: AbstractSet[Place]) -> Score:
        """A piece with the notes at some places on the courses of the least effort."""
        held = map_events(piece, _all(piece), lambda place, event: _bound(event, stay=place not in free))
        return carried_out(held, fingering(held, self._player, keep_courses=False).unwritten())


def _all(piece: Score) -> Span:
    return Span(Place(0), end_of(piece))


def _highest(event: Event) -> int:
    """The highest fret of an event; 0 where all is open or silent."""
    return max((note.fret for note in event.notes), default=0)


def _bound(event: Event, *, stay: bool) -> Event:
    """An event whose notes are held to their courses, or not."""
    if all(note.course_set == stay for note in event.notes):
        return event
    return event.with_(notes=tuple(note.with_(course_set=stay) for note in event.notes))
