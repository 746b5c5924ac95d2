"""Phrases that go on: led to the next chord, or answered."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.harmony.ground import moved
from tabterm.harmony.inventing import DRAWS, LIKE, likeness
from tabterm.harmony.lines import Lot, Wish
from tabterm.harmony.sketches import Note, with_long_end
from tabterm.harmony.spelling import chord_in_force
from tabterm.score.kinds import Barline
from tabterm.score.place import Place
from tabterm.score.query import distance

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

    from tabterm.harmony.craft import Melody
    from tabterm.harmony.ground import Pulse
    from tabterm.harmony.sketches import Sketch, Theme


def extended(theme: Theme, random: Random) -> Iterator[Sketch]:
    """The phrase led on to the root or the third of the next chord, where that begins; what stood there gives way.

    The next chord begins within two measures, else it is the next measure that the line leads to. Where it begins
    at once, the last beat of the phrase leads to it.
    """
    goal = _next_chord(theme)
    start, score = theme.span.start, theme.score
    if _border(theme, sections=False) <= goal < Place(len(score.measures)):
        raise ScoreError("a repeat ends before the next chord", hint="select an earlier phrase")
    until = distance(score, start, goal)
    beat = theme.under.pulse(start, goal, Fraction(1)).beat
    kept = [note for note in theme.notes if note.at + note.length <= until - beat]
    if not kept:
        raise ScoreError("the phrase is too short to continue", hint="select more than one beat")
    at = kept[-1].at + kept[-1].length
    value = min(_usual(theme.notes), beat / 2)
    free = []
    while at < until:
        free.append(Note(at, min(value, until - at), 0))
        at += free[-1].length
    index = min(goal.measure, len(score.measures) - 1)
    rest = score.metres[index].length - goal.offset
    free.append(Note(until, min(2 * beat, rest), 0))
    notes = (*kept, *free)
    pulses = theme.melody(notes).pulses
    fixed = dict(enumerate(note.pitch for note in kept if note.pitch is not None))
    lowest, highest = theme.compass
    for turn in range(DRAWS):
        near = _glide([*fixed.values()], len(pulses), turn % 9 - 4)
        wish = Wish(pulses, lowest, highest, near, target=pulses[-1].home, fixed=fixed, chromatic=True)
        drawn = Lot(wish).draw(random)
        if drawn is not None:
            yield theme.sketch(notes, drawn)


def _next_chord(theme: Theme) -> Place:
    """Where the chord changes behind a phrase, within two measures; else the next bar line."""
    score, end = theme.score, theme.span.end
    last = len(score.measures)
    if end.measure >= last:
        return end
    before = chord_in_force(score, Place(end.measure, end.offset - Fraction(1, 64)) if end.offset else _last(end))
    for index in range(end.measure, min(end.measure + 3, last)):
        for mark in score.measures[index].chords:
            if Place(index, mark.offset) >= end and mark.symbol != before:
                return Place(index, mark.offset)
    return end if end.offset == 0 else Place(end.measure + 1)


def _last(end: Place) -> Place:
    return Place(max(end.measure - 1, 0), Fraction(10**6))


def _usual(notes: Sequence[Note]) -> Fraction:
    """The value that most notes have."""
    lengths = [note.length for note in notes if note.pitch is not None]
    return max(sorted({*lengths}), key=lengths.count)


def _glide(given: Sequence[int], count: int, by: int) -> tuple[float, ...]:
    """Pitches that go on from given ones, up or down by so much till the end."""
    rest = count - len(given)
    return (*map(float, given), *(given[-1] + by * (number + 1) / rest for number in range(rest)))


def _border(theme: Theme, *, sections: bool) -> Place:
    """Where the repeat ends that a phrase is in, or with `sections` the section, whichever is first."""
    measures, end = theme.score.measures, theme.span.end
    for index in range(end.measure - (end.offset == 0), len(measures) - 1):
        measure, following = measures[index], measures[index + 1]
        repeats = measure.repeat_times or measure.endings or following.repeat_start or following.endings
        if repeats or (sections and (following.section or measure.barline is not Barline.SINGLE)):
            return Place(index + 1)
    return Place(len(measures))


def answer(theme: Theme, random: Random) -> Iterator[Sketch]:
    """An answer behind the phrase: it begins as the phrase does, and ends at home on a long note.

    It is as long as the phrase, begins at the same place of its measure, and lies over the chords there; it ends
    with the section or the repeat at the latest.
    """
    score, start = theme.score, theme.span.start
    size = score.metres[start.measure].length
    length = theme.notes[-1].at + theme.notes[-1].length
    measures, over = divmod(length, size)
    cuts = measures and over <= size / 2 and theme.notes[-1].length > over  # a pickup: the answer has one as well
    begin = moved(score, start, (measures if cuts else -(-length // size)) * size)
    last = _border(theme, sections=True)
    room = distance(score, begin, last) if begin < last < Place(len(score.measures)) else length
    if begin >= last < Place(len(score.measures)):
        raise ScoreError(
            "no room for an answer before the section ends", hint="select the first half of the section"
        )
    notes = with_long_end(theme, _cut(theme.notes, room), begin)
    asked = theme.line
    line = theme.melody(notes, begin)
    half = sum(note.at < notes[-1].at / 2 for note in notes if note.pitch is not None)
    lowest, highest = theme.compass
    home = line.pulses[-1].home
    for turn in range(DRAWS):
        shift = (0, 0, 2, -2, 4, -4)[turn % 6]
        near = tuple(float(pitch + shift) for pitch in asked.pitches[:half])
        down = _glide([round(near[-1])], len(notes) - half + 1, -3 if turn % 2 else 3)[1:]
        fixed = {} if shift else _kept(line.pulses, asked, half)
        wish = Wish(
            line.pulses,
            lowest,
            highest,
            (*near, *down)[: len(line.pulses)],
            spread=4.0,
            target=home,
            fixed=fixed,
            before=line.before,
            after=line.after,
            chromatic=True,
        )
        drawn = Lot(wish).draw(random)
        like = drawn is not None and likeness(drawn[:half], asked.pitches[:half]) >= LIKE
        if drawn is not None and like:
            yield theme.sketch(notes, drawn, begin)


def _cut(notes: Sequence[Note], length: Fraction) -> tuple[Note, ...]:
    """Notes up to a length."""
    return tuple(
        note if note.at + note.length <= length else Note(note.at, length - note.at, note.pitch)
        for note in notes
        if note.at < length
    )


def _kept(pulses: Sequence[Pulse], asked: Melody, half: int) -> dict[int, int]:
    """The first notes of a question that the chords of its answer take as they are."""
    fixed: dict[int, int] = {}
    for number in range(half):
        pitch, pulse = asked.pitches[number], pulses[number]
        if not pulse.fits(pitch) or (pulse.strength > 1 and not pulse.has(pitch)):
            break
        fixed[number] = pitch
    return fixed
