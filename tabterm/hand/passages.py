"""The hardest passages of a score: where, why, and how to drill them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.hand.difficulty import Playing, limit_rate, limit_tempo, loads, rates
from tabterm.hand.finding import step_of
from tabterm.hand.fingering import fingering
from tabterm.hand.terms import STANDARD, TERMS
from tabterm.score.operations import copy, paste, set_tempo
from tabterm.score.operations.timeline import rest_measure
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, next_event, previous_event
from tabterm.score.tempo import SLOWEST, Tempo

if TYPE_CHECKING:
    from tabterm.hand.fingering import Solved
    from tabterm.hand.terms import Weights
    from tabterm.score.model import Score

START = 0.6
"""A drill begins at this part of the tempo at which the passage is at the limit (common practice, no source)."""

REASONS = 3
"""Terms that are named."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One cause of a passage's difficulty: a term of `hand.terms`, and its part of the effort."""

    term: str
    points: float

    @property
    def words(self) -> str:
        """The cause in words."""
        return TERMS[self.term].words


@dataclass(frozen=True, slots=True)
class Drill:
    """A passage to loop: with one note before and one after, from a tempo at which it is easy."""

    span: Span
    quarters_per_minute: float


@dataclass(frozen=True, slots=True)
class Hard:
    """A hard passage.

    Attributes:
        span: Where.
        rate: Its effort, in points per second.
        use: The part of the player's limit that this is.
        reasons: What it is made of, the greatest first.
        shifts: The shifts in it: from fret, to fret, mm, and ms that there are for it.
        limit_tempo: Quarters per minute at which it reaches the limit.
        drill: How to practise it.
    """

    span: Span
    rate: float
    use: float
    reasons: tuple[Reason, ...]
    shifts: tuple[tuple[int, int, float, int], ...]
    limit_tempo: float
    drill: Drill


def hardest(score: Score, count: int = 3, weights: Weights = STANDARD) -> tuple[Hard, ...]:
    """The hardest passages of a score that do not overlap, the hardest first."""
    whole = fingering(score, weights=weights)
    ranked = sorted(
        (-rate.per_s, number, rate.first, rate.last)
        for number, solved in enumerate(whole.phrases)
        for rate in rates(loads(Playing.of(solved)))
    )
    taken: set[tuple[int, int]] = set()
    found: list[Hard] = []
    for negative, number, first, last in ranked:
        here = {(number, onset) for onset in range(first, last + 1)}
        if len(found) < count and not here & taken:
            # The notes beside it belong to it as well, so that no drill overlaps another's passage.
            taken |= {(number, onset) for onset in range(first - 1, last + 2)}
            found.append(_hard(score, whole.phrases[number], first, last, -negative))
    return tuple(found)


def _hard(score: Score, solved: Solved, first: int, last: int, per_s: float) -> Hard:
    span = Span(solved.phrase[first].place, _end_of_event(score, solved.phrase[last].place))
    sums: dict[str, float] = {}
    for number in range(first, last + 1):
        for name, points in solved.terms(number).items():
            sums[name] = sums.get(name, 0.0) + points
    ranked = sorted(((points, name) for name, points in sums.items() if points > 0), reverse=True)
    tempo = score.tempos[span.start.measure].quarters_per_minute
    limit = limit_tempo(Playing.of(solved, max(first - 1, 0), last), tempo)
    start = max(START * min(limit, tempo), SLOWEST)
    return Hard(
        span=span,
        rate=per_s,
        use=per_s / limit_rate(solved.neck),
        reasons=tuple(Reason(name, points) for points, name in ranked[:REASONS]),
        shifts=tuple(_shifts(solved, first, last)),
        limit_tempo=limit,
        drill=Drill(_with_neighbours(score, span), start),
    )


def _shifts(solved: Solved, first: int, last: int) -> list[tuple[int, int, float, int]]:
    found = []
    for number in range(max(first, 1), last + 1):
        step = step_of(solved, number)
        if step.before is not None and step.shifts:
            one, other = step.before.frame, step.hold.frame
            mm = abs(solved.neck.mm(other) - solved.neck.mm(one))
            found.append((one, other, round(mm, 1), round(step.free_s * 1000.0)))
    return found


def _end_of_event(score: Score, place: Place) -> Place:
    following = next_event(score, place)
    return following[0] if following else end_of(score)


def _with_neighbours(score: Score, span: Span) -> Span:
    """The span with the sounding event before and the one after it."""
    start, end = span.start, span.end
    before = previous_event(score, start)
    if before is not None and not before[1].is_rest:
        start = before[0]
    if end.measure < len(score.measures):
        end = _end_of_event(score, end)
    return Span(start, end)


def cut(score: Score, drill: Drill) -> Score:
    """A drill as a small score of its own, at the tempo it begins with."""
    index = drill.span.start.measure
    metre = score.metres[index]
    head = score.head.with_(metre=metre, key=score.keys[index], school=score.schools[index])
    empty = type(score)(head=head, measures=(rest_measure(metre),))
    laid = paste(empty, Place(0), copy(score, drill.span))
    return set_tempo(laid, 0, Tempo(round(drill.quarters_per_minute, 1)))
