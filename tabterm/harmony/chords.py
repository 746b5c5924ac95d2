"""Chord symbols: a small grammar from the player's spelling to pitch classes.

A symbol is a root, a quality, alterations of it and a bass: `F#m7b5/E`. Signs, capitals, brackets and slashes are
read as people write them (common practice, no source). Intervals of the qualities follow Harte, Sandler, Abdallah
and Gomez 2005, "Symbolic representation of musical chords", ISMIR, with the ninth, eleventh and thirteenth added
to the seventh they stand on (a thirteenth leaves the eleventh out, which rubs against the third: common practice,
no source).
"""

from __future__ import annotations

import re
from dataclasses import field
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.score.key import fifths_of
from tabterm.score.kinds import ChordNames
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Callable

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
    ("m69", "m6/9", "min69", "min6/9", "-69", "-6/9"): (0, 3, 7, 9, 2),
    ("7", "dom7"): (0, 4, 7, 10),
    ("maj7", "ma7", "M7", "Δ", "Δ7", "j7", "7M"): (0, 4, 7, 11),
    ("m7", "min7", "mi7", "-7"): (0, 3, 7, 10),
    ("mmaj7", "minmaj7", "mM7", "-maj7", "mΔ", "mΔ7", "-Δ", "-Δ7", "-M7", "mj7"): (0, 3, 7, 11),
    ("dim7", "o7", "°7"): (0, 3, 6, 9),
    ("ø", "ø7", "hdim7"): (0, 3, 6, 10),
    ("aug7", "+7", "7+"): (0, 4, 8, 10),
    ("9",): (0, 4, 7, 10, 2),
    ("aug9", "+9"): (0, 4, 8, 10, 2),
    ("maj9", "ma9", "M9", "Δ9", "j9"): (0, 4, 7, 11, 2),
    ("m9", "min9", "mi9", "-9"): (0, 3, 7, 10, 2),
    ("mmaj9", "minmaj9", "mM9", "-maj9", "mΔ9"): (0, 3, 7, 11, 2),
    ("11",): (0, 4, 7, 10, 2, 5),
    ("maj11", "ma11", "M11"): (0, 4, 7, 11, 2, 5),
    ("m11", "min11", "mi11", "-11"): (0, 3, 7, 10, 2, 5),
    ("13",): (0, 4, 7, 10, 2, 9),
    ("maj13", "ma13", "M13", "Δ13"): (0, 4, 7, 11, 2, 9),
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
    **dict.fromkeys(("maj7", "M7", "Δ7"), (frozenset({10}), 11)),
    "addb9": (frozenset(), 1),
    "add#9": (frozenset(), 3),
    **dict.fromkeys(("add#11", "add#4"), (frozenset(), 6)),
    **dict.fromkeys(("addb13", "addb6"), (frozenset(), 8)),
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
_ROOT = r"[A-H][#b]{0,2}"
_GERMAN_ROOT = r"[A-H](?:is(?!us)|es|s(?!us)|[#b]{0,2})"
_SYMBOL, _GERMAN_SYMBOL = (
    re.compile(rf"^({root})(.*?)(?:/({root.replace('A-H', 'A-Ha-h')}))?$") for root in (_ROOT, _GERMAN_ROOT)
)
_ACCIDENTALS = {"#": 1, "b": -1, "##": 2, "bb": -2, "is": 1, "es": -1, "s": -1}
_PLAIN = str.maketrans(
    {
        "♯": "#",
        "♭": "b",
        "𝄪": "##",
        "𝄫": "bb",
        "△": "Δ",
        "∆": "Δ",
        "▵": "Δ",
        "º": "°",
        "˚": "°",
        "Ø": "ø",
        "⌀": "ø",
    }
    | dict.fromkeys("\N{MINUS SIGN}\N{EN DASH}\N{NON-BREAKING HYPHEN}", "-")
)
"""Signs of one meaning, as this grammar spells them."""

_WORDS = re.compile(r"major|minor|maj|min|ma(?!j|dd|lt)|mi(?!n)|dim|aug|sus|add|omit|dom|alt", re.IGNORECASE)
_SHORT = {"major": "maj", "minor": "min"}
_BRACKETED = re.compile(r"[^()]*(?:\([^()]+\)[^()]*)*")
_SIX_NINE = re.compile(r"\((6/?9)\)")
_APART = re.compile(r"(?:[(,]|(?<!6)/(?=.))(?:(6|9|11|13)(?!\d))?")
"""A bracket, comma or slash sets what follows apart: a bare number there is added (`C/9`, `C7(13)`)."""

