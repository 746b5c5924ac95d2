"""Learning from the player: habits, as points that make the search come nearer to the fingers that were set.

A lesson is a stretch in which the player's way and another differ that the search likes as well or better. The
player's way is the score as it was left, with the notes that were set and those that were not; the lesson says
what habits it has more than the other. What is learnt is the least set of habits by which the player's ways are
the better ones. Set notes ask for a margin, no phrase speaks louder than the notes that were set in it, and a
habit with little to speak for it stays at nothing: a ranking of ways with a hinge loss, shrunk to the standard.
The terms of effort, and with them what strains a hand, are no matter of habit. (The idea of comparing ways:
Radisavljevic and Driessen 2004, ICMC, "Path Difference Learning for Guitar Fingering Problem".)
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.fingering import amounts, fingering
from tabterm.hand.habits import of as habits_of
from tabterm.hand.onsets import phrases
from tabterm.hand.proposals import accept_fingers
from tabterm.hand.search import Search
from tabterm.hand.terms import HABITS, LIMITS, TERMS, WORST, Weights
from tabterm.score.operations import map_events
from tabterm.score.place import Span

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tabterm.hand.fingering import Hold, Solved
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.place import Place

MARGIN = 0.2  #: points; tuned here
"""By so much for each note that differs the player's way is to be the better one."""

MOST_NOTES = 3  #: notes; tuned here
"""So many notes that differ count in one lesson: what follows from one choice is one choice."""

ENOUGH = 0.6  #: points; tuned here
"""A lesson that asks for more pulls no harder."""

DOUBT = 1.0  #: points times an amount; tuned here
"""The pull that a habit has to be believed against; without as much, nothing of it is learnt."""

LIKED = 2.0  #: times; tuned here
"""The doubt where a habit makes something easier than its terms of effort say, instead of harder."""

LEAST = 0.25  #: points; tuned here
"""Less than this is no habit: it only turns round what is all the same."""

ROUNDS = 4  #: times; tuned here
"""How often a score is looked at, each time with what the looks before have taught."""

TURNS, SETTLED = 200, 1e-4  #: times, points; implementation limit
"""The points are settled when a turn through all lessons moves none further, and at the latest after so many."""

MOST_LESSONS = 400  #: lessons; implementation limit
"""The oldest are forgotten beyond it."""

TINY = 1e-9  #: points; implementation limit


class Lesson(NamedTuple):
    """How the player's way through a stretch differs from another.

    Attributes:
        points: What it takes more by the terms of effort.
        habits: Amounts of each habit that it has more, of those that differ.
        weight: How many notes speak for it.
    """

    points: float
    habits: Mapping[str, float]
    weight: float


def study(score: Score, player: Player, known: Sequence[Lesson] = ()) -> tuple[Lesson, ...]:
    """The lessons that are known, and those of a score.

    Args:
        score: With fingers and courses of the player's own, and proposals that were left as they are.
        player: Whose; what was learnt of them is what `known` teaches.
        known: Lessons of before.
    """
    found: dict[int, list[Lesson]] = {}
    lessons = tuple(known)
    for _ in range(ROUNDS):
        for number, lesson in _lessons(score, player):
            if _asks(lesson, player.weights.points) > TINY and lesson not in found.setdefault(number, []):
                found[number].append(lesson)
        lessons = (*known, *(each for together in found.values() for each in _weighed(together)))[-MOST_LESSONS:]
        weights = taught(lessons)
        if weights.habits == player.weights.habits:
            break
        player = player.with_(weights=weights)
    return lessons


def _weighed(together: Sequence[Lesson]) -> Iterable[Lesson]:
    """The lessons of one phrase, which together weigh as much as what was set in it."""
    return (lesson._replace(weight=lesson.weight / len(together)) for lesson in together)


def taught(lessons: Sequence[Lesson]) -> Weights:
    """The weights with the habits that lessons teach: one habit after the other until all are settled."""
    habits = dict.fromkeys(HABITS, 0.0)
    asks = [lesson.points for lesson in lessons]
    for _ in range(TURNS):
        furthest = 0.0
        for name, before in habits.items():
            habits[name] = _believed(name, before, lessons, asks)
            step = habits[name] - before
            furthest = max(furthest, abs(step))
            if step:
                asks = [
                    ask + step * lesson.habits.get(name, 0.0) for ask, lesson in zip(asks, lessons, strict=True)
                ]
        if furthest < SETTLED:
            break
    return Weights.of({name: round(points, 3) for name, points in habits.items() if abs(points) >= LEAST})


def _believed(name: str, now: float, lessons: Sequence[Lesson], asks: Sequence[float]) -> float:
    """The points of a habit at which lessons pull no more than there is doubt, given what each asks for now."""
    heard = [
        (ask - now * amount, amount, lesson.weight)
        for ask, lesson in zip(asks, lessons, strict=True)
        if (amount := lesson.habits.get(name))
    ]

    def pull(points: float) -> float:
        return -sum(
            min(max(ask + points * amount, 0.0), ENOUGH) * amount * weight for ask, amount, weight in heard
        )

    at_nothing = pull(0.0)
    low, high = (0.0, LIMITS[1]) if at_nothing > 0 else (LIMITS[0] if HABITS[name][1] else 0.0, 0.0)
    doubt = DOUBT if at_nothing > 0 else -DOUBT * LIKED
    if abs(at_nothing) <= abs(doubt):
        return 0.0
    while high - low > SETTLED / 2:
        middle = (low + high) / 2
        if pull(middle) > doubt:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def without(lessons: Iterable[Lesson], habit: str) -> tuple[Lesson, ...]:
    """Lessons with a habit taken back: those that speak of it above all go, the others are silent about it."""
    kept = []
    for lesson in lessons:
        others = {name: amount for name, amount in lesson.habits.items() if name != habit}
        most = max(map(abs, others.values()), default=0.0)
        if abs(lesson.habits.get(habit, 0.0)) < most:
            kept.append(lesson._replace(habits=others))
    return tuple(kept)


