"""Performing a score: the measures in the order they are played, their sounds, the count-in and the click."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.performance.clicks import SOFTER, clicks_of, counted_in
from tabterm.performance.midi import in_order, messages_of, pluck_messages, setup
from tabterm.performance.model import AS_WRITTEN, SOLO_ALONE, Mark, Options, Part, Performance, TimedMessage
from tabterm.performance.sounds import sounds_of
from tabterm.performance.timing import PlayedMeasure, swung_offset
from tabterm.score.place import Place, lead_in
from tabterm.score.query import passages

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.performance.model import Pluck, Record
    from tabterm.performance.sounds import Sound
    from tabterm.score.model import Measure, Score, Swing
    from tabterm.score.place import Span


STANDARD = Options()

LEAST_PERCENT, MOST_PERCENT = 20, 200  #: %; implementation limit
"""How slowly and how fast a score is played, in percent of its tempo."""

PlayedSpan = tuple[int, Fraction, Fraction]
"""(measure index, from offset, to offset)."""


def perform(score: Score, *, span: Span | None = None, options: Options = STANDARD) -> Performance:
    """Perform a whole score with its repeats and endings, or a span once as it is written, without them.

    Lengths that belong to the hand (stagger, grace notes, slides, the rate of a tremolo) are the same at any
    tempo.

    Raises:
        ScoreError: The span is empty, or an option is out of range.
    """
    if not LEAST_PERCENT <= options.tempo_percent <= MOST_PERCENT:
        raise ScoreError(
            f"cannot play at {options.tempo_percent:g} percent", hint=f"{LEAST_PERCENT} to {MOST_PERCENT}"
        )
    if not 0 <= options.count_in <= 2:
        raise ScoreError(f"cannot count in {options.count_in} measures", hint="0 to 2")
    stretches = list(_stretches(score, span))
    if not stretches:
        raise ScoreError("nothing to play", hint="choose at least one event")
    swing = score.head.swing if options.swing is AS_WRITTEN else options.swing
    lead_q = _lead(score, stretches[0], options.count_in, swing)
    played = _on_time_line(score, stretches, lead_q, options.tempo_percent, swing)
    end_s = played[-1].end_s
    sounds = _solo(score, played, options)
    band, programs = _band(score, played, options)
    softer = 1.0 if Part.SOLO in options.parts else SOFTER
    clicks = (
        each._replace(velocity=round(each.velocity * softer))
        for each in (
            *counted_in(lead_q, played[0]),
            *clicks_of(score, played, options.click, options.click_rests),
        )
    )
    others = [
        each._replace(velocity=velocity)
        for each in (*clicks, *band)
        if (velocity := options.louder(each.part, each.velocity))
    ]
    messages = messages_of(sounds, score.head.instrument, end_s)
    messages += [message for each in others for message in pluck_messages(each)]
    messages = [message if message.time_s <= end_s else TimedMessage(end_s, message.data) for message in messages]
    return Performance(
        setup=(*setup(score.head.instrument), *programs),
        messages=tuple(sorted(messages, key=in_order)),
        plucks=tuple(sorted((*(sound.pluck() for sound in sounds), *others), key=lambda each: each.start_s)),
        marks=_marks(score, played, _beats(played)),
        measures=tuple(played),
        lead_s=played[0].start_s,
        duration_s=end_s,
        instrument=score.head.instrument,
        tone=options.tone,
    )


def _solo(score: Score, played: Sequence[PlayedMeasure], options: Options) -> list[Sound]:
    """What the solo plays, at its level."""
    sounds = sounds_of(score, played) if Part.SOLO in options.parts else []
    louder = ((sound, options.louder(Part.SOLO, sound.velocity)) for sound in sounds)
    return [
        sound if velocity == sound.velocity else replace(sound, velocity=velocity)
        for sound, velocity in louder
        if velocity
    ]


def _band(
    score: Score, played: Sequence[PlayedMeasure], options: Options
) -> tuple[Iterable[Pluck], Iterable[bytes]]:
    """What chords and bass play, and their programs.

    Loaded when they are to be heard: the engine has this package for its values, and starts without the score's.
    """
    if options.parts <= SOLO_ALONE and options.style is None:
        return (), ()
    from tabterm.performance.band import band_of, programs

    return band_of(score, played, options), programs(score, played[0], options)


def _stretches(score: Score, span: Span | None) -> Iterator[PlayedSpan]:
    """What is played of which measure, in playing order."""
    if span is None:
        for index in playing_order(score):
            yield index, Fraction(0), score.measures[index].length
        return
    for index in range(span.start.measure, min(span.end.measure + 1, len(score.measures))):
        length = score.measures[index].length
        low = span.start.offset if index == span.start.measure else Fraction(0)
        high = min(span.end.offset, length) if index == span.end.measure else length
        if low < high:
            yield index, low, high


def _lead(score: Score, first: PlayedSpan, count_in: int, swing: Swing | None) -> Fraction:
    """Length of the count-in in quarters.

    A pickup, or a start inside a measure, is part of the last measure counted: the count stops where the music
    begins. One more measure is counted where that would leave less than half of one.
    """
    if count_in == 0:
        return Fraction(0)
    index, low, _ = first
    metre = score.metres[index]
    inside = swung_offset(low + lead_in(score, index), metre, swing)
    return (count_in - 1) * metre.length + inside + (metre.length if inside < metre.length / 2 else 0)


def _on_time_line(
    score: Score, stretches: Sequence[PlayedSpan], lead_q: Fraction, percent: float, swing: Swing | None
) -> list[PlayedMeasure]:
    played: list[PlayedMeasure] = []
    minute_s = 60.0 * 100 / percent
    start_s = float(lead_q) * minute_s / score.tempos[stretches[0][0]].quarters_per_minute
    for index, low, high in stretches:
        quarter_s = minute_s / score.tempos[index].quarters_per_minute
        metre, missing = score.metres[index], lead_in(score, index)
        played.append(PlayedMeasure(index, low, high, start_s, quarter_s, metre, swing, missing))
        start_s = played[-1].end_s
    return played


def _beats(played: Sequence[PlayedMeasure]) -> Iterator[Mark]:
    """Every beat played."""
    for measure in played:
        for beat in measure.metre.beats:
            offset = beat - measure.missing
            if measure.low <= offset < measure.high:
                yield Mark(measure.at(offset), Place(measure.index, offset))


def _marks(score: Score, played: Sequence[PlayedMeasure], beats: Iterable[Mark]) -> tuple[Mark, ...]:
    marks = {beat.time_s: beat for beat in beats}
    for measure in played:
        for offset, time_s, _ in measure.timed(score.measures[measure.index]):
            marks[time_s] = Mark(time_s, Place(measure.index, offset))
    return tuple(marks[time_s] for time_s in sorted(marks))


MOST_MEASURES = 20_000  #: measures; implementation limit
"""No performance has more measures; a score whose repeats would give more is cut there."""


def playing_order(score: Score) -> tuple[int, ...]:
    """Indices of the measures as they are played; every measure is played at least once.

    Repeats are not nested: a repeat goes back to the last start of a repeat, or to the end of the repeat
    before it, or to the first measure. A measure with ending numbers is played in those passes only.
    """
    order: list[int] = []
    for passage in passages(score.measures):
        endings = {index: score.measures[index].endings for index in passage}
        passes = max(_passes(score.measures[index]) for index in passage)
        for number in range(1, passes + 1):
            order += [index for index in passage if not endings[index] or number in endings[index]]
            if len(order) >= MOST_MEASURES:
                return tuple(order[:MOST_MEASURES])
    return tuple(order)


def _passes(measure: Measure) -> int:
    return max(1, measure.repeat_times, *measure.endings)


def joined(performances: Sequence[Performance], *, loop_from: int = 0) -> Performance:
    """One performance of several, each beginning with its own count-in where the one before it ends.

    Args:
        performances: At least one, of the same instrument.
        loop_from: Number of the one whose music a loop goes back to.
    """
    if len(performances) == 1:
        return performances[0]
    starts_s = [0.0, *accumulate(each.duration_s for each in performances)]
    timed = list(zip(performances, starts_s, strict=False))
    return replace(
        performances[0],
        messages=tuple(
            message._replace(time_s=message.time_s + by_s) for each, by_s in timed for message in each.messages
        ),
        plucks=tuple(_later(pluck, by_s) for each, by_s in timed for pluck in each.plucks),
        marks=tuple(mark._replace(time_s=mark.time_s + by_s) for each, by_s in timed for mark in each.marks),
        measures=tuple(
            replace(measure, start_s=measure.start_s + by_s) for each, by_s in timed for measure in each.measures
        ),
        lead_s=starts_s[loop_from] + performances[loop_from].lead_s,
        duration_s=starts_s[-1],
        record=_joined_records(timed),
    )


def _joined_records(timed: Sequence[tuple[Performance, float]]) -> Record | None:
    """One recording with the passages of all, each later by what is played before it."""
    records = [(each.record, by_s) for each, by_s in timed if each.record is not None]
    if not records:
        return None
    passages = (each._replace(start_s=each.start_s + by_s) for record, by_s in records for each in record.passages)
    return replace(records[0][0], passages=tuple(passages))


def _later(pluck: Pluck, by_s: float) -> Pluck:
    curve = tuple((time_s + by_s, cents) for time_s, cents in pluck.curve)
    return pluck._replace(start_s=pluck.start_s + by_s, end_s=pluck.end_s + by_s, curve=curve)
