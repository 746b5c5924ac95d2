"""Styles of accompaniment, as data: who plays what on which step of a measure.

A line is written with one sign for each step; however many there are, they divide the measure evenly.

* `=` holds what sounds, `.` is silence.
* Bass: `R` root (or the bass of the symbol), `5` fifth, `3` third, `A` root and fifth in turn from measure to
  measure, `w` a step of the walk to the next chord.
* Chords: `x` chop, struck down and let go at once; `d` and `u`, struck down and up; `r` rolled; `l`, `m`, `h` the
  lowest course of the shape, the next one, the highest.

Where no source is named, the patterns are common practice, no source; strengths and leanings are by ear. Program
numbers: General MIDI 1 sound set, which counts them from 1 (here from 0): 25 nylon and 26 steel acoustic guitar,
27 jazz guitar, 33 acoustic bass, 44 contrabass, 49 string ensemble.
"""

from __future__ import annotations

from dataclasses import field
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.metre import Metre

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tabterm.score.model import Swing

#: General MIDI program from 0; General MIDI 1 sound set
NYLON, STEEL, JAZZ, ACOUSTIC_BASS, CONTRABASS, STRINGS = 24, 25, 26, 32, 43, 48
"""General MIDI programs, counted from 0 as they are sent."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a measure is made of; see the module for the signs.

    Attributes:
        bass: Its line.
        chords: Their line.
        walk: The bass in the last measure of a phrase, before a change of chord, or "" for the same.
        accents: `>` where the groove is louder, or "".
    """

    bass: str
    chords: str
    walk: str = ""
    accents: str = ""


@dataclass(frozen=True, slots=True)
class Lean:
    """What the groove does to a sign: later by `late_ms` (earlier, where negative), and `louder` in velocity."""

    late_ms: float = 0.0
    louder: int = 0


@dataclass(frozen=True, slots=True)
class Style:
    """A style.

    Attributes:
        words: What it is, in a phrase.
        source: Where it comes from.
        patterns: By metre; a metre that is missing takes that of the same number of beats.
        cells: For the rest, by the units of a beat (2 or 3): measures are put together from them. `0`: of any
            length.
        leans: The groove, by sign; `>` is its accent.
        ringing: Chord shapes may have open courses.
        walks: The bass walks before every change of chord at a bar line, not only at the end of a phrase.
        fifths: Chords are played without their third, as root and fifth.
        chop_s: How long a chop sounds.
        softer: Taken off every velocity.
        chords_program: General MIDI program of the chords, from 0; None for that of the score's instrument.
        bass_program: That of the bass.
    """

    words: str
    source: str
    patterns: Mapping[str, Pattern]
    cells: Mapping[int, Pattern]
    leans: Mapping[str, Lean] = field(default_factory=dict)
    ringing: bool = True
    walks: bool = False
    fifths: bool = False
    chop_s: float = 0.1  #: s; tuned here, by ear
    softer: int = 0
    chords_program: int | None = None
    bass_program: int = ACOUSTIC_BASS


PRACTICE = "common practice, no source"

