"""The fingering of a score: a course, a fret, a finger and a hand place for every note, phrase by phrase."""

from __future__ import annotations

from bisect import bisect_right
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.effort import changing, holding, shifting
from tabterm.hand.grips import layers, transition, written
from tabterm.hand.neck import neck_of
from tabterm.hand.onsets import phrases
from tabterm.hand.search import Search
from tabterm.memory import Memory

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.grips import Layer
    from tabterm.hand.neck import Neck
    from tabterm.hand.onsets import Onset, Phrase
    from tabterm.hand.player import Player
    from tabterm.hand.search import Way
    from tabterm.hand.stops import Grip
    from tabterm.hand.terms import Amounts
    from tabterm.score.model import Score
    from tabterm.score.place import Place

KEPT_PHRASES = 4096  #: phrases; implementation limit
"""Solved phrases that are remembered."""


@dataclass(frozen=True, slots=True)
class Hold:
    """The left hand at an onset.

    Attributes:
        onset: When, and what is played.
        grip: Which finger is where.
        frame: The fret at which the index finger has its own place.
        points: What it takes to get there and to hold it.
    """

    onset: Onset
    grip: Grip
    frame: int
    points: float


@dataclass(frozen=True, eq=False)
class Solved:
    """A phrase and the best way through it.

    What the search needs but the answer does not is not kept: `searching` brings it up again.
    """

    neck: Neck
    phrase: Phrase
    layers: tuple[Layer, ...]
    way: Way

    def searching(self) -> Search:
        """The search through the phrase, for questions beside the best way."""
        return search_of(self.phrase, self.layers)

    @cached_property
    def holds(self) -> tuple[Hold, ...]:
        """The hand at each onset."""
        return self.holds_of(self.way)

    @cached_property
    def numbers(self) -> dict[Place, int]:
        """The number of the onset of each event (its grace notes come before)."""
        return {onset.place: number for number, onset in enumerate(self.phrase) if onset.grace is None}

    @cached_property
    def stands(self) -> bool:
        """Every note is written where the hand takes it, with its finger set or proposed already."""
        return all(
            (note.course, note.fret) == stop[:2]
            and note.proposed_finger == (None if note.finger is not None else stop[2] or None)
            for hold in self.holds
            for note, stop in zip(hold.onset.notes, hold.grip.notes, strict=True)
        )

    def holds_of(self, way: Way) -> tuple[Hold, ...]:
        """The hand at each onset of any way through the phrase."""
        steps = zip(self.phrase, self.layers, way.states, way.moments, strict=True)
        return tuple(
            Hold(onset, layer.grips[layer.states[state][0]], layer.states[state][1], points)
            for onset, layer, state, points in steps
        )

    def amounts(self, number: int, holds: tuple[Hold, ...] | None = None) -> Amounts:
        """What the effort of one onset is made of, in amounts of each term."""
        return amounts(self.neck, holds or self.holds, number)

    def terms(self, number: int) -> dict[str, float]:
        """Points of one onset by term."""
        return self.neck.weights.by_term(self.amounts(number))


def amounts(neck: Neck, holds: tuple[Hold, ...], number: int) -> Amounts:
    """What the effort of the onset of a number is made of, given the hand at each onset of its phrase."""
    hold = holds[number]
    notes = tuple(map(written, hold.onset.notes))
    yield from holding(neck, hold.grip, hold.frame, notes, goes_on=hold.onset.goes_on)
    if number:
        before = holds[number - 1]
        between = transition(before.onset, hold.onset)
        yield from changing(neck, before.grip, hold.grip, between, shifts=before.frame != hold.frame)
        free_s = between.free_s(open_course=not before.grip.down)
        yield from shifting(neck, before.frame, hold.frame, free_s, opens=between.opens)


