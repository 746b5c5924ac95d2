"""The phrases of a score, and what is heard of each: its pool, contour, range, targets and rhythm.

Phrases are cut as teachers cut them (common practice, no source): within a section in fours of measures, where the
line breathes nearest to the bar line, so that what leads into a phrase belongs to it.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.harmony.melody import sounds
from tabterm.harmony.pools import explanations, standing_of
from tabterm.harmony.rhythm_names import rhythm_name, struck
from tabterm.harmony.spelling import chord_in_force, in_octave
from tabterm.score.kinds import Barline
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.analysis import Standing
    from tabterm.harmony.melody import SoundingNote
    from tabterm.harmony.pools import Explanation
    from tabterm.score.model import Score

MEASURES = 4  #: measures; common practice, no source
"""A phrase has so many, where the music does not say otherwise."""

EARLIEST = Fraction(1, 2)  #: times a measure; common practice, no source
"""What leads into a phrase begins at most so long before its bar line."""

HELD = Fraction(3, 2)  #: times; common practice, no source
"""A line breathes behind what is so many times as long as its neighbours."""

TURN = 3  #: semitones; common practice, no source
"""A line rises or falls where it goes by more than this."""


def phrases(score: Score) -> tuple[Span, ...]:
    """The phrases of a score, one after the other; what is silent at its ends belongs to the nearest."""
    starts = [Place(0)]
    for first, last in _sections(score):
        size = MEASURES
        whole = last + 1 - first
        numbers = range(size, whole - size // 2 + (whole % size == 0), size)
        starts += [_breath(score, first + number) for number in numbers]
        if last + 1 < len(score.measures):
            starts.append(_breath(score, last + 1))
    ends = [*starts[1:], Place(len(score.measures))]
    return tuple(Span(start, end) for start, end in zip(starts, ends, strict=True) if start < end)


def _sections(score: Score) -> list[tuple[int, int]]:
    """First and last measure of each section: cut at marks, repeats and double bars, less a pickup.

    A single measure between two of them belongs to the section before it, as an ending does; a short one leads
    into the section behind it.
    """
    measures = score.measures
    first = int(measures[0].short and len(measures) > 1)
    found: list[tuple[int, int]] = []
    for index in range(first, len(measures)):
        following = measures[index + 1] if index + 1 < len(measures) else None
        ends = following is None or bool(
            following.section
            or following.repeat_start
            or measures[index].barline is not Barline.SINGLE
            or (measures[index].repeat_times and not following.endings)
        )
        if ends and following and index == first and measures[index].short and not measures[index].endings:
            first = index + 1
        elif ends:
            if found and index == first:
                first = found.pop()[0]
            found.append((first, index))
            first = index + 1
    return found


def _breath(score: Score, index: int) -> Place:
    """Where the line breathes before a bar line: behind the longest event that ends in the half before."""
    bar, before = Place(index), score.measures[index - 1]
    ends = [
        (event.length * (2 if event.is_rest else 1), offset + event.length)
        for offset, event in before.timed()
        if offset + event.length >= before.length * EARLIEST
    ]
    longest, at = max(ends)
    usual = before.length / len(before.events)
    leads = any(event.notes for offset, event in before.timed() if offset >= at)
    return Place(index - 1, at) if longest >= HELD * usual and leads else bar


@dataclass(frozen=True, slots=True)
class Target:
    """A note that a phrase aims at.

    Attributes:
        place: Where.
        symbol: The chord in force, as it is written; None where there is none.
        standing: What the note is.
    """

    place: Place
    symbol: str | None
    standing: Standing


@dataclass(frozen=True, slots=True)
class Phrase:
    """What is heard of a phrase.

    Attributes:
        span: Where.
        pools: What explains its notes, the best first.
        contour: How it goes up and down, in words.
        line: MIDI note numbers of its highest notes, one after the other.
        names: What these are called, with their octaves.
        lowest: MIDI note number of all.
        highest: The same.
        targets: The notes that begin measures, and the last one.
        rhythm: The name of what most of its measures have; "" for none.
    """

    span: Span
    pools: tuple[Explanation, ...]
    contour: str
    line: tuple[int, ...]
    names: tuple[str, ...]
    lowest: int
    highest: int
    targets: tuple[Target, ...]
    rhythm: str


def phrase_of(score: Score, span: Span) -> Phrase | None:
    """What is heard of a span; None where it is silent."""
    heard = sounds(score, span)
    if not heard:
        return None
    top = [max(same, key=lambda each: each.pitch) for same in _together(heard)]
    pitches = [each.pitch for each in top]
    return Phrase(
        span,
        explanations(score, span),
        contour(pitches),
        tuple(pitches),
        tuple(in_octave(each.name, note.pitch) for note in top if (each := standing_of(score, note))),
        min(each.pitch for each in heard),
        max(each.pitch for each in heard),
        tuple(_targets(score, top)),
        _rhythm(score, span),
    )


def _together(heard: Sequence[SoundingNote]) -> list[list[SoundingNote]]:
    return [list(same) for _, same in groupby(heard, key=lambda each: each.place)]


def contour(pitches: Sequence[int]) -> str:
    """How a line goes, in words: `rises`, `rises and falls`, `stays level` and so on."""
    first, last, high, low = pitches[0], pitches[-1], max(pitches), min(pitches)
    if high - low <= TURN:
        return "stays level"
    up, down = high - first > TURN, first - low > TURN
    back, again = high - last > TURN, last - low > TURN
    if not up and not down:
        return (
            "circles round its first note" if abs(last - first) <= TURN else "rises" if last > first else "falls"
        )
    if up and not down:
        return "rises and falls" if back else "rises"
    if down and not up:
        return "falls and rises" if again else "falls"
    if pitches.index(high) < pitches.index(low):
        return "rises, falls and rises again" if again else "rises and falls below its first note"
    return "falls, rises and falls again" if back else "falls and rises above its first note"


def _targets(score: Score, top: Sequence[SoundingNote]) -> Iterator[Target]:
    for each in top:
        standing = standing_of(score, each)
        if standing is not None and (each.strength == 3 or each is top[-1]):
            yield Target(each.place, chord_in_force(score, each.place), standing)


def _rhythm(score: Score, span: Span) -> str:
    """The name that more than half of the whole measures of a span have."""
    last = span.end.measure - (span.end.offset == 0)
    whole = [index for index in range(span.start.measure, last + 1) if not score.measures[index].short]
    names = Counter(rhythm_name(struck(score, index), score.metres[index]) for index in whole)
    del names[""]
    name, count = names.most_common(1)[0] if names else ("", 0)
    return name if 2 * count > len(whole) else ""
