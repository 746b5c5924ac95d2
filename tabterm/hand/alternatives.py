"""Other ways to finger a passage, where they part from the first, and why it was preferred."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.fingering import fingering
from tabterm.hand.terms import TERMS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.fingering import Hold, Solved
    from tabterm.hand.player import Player
    from tabterm.hand.search import Search, Way
    from tabterm.hand.stops import Stop
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

LEAST_NOTES = 2  #: notes; tuned here
"""Notes in which two alternatives differ at least, where the passage has so many."""

MOST_TRIED = 80  #: ways; implementation limit
"""Ways that are traced for each alternative wanted."""

StopsByOnset = tuple[tuple["Stop", ...], ...]
"""The stops of the notes at each onset of a passage."""


@dataclass(frozen=True, slots=True)
class Parting:
    """A note at which an alternative parts from the first way.

    Attributes:
        place: Onset of its event.
        first: The stop of the first way.
        other: The stop of the alternative.
    """

    place: Place
    first: Stop
    other: Stop


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to finger a passage.

    Attributes:
        holds: The hand at each onset of the passage.
        extra: Points more than the first way takes; 0 for the first.
        partings: Where it parts from the first way.
        term: The term of `hand.terms` that decides against it, "" for the first.
    """

    holds: tuple[Hold, ...]
    extra: float
    partings: tuple[Parting, ...]
    term: str

    @property
    def reason(self) -> str:
        """Why the first was preferred, in words."""
        return TERMS[self.term].words if self.term else "the easiest"


def alternatives(
    score: Score, player: Player, span: Span, count: int = 3, *, keep_courses: bool = False
) -> tuple[Alternative, ...]:
    """The best fingering of a span and the next best ones that really differ, easiest first.

    What lies outside the span is fingered as it is in the best fingering of the whole. Each alternative is
    the easiest way through some state of some onset, and differs from all before it in at least
    `LEAST_NOTES` notes. There are fewer than `count` where a span has no more.
    """
    whole = fingering(score, player, keep_courses=keep_courses)
    passages = [passage for solved in whole.phrases if (passage := _passage(solved, span)) is not None]
    if not passages:
        return ()
    first = tuple(hold for passage in passages for hold in passage.first)
    found = [Alternative(first, 0.0, (), "")]
    others = sorted(
        (other for passage in passages for other in passage.others(count - 1)), key=lambda other: other.extra
    )
    for other in others[: count - 1]:
        holds = tuple(
            hold for passage in passages for hold in (other.holds if passage is other.of else passage.first)
        )
        found.append(Alternative(holds, other.extra, other.partings, other.term))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Other:
    of: _Passage
    holds: tuple[Hold, ...]
    extra: float
    partings: tuple[Parting, ...]
    term: str


@dataclass(frozen=True, slots=True)
class _Passage:
    """The onsets of one phrase that lie in a span."""

    solved: Solved
    begin: int
    end: int

    @property
    def first(self) -> tuple[Hold, ...]:
        return self.solved.holds[self.begin : self.end]

    def others(self, count: int) -> list[_Other]:
        """The next best ways through the passage."""
        whole = self.solved.searching()
        search = whole.part(self.begin, self.end - 1, self.solved.way)
        best = search.way(self.solved.way.states[self.begin : self.end])
        kept = [_stops(search, best.states)]
        tried = [(way, _stops(search, way.states)) for way in _ways(search, best, MOST_TRIED * count)]
        found: list[_Other] = []
        for least in range(LEAST_NOTES, 0, -1):
            for way, stops in tried:
                if len(found) < count and all(_differing(stops, other) >= least for other in kept):
                    kept.append(stops)
                    found.append(self._other(whole.way(self._with(way)), kept[0], stops))
        return found

    def _with(self, way: Way) -> tuple[int, ...]:
        """The states of the whole phrase with those of a way through the passage."""
        before, after = self.solved.way.states[: self.begin], self.solved.way.states[self.end :]
        return (*before, *way.states, *after)

    def _other(self, whole: Way, first: StopsByOnset, stops: StopsByOnset) -> _Other:
        holds = self.solved.holds_of(whole)
        partings = tuple(
            Parting(hold.onset.place, one, other)
            for hold, ones, others in zip(self.first, first, stops, strict=True)
            for one, other in zip(ones, others, strict=True)
            if one != other
        )
        gain = _sums(self.solved, self.solved.holds, -1.0)
        for name, points in _sums(self.solved, holds, 1.0).items():
            gain[name] = gain.get(name, 0.0) + points
        term = _greatest(gain)
        extra = whole.points - self.solved.way.points
        return _Other(self, holds[self.begin : self.end], extra, partings, term)


