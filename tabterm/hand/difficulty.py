"""How hard a score is to play at its tempo: effort per second, and the tempo at which the limit is reached.

Effort over the time there is for it follows Nakamura, Ono and Sagayama 2014 (ISMIR: difficulty as a rate), that
the worst place decides Hori and Sagayama 2016 (ISMIR: the hardest transition, not the sum), and a sum of named
and weighted causes Velez Vasquez et al. 2023 (ISMIR: ease of playing chords). The weights are those of
`tabterm.hand.terms`; none is published for this family of instruments.

The limit of a player is reached where either a speed of the profile is used up (`tabterm.hand.limits`), or the
effort of a beat is as great as `limit_rate`.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.fingering import KEPT_PHRASES, amounts, solve
from tabterm.hand.leisure import give_way
from tabterm.hand.limits import SHORTEST_S, used
from tabterm.hand.onsets import phrases
from tabterm.hand.strokes import with_proposals
from tabterm.hand.terms import PRACTICE, TERMS, Term
from tabterm.memory import Memory
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.place import lead_in
from tabterm.score.tempo import FASTEST, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from fractions import Fraction

    from tabterm.hand.fingering import Fingering, Hold, Solved
    from tabterm.hand.limits import Used
    from tabterm.hand.neck import Neck
    from tabterm.hand.onsets import Phrase
    from tabterm.score.metre import Metre
    from tabterm.score.place import Place


NO_GRADE = "This ranks the passages of one piece; it does not grade the piece."

CAUSES = TERMS | {
    "return": Term("equal strokes in a row", "rate over the player's limit for equal strokes", 1.0, PRACTICE)
}
"""The causes of effort by name: the terms of the fingering, and what only the right hand has."""

BURST = 2.0  #: times a scale's effort; tuned here
"""For a beat a player does so many times the effort of a plain scale at full speed."""

NINETIETH = 0.9  #: part of the beats; definition: the 90th percentile

HALVINGS = 14  #: halvings; implementation limit
"""How often the range of tempos is halved to find one: to within 0.03 %."""


@dataclass(frozen=True, slots=True)
class Load:
    """What one onset asks of the hands.

    Attributes:
        place: Onset of the event.
        points: Effort, left and right hand.
        time_s: Seconds since the onset before; of the first of a phrase, up to the next.
        used: The speeds that it uses.
    """

    place: Place
    points: float
    time_s: float
    used: tuple[Used, ...] = ()

    @property
    def strain(self) -> float:
        """The most that any speed of the player is used: 1 at its limit."""
        return max((each.share for each in self.used), default=0.0)


@dataclass(frozen=True, slots=True)
class Rate:
    """The highest effort per second of what begins at an onset and lasts a beat.

    Attributes:
        first: Number of the onset.
        last: Number of the last onset that counts.
        per_s: Points per second.
    """

    first: int
    last: int
    per_s: float


def windows(loads: Sequence[Load], first: int, beat_s: float) -> Iterator[tuple[int, float]]:
    """Stretches from an onset on, up to a beat long: the last onset of each, and its points per second.

    The window grows onset by onset until it is as long as the beat; its effort is taken over a whole beat where
    it is shorter.
    """
    points = time_s = 0.0
    for last in range(first, len(loads)):
        points, time_s = points + loads[last].points, time_s + loads[last].time_s
        yield last, points / max(time_s, beat_s)
        if time_s >= beat_s * (1.0 - 1e-9):
            return


def rates(loads: Sequence[Load], beats_s: Sequence[float]) -> tuple[Rate, ...]:
    """The highest rate of the windows from each onset on, given the seconds of the beat there."""
    found = []
    for first, beat_s in enumerate(beats_s):
        best = Rate(first, first, 0.0)
        for last, per_s in windows(loads, first, beat_s):
            if per_s >= best.per_s:
                best = Rate(first, last, per_s)
        found.append(best)
    return tuple(found)


def uses(loads: Sequence[Load], beats_s: Sequence[float], limit_per_s: float) -> list[float]:
    """For each onset how far the player is used up: 1 at the limit.

    That is by a speed that it uses, or by the effort of any window that it lies in, of which the limit is given.
    """
    found = [load.strain for load in loads]
    for first, beat_s in enumerate(beats_s):
        highest = 0.0
        for number, per_s in reversed(list(windows(loads, first, beat_s))):
            highest = max(highest, per_s / limit_per_s)
            found[number] = max(found[number], highest)
    return found


@dataclass(frozen=True, eq=False)
class Playing:
    """A phrase as it is fingered, or a part of it, that can be played at any tempo.

    Attributes:
        solved: The phrase.
        beats_s: Seconds of the beat at each of its onsets, as written.
        first: Number of the first onset of the part.
        end: Number after its last one.
    """

    solved: Solved
    beats_s: tuple[float, ...]
    first: int
    end: int

    @classmethod
    def of(cls, score: Score, solved: Solved) -> Playing:
        """A phrase of a score."""
        return cls(solved, beats_s(score, solved.phrase), 0, len(solved.phrase))

    def part(self, first: int, last: int) -> Playing:
        """From one onset to another, both included; what leads to the first one counts."""
        return replace(self, first=first, end=last + 1)

    @cached_property
    def limit_rate(self) -> float:
        """Points per second that are the limit of the player."""
        return limit_rate(self.solved.neck)

    def loads(self, slower: float = 1.0) -> tuple[Load, ...]:
        """What each onset of the part asks when everything takes so many times longer, the fingers kept."""
        neck, start = self.solved.neck, max(self.first - 2, 0)
        holds = tuple(_slowed(hold, slower) for hold in self.solved.holds[start : self.end])
        found = []
        for number in range(self.first - start, self.end - start):
            hold = holds[number]
            points = hold.points if slower == 1.0 else neck.weights.total(amounts(neck, holds, number))
            speeds = tuple(used(neck, holds, number))
            points = max(points + _returning(speeds), 0.0)
            time_s = hold.onset.gap_s if number else self._first_s * slower
            found.append(Load(hold.onset.place, points, max(time_s, SHORTEST_S), speeds))
        return tuple(found)

    @property
    def _first_s(self) -> float:
        """Time of the first onset of a phrase: as long as to the next, or a beat where there is none."""
        phrase = self.solved.phrase
        return phrase[1].gap_s if len(phrase) > 1 else self.beats_s[0]

    def rates(self, slower: float = 1.0) -> tuple[Rate, ...]:
        """The rate from each onset of the part on; numbers count from the first of the part."""
        return rates(self.loads(slower), self._beats_s(slower))

    def _beats_s(self, slower: float) -> list[float]:
        return [slower * beat_s for beat_s in self.beats_s[self.first : self.end]]

    def uses(self, slower: float = 1.0) -> list[float]:
        """For each onset of the part how far the player is used up; see the function `uses`."""
        return uses(self.loads(slower), self._beats_s(slower), self.limit_rate)

    def terms(self) -> dict[str, float]:
        """Points of the part by cause."""
        sums: dict[str, float] = {}
        for number, load in zip(range(self.first, self.end), self.loads(), strict=True):
            for name, points in (*self.solved.terms(number).items(), ("return", _returning(load.used))):
                sums[name] = sums.get(name, 0.0) + points
        return sums

    def limit_tempo(self, quarters_per_minute: float) -> float:
        """Quarters per minute at which the limit is reached, given the written ones; within 10 and 400.

        Found by halving: slower is never harder.
        """

        def is_over(tempo: float) -> bool:
            return max(self.uses(quarters_per_minute / tempo)) > 1.0

        if not is_over(FASTEST):
            return FASTEST
        if is_over(SLOWEST):
            return SLOWEST
        low, high = math.log(SLOWEST), math.log(FASTEST)
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            low, high = (low, middle) if is_over(math.exp(middle)) else (middle, high)
        return math.exp(low)


def _returning(speeds: Iterable[Used]) -> float:
    """Points of the right hand for coming back between equal strokes."""
    return CAUSES["return"].weight * sum(each.share for each in speeds if each.speed == "repeated")


def _slowed(hold: Hold, slower: float) -> Hold:
    if slower == 1.0:
        return hold
    onset = hold.onset
    times = {name: getattr(onset, name) * slower for name in ("gap_s", "rest_s", "tied_s")}
    return replace(hold, onset=replace(onset, **times))


def beats_s(score: Score, phrase: Phrase) -> tuple[float, ...]:
    """Seconds of the beat that each onset of a phrase lies in."""
    found = []
    for onset in phrase:
        index = onset.place.measure
        quarters = _beat(score.metres[index], onset.place.offset + lead_in(score, index))
        found.append(quarters * 60.0 / score.tempos[index].quarters_per_minute)
    return tuple(found)


@lru_cache(maxsize=1024)
def _beat(metre: Metre, offset: Fraction) -> float:
    """Quarters of the beat at an offset."""
    return float(metre.beat_at(offset)[2])


@lru_cache(maxsize=32)
def plain_scale(neck: Neck) -> Playing:
    """What effort is measured by: a scale up the lowest courses, frets 0, 2, 4 and 5, at an easy tempo."""
    count = neck.instrument.course_count
    events = tuple(
        Event(duration=EIGHTH, notes=(Note(course=course, fret=fret),))
        for course in (count, max(count - 1, 1))
        for fret in (0, 2, 4, 5)
    )
    score = Score(head=Head(instrument=neck.instrument), measures=(Measure(events=events),))
    scale = with_proposals(score, neck.player)
    (phrase,) = phrases(scale)
    return Playing.of(scale, solve(neck, phrase, keep_courses=True))


@lru_cache(maxsize=32)
def limit_rate(neck: Neck) -> float:
    """Points per second that are the limit for a beat.

    That is `BURST` times the effort of a note of `plain_scale` at the player's fastest clean strokes.
    """
    loads = plain_scale(neck).loads()
    return BURST * neck.hand.speeds.strokes * sum(load.points for load in loads) / len(loads)


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard a phrase is.

    Attributes:
        first: Where it begins.
        last: Its last onset.
        peak: Highest rate, in points per second.
        ninetieth: 90th percentile of the rates, by nearest rank.
        use: How far the player is used up at the written tempo: 1 at the limit.
        limit_tempo: Quarters per minute at which the limit is reached.
    """

    first: Place
    last: Place
    peak: float
    ninetieth: float
    use: float
    limit_tempo: float


