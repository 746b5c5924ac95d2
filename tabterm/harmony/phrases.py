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
from tabterm.score.query import events_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.harmony.analysis import Standing
    from tabterm.harmony.melody import SoundingNote
    from tabterm.harmony.pools import Explanation
    from tabterm.score.model import Measure, Score

MEASURES = 4  #: measures; common practice, no source
"""A phrase has so many, where the music does not say otherwise."""

EARLIEST = Fraction(1, 2)  #: times a measure; common practice, no source
"""What leads into a phrase begins at most so long before its bar line."""

HELD = Fraction(3, 2)  #: times; common practice, no source
"""A line breathes behind what is so many times as long as its neighbours."""

TURN = 3  #: semitones; common practice, no source
"""A line rises or falls where it goes by more than this."""


BREATH = Fraction(2)  #: quarters; common practice, no source
"""A rest of half a measure, and of so many quarters at least, parts two phrases wherever it stands."""

LONG = Fraction(4)  #: quarters; common practice, no source
"""So does a note that lasts longer than that and than a measure, ties and all."""


def phrases(score: Score) -> tuple[Span, ...]:
    """The phrases of a score, one after the other; what is silent at its ends belongs to the nearest."""
    places = [Place(0)]
    for first, last in _sections(score):
        start = places[-1]
        pickup = _notes(score, start, Place(first)) if start < Place(first) else ()
        bars = [first]
        for after in _rested(score, start, Place(last + 1)):
            bar = after.measure + (after.offset >= score.measures[after.measure].length * EARLIEST)
            if bars[-1] < bar <= last:
                places += _fours(score, bars[-1], bar - 1, pickup)
                places.append(after)
                bars.append(bar)
        places += _fours(score, bars[-1], last, pickup)
        if last + 1 < len(score.measures):
            written = score.measures[last + 1].short
            places.append(Place(last + 1) if written else _breath(score, last + 1))
    starts = [each for each in places if not _held_into(score, each)]
    ends = [*starts[1:], Place(len(score.measures))]
    return tuple(Span(start, end) for start, end in zip(starts, ends, strict=True) if start < end)


def phrase_ranges(score: Score, span: Span | None = None) -> tuple[tuple[int, int], ...]:
    """First and last measure of each phrase in which something sounds, within a span.

    What leads into a phrase counts with the measure before, unless it has a measure of its own.
    """
    low, high = (0, len(score.measures) - 1) if span is None else (span.start.measure, span.end.measure - 1)
    firsts = [each.start.measure + (each.start.offset > 0) for each in phrases(score)]
    lasts = [*(each - 1 for each in firsts[1:]), len(score.measures) - 1]
    cut = [(max(first, low), min(last, high)) for first, last in zip(firsts, lasts, strict=True)]
    return tuple((first, last) for first, last in cut if any(_sounds(score.measures[first : last + 1])))


def _sounds(measures: Iterable[Measure]) -> Iterator[bool]:
    return (bool(event.notes) for measure in measures for event in measure.events)


def _held_into(score: Score, place: Place) -> bool:
    """Whether a note is tied or slurred into a place."""
    measure = score.measures[place.measure]
    return place > Place(0) and place.offset == 0 and measure.leans


def _fours(score: Score, first: int, last: int, pickup: _Notes) -> list[Place]:
    """Where phrases begin within some measures, behind the one that begins with them."""
    whole = last + 1 - first
    numbers = range(MEASURES, whole - MEASURES // 2 + (whole % MEASURES == 0), MEASURES)
    return [_breath(score, first + number, pickup) for number in numbers]


def _rested(score: Score, start: Place, end: Place) -> Iterator[Place]:
    """Where notes begin after a long rest or a long note."""
    silent = held = Fraction(0)
    for place, event in events_in(score, Span(start, end)):
        measure = score.metres[place.measure].length
        new = bool(event.notes) and not all(note.tied for note in event.notes)
        if new and place > start and (silent >= max(BREATH, measure / 2) or held > max(LONG, measure)):
            yield place
        silent = Fraction(0) if event.notes else silent + event.length
        held = event.length if new else held + event.length


def _sections(score: Score) -> list[tuple[int, int]]:
    """First and last measure of each section: cut at marks, repeats and double bars, less a pickup.

    A single measure without a mark between two of them belongs to the section before it, as an ending does; a
    short one leads into the section behind it.
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
            if found and index == first and not measures[index].section:
                first = found.pop()[0]
            found.append((first, index))
            first = index + 1
    return found


_Notes = tuple[tuple[Fraction, tuple[int, ...]], ...]
"""What leads into a bar line: how long before it each event begins, and its pitch classes."""


def _notes(score: Score, start: Place, end: Place) -> _Notes:
    """What is played from a place up to a bar line in its measure or behind it."""
    pitch, measure = score.head.instrument.pitch, score.measures[start.measure]
    return tuple(
        (measure.length - offset, tuple(pitch(note.course, note.fret) % 12 for note in event.notes))
        for offset, event in measure.timed()
        if end.measure == start.measure + 1 and offset >= start.offset
    )


def _breath(score: Score, index: int, pickup: _Notes = ()) -> Place:
    """Where the line breathes before a bar line.

    A lead-in as long as the section's pickup is heard as that pickup where the note before it is longer, or where
    it has the same notes; else the line breathes behind the longest event of the half measure before.
    """
    bar, before = Place(index), score.measures[index - 1]
    if pickup and pickup[0][0] <= before.length * EARLIEST:
        at = before.length - pickup[0][0]
        here = _notes(score, Place(index - 1, at), bar)
        if here and here[0][0] == pickup[0][0] and any(pitches for _, pitches in here):
            lengths = {offset + event.length: event.length for offset, event in before.timed()}
            first = next(event.length for offset, event in before.timed() if offset == at)
            if here == pickup or lengths[at] > first:
                return Place(index - 1, at)
    ends = [
        (event.length * (2 if event.is_rest else 1), offset + event.length)
        for offset, event in before.timed()
        if offset + event.length > before.length * EARLIEST
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
