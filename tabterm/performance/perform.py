"""Performing a score: the measures in order, their sounds, the count-in and the click."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.performance.clicks import click
from tabterm.performance.midi import click_messages, in_order, messages_of, setup
from tabterm.performance.model import Mark, Options, Performance, Pluck, TimedMessage
from tabterm.performance.order import playing_order
from tabterm.performance.sounds import sounds_of
from tabterm.performance.timing import PlayedMeasure, missing_of, swung_offset
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.model import Score
    from tabterm.score.place import Span

AS_WRITTEN = Options()

Part = tuple[int, Fraction, Fraction]
"""(measure index, from offset, to offset)."""


def perform(score: Score, *, span: Span | None = None, options: Options = AS_WRITTEN) -> Performance:
    """Perform a whole score with its repeats and endings, or a span once as it is written, without them.

    Lengths that belong to the hand (stagger, grace notes, slides, the rate of a tremolo) are the same at any
    tempo.

    Raises:
        ScoreError: The span is empty, or an option is out of range.
    """
    if not 20 <= options.tempo_percent <= 200:
        raise ScoreError(f"cannot play at {options.tempo_percent} percent", hint="20 to 200")
    if not 0 <= options.count_in <= 2:
        raise ScoreError(f"cannot count {options.count_in} measures in", hint="0 to 2")
    parts = list(_parts(score, span))
    if not parts:
        raise ScoreError("there is nothing to play", hint="choose at least one event")
    lead_q = _lead(score, parts[0], options.count_in)
    played = _on_time_line(score, parts, lead_q, options.tempo_percent)
    end_s = played[-1].end_s
    beats = list(_beats(played))
    sounds = sounds_of(score, played)
    clicks = list(_count_in(lead_q, played[0]))
    if options.click:
        clicks += [click(time_s, first=down) for time_s, _, down in beats]
    messages = messages_of(sounds, score.head.instrument, end_s)
    messages += [message for each in clicks for message in click_messages(each)]
    messages = [message if message.time_s <= end_s else TimedMessage(end_s, message.data) for message in messages]
    return Performance(
        setup=setup(score.head.instrument),
        messages=tuple(sorted(messages, key=in_order)),
        plucks=tuple(sorted((*(sound.pluck() for sound in sounds), *clicks), key=lambda each: each.start_s)),
        marks=_marks(score, played, beats),
        measures=tuple(played),
        lead_s=played[0].start_s,
        duration_s=end_s,
        instrument=score.head.instrument,
    )


def _parts(score: Score, span: Span | None) -> Iterator[Part]:
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


def _lead(score: Score, first: Part, count_in: int) -> Fraction:
    """Length of the count-in in quarters.

    A pickup, or a start inside a measure, is part of the last measure counted: the count stops where the music
    begins. One more measure is counted where that would leave less than half of one.
    """
    if count_in == 0:
        return Fraction(0)
    index, low, _ = first
    metre = score.metres[index]
    inside = swung_offset(low + missing_of(score, index), metre, score.head.swing)
    return (count_in - 1) * metre.length + inside + (metre.length if inside < metre.length / 2 else 0)


def _on_time_line(score: Score, parts: Sequence[Part], lead_q: Fraction, percent: int) -> list[PlayedMeasure]:
    played: list[PlayedMeasure] = []
    minute_s = 60.0 * 100 / percent
    start_s = float(lead_q) * minute_s / score.tempos[parts[0][0]].quarters_per_minute
    for index, low, high in parts:
        quarter_s = minute_s / score.tempos[index].quarters_per_minute
        metre, swing = score.metres[index], score.head.swing
        played.append(PlayedMeasure(index, low, high, start_s, quarter_s, metre, swing, missing_of(score, index)))
        start_s = played[-1].end_s
    return played


def _beats(played: Sequence[PlayedMeasure]) -> Iterator[tuple[float, Place, bool]]:
    """(time in s, place, first beat of a measure) of every beat played."""
    for measure in played:
        for beat in measure.metre.beats:
            offset = beat - measure.missing
            if measure.low <= offset < measure.high:
                yield measure.at(offset), Place(measure.index, offset), beat == 0


def _count_in(lead_q: Fraction, first: PlayedMeasure) -> Iterator[Pluck]:
    """Clicks on the beats before the start, counted in measures that the start lies in or follows."""
    metre = first.metre
    at = lead_q - swung_offset(first.low + first.missing, metre, first.swing)
    while at > 0:
        at -= metre.length
    while at < lead_q:
        for beat in metre.beats:
            if 0 <= at + beat < lead_q:
                yield click(float(at + beat) * first.quarter_s, first=beat == 0)
        at += metre.length


def _marks(
    score: Score, played: Sequence[PlayedMeasure], beats: Sequence[tuple[float, Place, bool]]
) -> tuple[Mark, ...]:
    marks = {time_s: Mark(time_s, place) for time_s, place, _ in beats}
    for measure in played:
        for offset, time_s, _ in measure.timed(score.measures[measure.index]):
            marks[time_s] = Mark(time_s, Place(measure.index, offset))
    return tuple(marks[time_s] for time_s in sorted(marks))
