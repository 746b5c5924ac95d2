"""The chords that were heard of a band, as symbols over measures: proposals, where a band seems to play at all."""

from __future__ import annotations

from fractions import Fraction
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


def changes(chords: Sequence[BeatChord], quarters: Sequence[float]) -> Iterator[tuple[Fraction, str]]:
    """Where the chord changes: quarters, to an eighth, and the symbol; the place of each beat is given."""
    before = ""
    for chord, at in zip(chords, quarters, strict=False):
        if chord.symbol and chord.symbol != before:
            yield Fraction(round(2 * at), 2), chord.symbol
            before = chord.symbol


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
