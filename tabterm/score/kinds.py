"""The kinds of things that a score knows: strokes, slurs, bends, directions, bar lines, schools of picking."""

from __future__ import annotations

from enum import StrEnum


class Stroke(StrEnum):
    """A pick stroke. NONE is the player's own decision that a note takes none."""

    DOWN = "down"
    UP = "up"
    NONE = "none"


class Reached(StrEnum):
    """How a note is reached: by the pick, or by the left hand from the note before on its course."""

    STRUCK = "struck"
    HAMMER = "hammer"
    PULL = "pull"
    SLIDE = "slide"


class BendShape(StrEnum):
    """Course of a bend: up; up and back; or struck bent and let down."""

    RISE = "rise"
    RISE_AND_FALL = "rise-and-fall"
    FALL = "fall"


class Direction(StrEnum):
    """Up the neck (higher) or down the neck; of a roll, towards the higher or the lower courses."""

    UP = "up"
    DOWN = "down"


class Barline(StrEnum):
    """The line at a measure's end; repeats are separate fields."""

    SINGLE = "single"
    DOUBLE = "double"
    FINAL = "final"


class Break(StrEnum):
    """What begins with a measure on a printed sheet: a system, or a page."""

    SYSTEM = "system"
    PAGE = "page"


class ChordNames(StrEnum):
    """How the roots of chord symbols are named: in German, H is B natural, and B is B flat."""

    ENGLISH = "english"
    GERMAN = "german"


class StrokeSchool(StrEnum):
    """How strokes are proposed; `tabterm.hand.schools` says what each does."""

    BEAT = "beat"
    ALTERNATE = "alternate"
    COURSE_CHANGE = "course-change"
    GLIDE = "glide"
    ROLL_DOWN_UP_UP = "roll-down-up-up"
    ROLL_DOWN_DOWN_UP = "roll-down-down-up"
    ROLL_ALTERNATE = "roll-alternate"
    TREMOLO = "tremolo"