def difficulty(score: Score, solved: Solved) -> Difficulty:
    """How hard a solved phrase of a score is at its tempo."""
    playing, first = Playing.of(score, solved), solved.phrase[0].place
    values = sorted(rate.per_s for rate in playing.rates())
    return Difficulty(
        first=first,
        last=solved.phrase[-1].place,
        peak=values[-1],
        ninetieth=values[math.ceil(NINETIETH * len(values)) - 1],
        use=max(playing.uses()),
        limit_tempo=playing.limit_tempo(score.tempos[first.measure].quarters_per_minute),
    )


Levels = dict["Fraction", float]
"""For each event of a measure, by its offset, the part of the player's limit that is used: 1 at the limit."""

_LEVELS: Memory[dict[int, Levels]] = Memory(
    "difficulty", hangs_on="a solved phrase, the metres and tempos of its measures, a pickup", most=KEPT_PHRASES
)


def curve(score: Score, hand: Fingering) -> Mapping[int, Levels]:
    """The levels of each measure in which something sounds, by its index, given the fingering of the score.

    A phrase that is known by identity is not looked at again, so that an edit costs its own phrase only.
    """
    found: dict[int, Levels] = {}
    for solved in hand.phrases:
        give_way()
        for index, levels in levels_of(score, solved).items():
            found[index] = found[index] | levels if index in found else levels
    return found


def levels_of(score: Score, solved: Solved) -> dict[int, Levels]:
    """The same for one solved phrase of a score."""
    return _LEVELS.of((solved,), beats_round(score, solved), lambda: _worked_out(Playing.of(score, solved)))


def beats_round(score: Score, solved: Solved) -> tuple[object, ...]:
    """What the difficulty of a solved phrase hangs on beside it: the metres, tempos and pickup of its measures."""
    first, end = solved.phrase[0].place.measure, solved.phrase[-1].place.measure + 1
    return score.metres[first:end], score.tempos[first:end], lead_in(score, first)


def _worked_out(playing: Playing) -> dict[int, Levels]:
    found: dict[int, Levels] = {}
    for onset, level in zip(playing.solved.phrase, playing.uses(), strict=True):
        levels = found.setdefault(onset.place.measure, {})
        levels[onset.place.offset] = max(levels.get(onset.place.offset, 0.0), level)
    return found