#: ms, MIDI velocity, s; tuned here, by ear
STYLES: dict[str, Style] = {
    "bass-and-chop": Style(
        "bass on the beat, chop between; root and fifth in turn",
        PRACTICE,
        {
            "2/4": Pattern("R=5=", ".x.x", "R=ww"),
            "2/2": Pattern("R=5=", ".x.x", "R=ww"),
            "4/4": Pattern("R=5=", ".x.x", "R=ww"),
            "3/4": Pattern("R==", ".xx", "Rww"),
            "6/8": Pattern("R==5==", "..x..x", "R==w=w"),
            "9/8": Pattern("R==5==R==", "..x..x..x", "R==5==w=w"),
            "12/8": Pattern("R==5==R==5==", "..x..x..x..x", "R==5==R==w=w"),
        },
        {2: Pattern("R=", ".x"), 3: Pattern("R==", ".xx")},
        {"x": Lean(4.0, 6), "R": Lean(-2.0, 4)},
        ringing=False,
    ),
    "waltz": Style(
        "bass on one, chords on two and three; root and fifth from measure to measure",
        PRACTICE,
        {
            "3/4": Pattern("A==", ".dd", "Rww", ">.."),
            "6/8": Pattern("R==5==", ".dd.dd", "R==5ww"),
            "9/8": Pattern("R==5==R==", ".dd.dd.dd"),
        },
        {2: Pattern("R=", ".d"), 3: Pattern("R==", ".dd")},
        {"R": Lean(0.0, 6), "A": Lean(0.0, 6), "d": Lean(6.0, -4)},
        chords_program=STEEL,
    ),
    "jig": Style(
        "bass on the beats, chords up and down on the two eighths after each",
        'strokes down up down: N. Gatherer, "Pick direction" 9, nigelgatherer.com',
        {
            "6/8": Pattern("R==5==", ".ud.ud", "R==w=w", ">..>.."),
            "9/8": Pattern("R==5==R==", ".ud.ud.ud", "R==5==w=w", ">..>..>.."),
            "12/8": Pattern("R==5==R==5==", ".ud.ud.ud.ud", "R==5==R==w=w", ">..>..>..>.."),
        },
        {2: Pattern("R=", ".d"), 3: Pattern("R==", ".ud")},
        {"u": Lean(6.0, -8), "d": Lean(-4.0, 2)},
        chords_program=STEEL,
    ),
    "reel": Style(
        "bass on one and three, chords on two and four, the last of them down and up",
        PRACTICE,
        {
            "2/4": Pattern("R===5===", "..d...du", "R===w=w=", ">...>..."),
            "2/2": Pattern("R===5===", "..d...du", "R===w=w=", ">...>..."),
            "4/4": Pattern("R===5===", "..d...du", "R===w=w=", ">...>..."),
            "3/4": Pattern("R=====", "..d.du", "R=w=w=", ">....."),
            "6/8": Pattern("R==5==", "..d.du", "R==w=w", ">..>.."),
        },
        {2: Pattern("R=", ".d"), 3: Pattern("R==", ".du")},
        {"R": Lean(-2.0, 4), "d": Lean(4.0, 2), "u": Lean(6.0, -10)},
        chords_program=STEEL,
    ),
    "rock": Style(
        "the bass plays the root in eighths, the chords come on two and four",
        PRACTICE,
        {
            "2/4": Pattern("RRRR", "..x.", "RRww", ""),
            "2/2": Pattern("RRRRRRRR", "..x...x.", "RRRRRRww", ""),
            "4/4": Pattern("RRRRRRRR", "..x...x.", "RRRRRRww", ""),
            "3/4": Pattern("RRRRRR", "..x.x.", "RRRRww", ""),
            "6/8": Pattern("RRRRRR", "...x..", "RRRRww", ""),
            "12/8": Pattern("RRRRRRRRRRRR", "...x.....x..", "RRRRRRRRRRww", ""),
        },
        {2: Pattern("RR", "x."), 3: Pattern("RRR", "x..")},
        {"x": Lean(4.0, 8), "R": Lean(0.0, -4)},
        ringing=False,
        chop_s=0.25,
        chords_program=STEEL,
    ),
    "swing-four": Style(
        "four to the measure, cut short, two and four louder; the bass walks",
        PRACTICE,
        {
            "2/4": Pattern("R5", "xx", "Rw", ".>"),
            "2/2": Pattern("R353", "xxxx", "R5ww", ".>.>"),
            "4/4": Pattern("R353", "xxxx", "R5ww", ".>.>"),
            "3/4": Pattern("R35", "xxx", "Rww", ".>>"),
            "12/8": Pattern("R==3==5==3==", "x==x==x==x==", "R==5==w==w==", "...>.....>.."),
        },
        {2: Pattern("R=", "xx"), 3: Pattern("R=3", "x.x")},
        {"x": Lean(8.0, 0), "R": Lean(-3.0, 4), ">": Lean(0.0, 10)},
        ringing=False,
        walks=True,
        chop_s=0.16,
        chords_program=JAZZ,
    ),
    "slow-ballad": Style(
        "a rolled chord, then its upper courses one by one; long bass notes",
        PRACTICE,
        {
            "2/4": Pattern("R===", "r=h=", "R==w"),
            "2/2": Pattern("R=======", "r===m=h=", "R=====ww"),
            "4/4": Pattern("R=======", "r===m=h=", "R=====ww"),
            "3/4": Pattern("R=====", "r=m=h=", "R===w="),
            "6/8": Pattern("R=====", "r==m=h", "R====w"),
            "9/8": Pattern("R=====5==", "r==m=hm=h", "R=====5=w"),
            "12/8": Pattern("R=====5=====", "r==m=hl==m=h", "R=====5==w=w"),
        },
        {2: Pattern("R=", "r="), 3: Pattern("R==", "r=h")},
        {"r": Lean(0.0, 6), "m": Lean(10.0, -4), "h": Lean(14.0, 0)},
        chords_program=NYLON,
        softer=8,
    ),
    "plain-chords": Style(
        "each chord struck once a measure and at each change",
        PRACTICE,
        {},
        {0: Pattern("R", "d")},
        {"d": Lean(0.0, 4)},
    ),
    "drone": Style(
        "root and fifth of each chord, held",
        PRACTICE,
        {},
        {0: Pattern("R", "d")},
        fifths=True,
        softer=18,
        chords_program=STRINGS,
        bass_program=CONTRABASS,
    ),
}
"""By the name that options, command line and configuration know them by."""