_NO_CHORDS = frozenset({"NC", "N/C"})


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord that a symbol stands for.

    Attributes:
        root: Pitch class, 0 = C; None for `N.C.`.
        intervals: Semitones above the root; empty for `N.C.`.
        bass: Pitch class of the bass, the root's where the symbol gives none.
        root_fifths: The root as it is spelled, in fifths above C; chords are alike whatever it is.
    """

    root: int | None
    intervals: tuple[int, ...] = ()
    bass: int | None = None
    root_fifths: int = field(default=0, compare=False)

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
def parse_chord(symbol: str, *, german: bool = False) -> Chord | None:
    """The chord of a symbol, or None where the symbol is not understood.

    H is B natural, as in German, whatever the names. With `german`, B is B flat, and `Fis` and `Es` are read.
    """
    text = without_brackets(symbol).translate(_PLAIN)
    if is_no_chord(text):
        return Chord(None)
    match = (_GERMAN_SYMBOL if german else _SYMBOL).match(text)
    if match is None:
        return None
    written, quality, bass = match.groups()
    intervals = _intervals(_in_one(quality))
    if intervals is None:
        return None
    root = _pitch_class(written, german=german)
    bass_tone = _pitch_class(bass, german=german) if bass else root
    return Chord(root, intervals, bass_tone, fifths_of(*spelled_root(written, german=german)))


def is_no_chord(symbol: str) -> bool:
    """Whether a symbol says that no chord is played: `N.C.`, however it is written."""
    return without_brackets(symbol).replace(".", "").upper() in _NO_CHORDS


def _in_one(quality: str) -> str:
    """A quality in small letters, its brackets, commas and slashes taken out; "(" where they do not match."""
    if not _BRACKETED.fullmatch(quality):
        return "("
    small = _WORDS.sub(lambda word: _SHORT.get(word[0].lower(), word[0].lower()), quality)
    small = _SIX_NINE.sub(r"\1", small)
    return _APART.sub(lambda sign: f"add{sign[1]}" if sign[1] else "", small).replace(")", "")


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


def spelled_root(name: str, *, german: bool = False) -> tuple[str, int]:
    """Letter of a root as English names it, and its alteration in semitones: `Fis`, `H`, `B♭`."""
    step, accidental = name[0].upper(), name[1:].translate(_PLAIN)
    if german and step == "B" and not accidental:
        return "B", -1
    return "B" if step == "H" else step, _ACCIDENTALS.get(accidental, 0)


def _pitch_class(name: str, *, german: bool) -> int:
    step, alter = spelled_root(name, german=german)
    return (STEP_SEMITONES[step] + alter) % 12


def without_brackets(symbol: str) -> str:
    """A chord symbol without the brackets that some players put around it, or at one end of several.

    A comma or a star behind it goes as well.
    """
    symbol = symbol.rstrip(",*") or symbol
    while len(symbol) > 2 and _in_brackets(symbol):
        symbol = symbol[1:-1]
    if len(symbol) > 1 and symbol[0] in "([" and not set(symbol[1:]) & set(")]"):
        return symbol[1:]
    if len(symbol) > 1 and symbol[-1] in ")]" and not set(symbol[:-1]) & set("(["):
        return symbol[:-1]
    return symbol


def _in_brackets(symbol: str) -> bool:
    """Whether the bracket that a symbol begins with is closed by its last sign."""
    depths = list(accumulate((sign in "([") - (sign in ")]") for sign in symbol))
    return symbol[0] + symbol[-1] in {"()", "[]"} and min(depths[:-1]) == 1 and depths[-1] == 0


def chord_of(score: Score, symbol: str) -> Chord | None:
    """The chord of a symbol as the score names chords; None where it is not understood."""
    return parse_chord(symbol, german=score.chord_names is ChordNames.GERMAN)


def doubtful_chords(score: Score) -> tuple[tuple[Place, str], ...]:
    """Each symbol with a B among German names, once, with its first place.

    Where no file says that they are German, it may be meant as B natural, so it is told how it is read.
    """
    if score.chord_names is not ChordNames.GERMAN:
        return ()
    return _once(score, lambda symbol: re.match(r"[(\[]?B(?![b#♭♯])|.*/B\)?$", symbol) is not None)


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
    return _once(score, lambda symbol: chord_of(score, symbol) is None)


def _once(score: Score, asked: Callable[[str], bool]) -> tuple[tuple[Place, str], ...]:
    """Each symbol of which something holds, once, with the first place where it stands."""
    found: dict[str, Place] = {}
    for index, measure in enumerate(score.measures):
        for mark in measure.chords:
            if mark.symbol not in found and asked(mark.symbol):
                found[mark.symbol] = Place(index, mark.offset)
    return tuple((place, symbol) for symbol, place in found.items())