@dataclass(frozen=True, eq=False)
class Fingering:
    """The solved phrases of a score, in order."""

    phrases: tuple[Solved, ...]

    def holds(self) -> Iterator[Hold]:
        """The hand at every onset."""
        for solved in self.phrases:
            yield from solved.holds

    def unwritten(self) -> Iterator[Hold]:
        """The hand at every onset of the phrases whose fingers are not written in the score yet."""
        for solved in self.phrases:
            if not solved.stands:
                yield from solved.holds

    @cached_property
    def starts(self) -> tuple[Place, ...]:
        """Where each phrase begins."""
        return tuple(solved.phrase[0].place for solved in self.phrases)

    @cached_property
    def by_measure(self) -> dict[int, tuple[Solved, ...]]:
        """The phrases that begin, go on or end in each measure, by its index."""
        found: dict[int, tuple[Solved, ...]] = {}
        for solved in self.phrases:
            for index in range(solved.phrase[0].place.measure, solved.phrase[-1].place.measure + 1):
                found[index] = (*found.get(index, ()), solved)
        return found

    def phrase_at(self, place: Place) -> Solved | None:
        """The phrase that a place lies in, or the last one before it."""
        index = bisect_right(self.starts, place) - 1
        return self.phrases[index] if index >= 0 else None

    def at(self, place: Place) -> tuple[Solved, int] | None:
        """The phrase and the number in it of the onset of the event at a place; None where none begins."""
        solved = self.phrase_at(place)
        number = None if solved is None else solved.numbers.get(place)
        return None if solved is None or number is None else (solved, number)

    @property
    def points(self) -> float:
        """Sum over the phrases of what the search makes least."""
        return sum(solved.way.points for solved in self.phrases)


def fingering(score: Score, player: Player, *, keep_courses: bool = True) -> Fingering:
    """The best fingering of a score for a player; choices of the player stand, whatever they cost.

    With `keep_courses` every note stays where it is written; else a note may move to another course at the
    same pitch, unless its course is set, it rings on, or it is tied or slurred to one that may not. Phrases
    that have been solved before are remembered.
    """
    neck = neck_of(score.head, player)
    return Fingering(tuple(_solved(neck, phrase, keep_courses=keep_courses) for phrase in phrases(score)))


_SOLVED: Memory[Solved] = Memory(
    "fingerings", hangs_on="a phrase, the neck, whether courses are kept", most=KEPT_PHRASES
)
_ALIKE: Memory[Solved] = Memory(
    "fingerings of phrases that look alike", hangs_on="places, events, gaps, the neck", most=KEPT_PHRASES
)
"""By what tells phrases from each other: two that look alike are solved once."""


def _solved(neck: Neck, phrase: Phrase, *, keep_courses: bool) -> Solved:
    return _SOLVED.of((neck, phrase, keep_courses), (), lambda: _as_one_alike(neck, phrase, keep_courses))


def _as_one_alike(neck: Neck, phrase: Phrase, keep_courses: bool) -> Solved:
    look = (id(neck), keep_courses, phrase[0].place, phrase[-1].place, *map(_looks, phrase))
    known = _ALIKE.known(look)
    return _ALIKE.keep(look, solve(neck, phrase, keep_courses=keep_courses)) if known is None else known


def _looks(onset: Onset) -> tuple[object, ...]:
    """What tells an onset from another; the solved phrase keeps the event alive, so its id is its own."""
    return id(onset.event), onset.grace, onset.gap_s, onset.rest_s, onset.let_go, onset.opens


def solve(neck: Neck, phrase: Phrase, *, keep_courses: bool) -> Solved:
    """Search one phrase."""
    found = tuple(layers(neck, phrase, keep_courses=keep_courses))
    return Solved(neck, phrase, found, search_of(phrase, found).best())


def search_of(phrase: Phrase, layers: tuple[Layer, ...]) -> Search:
    """The search through the layers of a phrase."""
    return Search.of(layers, [transition(one, other) for one, other in pairwise(phrase)])