def style_named(name: str) -> Style:
    """A style; raises ScoreError for an unknown name."""
    try:
        return STYLES[name]
    except KeyError:
        raise ScoreError(f"no style '{name}'", hint=f"one of: {', '.join(STYLES)}") from None


def proposed_style(metre: Metre, swing: Swing | None) -> str:
    """The style that metre and swing ask for: waltz in three, jig in compound metres, swing where it swings."""
    if metre.compound:
        return "jig"
    if metre.count == 3 and not metre.groups:
        return "waltz"
    return "bass-and-chop" if swing is None else "swing-four"


@lru_cache(maxsize=256)
def pattern_of(name: str, metre: Metre) -> Pattern:
    """What a style makes of a measure of any metre; raises ScoreError for an unknown style."""
    style = style_named(name)
    if 0 in style.cells:
        return style.cells[0]
    for text in (
        () if metre.groups else sorted(style.patterns, key=lambda text: text != f"{metre.count}/{metre.unit}")
    ):
        other = Metre.parse(text)
        if (other.count, other.compound) == (metre.count, metre.compound):
            return style.patterns[text]
    return _put_together(style.cells, _sizes(metre))


def _sizes(metre: Metre) -> list[int]:
    """Units of the groups of a measure, as twos and threes (and a one where the player gave it)."""
    groups = metre.groups or metre.beat_sizes
    if set(groups) == {1}:
        groups = (metre.count,)
    return [size for group in groups for size in _twos_and_threes(group)]


def _twos_and_threes(units: int) -> list[int]:
    """Twos, closed by a three where the number is odd."""
    return [2] * (units // 2 - units % 2) + [3] * (units % 2) if units > 1 else [1]


def _put_together(cells: Mapping[int, Pattern], sizes: list[int]) -> Pattern:
    """The cells of groups one behind the other; every other group begins with the fifth."""
    bass, chords = "", ""
    for number, size in enumerate(sizes):
        cell = cells[max(size, 2)]
        bass += cell.bass[:size].replace("R", "5" if number % 2 else "R")
        chords += cell.chords[:size]
    return Pattern(bass, chords)
