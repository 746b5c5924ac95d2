"""The chords of a score one after the other, and what each does in its key: numerals, numbers, substitutes.

Numerals and numbers count from the major scale of the tonic, in minor too, as jazz and folk players do: bVI, 2m7.
What stands for what is common practice, no source; `tests/harmony/progressions.txt` has what a teacher says.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.chords import chord_of
from tabterm.harmony.spelling import EXTENSIONS, chord_before, degree_name, is_extension
from tabterm.memory import Memory
from tabterm.score.key import mode_tones
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.harmony.chords import Chord
    from tabterm.score.key import Key
    from tabterm.score.model import Score

ROMAN = dict(zip("1234567", ("I", "II", "III", "IV", "V", "VI", "VII"), strict=True))

MINOR_SCALE = frozenset({*mode_tones("minor"), 11})  #: semitones above the tonic; definition
"""Tones of minor, which has its leading note beside its seventh."""

#: degrees; definition
SMALL = {"major": {"2", "3", "6", "7"}, "minor": {"1", "2", "4"}}
"""The degrees of a key whose chords are minor or diminished."""

FIFTH_DOWN, HALF_STEP_UP, HALF_STEP_DOWN = 5, 1, 11  #: semitones up; definition


class SoundingChord(NamedTuple):
    """A chord while it sounds: equal neighbours are one.

    Attributes:
        place: Where it begins.
        length: Quarters.
        symbol: As it is written.
        chord: What it stands for; never one that is not understood, nor `N.C.`.
        key: The key in force where it begins.
    """

    place: Place
    length: Fraction
    symbol: str
    chord: Chord
    key: Key

    @property
    def above_tonic(self) -> int:
        """Semitones of its root above the tonic."""
        return ((self.chord.root or 0) - self.key.tonic) % 12


_CHORDS: Memory[tuple[SoundingChord, ...]] = Memory("chords that sound", hangs_on="the whole score", most=4)


def sounding_chords(score: Score) -> tuple[SoundingChord, ...]:
    """The chords of a score in written order; what has none, or one that is not understood, is left out."""
    return _CHORDS.of((score,), (), lambda: _sounding(score))


def _sounding(score: Score) -> tuple[SoundingChord, ...]:
    found: list[SoundingChord] = []
    following = True
    for index, measure in enumerate(score.measures):
        marks = [(mark.offset, mark.symbol) for mark in measure.chords]
        if not marks or marks[0][0] > 0:
            marks.insert(0, (Fraction(0), chord_before(score, index) or ""))
        ends = [*(offset for offset, _ in marks[1:]), measure.length]
        for (offset, symbol), end in zip(marks, ends, strict=True):
            chord = chord_of(score, symbol) if symbol else None
            if chord is None or chord.root is None:
                following = False
                continue
            last = found[-1] if found and following else None
            if last and (last.chord, last.key) == (chord, score.keys[index]):
                found[-1] = last._replace(length=last.length + end - offset)
            else:
                found.append(SoundingChord(Place(index, offset), end - offset, symbol, chord, score.keys[index]))
            following = True
    return tuple(found)


class Role(StrEnum):
    """What a chord does, where its numeral does not say it."""

    NONE = ""
    SECONDARY = "secondary dominant"
    SUBSTITUTE = "tritone substitute"
    LEADING = "diminished chord leading up"
    PASSING = "passing diminished chord"
    BORROWED = "borrowed from minor"
    OUTSIDE = "outside the key"


@dataclass(frozen=True, slots=True)
class ChordFunction:
    """What a chord is in its key.

    Attributes:
        roman: Its numeral: `ii7`, `V7/V`, `subV7/I`, `bVII`.
        number: Its number: `2m7`, `5/7` over a bass, `6m`.
        role: What it does.
        goal: The numeral that it leads to, of a dominant or a diminished chord.
    """

    roman: str
    number: str
    role: Role
    goal: str = ""


def is_dominant(chord: Chord) -> bool:
    """Whether it has a major third and a minor seventh."""
    return {4, 10} <= {*chord.intervals}


def is_minor(chord: Chord) -> bool:
    """Whether its third is minor."""
    return 3 in chord.intervals and 4 not in chord.intervals


def is_diminished(chord: Chord) -> bool:
    """Whether it is diminished, with a diminished seventh or without one."""
    return is_minor(chord) and 6 in chord.intervals and not {7, 10} & {*chord.intervals}


def sign_of(chord: Chord) -> str:
    """What is written behind a numeral: `7`, `maj7`, `ø7`, `°`, `7b9`, `sus4`; whether it is minor is left out."""
    has, minor = {*chord.intervals}, is_minor(chord)
    if minor and 6 in has and 7 not in has:
        base, told = ("ø7", {0, 3, 6, 10}) if 10 in has else ("°7", {0, 3, 6, 9}) if 9 in has else ("°", {0, 3, 6})
    else:
        base = "+" if {4, 8} <= has and not has & {6, 7} else ""
        base += "7" if 10 in has else "maj7" if 11 in has else "6" if 9 in has else ""
        told = {
            0,
            3 if minor else 4,
            7,
            *({8} if base[:1] == "+" else ()),
            *(has & {10, 11}),
            *([9] * ("6" in base)),
        }
    rest = {each for each in has - told if is_extension(each, chord)}
    if "7" in base and base[0] not in "ø°":
        highest = next((each for each in (9, 5, 2) if each in rest), None)
        if highest is not None:
            base = base.replace("7", EXTENSIONS[highest])
            rest -= {2, 5, 9} if highest == 9 else {2, highest}
    fifth = {6: "b5", 8: "#5"}.get(chord.fifth or 7, "") if not minor and base[:1] != "+" else ""
    if base == "6" and 2 in rest:
        base, rest = "6/9", rest - {2}
    add = "" if any(sign in base for sign in "791") else "add"
    added = "".join(add + EXTENSIONS[each] for each in sorted(rest & EXTENSIONS.keys()))
    hung = {5: "sus4", 2: "sus2"}.get(chord.third or 0, "")
    power = "5" if has == {0, 7} else ""
    return base + fifth + added + hung + power


def roman(chord: Chord, key: Key) -> str:
    """The numeral of a chord: the degree of its root in capitals, small where its third is minor, and its sign."""
    degree = degree_name(chord.root_fifths - key.tonic_fifths)
    numeral = ROMAN[degree[-1]]
    return degree[:-1] + (numeral.lower() if is_minor(chord) else numeral) + sign_of(chord)


def number(chord: Chord, key: Key) -> str:
    """The number of a chord as players call it: `1`, `2m7`, `5^7`, `4/6` over a bass."""
    degree, sign = degree_name(chord.root_fifths - key.tonic_fifths), sign_of(chord)
    minor = "m" if is_minor(chord) and sign[:1] not in {"°", "ø"} else ""
    sign = f"^{sign}" if sign[:1].isdigit() and not minor else sign
    bass = (
        ""
        if chord.bass in {None, chord.root}
        else f"/{degree_name((7 * ((chord.bass or 0) - key.tonic) + 5) % 12 - 5)}"
    )
    return degree + minor + sign + bass


def functions(chords: Sequence[SoundingChord]) -> tuple[ChordFunction, ...]:
    """What each chord does before the one that follows it."""
    home = [each for each in chords if each.above_tonic == 0]
    ends = {each.key for each in (*chords[:1], *chords[-1:]) if each in home}
    blues = ends - {each.key for each in home if not is_dominant(each.chord)}
    after = [*chords[1:], None][: len(chords)]
    return tuple(
        _function(here, coming, blues=here.key in blues) for here, coming in zip(chords, after, strict=True)
    )


def _function(here: SoundingChord, coming: SoundingChord | None, *, blues: bool) -> ChordFunction:
    """What a chord does; in the blues I7 and IV7 stand for themselves."""
    chord, key = here.chord, here.key
    plain, told = roman(chord, key), number(chord, key)
    move = (
        (coming.chord.root - chord.root) % 12
        if coming and coming.chord.root is not None and chord.root is not None
        else 0
    )
    goal = roman(coming.chord, key) if coming else ""
    home = coming is not None and coming.above_tonic == 0
    scale = MINOR_SCALE if key.mode == "minor" else frozenset(mode_tones(key.mode))
    of_key = {(here.above_tonic + each) % 12 for each in chord.intervals} <= scale
    at_rest = blues and here.above_tonic in {0, 5}
    to_scale = coming is not None and coming.above_tonic in scale
    dominant = is_dominant(chord) or (4 in chord.intervals and 11 not in chord.intervals and to_scale)
    if dominant and move == FIFTH_DOWN and not home and not of_key and not at_rest:
        return ChordFunction(f"V{sign_of(chord)}/{_of_scale(coming)}", told, Role.SECONDARY, goal)
    if is_dominant(chord) and move == HALF_STEP_DOWN and not at_rest and not (of_key and not home):
        return ChordFunction(f"subV{sign_of(chord)}/{_of_scale(coming)}", told, Role.SUBSTITUTE, goal)
    if is_diminished(chord) and not of_key:
        return ChordFunction(plain, told, Role.LEADING if move == HALF_STEP_UP else Role.PASSING, goal)
    if of_key or at_rest or here.above_tonic == 7:
        return ChordFunction(plain, told, Role.NONE)
    tones = {(here.above_tonic + each) % 12 for each in chord.intervals}
    borrowed = 4 in scale and tones <= MINOR_SCALE
    return ChordFunction(plain, told, Role.BORROWED if borrowed else Role.OUTSIDE)


def _of_scale(goal: SoundingChord | None) -> str:
    """The numeral of the chord that a dominant leads to, without its seventh, as the scale of the key has it."""
    if goal is None:
        return ""
    degree = degree_name(goal.chord.root_fifths - goal.key.tonic_fifths)
    small = degree in SMALL.get(goal.key.mode, ()) if degree in "1234567" else is_minor(goal.chord)
    numeral = ROMAN[degree[-1]]
    return degree[:-1] + (numeral.lower() if small else numeral)
