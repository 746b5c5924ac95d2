"""Takes: the music of one turn of a loop, and the performance that a way of practising makes of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.place import Place, Span, count_name, display_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.performance import Options, Performance
    from tabterm.piece.practice import Practice
    from tabterm.recording.timemap import TimeMap
    from tabterm.score.model import Score
    from tabterm.score.tempo import Tempo


SLOWEST_RECORD = 25
"""Percent of its speed at which a recording is heard at least."""


@dataclass(frozen=True, slots=True)
class Tied:
    """A recording, and where the measures of a score lie in it.

    Attributes:
        path: The file.
        mark: Its fingerprint.
        time_map: Where the measures lie.
        tuning_cents: How much higher than A4 = 440 Hz it is tuned; it is heard so much lower.
    """

    path: str
    mark: str
    time_map: TimeMap
    tuning_cents: float = 0.0


@dataclass(frozen=True, slots=True)
class Take:
    """A stretch of a score to be played as it stands there.

    Attributes:
        score: The score, or the one with another version of the phrase in it.
        span: The stretch; None for the whole score with its repeats.
        tied: The recording of it.
    """

    score: Score
    span: Span | None = None
    tied: Tied | None = None

    @property
    def start(self) -> Place:
        """Where it begins."""
        return Place(0) if self.span is None else self.span.start

    @property
    def tempo(self) -> Tempo:
        """The written tempo at its start."""
        return self.score.tempos[self.start.measure]


def performed(takes: Sequence[Take], practice: Practice, percent: float, *, lead: bool) -> Performance:
    """Takes one after another as one turn.

    Args:
        takes: At least one; each with a span where there are several.
        practice: Click, parts, pre-roll and count-in.
        percent: Percent of the written tempo.
        lead: Count in, and lead in once where that is not done before every turn.

    Raises:
        ScoreError: There is nothing to play, or no recording that is to be heard.
    """
    from tabterm.performance import perform
    from tabterm.performance.perform import joined

    counted, options = (options_of(practice, percent, count) for count in (practice.count_in if lead else 0, 0))
    pieces = list(takes)
    pre_roll, score, span = practice.pre_roll, pieces[0].score, pieces[0].span
    loop_from = 0
    if pre_roll is not None and span is not None:
        start = pre_roll.start(score, span.start)
        if pre_roll.every_turn:
            pieces[0] = replace(pieces[0], span=Span(start, span.end))
        elif lead and start < span.start:
            pieces.insert(0, replace(pieces[0], span=Span(start, span.start)))
            loop_from = 1
    performances = [
        perform(take.score, span=take.span, options=options if number else counted)
        for number, take in enumerate(pieces)
    ]
    if practice.record != "tab":
        performances = [
            _with_record(performance, take, practice, percent)
            for performance, take in zip(performances, pieces, strict=True)
        ]
    return joined(performances, loop_from=loop_from)


def _with_record(performance: Performance, take: Take, practice: Practice, percent: float) -> Performance:
    """A performance along the recording of its take."""
    from tabterm.performance.along import along
    from tabterm.performance.model import Record

    tied = take.tied
    if tied is None:
        raise ScoreError("no recording is tied to these measures", hint="the command 'record' opens one")
    if percent < SLOWEST_RECORD:
        raise ScoreError(f"a recording cannot be played at {percent:g}%", hint=f"{SLOWEST_RECORD} to 200")
    record = Record(
        path=tied.path,
        mark=tied.mark,
        speed=percent / 100,
        semitones=practice.semitones - tied.tuning_cents / 100,
        level=dict(practice.levels).get("record", 100) / 100,
        apart=practice.record == "both",
        mix=practice.mix,
    )
    line = tied.time_map.on(take.score)
    return along(performance, record, lambda index, offset: line.at(Place(index, offset)))


def options_of(practice: Practice, percent: float, count_in: int) -> Options:
    """What the performance is to be for a way of practising, at so many percent of the written tempo."""
    from tabterm.performance import ALL_PARTS, AS_WRITTEN, SOLO_ALONE, Click, Options, Part, ToneControls

    parts = {"solo": SOLO_ALONE, "chords": ALL_PARTS - SOLO_ALONE, "both": ALL_PARTS}
    swings = {"written": AS_WRITTEN, "straight": None}
    return Options(
        tempo_percent=percent,
        count_in=count_in,
        click=Click(practice.click),
        click_rests=practice.click_rests,
        parts=frozenset() if practice.record == "record" else parts[practice.parts],
        style=practice.style,
        groove=practice.groove,
        levels=tuple((Part(part), level) for part, level in practice.levels if part != "record"),
        tone=ToneControls(**dict(practice.tone)),
        swing=swings[practice.swing] if isinstance(practice.swing, str) else practice.swing,
    )


def passage(take: Take) -> tuple[int, int, str]:
    """First and last measure by the player's numbers, and both as a name, with beats where they are not whole."""
    score = take.score
    span = take.span or Span.of_measures(0, len(score.measures) - 1)
    whole_end = span.end.offset == 0 or span.end.measure >= len(score.measures)
    last_index = min(span.end.measure - 1 if whole_end else span.end.measure, len(score.measures) - 1)
    first, last = (display_number(score, index) for index in (span.start.measure, last_index))
    if span.start.offset == 0 and (whole_end or span.end.offset >= score.measures[last_index].length):
        return first, last, f"{first}-{last}" if last > first else f"{first}"
    # The end is named by the beat that is not played any more.
    end = f"{last + 1}.1" if whole_end else f"{last}.{count_name(score, span.end)}"
    return first, last, f"{first}.{count_name(score, span.start)}-{end}"
