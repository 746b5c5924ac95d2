"""Chord symbols: a small grammar from the player's spelling to pitch classes.

A symbol is a root, a quality, alterations of it and a bass: `F#m7b5/E`. Intervals of the qualities follow Harte,
Sandler, Abdallah and Gomez 2005, "Symbolic representation of musical chords", ISMIR, with the ninth, eleventh and
thirteenth added to the seventh they stand on (a thirteenth leaves the eleventh out, which rubs against the third:
common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.instrument.pitch import STEP_SEMITONES
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.score.model import Score

QUALITIES: dict[tuple[str, ...], tuple[int, ...]] = {
    ("", "maj", "ma", "M"): (0, 4, 7),
    ("m", "min", "mi", "-"): (0, 3, 7),
    ("aug", "+"): (0, 4, 8),
    ("dim", "o", "°"): (0, 3, 6),
    ("5",): (0, 7),
    ("6", "maj6", "ma6", "M6"): (0, 4, 7, 9),
    ("m6", "min6", "mi6", "-6"): (0, 3, 7, 9),
    ("69", "6/9"): (0, 4, 7, 9, 2),
    ("m69", "m6/9", "min69", "min6/9"): (0, 3, 7, 9, 2),
    ("7", "dom7"): (0, 4, 7, 10),
    ("maj7", "ma7", "M7", "Δ", "Δ7"): (0, 4, 7, 11),
    ("m7", "min7", "mi7", "-7"): (0, 3, 7, 10),
    ("mmaj7", "minmaj7", "mM7", "-maj7", "mΔ"): (0, 3, 7, 11),
    ("dim7", "o7", "°7"): (0, 3, 6, 9),
    ("ø", "ø7", "hdim7"): (0, 3, 6, 10),
    ("aug7", "+7", "7+"): (0, 4, 8, 10),
    ("9",): (0, 4, 7, 10, 2),
    ("maj9", "ma9", "M9"): (0, 4, 7, 11, 2),
    ("m9", "min9", "mi9", "-9"): (0, 3, 7, 10, 2),
    ("11",): (0, 4, 7, 10, 2, 5),
    ("m11", "min11", "mi11", "-11"): (0, 3, 7, 10, 2, 5),
    ("13",): (0, 4, 7, 10, 2, 9),
    ("maj13", "ma13", "M13"): (0, 4, 7, 11, 2, 9),
    ("m13", "min13", "mi13", "-13"): (0, 3, 7, 10, 2, 9),
    ("7alt", "alt"): (0, 4, 10, 6, 8, 1, 3),
    ("2",): (0, 4, 7, 2),
}
"""Every spelling of a quality and its intervals above the root, in semitones within the octave; what gives the
chord its name comes last."""

ALTERATIONS: dict[str, tuple[frozenset[int], int | None]] = {
    **dict.fromkeys(("sus", "sus4"), (frozenset({3, 4}), 5)),
    "sus2": (frozenset({3, 4}), 2),
    **dict.fromkeys(("b5", "-5"), (frozenset({7, 8}), 6)),
    **dict.fromkeys(("#5", "+5"), (frozenset({6, 7}), 8)),
    **dict.fromkeys(("b9", "-9"), (frozenset({2}), 1)),
    **dict.fromkeys(("#9", "+9"), (frozenset({2}), 3)),
    **dict.fromkeys(("#11", "+11", "#4"), (frozenset({5}), 6)),
    **dict.fromkeys(("b13", "-13", "b6"), (frozenset({9}), 8)),
    **dict.fromkeys(("add9", "add2"), (frozenset(), 2)),
    **dict.fromkeys(("add11", "add4"), (frozenset(), 5)),
    **dict.fromkeys(("add13", "add6"), (frozenset(), 9)),
    **dict.fromkeys(("no3", "omit3"), (frozenset({3, 4}), None)),
    **dict.fromkeys(("no5", "omit5"), (frozenset({7}), None)),
}
"""What may follow a quality: the intervals that it takes away, and the one that it puts there."""

_BY_SPELLING = {spelling: intervals for names, intervals in QUALITIES.items() for spelling in names}
_WORD = "|".join(re.escape(word) for word in sorted(ALTERATIONS, key=len, reverse=True))
_ALTERATION = re.compile(_WORD)
_QUALITY = re.compile(
    rf"^({'|'.join(re.escape(name) for name in sorted(_BY_SPELLING, key=len, reverse=True))})((?:{_WORD})*)$"
)
_SYMBOL = re.compile(r"^([A-G])([#b]?)(.*?)(?:/([A-G])([#b]?))?$")
_IN_BRACKETS = re.compile(r"\(([^()]+)\)")
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

    def tone(self, interval: int) -> int:
        """Pitch class of an interval above the root."""
        return ((self.root or 0) + interval) % 12

    @property
    def third(self) -> int | None:
        """The interval that stands for the third: 4 or 3, else the fourth or second that it is suspended to."""
        return next((interval for interval in (4, 3, 5, 2) if interval in self.intervals), None)

    @property
    def fifth(self) -> int | None:
        """The fifth: 7, else 6 or 8 where it is altered."""
        return next((interval for interval in (7, 6, 8) if interval in self.intervals), None)

    @property
    def seventh(self) -> int | None:
        """The seventh, else the sixth (which is the diminished seventh as well)."""
        return next((interval for interval in (10, 11, 9) if interval in self.intervals), None)


@lru_cache(maxsize=1024)
def parse_chord(symbol: str) -> Chord | None:
    """The chord of a symbol, or None where the symbol is not understood."""
    if symbol in NO_CHORD:
        return Chord(None)
    match = _SYMBOL.match(symbol)
    if match is None:
        return None
    step, accidental, quality, bass, bass_accidental = match.groups()
    intervals = _intervals(_IN_BRACKETS.sub(lambda inside: inside[1].replace(",", ""), quality))
    if intervals is None:
        return None
    root = _pitch_class(step, accidental)
    return Chord(root, intervals, _pitch_class(bass, bass_accidental) if bass else root)


def _intervals(quality: str) -> tuple[int, ...] | None:
    match = _QUALITY.match(quality)
    if match is None:
        return None
    intervals = list(_BY_SPELLING[match[1]])
    for word in _ALTERATION.findall(match[2]):
        gone, put = ALTERATIONS[word]
        intervals = [interval for interval in intervals if interval not in gone and interval != put]
        intervals += [] if put is None else [put]
    return tuple(intervals)


def _pitch_class(step: str, accidental: str) -> int:
    return (STEP_SEMITONES[step] + {"#": 1, "b": -1}.get(accidental, 0)) % 12


def without_brackets(word: str) -> str:
    """A chord symbol without the brackets that some players put around it."""
    return word[1:-1] if len(word) > 2 and word[0] + word[-1] in {"()", "[]"} else word


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
