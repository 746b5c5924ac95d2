"""The chords that were heard of a band, as symbols over measures: proposals, where a band seems to play at all."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.score.model import ChordMark

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.recording.chords import BeatChord

SURE = 0.5
"""How sure the chords must be on the whole (0 to 1) to be taken for those of a band; tuned here: a band gives 0.55
to 0.95, a solo alone 0.3 to 0.7."""


def is_heard(chords: Sequence[BeatChord]) -> bool:
    """Whether there is a band at all."""
    told = [each.sure for each in chords if each.symbol]
    return bool(told) and sum(told) / len(told) >= SURE


def held(chords: Sequence[BeatChord]) -> Iterator[tuple[int, str, float]]:
    """Each chord as long as it lasts: its first beat, its symbol, how sure it is on the mean of its beats."""
    sounding = [(number, chord) for number, chord in enumerate(chords) if chord.symbol]
    for symbol, beats in groupby(sounding, key=lambda each: each[1].symbol):
        numbers, told = zip(*beats, strict=True)
        yield numbers[0], symbol, sum(chord.sure for chord in told) / len(told)


def changes(chords: Sequence[BeatChord], quarters: Sequence[float]) -> Iterator[tuple[Fraction, str]]:
    """Where the chord changes: quarters, to an eighth, and the symbol; the place of each beat is given."""
    for first, symbol, _ in held(chords):
        if first < len(quarters):
            yield Fraction(round(2 * quarters[first]), 2), symbol


def marks(found: Sequence[tuple[Fraction, str]], lengths: Sequence[Fraction]) -> list[tuple[ChordMark, ...]]:
    """The symbols of each measure; what holds when the first one begins stands at its beginning."""
    over, start = [], Fraction(0)
    early = [(Fraction(0), symbol) for at, symbol in found if at <= 0][-1:]
    placed = [*early, *((at, symbol) for at, symbol in found if at > 0)]
    for length in lengths:
        inside = [(at - start, symbol) for at, symbol in placed if start <= at < start + length]
        over.append(tuple(ChordMark(offset=offset, symbol=symbol) for offset, symbol in inside))
        start += length
    return over
