"""Performing a score: the measures in order, their sounds, the count-in and the click."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.performance.midi import click, messages_of, setup
from tabterm.performance.model import Mark, Options, Performance, TimedMessage
from tabterm.performance.order import playing_order
from tabterm.performance.sounds import sounds_of
from tabterm.performance.timing import PlayedMeasure, missing_of
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.model import Score
    from tabterm.score.place import Span

AS_WRITTEN = Options()


def perform(score: Score, *, span: Span | None = None, options: Options = AS_WRITTEN) -> Performance:
    """Perform a whole score with its repeats and endings, or a span as it is written, without repeats.

    Raises:
        ScoreError: The span is empty, or the tempo is outside 20 to 200 percent.
    """
    if not 20 <= options.tempo_percent <= 200:
        raise ScoreError(f"cannot play at {options.tempo_percent} percent", hint="20 to 200")
    played, lead_q = played_measures(score, span, options.count_in)
    lead_s, end_s = played[0].start_s, played[-1].end_s
    messages = messages_of(sounds_of(score, played), score.head.instrument)
    beats = list(_beats(score, played))
    clicks = list(_count_in(score, lead_q, played[0]))
    if options.click:
        clicks += [message for time_s, _, down in beats for message in click(time_s, first=down)]
    messages = sorted((*messages, *clicks), key=_moment)
    performance = Performance(
        setup(score.head.instrument),
        tuple(message for message in messages if message.time_s <= end_s),
        _marks(score, played, beats),
        lead_s,
        end_s,
    )
    return performance.scaled(100 / options.tempo_percent) if options.tempo_percent != 100 else performance


def played_measures(
    score: Score, span: Span | None = None, count_in: int = 0
) -> tuple[list[PlayedMeasure], Fraction]:
    """The measures of a score or span as they are played, and the length of the count-in in quarters.

    Raises:
        ScoreError: There is nothing to play.
    """
    parts = list(_parts(score, span))
    if not parts:
        raise ScoreError("there is nothing to play", hint="choose at least one event")
    index, low, _ = parts[0]
    lead_q = _lead(score, index, low, count_in)
    return _on_time_line(score, parts, lead_q), lead_q


def _moment(message: TimedMessage) -> tuple[float, bool]:
    return message.time_s, message.data[0] & 0xF0 == 0x90


def _parts(score: Score, span: Span | None) -> Iterator[tuple[int, Fraction, Fraction]]:
    """(measure index, from offset, to offset) in playing order."""
    if span is None:
        for index in playing_order(score):
            yield index, Fraction(0), score.measures[index].length
        return
    for index in range(span.start.measure, min(span.end.measure + 1, len(score.measures))):
        low = span.start.offset if index == span.start.measure else Fraction(0)
        high = span.end.offset if index == span.end.measure else score.measures[index].length
        if low < high:
            yield index, low, high


def _lead(score: Score, index: int, low: Fraction, count_in: int) -> Fraction:
    """Length of the count-in in quarters.

    A pickup, or a start inside a measure, is part of the last measure counted: the count stops where the music
    begins. One more measure is counted where that would leave less than half of one.
    """
    if count_in == 0:
        return Fraction(0)
    whole = score.metres[index].length
    inside = low + missing_of(score, index)
    return (count_in - 1) * whole + inside + (whole if inside < whole / 2 else 0)


def _on_time_line(
    score: Score, parts: list[tuple[int, Fraction, Fraction]], lead_q: Fraction
) -> list[PlayedMeasure]:
    played: list[PlayedMeasure] = []
    start_s = float(lead_q) * 60.0 / score.tempos[parts[0][0]].quarters_per_minute
    for index, low, high in parts:
        quarter_s = 60.0 / score.tempos[index].quarters_per_minute
        swing, missing = score.head.swing, missing_of(score, index)
        played.append(PlayedMeasure(index, low, high, start_s, quarter_s, swing, missing))
        start_s = played[-1].end_s
    return played


def _beats(score: Score, played: list[PlayedMeasure]) -> Iterator[tuple[float, Place, bool]]:
    """(time in s, place, first beat of a measure) of every beat played."""
    for measure in played:
        for beat in score.metres[measure.index].beats:
            offset = beat - measure.missing
            if measure.low <= offset < measure.high:
                yield measure.at(offset), Place(measure.index, offset), beat == 0


def _count_in(score: Score, lead_q: Fraction, first: PlayedMeasure) -> Iterator[TimedMessage]:
    """Clicks on the beats before the start, counted in measures that the start lies in or follows."""
    metre = score.metres[first.index]
    at = lead_q - first.low - first.missing
    while at > 0:
        at -= metre.length
    while at < lead_q:
        for beat in metre.beats:
            if 0 <= at + beat < lead_q:
                yield from click(float(at + beat) * first.quarter_s, first=beat == 0)
        at += metre.length


def _marks(score: Score, played: list[PlayedMeasure], beats: list[tuple[float, Place, bool]]) -> tuple[Mark, ...]:
    marks = {(time_s, place) for time_s, place, _ in beats}
    for measure in played:
        for offset in score.measures[measure.index].onsets:
            if measure.low <= offset < measure.high:
                marks.add((measure.at(offset), Place(measure.index, offset)))
    return tuple(Mark(time_s, place) for time_s, place in sorted(marks))
