"""Players with stated habits, simulated: whether what is learnt of them helps with pieces that were held back.

A simulated player plays the easiest way of the search with one stated rule beside it, in points (`RULES`). Pieces
are made of runs of tunes of Ryan's Mammoth Collection (Boston 1883, music21's corpus), moved up by so many
semitones that many lie above first position or in keys with few open courses. The player corrects the first wrong
note of each phrase until nothing is wrong, the program learns from that, and then proposes fingers and courses for
all pieces held back. The agreement is the percentage of their notes with the player's own finger and course.

`python -m tests.hand.habits` prints it for each habit, before the first piece and after each.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from tabterm.hand.fingering import Hold, fingering
from tabterm.hand.learning import study, taught
from tabterm.hand.proposals import with_fingers
from tabterm.hand.search import Search
from tabterm.score.metre import Metre
from tabterm.score.operations import map_events
from tabterm.score.place import Span
from tests.build import PLAYER
from tests.hand.fiddle import Printed, Tune, score_of, tunes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tabterm.hand.fingering import Solved
    from tabterm.hand.player import Player
    from tabterm.hand.stops import Grip, Stop
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.place import Place

TAUGHT, HELD_BACK = 8, 12
RUNS, NOTES, REST = 6, 24, Fraction(2)
"""A piece: so many runs of so many notes, with a rest after each that makes it a phrase."""

EVERY = 3
"""Each so-many-th tune with printed fingers gives a run."""

UP = (0, 3, 5, 8, 10, 1, 6)
HIGHEST = 76 + 17


@dataclass(frozen=True)
class Rule:
    """A stated habit, as points beside the terms of effort: for a note, and for a change from grip to grip."""

    words: str
    note: Callable[[Stop, int], float] = lambda _stop, _frame: 0.0
    change: Callable[[Grip, int, Grip, int], float] | None = None


def _slid(before: Grip, grip: Grip) -> bool:
    return any(
        old.finger == new.finger > 0 and old.course == new.course and old.fret != new.fret
        for old in before.notes
        for new in grip.notes
    )


RULES = (
    Rule("spares the little finger", lambda stop, _: 1.5 * (stop.finger == 4)),
    Rule("prefers open courses", lambda stop, _: -2.5 * (stop.finger == 0)),
    Rule("stays in position", change=lambda _, one, __, other: 2.0 * (one != other)),
    Rule("prefers closed positions: no open courses", lambda stop, _: 2.0 * (stop.finger == 0)),
    Rule("likes high positions", lambda _, frame: -0.06 * min(max(frame - 2, 0), 7)),
    Rule("prefers one clear shift", change=lambda _, one, __, other: 3.0 * (0 < abs(other - one) < 3)),
    Rule(
        "ring finger for the little up to the fifth",
        lambda stop, at: 2.0 * (stop.finger == 4 and stop.fret - at < 6),
    ),
    Rule("prefers to slide a finger", change=lambda one, _, other, __: -1.0 * _slid(one, other)),
    Rule(
        "keeps one finger a fret", lambda stop, at: 1.0 * (stop.finger > 0 and stop.fret - at != stop.finger - 1)
    ),
    Rule("little finger for an open course", lambda stop, _: 1.0 * (stop.finger == 0) - 0.7 * (stop.finger == 4)),
)


@cache
def pieces(count: int) -> tuple[Score, ...]:
    """So many pieces."""
    found = list(islice(tunes(EVERY), count * RUNS))
    runs = [_run(tune, UP[number % len(UP)]) for number, tune in enumerate(found)]
    return tuple(_piece(runs[first : first + RUNS]) for first in range(0, len(runs), RUNS))


def _run(tune: Tune, up: int) -> tuple[Printed, ...]:
    notes = [note for note in tune.notes if note.pitch is not None][:NOTES]
    up = min(up, HIGHEST - max(note.pitch for note in notes))
    moved = (Printed(note.pitch + up, min(note.length, Fraction(1))) for note in notes)
    return (*moved, Printed(None, REST))


def _piece(runs: Iterable[tuple[Printed, ...]]) -> Score:
    notes = tuple(note for run in runs for note in run)
    return score_of(Tune("", Metre.parse("4/4"), Fraction(0), notes))


def own_way(rule: Rule, score: Score) -> list[Hold]:
    """What the simulated player does at each onset."""
    return [
        hold for solved in fingering(score, PLAYER, keep_courses=False).phrases for hold in _by_rule(rule, solved)
    ]


def _by_rule(rule: Rule, solved: Solved) -> tuple[Hold, ...]:
    """The best way through a phrase with the rule's points beside those of the search."""
    layers, columns = [], []
    for number, layer in enumerate(solved.layers):
        extra = [sum(rule.note(stop, frame) for stop in layer.grips[grip].notes) for grip, frame in layer.states]
        layers.append(replace(layer, points=tuple(map(sum, zip(layer.points, extra, strict=True)))))
        if number:
            before = solved.layers[number - 1]
            old = [(before.grips[grip], frame) for grip, frame in before.states]
            columns.append(
                tuple(
                    [
                        points + more + (rule.change(*one, layer.grips[grip], frame) if rule.change else 0.0)
                        for points, one in zip(column, old, strict=True)
                    ]
                    for column, (grip, frame), more in zip(
                        solved.searching().columns[number - 1], layer.states, extra, strict=True
                    )
                )
            )
    return solved.holds_of(Search(layers, columns).best())


