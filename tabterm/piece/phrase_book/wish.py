"""What is looked for in the phrase book, as conditions of the database that holds it."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.figures import DEGREE_WEIGHT, MOMENTS, PARTS, in_numerals, moves_in
from tabterm.harmony.spelling import DEGREES
from tabterm.piece.phrase_book.entry import LEVELS, LONGEST, changes, steps
from tabterm.score.metre import Metre
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.figures import Figure, Move
    from tabterm.score.model import Score

WITHIN = 2.5  #: semitones; tuned here
"""Phrases that are no further apart are alike, where no other distance is asked for."""

SAME_TIME, SAME_CHORDS, SAME_STEPS = 0, 1, 2
"""How a phrase fits chords: they change where its own do; they are its own; they are its own in another key."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Chords that a phrase is wanted for.

    Attributes:
        moves: They, from a bar line on.
        metre: The metre there; phrases in others do not fit.
    """

    moves: tuple[Move, ...]
    metre: Metre


def setting_at(score: Score, bar: int) -> Setting:
    """The chords from a bar line on.

    Raises:
        ScoreError: There are none.
    """
    index = min(bar, len(score.measures) - 1)
    end = min(Place(index + LONGEST), end_of(score))
    moves = moves_in(score, Span(Place(index), end))
    if not moves or moves[0].at > 0:
        raise ScoreError("this measure has no chord", hint="write the chords, or search by their numerals")
    return Setting(moves, score.metres[index])


@dataclass(frozen=True, slots=True)
class Wish:
    """What a phrase is to be; what is left out may be anything.

    Attributes:
        text: Words of its name, tags, remark, source, chords, contour or rhythm, each in any place.
        tags: Tags that it has.
        chords: Its chords as numerals: `V I`.
        degrees: Degrees that follow each other in its line: `b3 3 5`.
        contour: Words of its contour: `rises`.
        rhythm: Note values that follow each other, or words of the name of its rhythm.
        metre: As in `6/8`.
        level: `easy`, `medium`, `advanced` or `hard`.
        most_percent: What it uses of the player at most, at its tempo.
        like: A phrase that it is like.
        within: How far the two may be apart, in semitones.
        fits: Chords that it fits.
    """

    text: str = ""
    tags: tuple[str, ...] = ()
    chords: str = ""
    degrees: str = ""
    contour: str = ""
    rhythm: str = ""
    metre: str = ""
    level: str = ""
    most_percent: float | None = None
    like: Figure | None = None
    within: float = WITHIN
    fits: Setting | None = None

    def conditions(self) -> Iterator[tuple[str, list[object]]]:
        """Conditions of the database, each with what stands for its question marks.

        Raises:
            ScoreError: What is looked for cannot be in a phrase.
        """
        for word in self.text.casefold().split():
            yield "instr(words, ?)", [word]
        for tag in self.tags:
            yield "instr(tags, ?)", [f" {tag.lstrip('#').casefold()} "]
        if self.chords:
            yield "chords = ?", [in_numerals(self.chords)]
        if self.degrees:
            yield "instr(' ' || degrees || ' ', ?)", [f" {_degrees(self.degrees)} "]
        if self.contour:
            yield "instr(contour, ?)", [self.contour.casefold()]
        if self.rhythm:
            yield (
                "(instr(' ' || rhythm || ' ', ?) OR instr(lower(rhythm_name), ?))",
                [f" {' '.join(self.rhythm.split())} ", self.rhythm.casefold()],
            )
        if self.metre:
            yield "metre = ?", [str(Metre.parse(self.metre))]
        if self.fits is not None:
            yield "metre = ?", [str(self.fits.metre)]
        if self.level:
            yield "percent > ? AND percent <= ?", [*_bounds(self.level)]
        if self.most_percent is not None:
            yield "percent <= ?", [self.most_percent]

    def distance(self) -> tuple[str, list[object]]:
        """How far a phrase is from the one that it is to be like, as `figures.apart` says it; NULL without one."""
        if self.like is None:
            return "NULL", []
        curve = " + ".join(f"abs(c{number} - ?)" for number in range(MOMENTS))
        shares = " + ".join(f"abs(d{number} - ?)" for number in range(12))
        values = [*self.like.curve, *self.like.shares]
        return f"(({curve}) / {float(PARTS * MOMENTS)} + {DEGREE_WEIGHT} * ({shares}) / 200.0)", [*values]

    def fitting(self, lengths: Sequence[str]) -> tuple[str, list[object]]:
        """How a phrase fits the chords, NULL where it does not; `lengths` are those of the phrases in the book."""
        if self.fits is None:
            return "NULL", []
        cases, values = list[str](), list[object]()
        for length in lengths:
            moves = [move for move in self.fits.moves if move.at < Fraction(length)]
            told = changes(moves), " ".join(move.numeral for move in moves), steps(moves)
            for rank, (column, value) in enumerate(zip(("changes", "chords", "steps"), told, strict=True)):
                cases.append(f"WHEN length = ? AND {column} = ? THEN {rank}")
                values += [length, value]
        return (f"CASE {' '.join(cases)} END" if cases else "NULL"), values


def _degrees(text: str) -> str:
    words = ["b5" if word == "#4" else word for word in text.split()]
    wrong = next((word for word in words if word not in DEGREES), None)
    if wrong is not None:
        raise ScoreError(f"not a degree: '{wrong:.20}'", hint="write degrees as in 5 6 1 b3 3")
    return " ".join(words)


def _bounds(level: str) -> tuple[float, float]:
    names = [*LEVELS]
    if level not in names:
        raise ScoreError(f"no level '{level:.20}'", hint=f"one of: {', '.join(names)}")
    before = names.index(level) - 1
    return (LEVELS[names[before]] if before >= 0 else -1.0), LEVELS[level]


_METRE = re.compile(r"\d{1,2}/\d{1,2}$")
_DEGREES = re.compile(r"[b#]?[1-7](?:,[b#]?[1-7])+$")


def wish_of(line: str) -> Wish:
    """What is looked for, as it is typed in one line: `#swing ii-V-I 4/4 easy 1,b3,3 umbrella`.

    Tags begin with #, numerals of chords and degrees are joined by - and commas; a level and a metre are told by
    themselves, and all other words may stand anywhere in what is said of the phrase.
    """
    tags, words, told = list[str](), list[str](), dict[str, str]()
    for word in line.split():
        if word.startswith("#") and len(word) > 1:
            tags.append(word)
        elif word in LEVELS:
            told["level"] = word
        elif _METRE.match(word):
            told["metre"] = word
        elif _DEGREES.match(word):
            told["degrees"] = word.replace(",", " ")
        elif "-" in word.strip("-") and _are_numerals(word):
            told["chords"] = word
        else:
            words.append(word)
    return replace(Wish(text=" ".join(words), tags=tuple(tags)), **told)  # type: ignore[arg-type]  # names of texts


def _are_numerals(word: str) -> bool:
    try:
        return bool(in_numerals(word))
    except ScoreError:
        return False
