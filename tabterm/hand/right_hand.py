"""The right hand: where it goes down and up in each beat, and what two strokes in a row ask of it.

The hand goes down on the beat and up between (N. Gatherer, "Pick direction" 1, nigelgatherer.com), whether or not
it strikes. The slots of a beat are the coarsest on which its struck notes lie; among sixteenths the off-beat
eighth is a down-stroke (same rule; teaching practice, no source). Compound beats are counted after Bickford 1920,
p. 72. In cut time the beats of the hand are halves only in a part of the tune with nothing quicker than quarters
(common practice, no source).

An outside change is one whose two strokes come from outside the pair of courses (rising: down on the lower one,
then up on the higher); inside, the pick works between them. That the inside is harder: from memory, no
published error rates were found; the points are tuned here.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import cycle, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Barline, Stroke
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Score
    from tabterm.score.profile import Speeds


#: points; tuned here; that the inside is harder: from memory
OUTSIDE, INSIDE, EITHER, BEYOND = 0.5, 1.0, 0.75, 0.5
"""Points for a change to the next course from outside, from inside, not known which, and a course further."""


def turned(stroke: Stroke | None) -> Stroke:
    """The other direction; a missing stroke becomes a down-stroke."""
    return Stroke.UP if stroke is Stroke.DOWN else Stroke.DOWN


def course_of(event: Event, stroke: Stroke | None = Stroke.DOWN) -> int:
    """The course on which a stroke begins: a down-stroke on the lowest-pitched that it strikes, else the highest.

    Where a grace note alone is struck, its course.
    """
    struck = [note.course for note in event.notes if note.is_struck]
    if struck:
        return struck[0] if stroke is Stroke.UP else struck[-1]
    return next((note.course for note in event.grace if note.is_struck), event.notes[-1].course)


def leaves(event: Event, stroke: Stroke | None) -> int:
    """The course on which a stroke ends: of a double stop the other one than `course_of`."""
    return course_of(event, Stroke.DOWN if stroke is Stroke.UP else Stroke.UP)


def course_change(before: int, before_stroke: Stroke | None, course: int, stroke: Stroke | None) -> float:
    """Points for going from one course to another (1 = highest) with these strokes; 0 on one course."""
    if before == course:
        return 0.0
    beyond = BEYOND * (abs(course - before) - 1)
    if before_stroke is None or stroke is None or before_stroke is stroke:
        return EITHER + beyond
    rising = course < before
    return (OUTSIDE if (before_stroke is Stroke.DOWN) == rising else INSIDE) + beyond


def sweeps(before: int, course: int, stroke: Stroke) -> bool:
    """Whether a second stroke in one direction only goes on over the next course, without coming back."""
    return course - before == (-1 if stroke is Stroke.DOWN else 1)


def speed_between(before: tuple[int, Stroke | None], after: tuple[int, Stroke | None]) -> str | None:
    """The speed of the profile that two (course, stroke) in a row use, by its name; None for a sweep."""
    (one, first), (other, second) = before, after
    if first is not None and first is second:
        return None if sweeps(one, other, first) else "repeated"
    return "strokes" if one == other else "course_change"


def rate_limit(speeds: Speeds, before: tuple[int, Stroke | None], after: tuple[int, Stroke | None]) -> float:
    """Strokes per second that a player does between two (course, stroke); infinite for a sweep."""
    name = speed_between(before, after)
    return float("inf") if name is None else float(getattr(speeds, name))


def strain(
    speeds: Speeds, before: tuple[int, Stroke | None], after: tuple[int, Stroke | None], gap_s: float
) -> float:
    """The rate of two strokes over what the player does: 1 at the limit."""
    return 1.0 / (max(gap_s, 1e-3) * rate_limit(speeds, before, after))


DOWN_UP = (Stroke.DOWN, Stroke.UP)

QUICK = Fraction(1, 6)  #: quarters; common practice, no source: sixteenths in threes
"""Notes of a treble are so long at most."""

CUT = Fraction(1, 8)  #: quarters; common practice, no source: a thirty-second
"""A cut is so long at most."""

Movement = tuple[tuple[Fraction, Stroke], ...]
"""Slots in order: offset in quarters from the measure's start, and direction."""


