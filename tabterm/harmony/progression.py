"""The chord symbols of a score in the order in which they are written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.chords import parse_chord
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.score.model import Score


def symbols_at_starts(score: Score) -> tuple[str | None, ...]:
    """The symbol in force when each measure begins, before what stands in it; None where none was set yet."""
    current: str | None = None
    symbols: list[str | None] = []
    for measure in score.measures:
        symbols.append(current)
        if measure.chords:
            current = measure.chords[-1].symbol
    return tuple(symbols)


def unknown_chords(score: Score) -> tuple[tuple[Place, str], ...]:
    """Each symbol that is not understood, once, with the first place where it stands."""
    found: dict[str, Place] = {}
    for index, measure in enumerate(score.measures):
        for mark in measure.chords:
            if mark.symbol not in found and parse_chord(mark.symbol) is None:
                found[mark.symbol] = Place(index, mark.offset)
    return tuple((place, symbol) for symbol, place in found.items())
