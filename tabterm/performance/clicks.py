"""The click: beats, or what lies between them, struck on a wood block; and the count-in."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from tabterm.performance.model import Click, Part, Pluck
from tabterm.performance.timing import swung_offset
from tabterm.score.place import count_at, display_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.performance.model import Performance
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.click_rests import ClickRests
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score

HIGH, LOW = 76, 77  #: MIDI note; General MIDI 1 percussion map, high and low wood block
"""High and low wood block of the General MIDI 1 percussion map."""

CLICK_S = 0.03  #: s; tuned here

FIRST_VELOCITY, BEAT_VELOCITY = 110, 100  #: MIDI velocity; tuned here
"""Of the first beat of a measure, and of the others."""

SOFTER = 0.75  #: times the velocity; tuned here
"""Where no solo is heard: chords and bass are softer than one."""


def click(time_s: float, *, first: bool) -> Pluck:
    """A stroke of the wood block; the first beat of a measure is higher and stronger."""
    pitch, velocity = (HIGH, FIRST_VELOCITY) if first else (LOW, BEAT_VELOCITY)
    return Pluck(Part.CLICK, 0, pitch, time_s, time_s + CLICK_S, velocity)


def counted_in(lead_q: Fraction, first: PlayedMeasure) -> Iterator[Pluck]:
    """Clicks on the beats of `lead_q` quarters, in measures that lead into the one that the start lies in."""
    metre = first.metre
    at = lead_q - swung_offset(first.low + first.missing, metre, first.swing)
    while at > 0:
        at -= metre.length
    while at < lead_q:
        for beat in metre.beats:
            if 0 <= at + beat < lead_q:
                yield click(float(at + beat) * first.quarter_s, first=beat == 0)
        at += metre.length


def clicks_of(
    score: Score, played: Sequence[PlayedMeasure], where: Click, rests: ClickRests | None
) -> Iterator[Pluck]:
    """Clicks while the music plays; of measures in turn a pickup goes with the one that it leads into."""
    if where is Click.OFF:
        return
    number = 0
    for measure in played:
        if rests is None or not rests.silent(number, display_number(score, measure.index)):
            for offset in offbeats(measure.metre) if where is Click.OFFBEATS else measure.metre.beats:
                at = offset - measure.missing
                if measure.low <= at < measure.high:
                    yield click(measure.at(at), first=offset == 0)
        number += not measure.missing


def offbeats(metre: Metre) -> Iterator[Fraction]:
    """What lies between the beats, in quarters from the measure's start.

    That is the middle of a beat, or the last third of a beat of three units, where the upbeat of a jig falls.
    """
    ends = (*metre.beats[1:], metre.length)
    for beat, end in zip(metre.beats, ends, strict=True):
        thirds = (end - beat) * metre.unit / 4 == 3
        yield beat + (end - beat) * (Fraction(2, 3) if thirds else Fraction(1, 2))


class Word(NamedTuple):
    """A word of the count and when it is spoken, in seconds from the start of the performance."""

    time_s: float
    text: str


def spoken_count(performance: Performance) -> tuple[Word, ...]:
    """The words of a count-in; its last is the beat before the one that the music begins on, or that beat's own.

    Beats are named as the player counts them: `1 2 3 4`, and `1 4` where the units of 6/8 are counted through.
    """
    first = performance.measures[0]
    clicks = [
        each.start_s
        for each in performance.plucks
        if each.part is Part.CLICK and each.start_s < first.start_s - 1e-9
    ]
    begins = first.low + first.missing
    beats = first.metre.beats
    before = sum(beat < begins for beat in beats)  # beats of the measure that the music begins in
    words = [count_at(first.metre, beats[(before - back) % len(beats)]) for back in range(len(clicks), 0, -1)]
    return tuple(Word(time_s, word) for time_s, word in zip(clicks, words, strict=True))