def _asks(lesson: Lesson, points: Mapping[str, float]) -> float:
    """Points by which the player's way is not yet the better one by the margin."""
    missing = sum(points[name] * amount for name, amount in lesson.habits.items())
    return lesson.points + missing


# The lessons of a score


def _lessons(score: Score, player: Player) -> Iterable[tuple[int, Lesson]]:
    """The lessons of a score, each with the number of its phrase."""
    own = fingering(accept_fingers(score, Span.of_measures(0, len(score.measures))), player).phrases
    free = fingering(_released(score), player.unbound, keep_courses=False).phrases
    for number, (phrase, ours, theirs) in enumerate(zip(phrases(score), own, free, strict=True)):
        is_set = [any(map(_is_set, onset.notes)) for onset in phrase]
        for lesson in _differences(ours, _rival(theirs, ours.holds, is_set), is_set):
            yield number, lesson


def _is_set(note: Note) -> bool:
    return note.finger is not None or note.course_set


def _released(score: Score) -> Score:
    """The score with set fingers free, and with all courses free in a phrase in which one was set."""
    free = {
        onset.place
        for phrase in phrases(score)
        if any(note.course_set for onset in phrase for note in onset.notes)
        for onset in phrase
    }

    def change(place: Place, event: Event) -> Event:
        notes, grace = (
            tuple(note.with_(finger=None, course_set=place not in free) for note in notes)
            for notes in (event.notes, event.grace)
        )
        return event.with_(notes=notes, grace=grace)

    return map_events(score, Span.of_measures(0, len(score.measures)), change)


def _rival(solved: Solved, own: Sequence[Hold], is_set: Sequence[bool]) -> tuple[Hold, ...]:
    """The best way where a margin speaks against notes as they were set: who comes near is heard as well."""
    search = solved.searching()
    eases = [
        [MARGIN * (asks and _differs(hold, layer.grips[grip].notes)) for grip, _ in layer.states]
        for layer, hold, asks in zip(solved.layers, own, is_set, strict=True)
    ]
    layers = [
        replace(layer, points=tuple(points - ease for points, ease in zip(layer.points, each, strict=True)))
        for layer, each in zip(solved.layers, eases, strict=True)
    ]
    columns = [
        tuple([points - ease for points in column] for column, ease in zip(matrix, each, strict=True))
        for matrix, each in zip(search.columns, eases[1:], strict=True)
    ]
    return solved.holds_of(Search(layers, columns).best())


def _differs(hold: Hold, stops: Sequence[tuple[int, ...]]) -> bool:
    """Whether another grip takes a note otherwise."""
    notes = zip(hold.onset.notes, hold.grip.notes, stops, strict=True)
    return any(ours != theirs for note, ours, theirs in notes if not note.tied)


def _differences(solved: Solved, other: Sequence[Hold], is_set: Sequence[bool]) -> Iterable[Lesson]:
    """A lesson for each stretch in which two ways part, of those that can be played and differ in a habit."""
    own = solved.holds
    ours, theirs = (
        [_counted(solved, holds, number) for number in range(len(own))] for holds in (own, tuple(other))
    )
    parted = [(one.grip, one.frame) != (two.grip, two.frame) for one, two in zip(own, other, strict=True)]
    for is_parted, run in groupby(range(len(own)), key=parted.__getitem__):
        numbers = list(run)
        differing = [number for number in numbers if _differs(own[number], other[number].grip.notes)]
        if not is_parted or not differing:
            continue
        stretch = range(numbers[0], min(numbers[-1] + 2, len(own)))  # with the change back from it
        more = {name: sum(ours[number][name] - theirs[number][name] for number in stretch) for name in TERMS}
        habits = {name: more[name] for name in HABITS if abs(more[name]) > TINY}
        if habits and more["law"] < 1.0 - TINY:
            instead = [*ours[: stretch.start], *theirs[stretch.start : stretch.stop], *ours[stretch.stop :]]
            points = _points(more) + WORST * (_worst(ours) - _worst(instead))
            points += MARGIN * min(sum(is_set[number] for number in differing), MOST_NOTES)
            size = max(1.0, *map(abs, habits.values()))
            scaled = {name: amount / size for name, amount in habits.items()}
            yield Lesson(points / size, scaled, max(1.0, sum(is_set)))


def _counted(solved: Solved, holds: tuple[Hold, ...], number: int) -> dict[str, float]:
    """Amounts of each term at an onset, those of the habits as well where they weigh nothing."""
    sums = dict.fromkeys(TERMS, 0.0)
    for name, amount in amounts(solved.neck, holds, number):
        sums[name] += amount
    sums |= dict.fromkeys(HABITS, 0.0)
    for name, amount in habits_of(holds, number):
        sums[name] += amount
    return sums


def _points(sums: Mapping[str, float]) -> float:
    """Points by the terms of effort, with no price on leaving a course."""
    return sum(TERMS[name].weight * amount for name, amount in sums.items() if name != "moved")


def _worst(way: Iterable[Mapping[str, float]]) -> float:
    """Points of the worst moment of a way."""
    return max(map(_points, way))