def movement(score: Score, index: int) -> Movement:
    """Every slot of the hand's movement in a measure, by the school in force there."""
    return _movement(_asked(score, index))


def struck_moves(score: Score, index: int) -> Mapping[Fraction, Stroke]:
    """Where the hand goes at each event of a measure that takes a stroke, by its offset."""
    moves = _struck_moves(_asked(score, index))
    ornaments = [each for each in _ornaments(score, index) if each[0] in moves]
    if not ornaments:
        return moves
    return {**moves, **{offset: stroke for each in ornaments for offset, stroke in _in_turn(each, moves[each[0]])}}


def _in_turn(offsets: Sequence[Fraction], first: Stroke) -> Iterator[tuple[Fraction, Stroke]]:
    """Strokes that alternate from the first one on."""
    return zip(offsets, cycle(DOWN_UP if first is Stroke.DOWN else DOWN_UP[::-1]), strict=False)


def _ornaments(score: Score, index: int) -> list[list[Fraction]]:
    """The struck offsets of each treble and each cut of a measure: they have the place of their first note.

    Strict alternation knows none.

    A treble is three quick notes at one fret; a cut is a very short note before a longer one on its course, with
    which it makes up a plain value.
    """
    measure = score.measures[index]
    if not SCHOOLS[score.schools[index]].restarts or all(event.length > QUICK for event in measure.events):
        return []
    timed, found, number = list(measure.timed()), list[list[Fraction]](), 0
    while number < len(timed):
        size = next(
            (size for size, is_one in ORNAMENTS if is_one([e for _, e in timed[number : number + size]])), 0
        )
        if size:
            found.append([offset for offset, event in timed[number : number + size] if event.takes_stroke])
        number += max(size, 1)
    return found


def _is_treble(events: Sequence[Event]) -> bool:
    spots = {(note.course, note.fret) for event in events for note in event.notes}
    alike = len(events) == 3 and len(spots) == 1 and len({event.length for event in events}) == 1
    return alike and events[0].length <= QUICK and all(len(e.notes) == 1 and e.takes_stroke for e in events)


def _is_cut(events: Sequence[Event]) -> bool:
    if len(events) != 2 or any(len(event.notes) != 1 for event in events):
        return False
    cut, event = events
    whole = cut.length + event.length
    is_plain = whole.numerator == 1 and whole.denominator & (whole.denominator - 1) == 0
    short = cut.length <= CUT and event.length >= 3 * cut.length and is_plain
    return short and cut.takes_stroke and cut.notes[0].course == event.notes[0].course


#: events, and how they are told; definition
ORNAMENTS = ((3, _is_treble), (2, _is_cut))
"""How many events an ornament has, and how it is told."""


def _begins_part(score: Score, index: int) -> bool:
    """Whether a part of the tune begins with a measure: at a section, repeat, double bar line or another metre."""
    before, measure = score.measures[index - 1], score.measures[index]
    if lead_in(score, index - 1):  # a pickup belongs to what is behind it
        return score.metres[index - 1] != score.metres[index]
    ends = before.barline is not Barline.SINGLE or (before.repeat_times > 0 and not measure.endings)
    return ends or measure.repeat_start or bool(measure.section) or score.metres[index - 1] != score.metres[index]


def _counts_halves(metre: Metre) -> bool:
    return metre.unit == 2


def by_parts(score: Score, first: int, last: int) -> tuple[int, int]:
    """The first measure, and the one behind the last, whose strokes hang together with those of some measures.

    In cut time these are whole parts of the tune, otherwise the measures alone.
    """
    while 0 < first < last and _counts_halves(score.metres[first]) and not _begins_part(score, first):
        first -= 1
    while (
        first < last < len(score.measures) and _counts_halves(score.metres[last]) and not _begins_part(score, last)
    ):
        last += 1
    return first, last


def _beats_quarters(score: Score, index: int) -> bool:
    """Whether the hand goes by quarters where halves are counted: something in the part is quicker."""
    if not _counts_halves(score.metres[index]):
        return False
    return any(score.measures[number].is_quick for number in range(*by_parts(score, index, index + 1)))


