"""A phrase without its key: its notes above the tonic, its rhythm, its moves of chords, and how far two are apart.

`Figure.identity` is the same for a phrase in every key, octave and place on the neck. `apart` says how far two are
apart; the measure is tuned here:

* contour: both lines at `MOMENTS` moments, each from the line's own mean; the mean difference in semitones;
* degrees: what part of the time the two spend on other degrees of the key, from 0 (none) to 1 (all of it);
* the distance is the first plus `DEGREE_WEIGHT` times the second.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cached_property
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.melody import sounds
from tabterm.harmony.patterns import letter_of
from tabterm.harmony.phrases import contour
from tabterm.harmony.progression import sounding_chords
from tabterm.harmony.spelling import DEGREES
from tabterm.score.duration import NOTE_VALUES, TRIPLET, Duration
from tabterm.score.place import Place, Span
from tabterm.score.query import distance as distance_in
from tabterm.score.query import move_by

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Score

MOMENTS = 16  #: moments; tuned here
"""Two measures of eighths: the moments at which lines are compared."""

PARTS = 4  #: parts of a semitone; implementation limit
"""A curve is kept in quarters of a semitone."""

DEGREE_WEIGHT = 4.0  #: semitones; tuned here
"""What other degrees all the time count: a quarter of the time counts as one semitone."""

NUMERALS = ("I", "bII", "II", "bIII", "III", "IV", "bV", "V", "bVI", "VI", "bVII", "VII")
_SIGNS = {"M": "", "D": "", "m": "", "h": "ø", "o": "°"}
_NUMERAL = re.compile(r"([b#]?)(I{1,3}|IV|VI{0,2}|i{1,3}|iv|vi{0,2})(ø|°|m|-)?(?:maj|M)?\d*$")
_WORD = {
    **{
        str(Duration(value, dots).length): str(Duration(value, dots))
        for value in NOTE_VALUES[:-1]
        for dots in (0, 1)
    }
}
_WORD |= {str(Duration(value, 0, TRIPLET).length): f"{value}t" for value in NOTE_VALUES[1:-1]}


class Tone(NamedTuple):
    """A note of a figure.

    Attributes:
        at: Quarters from the first note.
        length: Quarters that it sounds.
        above: Semitones above the tonic under the first note, or the first note's own.
    """

    at: Fraction
    length: Fraction
    above: int


class Move(NamedTuple):
    """A chord of a figure: quarters from its first bar line, semitones of its root above the tonic, a letter.

    The letters are those of `patterns.letter_of`; a dominant seventh counts as the major chord that it is.
    """

    at: Fraction
    root: int
    letter: str

    @property
    def numeral(self) -> str:
        """`I`, `ii`, `bVII`, `viiø`."""
        name = NUMERALS[self.root]
        return (name if self.letter in "MD" else name.lower()) + _SIGNS[self.letter]


@dataclass(frozen=True)
class Figure:
    """What a phrase is in any key.

    Attributes:
        tones: Its notes by time, the highest of several last.
        moves: The chords that it is played over; equal neighbours are one.
    """

    tones: tuple[Tone, ...]
    moves: tuple[Move, ...]

    @property
    def identity(self) -> tuple[Tone, ...]:
        """Degrees and rhythm: what two phrases share that are the same in another key, octave or place."""
        return self.tones

    @cached_property
    def line(self) -> tuple[Tone, ...]:
        """The highest notes, one after the other."""
        return tuple([*same][-1] for _, same in groupby(self.tones, key=lambda tone: tone.at))

    @property
    def degrees(self) -> str:
        """The degrees of the line: `5 6 1 3`."""
        return " ".join(DEGREES[tone.above % 12] for tone in self.line)

    @property
    def contour(self) -> str:
        """How the line goes, in words."""
        return contour([tone.above for tone in self.line])

    @property
    def rhythm(self) -> str:
        """Note values of the line, a rest behind a sign: `8 8 4 -4 2`; in quarters where none has that length."""
        words = []
        for tone, following in pairwise(self.line):
            gap = following.at - tone.at
            words.append(_value(min(tone.length, gap)))
            if gap > tone.length:
                words.append(f"-{_value(gap - tone.length)}")
        words.append(_value(self.line[-1].length))
        return " ".join(words)

    @property
    def chords(self) -> str:
        """The numerals of its chords: `ii V I`."""
        return numerals(self.moves)

    @cached_property
    def curve(self) -> tuple[int, ...]:
        """The line at `MOMENTS` moments from its own mean, in `PARTS` of a semitone; it goes on through rests."""
        end = self.line[-1].at + self.line[-1].length
        heights, number = list[int](), 0
        for moment in range(MOMENTS):
            at = end * (2 * moment + 1) / (2 * MOMENTS)
            while number + 1 < len(self.line) and self.line[number + 1].at <= at:
                number += 1
            heights.append(self.line[number].above)
        mean = sum(heights) / MOMENTS
        return tuple(round(PARTS * (height - mean)) for height in heights)

    @cached_property
    def shares(self) -> tuple[int, ...]:
        """What part of the time each of the twelve degrees has, in hundredths."""
        whole = sum(tone.length for tone in self.tones)
        of = [Fraction(0)] * 12
        for tone in self.tones:
            of[tone.above % 12] += tone.length
        return tuple(round(100 * each / whole) for each in of)


def figure_of(score: Score, span: Span) -> Figure | None:
    """The figure of a span; None where it is silent."""
    heard = sorted(sounds(score, span), key=lambda note: (note.at, note.pitch))
    if not heard:
        return None
    first = heard[0]
    base = first.pitch - (first.pitch - score.keys[first.place.measure].tonic) % 12
    tones = tuple(Tone(note.at - first.at, note.length, note.pitch - base) for note in heard)
    return Figure(tones, moves_in(score, Span(bar_of(score, span), span.end)))


def bar_of(score: Score, span: Span) -> Place:
    """The first bar line of a span: behind its pickup where it begins with one."""
    index = span.start.measure
    leads_in = span.start.offset > 0 or (score.measures[index].short and index == 0)
    return Place(index + (leads_in and Place(index + 1) < span.end))


def moves_in(score: Score, span: Span) -> tuple[Move, ...]:
    """The chords that sound in a span, the one that it begins in among them."""
    found: list[Move] = []
    for each in sounding_chords(score):
        if each.place < span.end and move_by(score, each.place, each.length) > span.start:
            at = distance_in(score, span.start, each.place) if each.place > span.start else Fraction(0)
            letter = letter_of(each)
            move = Move(at, each.above_tonic, "M" if letter == "D" else letter)
            if not found or found[-1][1:] != move[1:]:
                found.append(move)
    return tuple(found)


def numerals(moves: Iterable[Move]) -> str:
    """Chords in numerals: `ii V I`."""
    return " ".join(each.numeral for each in moves)


def in_numerals(text: str) -> str:
    """Chords as a player writes them, as `numerals` does: `iim7 V7 I` is `ii V I`, `#IV°` is `bV°`.

    Raises:
        ScoreError: A word is not a numeral.
    """
    words = []
    for word in text.replace("-", " ").split():
        match = _NUMERAL.match(word)
        if match is None:
            raise ScoreError(f"not a chord in numerals: '{word:.20}'", hint="write V I, ii V I, i bVII ...")
        sign, name, kind = match.groups()
        root = (NUMERALS.index(name.upper()) + {"b": -1, "#": 1}.get(sign, 0)) % 12
        minor = name.islower() or kind == "m"
        words.append(
            (NUMERALS[root].lower().replace("B", "b") if minor else NUMERALS[root]) + (kind or "").strip("m")
        )
    return " ".join(words)


def apart(one: Figure, other: Figure) -> float:
    """How far two phrases are apart, in semitones: 0 for one in two keys; see the head of the module."""
    curve = sum(abs(a - b) for a, b in zip(one.curve, other.curve, strict=True)) / (PARTS * MOMENTS)
    degrees = sum(abs(a - b) for a, b in zip(one.shares, other.shares, strict=True)) / 200
    return curve + DEGREE_WEIGHT * degrees


def _value(length: Fraction) -> str:
    """A length as a note value; in quarters where no note has it: `5/2q`."""
    return _WORD.get(str(length), f"{length}q")
