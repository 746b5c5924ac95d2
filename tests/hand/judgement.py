"""How far the fingers agree with what a teacher gives: `python -m tests.hand.judgement` prints the table.

Each line is a set of phrases with the fingers wanted (`tests.hand.taught`), or of what others have printed:

* "phrases fingered for a student": written down before a rule was coded (common practice, no source);
* "closed four-finger shapes": the major scale from each of the four fingers, at 9 frets and on 3 pairs of courses,
  one finger a step (music.zanshin.net 2019 and tbanjo.com 2015; the shapes from fingers 2 to 4 from memory);
* "one-course scales": major scales in 12 keys along a course up to fret 12, up and down, at 80 to 160. Right are
  those in which no three notes in a row are one finger's, with at most one shift for four notes;
* "first position": scales, arpeggios and the chromatic scale by the table of D. Grisman, "Position Studies"
  (mandozine.com): finger 1 has frets 1 and 2, finger 2 frets 3 and 4, finger 3 frets 5 and 6, finger 4 frets 7, 8;
* "patterns in a closed position": scales, thirds, sixths, arpeggios and sevenths in 12 keys, one finger a step;
* "long necks": scales and broken thirds of three instruments in the keys of their open courses, one finger a fret
  (as the exercises of the tenor banjo and the octave mandolin have it);
* "usual chords": `tests.hand.chord_shapes`;
* "walks": by a player who stays in a closed position, without and with some of the notes set as he has them;
* "exercises" and "fiddle collection": see `tests.hand.test_exercises` and `tests.hand.fiddle`.

Patterns and exercises are split into halves by their names (`tests.hand.halves`): weights were changed with the
tuning half in view. `python -m tests.hand.judgement second=0.4 shift=2` prints what is made by rule with other
weights, in points.
"""

from __future__ import annotations

import sys
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import with_hands
from tabterm.hand.terms import TERMS, Weights
from tabterm.instrument import PRESETS
from tabterm.score.operations import set_finger
from tabterm.score.place import Place
from tests.build import PLAYER, music
from tests.hand import taught
from tests.hand.chord_shapes import SHAPES
from tests.hand.halves import HALVES, half_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.score.model import Score
    from tests.hand.taught import Case


def answers(score: Score, player=PLAYER) -> list[int]:
    """The finger of every note, set or proposed, 0 for an open course."""
    solved = with_hands(score, player)
    return [n.finger_shown or 0 for m in solved.measures for event in m.events for n in event.notes]


def crawls(score: Score, player=PLAYER) -> bool:
    """Whether three notes in a row are one finger's, or the hand shifts oftener than once in four notes."""
    holds = [hold for solved in fingering(score, player).phrases for hold in solved.holds]
    fingers = [hold.grip.notes[0].finger for hold in holds]
    rows = any(
        one == two == three != 0 for one, two, three in zip(fingers, fingers[1:], fingers[2:], strict=False)
    )
    shifts = sum(one.frame != other.frame for one, other in pairwise(holds))
    return rows or shifts > len(holds) // 4


def agreement(cases: Iterable[Case], player=PLAYER) -> tuple[int, int, int, int]:
    """Notes that agree and all of them, phrases that agree wholly and all of them."""
    notes = total = phrases_right = count = 0
    for each in cases:
        right = [finger in wanted for finger, wanted in zip(answers(each.score, player), each.wanted, strict=True)]
        notes, total = notes + sum(right), total + len(right)
        phrases_right, count = phrases_right + all(right), count + 1
    return notes, total, phrases_right, count


def with_set(each: Case, part: int) -> tuple[Score, list[int]]:
    """A phrase with every so-many-th note set as wanted, from the third on, and the numbers of the others."""
    score, others = each.score, []
    for number, ((place, course), wanted) in enumerate(zip(_notes(each.score), each.wanted, strict=True)):
        if number % part == 2 % part:
            score = set_finger(score, place, course, min(wanted))
        else:
            others.append(number)
    return score, others


def _notes(score: Score) -> Iterator[tuple[Place, int]]:
    for index, measure in enumerate(score.measures):
        for offset, event in measure.timed():
            for note in event.notes:
                yield Place(index, offset), note.course


def beside_set(cases: Iterable[Case], part: int, player=PLAYER) -> tuple[int, int]:
    """Of the notes beside those that are set, how many agree, and all of them."""
    right = total = 0
    for each in cases:
        score, others = with_set(each, part)
        given = answers(score, player)
        right += sum(given[number] in each.wanted[number] for number in others)
        total += len(others)
    return right, total


