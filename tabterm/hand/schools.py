"""The schools of picking, as data: each a rule for the directions of strokes, with its source."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.operations import set_school, set_school_of

if TYPE_CHECKING:
    from tabterm.score.model import Score

D, U = Stroke.DOWN, Stroke.UP


@dataclass(frozen=True, slots=True)
class School:
    """A school of picking.

    Attributes:
        title: Its name in words.
        words: What it does, in a sentence.
        source: Who teaches it.
        restarts: Every beat begins with a down-stroke; otherwise what a measure strikes goes down and up in turn.
        halves_down: Half beats come down too, where the hand is back in time; what is quicker alternates.
        accents_down: Accented notes come down.
        course_change_down: The first note on another course comes down.
        glides: Notes on successive courses are taken in one continued stroke.
        pattern: Strokes of a roll over three courses, three for each cell, or two in turn; () where there is none.
        tremolo_from: Notes of at least so many quarters are a tremolo, or None.
        looks_for: What it needs to do anything, in words; "" where it always applies.
    """

    title: str
    words: str
    source: str
    restarts: bool = True
    halves_down: bool = False
    accents_down: bool = False
    course_change_down: bool = False
    glides: bool = False
    pattern: tuple[Stroke, ...] = ()
    tremolo_from: Fraction | None = None
    looks_for: str = ""


GATHERER = 'N. Gatherer, "Pick direction", nigelgatherer.com'
BICKFORD = "Z. M. Bickford, Method for the Mandolin, 1920"
ROLLS = 'one of three patterns, 3+3+2 over eight eighths, in the English Wikipedia, article "Crosspicking"; '
ROLLS += "other values and metres: common practice, no source"
ROLLED = "six or more equal single notes over three courses, starting on a beat"

#: quarters; Z. M. Bickford, Method for the Mandolin, 1920, p. 42: half notes and longer
SCHOOLS: dict[StrokeSchool, School] = {
    StrokeSchool.BEAT: School(
        "by the beat",
        "Down on the beat and up between, whether or not the hand strikes; jigs go down up down.",
        f"{GATHERER} 1, 5 and 9",
    ),
    StrokeSchool.ALTERNATE: School(
        "strict alternation",
        "The struck notes of a measure go down and up in turn, long or short; jigs go down up down up down up.",
        f"{GATHERER} 9, the other way; other lengths, and rests that change nothing: common practice, no source",
        restarts=False,
    ),
    StrokeSchool.COURSE_CHANGE: School(
        "down on a new course",
        "Down on beats, half beats, accents and the first note of another course; quicker notes alternate.",
        f"{BICKFORD}, p. 44, three rules",
        halves_down=True,
        accents_down=True,
        course_change_down=True,
    ),
    StrokeSchool.GLIDE: School(
        "glide strokes",
        "Three or more notes on successive courses share one long stroke; other notes go by the beat.",
        f"{BICKFORD}, p. 32; three notes at least, and up-strokes too: common practice, no source",
        glides=True,
        looks_for="three notes on successive courses",
    ),
    StrokeSchool.ROLL_DOWN_UP_UP: School(
        "roll: down up up",
        "Equal notes over three courses go down up up, a last pair down up; other notes go by the beat.",
        ROLLS,
        pattern=(D, U, U),
        looks_for=ROLLED,
    ),
    StrokeSchool.ROLL_DOWN_DOWN_UP: School(
        "roll: down down up",
        "Equal notes over three courses go down down up, a last pair down up; other notes go by the beat.",
        ROLLS,
        pattern=(D, D, U),
        looks_for=ROLLED,
    ),
    StrokeSchool.ROLL_ALTERNATE: School(
        "roll: alternate",
        "Equal notes over three courses alternate strictly; other notes go by the beat.",
        ROLLS,
        pattern=(D, U),
        looks_for=ROLLED,
    ),
    StrokeSchool.TREMOLO: School(
        "tremolo on long notes",
        "Half notes and longer (with ties) are a tremolo; other notes go by the beat.",
        f"{BICKFORD}, p. 42",
        tremolo_from=Fraction(2),
        looks_for="half notes or longer",
    ),
}
"""Every school."""


def school_named(word: str) -> StrokeSchool:
    """The school of a name; raises ScoreError where there is none, with the names that there are."""
    name = word.strip()
    if name not in set(StrokeSchool):
        raise ScoreError(f"no picking school '{name}'", hint=f"one of: {', '.join(StrokeSchool)}")
    return StrokeSchool(name)


def by_school(score: Score, school: StrokeSchool) -> Score:
    """The score by one school from beginning to end, whatever its measures had chosen."""
    return set_school_of(set_school(score, school), 0, len(score.measures) - 1, school)
