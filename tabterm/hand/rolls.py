"""Rolls: three strokes over three courses, again and again, in notes of one value.

A roll begins on a beat and takes at least six notes. Where three notes or six fill a beat, and where six or twelve
fill a measure, it goes by threes; else by 3+3+2, as the published patterns over eight eighths do, or as the player
has grouped the metre. It goes on over a bar line unless a roll of its own fills the next measure. Other values
than eighths: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.right_hand import course_of
from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Stroke
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Score

DOWN_UP = (Stroke.DOWN, Stroke.UP)
THREES = (3, 3)  #: notes of each cell; common practice, no source
EIGHT = (3, 3, 2)  #: notes of each cell; definition: 3+3+2, as the patterns that `schools` names
COURSES = 3  #: courses; definition: of the same patterns
"""A roll lies over so many courses."""


class RollNote(NamedTuple):
    """An event that may be part of a roll: its measure, its offset there, and itself."""

    measure: int
    offset: Fraction
    event: Event


def rolls(score: Score, first: int, last: int) -> dict[tuple[int, Fraction], Stroke]:
    """The strokes of all rolls in the measures from `first` to before `last`, by measure and offset."""
    strokes: dict[tuple[int, Fraction], Stroke] = {}
    for run in _runs(score, first, last):
        pattern = SCHOOLS[score.schools[run[0].measure]].pattern
        for start, cells in _groups(score, run):
            group = run[start : start + sum(cells)]
            strokes |= {
                (note.measure, note.offset): stroke
                for note, stroke in zip(group, _strokes(pattern, cells), strict=True)
            }
    return strokes


def rolls_on(score: Score, index: int) -> bool:
    """Whether a roll may go on from the measure before into the measure of an index."""
    if not 0 < index < len(score.measures):
        return False
    ends, begins = score.measures[index - 1].events[-1], score.measures[index].events[0]
    return (
        score.schools[index - 1] is score.schools[index]
        and bool(SCHOOLS[score.schools[index]].pattern)
        and _plain(ends)
        and _plain(begins)
        and _follows(ends, begins)
        and not _begins_anew(score, index)
    )


def _strokes(pattern: Sequence[Stroke], cells: Sequence[int]) -> list[Stroke]:
    """The strokes of the cells of a group; a pattern of two goes on through all of them."""
    if len(pattern) < COURSES:
        return [pattern[number % len(pattern)] for number in range(sum(cells))]
    return [stroke for size in cells for stroke in (pattern if size == COURSES else DOWN_UP)]


def _runs(score: Score, first: int, last: int) -> Iterator[list[RollNote]]:
    """Plain notes of one value, one right after the other, each on another course than the one before."""
    run: list[RollNote] = []
    for index in range(first, last):
        school = score.schools[index]
        for offset, event in score.measures[index].timed():
            takes = bool(SCHOOLS[school].pattern) and _plain(event)
            joins = run and takes and score.schools[run[-1].measure] is school and _follows(run[-1].event, event)
            if run and not joins:
                yield run
                run = []
            if takes:
                run.append(RollNote(index, offset, event))
    if run:
        yield run


def _plain(event: Event) -> bool:
    """A single note that the pick strikes once."""
    return event.takes_stroke and event.is_struck and len(event.notes) == 1 and not event.tremolo


def _follows(before: Event, event: Event) -> bool:
    return before.length == event.length and course_of(before) != course_of(event)


def _groups(score: Score, run: Sequence[RollNote]) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Where groups begin in a run, and the sizes of their cells."""
    number, end = 0, 0
    while number < len(run):
        metre, missing = score.metres[run[number].measure], lead_in(score, run[number].measure)
        at = run[number].offset + missing
        anchored = number == end or run[number].offset == 0
        cells = None
        if anchored and (at in metre.beats or at % 1 == 0):
            room = _room(score, run, number)
            choices = _choices(metre, run[number].event.length, goes_on=0 < number == end)
            cells = next(
                (each for each in choices if _fits(run[number : number + min(sum(each), room)], each)), None
            )
        if cells is None:
            number += 1
        else:
            yield number, cells
            number += sum(cells)
            end = number


def _fits(group: Sequence[RollNote], cells: Sequence[int]) -> bool:
    return len(group) == sum(cells) and len({course_of(each.event) for each in group}) == COURSES


def _room(score: Score, run: Sequence[RollNote], number: int) -> int:
    """How many notes of a run a group from one of them may take: none of a measure that begins anew."""
    for later in range(number + 1, len(run)):
        if run[later].offset == 0 and _begins_anew(score, run[later].measure):
            return later - number
    return len(run) - number


def _begins_anew(score: Score, index: int) -> bool:
    """Whether the notes from the start of a measure on are a group of their own."""
    events = score.measures[index].events
    cells = _choices(score.metres[index], events[0].length, goes_on=False)[0]
    group = events[: sum(cells)]
    return (
        len(group) == sum(cells)
        and all(map(_plain, group))
        and all(_follows(one, other) for one, other in pairwise(group))
        and len({course_of(event) for event in group}) == COURSES
    )


def _choices(metre: Metre, length: Fraction, *, goes_on: bool) -> tuple[tuple[int, ...], ...]:
    """The cells that notes of a length may be grouped in, the best first."""
    if metre.groups and set(metre.groups) <= {2, 3} and length * metre.unit == 4:
        return (metre.groups,)
    beat, whole = metre.beats[1] if len(metre.beats) > 1 else metre.length, metre.length / length
    if (beat / length) % COURSES == 0:
        return (THREES, (3,)) if goes_on else (THREES,)
    if whole % sum(EIGHT) and whole % sum(THREES) == 0:
        return (THREES,)
    return EIGHT, THREES