def usual_chords(player=PLAYER) -> tuple[int, int, list[str]]:
    """Chords that are fingered in a usual way, all of them, and what the others get."""
    wrong = []
    for shape in SHAPES:
        words = [
            f"{course}.{fret}" for course, fret in zip((4, 3, 2, 1), shape.frets, strict=True) if fret is not None
        ]
        given = answers(music("1 " + " ".join(words[::-1]), instrument=PRESETS[shape.instrument]), player)
        if tuple(given[::-1]) not in shape.fingers:
            wrong.append(f"{shape.instrument} {shape.name}: {given[::-1]}, usual {shape.fingers}")
    return len(SHAPES) - len(wrong), len(SHAPES), wrong


class Line(NamedTuple):
    """A line of the table: what is counted, how many are right, how many there are, and the goal in percent."""

    what: str
    right: int
    total: int
    goal: float | None = None

    @property
    def percent(self) -> float:
        return 100.0 * self.right / self.total


BEFORE = {
    "phrases fingered for a student": 64.3,
    "closed four-finger shapes": 66.7,
    "one-course scales without a crawl": 9.6,
    "first position, notes": 98.5,
    "patterns in a closed position, notes, tuning half": 90.2,
    "patterns in a closed position, notes, checking half": 91.3,
    "scales on long necks, notes": 97.5,
    "usual chords": 80.9,
    "walks in a position, notes": 75.6,
    "walks, a tenth of the notes set, the others": 87.7,
    "walks, a quarter of the notes set, the others": 92.8,
    "walks, half of the notes set, the others": 94.6,
    "exercises, fingers, tuning half": 95.4,
    "exercises, fingers, checking half": 92.9,
    "fiddle collection, courses free": 32.7,
    "fiddle collection, 4 for an open course": 96.5,
    "fiddle collection, course shown": 52.5,
    "fiddle collection, course shown by the room": 62.0,
}
"""Percent by line, measured here by this command before the terms `second`, `away` and `by-itself` came in."""


def table(player=PLAYER) -> Iterator[Line]:
    """The lines that need no other package."""
    _, _, right, total = agreement(taught.phrases(), player)
    yield Line("phrases fingered for a student", right, total)
    _, _, right, total = agreement(taught.closed_shapes(), player)
    yield Line("closed four-finger shapes", right, total, 100)
    scales = [score for _, score in taught.one_course_scales(courses=(1, 4))]
    yield Line(
        "one-course scales without a crawl", sum(not crawls(each, player) for each in scales), len(scales), 100
    )
    yield Line("first position, notes", *agreement(taught.first_position(), player)[:2], 98)
    for half in HALVES:
        cases = [each for each in taught.closed_patterns() if half_of(each.name) == half]
        yield Line(f"patterns in a closed position, notes, {half} half", *agreement(cases, player)[:2])
    yield Line("scales on long necks, notes", *agreement(taught.long_necks(), player)[:2])
    yield Line("usual chords", *usual_chords(player)[:2], 95)
    cases = list(taught.positions())
    yield Line("walks in a position, notes", *agreement(cases, player)[:2])
    for part, words in ((10, "a tenth"), (4, "a quarter"), (2, "half")):
        yield Line(f"walks, {words} of the notes set, the others", *beside_set(cases, part, player))


def printed() -> Iterator[Line]:
    """The lines of the exercises and the fiddle collection, which music21 ships."""
    from tests.hand import fiddle, test_exercises

    found = {path.stem: test_exercises.compare(path) for path in test_exercises.FILES}
    for half in HALVES:
        yield Line(f"exercises, fingers, {half} half", *test_exercises.agreement(found, "finger", half), 94)
    kinds, _ = fiddle.compare(readings=("free", "told", "placed"))
    headings = {
        "free": ("courses free", None),
        "told, set 4": ("4 for an open course", 97),
        "told": ("course shown", None),
        "placed": ("course shown by the room", 75),
    }
    for heading, (words, goal) in headings.items():
        yield Line(f"fiddle collection, {words}", kinds[heading]["the same"], kinds[heading].total(), goal)


def row(line: Line) -> str:
    """A line as a row of the page."""
    goal = "" if line.goal is None else f"{line.goal:g}"
    return (
        f"| {line.what} | {BEFORE[line.what]:.1f} | {line.percent:.1f} | {line.right} of {line.total} | {goal} |"
    )


if __name__ == "__main__":
    given = {name: float(points) for name, points in (word.split("=") for word in sys.argv[1:])}
    weighing = PLAYER.with_(weights=Weights.of({name: given[name] / TERMS[name].weight for name in given}))
    print("| | before, % | now, % | now | goal, % |", "|---|---|---|---|---|", sep="\n")
    print(*map(row, table(weighing)), sep="\n")
    if not given:
        print(*map(row, printed()), sep="\n")
