"""Tabs as people write them, made by a seed: a tune, and the habits of one who writes it down.

All the habits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from random import Random

PATTERNS = {
    "4/4": ("4 4 4 4", "8 8 8 8 8 8 8 8", "4 4 2", "2 4 4", "4 8 8 4 4", "8 8 4 8 8 4", "4. 8 4 4", "4 8 8 2",
            "8 8 8 8 4 4", "2 2", "4 4 8 8 4", "4 8 8 4 8 8", "8 4 8 4 4", "1"),
    "3/4": ("4 4 4", "2 4", "8 8 8 8 8 8", "4 8 8 4", "4. 8 4", "8 8 4 4", "4 4 8 8", "2."),
    "6/8": ("8 8 8 8 8 8", "4 8 4 8", "4. 8 8 8", "8 8 8 4 8", "4 8 8 8 8", "4. 4."),
    "2/2": ("4 4 4 4", "8 8 8 8 8 8 8 8", "4 8 8 4 4", "2 4 4", "4. 8 4 4"),
}  # fmt: skip
"""Rhythms of a measure by metre."""

EVEN = {
    "4/4": ("4 4 4 4", "8 8 8 8 8 8 8 8", "8t 8t 8t 8t 8t 8t 8t 8t 8t 8t 8t 8t", " ".join(["16"] * 16), "2 2"),
    "3/4": ("4 4 4", "8 8 8 8 8 8", " ".join(["16"] * 12)),
    "6/8": ("8 8 8 8 8 8", "4. 4."),
    "2/2": ("4 4 4 4", "8 8 8 8 8 8 8 8"),
}
"""Measures of one note value."""

LENGTHS = {"1": 4, "2.": 3, "2": 2, "4.": Fraction(3, 2), "4": 1, "8": Fraction(1, 2), "16": Fraction(1, 4)} | {
    "8t": Fraction(1, 3)
}
LETTERS = {"1": "w", "2.": "h.", "2": "h", "4.": "q.", "4": "q", "8": "e", "16": "s"}
COUNTS = {"4/4": "1 e & a", "3/4": "1 e & a", "2/2": "1 e & a", "6/8": "1"}
STEPS = {"4/4": Fraction(1, 4), "3/4": Fraction(1, 4), "2/2": Fraction(1, 2), "6/8": Fraction(1, 2)}
"""Quarters of a word of the count."""

DASHES, BARS = "-----\u2013\u2014\u2212\u2500\u2501", "|||||\u2502\u2503\u00a6"


@dataclass(slots=True)
class Struck:
    """Notes struck together: their value, and fret and marks by course."""

    value: str
    frets: dict[int, int]
    before: str = ""
    behind: str = ""


@dataclass(slots=True)
class Habits:
    """How one writes.

    Attributes:
        given: What says the rhythm: `spacing`, `even`, `letters`, `figures` or `count`.
        apart: Columns of the shortest value.
        realigned: A sign or second digit takes a dash, so that what follows stays where it was.
        proportional: The last note has the room of its value.
    """

    given: str
    apart: int
    before: int
    after: int
    realigned: bool
    proportional: bool
    dash: str
    bar: str
    names: str
    label: str
    indent: str
    ragged: bool
    in_system: int


@dataclass(slots=True)
class Written:
    """A text and what it must give: (course, fret) and lengths of the notes by measure."""

    text: str
    habits: Habits
    pitches: list[list[set[tuple[int, int]]]] = field(default_factory=list)
    lengths: list[list[Fraction]] = field(default_factory=list)


def habits_by(random: Random, given: str) -> Habits:
    """The habits of somebody."""
    return Habits(
        given=given,
        apart=random.choice((2, 3, 4)) if given not in {"figures", "letters"} else random.choice((3, 4)),
        before=random.choice((0, 1, 1, 2)),
        after=random.randrange(5),
        realigned=random.random() < 0.5,
        proportional=random.random() < 0.7,
        dash=random.choice(DASHES),
        bar=random.choice(BARS),
        names=random.choice(("EADG", "eadg", "    ")),
        label=random.choice(("", {"letters": "rhythm", "figures": "rhythm", "count": "count"}.get(given, ""))),
        indent=random.choice(("", "", "  ", "\t")),
        ragged=random.random() < 0.2,
        in_system=random.choice((2, 3, 4)),
    )


def tune_by(
    random: Random, metre: str, patterns: tuple[str, ...], *, pickup: bool, marks: bool
) -> list[list[Struck]]:
    """Four to eight measures, the first a pickup of two eighths where asked for."""
    rhythms = [random.choice(patterns).split() for _ in range(random.randint(4, 8))]
    if pickup:
        rhythms.insert(0, ["8", "8"] if metre != "6/8" else ["8"])
    return [[_struck(random, value, marks=marks) for value in values] for values in rhythms]


def _struck(random: Random, value: str, *, marks: bool) -> Struck:
    course = random.randrange(4)
    high = random.random() < 0.15 and marks
    frets = {course: random.randint(10, 15) if high else random.randint(0, 7)}
    if random.random() < 0.12:
        frets[(course + 1) % 4] = random.randint(10, 12) if high else random.randint(0, 7)
    before = random.choice("hp/") if marks and len(frets) == 1 and random.random() < 0.12 else ""
    behind = random.choice("~'>") if marks and random.random() < 0.05 else ""
    return Struck(value, frets, before, behind)


def write(measures: list[list[Struck]], metre: str, habits: Habits, *, declared: bool) -> Written:
    """The tune as one with such habits writes it."""
    written = Written("", habits)
    lines = ["Some Tune", *([f"time: {metre}"] if declared else []), ""]
    step = min(LENGTHS[each.value] for measure in measures for each in measure)
    step = STEPS[metre] if habits.given == "count" else step
    for start in range(0, len(measures), habits.in_system):
        blocks = [_block(each, metre, habits, step) for each in measures[start : start + habits.in_system]]
        lines += [*_system(blocks, habits), ""]
    for measure in measures:
        written.pitches.append([{(course + 1, fret) for course, fret in each.frets.items()} for each in measure])
        written.lengths.append([Fraction(LENGTHS[each.value]) for each in measure])
    written.text = "\n".join(lines)
    return written


def _block(measure: list[Struck], metre: str, habits: Habits, step: Fraction) -> list[str]:
    """The row above a measure and its four lines, without bar lines."""
    row, courses = " " * habits.before, ["-" * habits.before] * 4
    at = Fraction(0)
    for number, each in enumerate(measure):
        last = number == len(measure) - 1
        steps = LENGTHS[each.value] / step
        room = int(steps * habits.apart) if not last or habits.proportional or habits.given == "count" else 1
        tokens = {course: f"{each.before}{fret}{each.behind}" for course, fret in each.frets.items()}
        width = max(map(len, tokens.values()))
        room = max(room if habits.realigned else room + width - 1, width + (not last or habits.given == "count"))
        room = max(room, len(each.value) + 1) if habits.given in {"letters", "figures"} else room
        courses = [line + tokens.get(course, "").ljust(room, "-") for course, line in enumerate(courses)]
        row += _above(each, at, metre, habits, step).ljust(room)[:room] if habits.given == "count" else ""
        if habits.given in {"letters", "figures"}:
            row += (LETTERS[each.value] if habits.given == "letters" else each.value).ljust(room)
        at += LENGTHS[each.value]
    courses = [line + "-" * habits.after for line in courses]
    return [row.ljust(len(courses[0])), *courses]


def _above(each: Struck, at: Fraction, metre: str, habits: Habits, step: Fraction) -> str:
    """The count over a note and up to the next one."""
    words = COUNTS[metre].split()
    text = ""
    for number in range(int(LENGTHS[each.value] / step)):
        beat, part = divmod(int(at / step) + number, len(words))
        text += (str(beat + 1) if part == 0 else words[part]).ljust(habits.apart)
    return text


def _system(blocks: list[list[str]], habits: Habits) -> list[str]:
    row, *courses = [(" " if line == 0 else "|").join(block[line] for block in blocks) for line in range(5)]
    if habits.ragged:
        courses = [
            "|".join(part + "-" * (line % 2) for part in text.split("|")) for line, text in enumerate(courses)
        ]
    label = habits.label if habits.given in {"letters", "figures", "count"} else ""
    margin = max(len(label) + 3, 1) if label else 1
    lines = [
        f"{name.strip().rjust(margin)}|{text}|".replace("-", habits.dash).replace("|", habits.bar)
        for name, text in zip(habits.names, courses, strict=True)
    ]
    above = [f"{label.ljust(margin)} {row}".rstrip()] if habits.given in {"letters", "figures", "count"} else []
    return [habits.indent * (not label) + line for line in [*above, *lines]]