def _passage(solved: Solved, span: Span) -> _Passage | None:
    inside = [number for number, onset in enumerate(solved.phrase) if onset.place in span]
    return _Passage(solved, inside[0], inside[-1] + 1) if inside else None


def _ways(search: Search, best: Way, most: int) -> Iterator[Way]:
    """The easiest way through each different set of stops of each layer, easiest first; possible ones only."""
    through: list[tuple[float, int, int]] = []
    for number, layer in enumerate(search.layers):
        easiest: dict[tuple[Stop, ...], tuple[float, int, int]] = {}
        for state, points in enumerate(search.least_through(number)):
            stops = layer.grips[layer.states[state][0]].notes
            if stops not in easiest or points < easiest[stops][0]:
                easiest[stops] = (points, number, state)
        through.extend(easiest.values())
    limit = sum(best.moments) + TERMS["law"].weight / 2
    for points, number, state in sorted(through)[:most]:
        if points < limit:
            yield search.through(number, state, best)


def _stops(search: Search, states: tuple[int, ...]) -> StopsByOnset:
    return tuple(
        layer.grips[layer.states[state][0]].notes for layer, state in zip(search.layers, states, strict=True)
    )


def _differing(one: StopsByOnset, other: StopsByOnset) -> int:
    return sum(a != b for these, those in zip(one, other, strict=True) for a, b in zip(these, those, strict=True))


def _sums(solved: Solved, holds: tuple[Hold, ...], sign: float) -> dict[str, float]:
    sums: dict[str, float] = {}
    for number in range(len(holds)):
        for name, points in solved.neck.weights.by_term(solved.amounts(number, holds)).items():
            sums[name] = sums.get(name, 0.0) + sign * points
    return sums


@dataclass(frozen=True, slots=True)
class Choice:
    """Another finger or course for one note.

    Attributes:
        stop: Course, fret and finger.
        extra: Points more than the best way takes when the note is played so.
        term: The term that decides against it.
    """

    stop: Stop
    extra: float
    term: str


def choices(score: Score, player: Player, place: Place, course: int) -> tuple[Choice, ...]:
    """Every finger and course for the note of a course at an onset, the best first; empty where there is none.

    Each is rated by the easiest way of the whole phrase through it.
    """
    found = fingering(score, player, keep_courses=False).at(place)
    if found is None:
        return ()
    solved, number = found
    index = next((i for i, note in enumerate(solved.phrase[number].notes) if note.course == course), None)
    if index is None:
        return ()
    layer, search = solved.layers[number], solved.searching()
    easiest: dict[Stop, tuple[float, int]] = {}
    for state, points in enumerate(search.least_through(number)):
        stop = layer.grips[layer.states[state][0]].notes[index]
        if stop not in easiest or points < easiest[stop][0]:
            easiest[stop] = (points, state)
    ranked = sorted((points, stop, state) for stop, (points, state) in easiest.items())
    base = _sums(solved, solved.holds, 1.0)
    return tuple(
        Choice(stop, points - ranked[0][0], _against(base, solved, search.through(number, state, solved.way)))
        for points, stop, state in ranked
    )


def _against(base: dict[str, float], solved: Solved, way: Way) -> str:
    sums = _sums(solved, solved.holds_of(way), 1.0)
    gain = {name: sums.get(name, 0.0) - base.get(name, 0.0) for name in {*sums, *base}}
    return _greatest(gain)


def _greatest(gain: dict[str, float]) -> str:
    """The effort that grows most, or else the ease that is lost; "" where nothing grows."""
    growing = [name for name in sorted(gain) if gain[name] > 1e-9]
    efforts = [name for name in growing if TERMS[name].weight > 0]
    return max(efforts or growing, key=lambda name: gain[name], default="")
