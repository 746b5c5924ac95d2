"""In which octave a line is played: the whole of it, and where the range forces it, a phrase in another.

The choice is exact: for every octave of the whole, the way of least points through the octaves of the moments.
The points are tuned here; they put in order what players do first (common practice, no source). A neck that ends
is law; a slur or tie is not broken; a phrase is not parted; the contour is kept; few notes are moved; high
positions and another octave than the written one are avoided; open courses are liked.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.adapt.line import Phrased
    from tabterm.instrument import Instrument

Frets = Mapping[int, int]
"""The lowest fret of each pitch that the neck has."""

Joints = dict[int, list[tuple[float, int]]]
"""Between two moments: for each octave of the later one, points and octave of the earlier one."""

#: points; tuned here; their order: common practice, no source
TIED, SLURRED, INSIDE, BETWEEN = 1e6, 4000.0, 40.0, 4.0
"""Points for another octave than the moment before: inside a tie, a slur, a phrase, and between phrases."""

ON_BAR, BREATH = 5.0, 4.0  #: points; tuned here; their order: common practice, no source
"""Taken off inside a phrase: where a measure begins, and for each quarter (at most two) of the note before."""

TURNED, STRETCHED = 6.0, 2.0  #: points; tuned here; their order: common practice, no source
"""An interval whose direction is lost, and one that keeps it, for each octave that it grows or shrinks."""

MOVED = 1.0  #: points an octave; tuned here; their order: common practice, no source
"""A note in another octave than the whole, for each octave; more than any position takes."""

UNWRITTEN = 0.1  #: points an octave; tuned here; their order: common practice, no source
"""A note of the whole away from where it is written, for each octave."""

#: fret, points a fret, points; tuned here; their order: common practice, no source
OFTEN, HIGH, OPEN = 7, 0.06, -0.05
"""The fret up to which a note is easy to get at, points for each fret above it, and for an open course."""

LOST = 0.5  #: points; tuned here; their order: common practice, no source
"""A tone of a chord for which there is no course under the melody, or the other note of two beyond the neck."""

FULL = 3  #: notes; definition: a chord
"""Tones of so many names are a chord, which is played in another shape where it does not fit as written."""


@dataclass(frozen=True, slots=True)
class Octaves:
    """The octaves of a line.

    Attributes:
        whole: Octaves up (negative: down) by which most of it is moved.
        each: The same for every moment; None for a moment that has no place on the neck at all.
        points: What it takes.
    """

    whole: int
    each: tuple[int | None, ...]
    points: float


def octaves(frets: Frets, moments: Sequence[Phrased], semitones: int = 0) -> Octaves:
    """The best octaves for moments that sound (no rests among them), all moved by semitones beforehand."""
    allowed = [shifts(frets, moment.top + semitones) for moment in moments]
    sounding = [number for number, each in enumerate(allowed) if each]
    if not sounding:
        return Octaves(0, (None,) * len(moments), 0.0)
    line = [moments[number] for number in sounding]
    choices = [allowed[number] for number in sounding]
    places = [
        {shift: place_points(frets, moment, semitones + 12 * shift) for shift in choice}
        for moment, choice in zip(line, choices, strict=True)
    ]
    joints = [
        _joints(*pair, olds, news) for pair, (olds, news) in zip(pairwise(line), pairwise(choices), strict=True)
    ]
    wholes = sorted({shift for each in choices for shift in each}, key=lambda shift: (abs(shift), -shift))
    points, whole, way = min((_way(places, joints, whole) for whole in wholes), key=lambda way: way[0])
    each: list[int | None] = [None] * len(moments)
    for number, shift in zip(sounding, way, strict=True):
        each[number] = shift
    return Octaves(whole, tuple(each), points)


def lowest_frets(instrument: Instrument) -> Frets:
    """The lowest fret that has each pitch of the neck."""
    frets: dict[int, int] = {}
    for course in instrument.courses:
        for fret in range(instrument.frets + 1):
            pitch = course.pitch + fret
            frets[pitch] = min(frets.get(pitch, fret), fret)
    return frets


def span_of(instrument: Instrument) -> tuple[int, int]:
    """The lowest and the highest pitch of the neck."""
    opens = [course.pitch for course in instrument.courses]
    return min(opens), max(opens) + instrument.frets


def shifts(frets: Frets, pitch: int) -> tuple[int, ...]:
    """The octaves by which a pitch comes to lie on the neck."""
    there = range(-(-(min(frets) - pitch) // 12), (max(frets) - pitch) // 12 + 1)
    return tuple(shift for shift in there if pitch + 12 * shift in frets)


def _joints(before: Phrased, moment: Phrased, olds: Sequence[int], news: Sequence[int]) -> Joints:
    return {new: [(joint_points(before, moment, old, new), old) for old in olds] for new in news}


def _way(places: Sequence[dict[int, float]], joints: Sequence[Joints], whole: int) -> tuple[float, int, list[int]]:
    """Least points, and the octaves, where the whole is moved by so many octaves."""
    sums = {shift: points + move_points(shift, whole) for shift, points in places[0].items()}
    back: list[dict[int, int]] = []
    for place, joint in zip(places[1:], joints, strict=True):
        step, new = {}, {}
        for shift, points in place.items():
            least, step[shift] = min([(sums[old] + between, old) for between, old in joint[shift]])
            new[shift] = least + points + move_points(shift, whole)
        back.append(step)
        sums = new
    least, last = min((so_far, shift) for shift, so_far in sums.items())
    way = [last]
    for step in reversed(back):
        way.append(step[way[-1]])
    return least, whole, way[::-1]


def move_points(shift: int, whole: int) -> float:
    """Points of a note moved by `shift` octaves, in a line that is moved by `whole`."""
    return MOVED * abs(shift - whole) + UNWRITTEN * abs(whole)


def place_points(frets: Frets, moment: Phrased, move: int) -> float:
    """Points of where a moment lies on the neck, moved by semitones that bring its melody onto it."""
    fret = frets[moment.top + move]
    lost = _lost(frets, moment, move) if len(moment.notes) > 1 else 0
    return LOST * lost + (OPEN if fret == 0 else HIGH * max(fret - OFTEN, 0))


def _lost(frets: Frets, moment: Phrased, move: int) -> int:
    """Tones under the melody that cannot be played."""
    names = {note.pitch % 12 for note in moment.notes}
    if len(names) < FULL:
        return sum(note.pitch + move not in frets for note in moment.notes[1:])
    below = sum(fret == 0 and pitch <= moment.top + move for pitch, fret in frets.items())
    return max(min(len(names), FULL) - below, 0)


def joint_points(before: Phrased, moment: Phrased, old: int, new: int) -> float:
    """Points for going from one octave to another between two moments."""
    if old == new:
        return 0.0
    written = moment.top - before.top
    played = written + 12 * (new - old)
    turned = (written > 0) != (played > 0) or (written < 0) != (played < 0)
    return parting(moment) + (TURNED if turned else STRETCHED * abs(new - old))


def parting(moment: Phrased) -> float:
    """Points for another octave from a moment on, whatever the interval."""
    if moment.tied:
        return TIED
    if moment.slurred:
        return SLURRED
    if moment.opens:
        return BETWEEN
    return INSIDE - (ON_BAR if moment.on_bar else 0.0) - BREATH * min(float(moment.breath), 2.0)
