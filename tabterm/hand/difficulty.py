"""How hard a score is to play at its tempo: effort per second, and the tempo at which the limit is reached.

Effort per time follows the idea of Nakamura, Ono and Sagayama 2014 (ISMIR: difficulty as a rate), the peak
beside the mean that of Hori and Sagayama 2016 (ISMIR: the hardest transition decides). The weights are those of
`tabterm.hand.terms`; none is published for this family of instruments. It ranks passages within one piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.fingering import amounts, solve
from tabterm.hand.onsets import phrases
from tabterm.hand.right_hand import strain, sweeps
from tabterm.hand.strokes import course_of, with_proposals
from tabterm.hand.terms import STANDARD
from tabterm.score.duration import EIGHTH
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.tempo import FASTEST, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.fingering import Hold, Solved
    from tabterm.hand.neck import Neck
    from tabterm.hand.terms import Weights
    from tabterm.score.place import Place

NO_GRADE = "This ranks the passages of one piece against each other; it is no absolute grade."

EQUAL_STROKES = 1.0
"""Points for a stroke in the direction of the one before, where the hand has to come back (common practice, no
source)."""

SHORTEST_S = 0.02


@dataclass(frozen=True, slots=True)
class Load:
    """What one onset asks of the hands.

    Attributes:
        place: Onset of the event.
        points: Effort, left and right hand.
        time_s: Seconds since the onset before; of the first, of a phrase, up to the next.
        strain: The most that any speed of the player is used: 1 at its limit.
    """

    place: Place
    points: float
    time_s: float
    strain: float


class Playing(NamedTuple):
    """The hand at each onset of a phrase, or of a part of one."""

    neck: Neck
    weights: Weights
    holds: tuple[Hold, ...]

    @classmethod
    def of(cls, solved: Solved, first: int = 0, last: int | None = None) -> Playing:
        """A solved phrase, or its onsets from one to another, both included."""
        end = len(solved.holds) if last is None else last + 1
        return cls(solved.neck, solved.weights, solved.holds[first:end])


def loads(playing: Playing, slower: float = 1.0) -> tuple[Load, ...]:
    """What each onset asks, with the fingering as it is, when everything takes so many times longer."""
    neck, weights = playing.neck, playing.weights
    holds = tuple(_slowed(hold, slower) for hold in playing.holds)
    times = [hold.onset.gap_s for hold in holds]
    times[0] = times[1] if len(times) > 1 else 1.0
    found = []
    for number, hold in enumerate(holds):
        points = weights.total(amounts(neck, holds, number))
        before = holds[number - 1] if number else None
        points += EQUAL_STROKES * _comes_back(before, hold)
        used = _strain(neck, before, hold) if before is not None else 0.0
        found.append(Load(hold.onset.place, max(points, 0.0), max(times[number], SHORTEST_S), used))
    return tuple(found)


def _slowed(hold: Hold, slower: float) -> Hold:
    onset = hold.onset
    return replace(hold, onset=replace(onset, gap_s=onset.gap_s * slower, rest_s=onset.rest_s * slower))


def _comes_back(before: Hold | None, hold: Hold) -> bool:
    """Two equal strokes in a row, the second not a continued one."""
    if before is None or hold.onset.stroke is None or before.onset.stroke is not hold.onset.stroke:
        return False
    return not sweeps(course_of(before.onset.event), course_of(hold.onset.event), hold.onset.stroke)


def _strain(neck: Neck, before: Hold, hold: Hold) -> float:
    """The most used of: the rate of the strokes, of two fingers in turn, and the time for a shift."""
    gap_s = max(hold.onset.gap_s, SHORTEST_S)
    used = [0.0]
    strokes = before.onset.stroke, hold.onset.stroke
    if None not in strokes and hold.onset.grace is None and before.onset.grace is None:
        courses = course_of(before.onset.event), course_of(hold.onset.event)
        used.append(strain(neck.hand.speeds, (courses[0], strokes[0]), (courses[1], strokes[1]), gap_s))
    for note, stop in zip(hold.onset.notes, hold.grip.notes, strict=True):
        source = next((old for old in before.grip.notes if old.course == stop.course), None)
        slurred = note.reached in {Reached.HAMMER, Reached.PULL}
        if slurred and source is not None and 0 != source.finger != stop.finger != 0:
            used.append(1.0 / (gap_s * neck.hand.speeds.fingers(source.finger, stop.finger)))
    if before.frame != hold.frame:
        free = 1.0 if not before.grip.down else 1.0 - 0.5 * hold.onset.let_go
        free_s = hold.onset.rest_s + (gap_s - hold.onset.rest_s) * free
        used.append(neck.shift_s(before.frame, hold.frame) / max(free_s, SHORTEST_S))
    return max(used)


# Rates


@dataclass(frozen=True, slots=True)
class Rate:
    """Effort per second over about a beat from an onset on.

    Attributes:
        first: Number of the onset.
        last: Number of the last onset that counts.
        per_s: Points per second.
    """

    first: int
    last: int
    per_s: float


BURST = 2.0
"""For a beat a player does so many times what a plain scale at full speed takes (common practice, no source)."""

WINDOW_S = 0.6
"""Window that a rate is worked out over: about a beat at a usual tempo (common practice, no source)."""


def rates(loads: Sequence[Load]) -> tuple[Rate, ...]:
    """The rate from each onset on, over at least `WINDOW_S` where the phrase is so long."""
    found = []
    for first in range(len(loads)):
        points = time_s = 0.0
        last = first
        for last in range(first, len(loads)):
            points, time_s = points + loads[last].points, time_s + loads[last].time_s
            if time_s >= WINDOW_S - 1e-6:
                break
        found.append(Rate(first, last, points / max(time_s, WINDOW_S)))
    return tuple(found)


def limit_rate(neck: Neck) -> float:
    """Points per second that are the limit for about a beat.

    That is `BURST` times a plain scale in first position at the player's fastest clean strokes.
    """
    return BURST * _scale_points(neck) * neck.hand.speeds.strokes


@lru_cache(maxsize=32)
def _scale_points(neck: Neck) -> float:
    """Effort of a note of the scale on the open courses, up, frets 0, 2, 4 and 5, at a slow tempo."""
    events = tuple(
        Event(duration=EIGHTH, notes=(Note(course=course, fret=fret),))
        for course in (4, 3)
        for fret in (0, 2, 4, 5)
    )
    head = Head(instrument=neck.instrument, hand=neck.hand)
    if neck.instrument.course_count < 4:
        events = tuple(Event(duration=EIGHTH, notes=(Note(course=1, fret=fret),)) for fret in (0, 2, 4, 5) * 2)
    scale = with_proposals(Score(head=head, measures=(Measure(events=events),)))
    (phrase,) = phrases(scale)
    solved = solve(neck, STANDARD, phrase, keep_courses=True)
    return sum(load.points for load in loads(Playing.of(solved))) / len(phrase)


def use(playing: Playing, slower: float = 1.0) -> float:
    """How far the player is used up when everything takes so many times longer: 1 at the limit.

    Windows are those of the written tempo, so that a slower one is never harder.
    """
    found = loads(playing, slower)
    peak = max(
        sum(load.points for load in found[window.first : window.last + 1])
        / max(sum(load.time_s for load in found[window.first : window.last + 1]), WINDOW_S * slower)
        for window in rates(loads(playing))
    )
    return max(peak / limit_rate(playing.neck), *(load.strain for load in found), 0.0)


def limit_tempo(playing: Playing, quarters_per_minute: float) -> float:
    """Quarters per minute at which the limit is reached, from the tempo that it has; within 10 and 400.

    Found by halving: slower is never harder.
    """
    low, high = math.log(SLOWEST / quarters_per_minute), math.log(FASTEST / quarters_per_minute)
    if use(playing, math.exp(-high)) <= 1.0:
        return FASTEST
    if use(playing, math.exp(-low)) >= 1.0:
        return SLOWEST
    for _ in range(12):
        middle = (low + high) / 2.0
        low, high = (middle, high) if use(playing, math.exp(-middle)) < 1.0 else (low, middle)
    return quarters_per_minute * math.exp(low)


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard a phrase is.

    Attributes:
        first: Where it begins.
        last: Its last onset.
        peak: Highest rate, in points per second.
        ninetieth: 90th percentile of the rates.
        use: How far the player is used up at the written tempo: 1 at the limit.
        limit_tempo: Quarters per minute at which the limit is reached.
    """

    first: Place
    last: Place
    peak: float
    ninetieth: float
    use: float
    limit_tempo: float


def difficulty(solved: Solved, quarters_per_minute: float) -> Difficulty:
    """How hard a solved phrase is at its tempo."""
    playing = Playing.of(solved)
    values = sorted(rate.per_s for rate in rates(loads(playing)))
    return Difficulty(
        first=solved.phrase[0].place,
        last=solved.phrase[-1].place,
        peak=values[-1],
        ninetieth=values[math.ceil(0.9 * len(values)) - 1],
        use=use(playing),
        limit_tempo=limit_tempo(playing, quarters_per_minute),
    )


def curve(solved: Solved) -> dict[Place, float]:
    """For each event of a phrase, the part of the limit that it asks for, by its rate or by a speed it needs."""
    limit = limit_rate(solved.neck)
    levels: dict[Place, float] = {}
    for load in loads(Playing.of(solved)):
        rate = load.points / max(load.time_s, WINDOW_S / 2.0) / limit
        levels[load.place] = max(levels.get(load.place, 0.0), rate, load.strain)
    return levels