Answer = dict[object, tuple[int, int, int]]
"""Course, fret and finger by the place and number of the note."""


def answer(holds: Iterable[Hold]) -> Answer:
    """Where each note is taken; what is tied is one note."""
    return {
        (hold.onset.place, number): tuple(stop)
        for hold in holds
        for number, stop in enumerate(hold.grip.notes)
        if not hold.onset.notes[number].tied
    }


def corrected(score: Score, own: list[Hold], player: Player) -> tuple[Score, int]:
    """The score as the player leaves it, and how many notes were wrong when they were looked at."""
    wanted, count = answer(own), 0
    while True:
        solved = fingering(score, player, keep_courses=False)
        wrong = {}
        for phrase in solved.phrases:
            for hold, mine in zip(
                phrase.holds, (each for each in own if each.onset.place in phrase.numbers), strict=True
            ):
                if any(wanted.get(name, stop) != stop for name, stop in answer([hold]).items()):
                    wrong[hold.onset.place] = mine
                    break
        if not wrong:
            return with_fingers(score, player, keep_courses=False), count
        count += len(wrong)
        score = _set(score, wrong)


def _set(score: Score, wrong: dict[Place, Hold]) -> Score:
    """The score with some notes as the player has them, and what is tied to them."""
    carried: list[Note] = []

    def change(place: Place, event: Event) -> Event:
        nonlocal carried
        if place in wrong:
            stops = wrong[place].grip.notes
        elif carried and event.notes and all(note.tied for note in event.notes):
            stops = [(note.course, note.fret, 0) for note in carried]
        else:
            carried = []
            return event
        carried = [
            note.with_(course=course, fret=fret, course_set=True, finger=finger or None)
            for note, (course, fret, finger) in zip(event.notes, stops, strict=True)
        ]
        return event.with_(notes=tuple(carried))

    return map_events(score, Span.of_measures(0, len(score.measures)), change)


@dataclass(frozen=True)
class Course:
    """How learning went: agreement before the first piece and after each, corrections in each, and the habits."""

    agreement: tuple[float, ...]
    corrections: tuple[int, ...]
    habits: dict[str, float]

    @property
    def worst_fall(self) -> float:
        """How far the agreement fell at most below the best there was before."""
        return max(max(self.agreement[: n + 1]) - now for n, now in enumerate(self.agreement))


def course(rule: Rule, taught_pieces: Iterable[Score], held_back: Iterable[Score]) -> Course:
    """Teach piece after piece."""
    held_back = tuple(held_back)
    wanted = [answer(own_way(rule, score)) for score in held_back]

    def agreement(player: Player) -> float:
        given = [answer(fingering(score, player, keep_courses=False).holds()) for score in held_back]
        same = sum(one[name] == other[name] for one, other in zip(wanted, given, strict=True) for name in one)
        return 100 * same / sum(map(len, wanted))

    player, lessons = PLAYER, ()
    line, counts = [agreement(player)], []
    for score in taught_pieces:
        left, count = corrected(score, own_way(rule, score), player)
        lessons = study(left, player, lessons)
        player = player.with_(weights=taught(lessons))
        line.append(agreement(player))
        counts.append(count)
    return Course(tuple(line), tuple(counts), player.weights.habits)


def main() -> None:
    """Print the table; numbers of rules as arguments print only these."""
    every = pieces(TAUGHT + HELD_BACK)
    print("| habit |" + "".join(f" {number} |" for number in range(TAUGHT + 1)) + " greatest fall | learnt |")
    print("|---|" + "---|" * (TAUGHT + 3))
    for rule in [RULES[int(number)] for number in sys.argv[1:]] or RULES:
        found = course(rule, every[:TAUGHT], every[TAUGHT:])
        cells = [rule.words, *(f"{each:.1f}" for each in found.agreement), f"{found.worst_fall:.1f}"]
        learnt = ", ".join(f"`{name}` {points:+.2f}" for name, points in found.habits.items()) or "nothing"
        print(f"| {' | '.join([*cells, learnt])} |", flush=True)


if __name__ == "__main__":
    main()
