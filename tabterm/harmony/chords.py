"""Chord symbols: a small grammar from the player's spelling to pitch classes.

Intervals of the qualities follow Harte, Sandler, Abdallah and Gomez 2005, "Symbolic representation of musical
chords", ISMIR, with the ninth, eleventh and thirteenth added to the seventh they stand on.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from tabterm.instrument.pitch import STEP_SEMITONES

QUALITIES: dict[tuple[str, ...], tuple[int, ...]] = {
    ("", "maj", "M"): (0, 4, 7),
    ("m", "min", "-"): (0, 3, 7),
    ("aug", "+"): (0, 4, 8),
    ("dim", "o", "°"): (0, 3, 6),
    ("sus4", "sus"): (0, 5, 7),
    ("sus2",): (0, 2, 7),
    ("5",): (0, 7),
    ("6", "maj6"): (0, 4, 7, 9),
    ("m6", "min6", "-6"): (0, 3, 7, 9),
    ("69",): (0, 4, 7, 9, 2),
    ("7",): (0, 4, 7, 10),
    ("maj7", "M7", "Δ", "Δ7"): (0, 4, 7, 11),
    ("m7", "min7", "-7"): (0, 3, 7, 10),
    ("mmaj7", "m(maj7)", "minmaj7", "mM7"): (0, 3, 7, 11),
    ("dim7", "o7", "°7"): (0, 3, 6, 9),
    ("m7b5", "ø", "ø7", "hdim7", "-7b5"): (0, 3, 6, 10),
    ("aug7", "+7", "7#5"): (0, 4, 8, 10),
    ("7b5",): (0, 4, 6, 10),
    ("7sus4", "7sus"): (0, 5, 7, 10),
    ("9",): (0, 4, 7, 10, 2),
    ("7b9",): (0, 4, 7, 10, 1),
    ("7#9",): (0, 4, 7, 10, 3),
    ("maj9", "M9"): (0, 4, 7, 11, 2),
    ("m9", "min9", "-9"): (0, 3, 7, 10, 2),
    ("11",): (0, 4, 7, 10, 2, 5),
    ("m11", "min11"): (0, 3, 7, 10, 2, 5),
    ("7#11",): (0, 4, 7, 10, 6),
    ("13",): (0, 4, 7, 10, 2, 9),
    ("maj13",): (0, 4, 7, 11, 2, 9),
    ("m13", "min13"): (0, 3, 7, 10, 2, 9),
    ("add9", "add2"): (0, 4, 7, 2),
    ("madd9",): (0, 3, 7, 2),
}
"""Every spelling of a quality and its intervals above the root, in semitones within the octave."""

_BY_SPELLING = {spelling: intervals for names, intervals in QUALITIES.items() for spelling in names}
_SYMBOL = re.compile(r"^([A-G])([#b]?)(.*?)(?:/([A-G])([#b]?))?$")
NO_CHORD = frozenset({"N.C.", "NC", "N.C"})


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord that a symbol stands for.

    Attributes:
        root: Pitch class, 0 = C; None for `N.C.`.
        intervals: Semitones above the root; empty for `N.C.`.
        bass: Pitch class of the bass, the root's where the symbol gives none.
    """

    root: int | None
    intervals: tuple[int, ...] = ()
    bass: int | None = None


@lru_cache(maxsize=1024)
def parse_chord(symbol: str) -> Chord | None:
    """The chord of a symbol, or None where the symbol is not understood."""
    if symbol in NO_CHORD:
        return Chord(None)
    match = _SYMBOL.match(symbol)
    if match is None:
        return None
    step, accidental, quality, bass, bass_accidental = match.groups()
    if quality not in _BY_SPELLING:
        return None
    root = _pitch_class(step, accidental)
    return Chord(root, _BY_SPELLING[quality], _pitch_class(bass, bass_accidental) if bass else root)


def _pitch_class(step: str, accidental: str) -> int:
    return (STEP_SEMITONES[step] + {"#": 1, "b": -1}.get(accidental, 0)) % 12