class Asked(NamedTuple):
    """What the movement in a measure hangs on.

    Attributes:
        struck: Where it strikes, in quarters from its start.
        length: Its length in quarters.
        metre: Its metre.
        missing: Quarters that it lacks at its start, as a pickup.
        restarts: Whether every beat begins with a down-stroke, by its school; if not, struck notes go in turn.
        in_quarters: Whether the hand goes by quarters where the metre counts halves.
    """

    struck: tuple[Fraction, ...]
    length: Fraction
    metre: Metre
    missing: Fraction
    restarts: bool
    in_quarters: bool


def _asked(score: Score, index: int) -> Asked:
    """What the movement in a measure hangs on."""
    measure, missing = score.measures[index], lead_in(score, index)
    struck = tuple([offset for offset, event in measure.timed() if event.takes_stroke])
    inner = {offset for group in _ornaments(score, index) for offset in group[1:]}
    if inner:
        struck = tuple([offset for offset in struck if offset not in inner])
    restarts = SCHOOLS[score.schools[index]].restarts
    return Asked(struck, measure.length, score.metres[index], missing, restarts, _beats_quarters(score, index))


def silent_strokes(score: Score, index: int) -> Movement:
    """What the moving hand does without striking: the slots where no struck note begins."""
    struck = {offset for offset, event in score.measures[index].timed() if event.takes_stroke}
    return tuple((offset, stroke) for offset, stroke in movement(score, index) if offset not in struck)


@lru_cache(maxsize=4096)
def _struck_moves(asked: Asked) -> Mapping[Fraction, Stroke]:
    moves = dict(_movement(asked))
    return {offset: moves[offset] for offset in asked.struck}


@lru_cache(maxsize=4096)
def _movement(asked: Asked) -> Movement:
    """The slots for notes struck at some offsets; remembered, for rhythms come again and again."""
    metre, missing = asked.metre, asked.missing
    if not asked.restarts:
        to_an_up_stroke = missing and len(asked.struck) % 2
        return tuple(_in_turn(asked.struck, Stroke.UP if to_an_up_stroke else Stroke.DOWN))
    struck = [offset + missing for offset in asked.struck]
    beats = _without_triplet_beats((*metre.beats, metre.length), struck)
    slots_of_all: list[tuple[Fraction, Stroke]] = []
    for start, end in pairwise(_halved(beats, struck, metre) if asked.in_quarters else beats):
        slots = _slots([offset - start for offset in struck if start <= offset < end], end - start, metre)
        for number, slot in enumerate(slots):
            offset = start + slot - missing
            if 0 <= offset < asked.length:
                slots_of_all.append((offset, DOWN_UP[number % 2]))
    return tuple(slots_of_all)


def _halved(beats: Sequence[Fraction], struck: Sequence[Fraction], metre: Metre) -> list[Fraction]:
    """Beats of a half as two quarters each, where no triplet or the like lies over both."""
    halved = [beats[0]]
    for start, end in pairwise(beats):
        size = end - start
        parts = len(_slots([offset - start for offset in struck if start <= offset < end], size, metre))
        halved += [end] if size != 2 or parts % 2 else [start + size / 2, end]
    return halved


def _without_triplet_beats(beats: tuple[Fraction, ...], struck: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """The beats, without those that a triplet over two or four of them passes over: it goes down up down."""
    for span in (2, 4):
        for start, end in zip(beats, beats[span:], strict=False):
            inside = {at for at in struck if start <= at < end}
            thirds = {start + (end - start) * number / 3 for number in range(3)}
            if inside <= thirds and inside >= thirds - {start}:
                kept = tuple(beat for beat in beats if not start < beat < end)
                return _without_triplet_beats(kept, struck)
    return beats


def _slots(inside: list[Fraction], size: Fraction, metre: Metre) -> list[Fraction]:
    """Places of the hand's movements in a beat: the coarsest even division on which the struck notes lie.

    Where none up to 64 parts fits, the hand moves with the notes themselves.
    """
    units = size / Fraction(4, metre.unit)
    base = int(units) if metre.unit >= 8 and units > 1 else 2
    for power in (1, 2, 4, 8, 16):
        for parts in (base * power, 3 * power, 2 * power, 5 * power, 7 * power):
            if all((offset * parts / size).denominator == 1 for offset in inside):
                return [size * number / parts for number in range(parts)]
    return sorted({Fraction(0), *inside})
