"""The rule for what the difficulty puts above the player's limit and no other rule explains."""

from __future__ import annotations

from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from tabterm.hand.difficulty import Playing, levels_of
from tabterm.hand.finding import Finding, Severity
from tabterm.hand.passages import reasons_of
from tabterm.hand.rules import remedies

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from tabterm.hand.fingering import Solved
    from tabterm.hand.limits import Used
    from tabterm.score.model import Score
    from tabterm.score.place import Place

OVER = 1.005  #: times the limit; definition: what is shown as 101% or more
"""From here on something is above the limit."""

SLACK = 1.25  #: times the limit; common practice, no source
"""What is above the limit by more than this is hard, else awkward."""


def beyond_the_limit(score: Score, solved: Solved, known: Collection[Place]) -> Iterator[Finding]:
    """A finding at the hardest onset of each stretch above the limit in which there is none of the `known`."""
    levels = levels_of(score, solved)
    uses = [levels[onset.place.measure][onset.place.offset] for onset in solved.phrase]
    if max(uses) <= OVER:
        return
    for is_over, stretch in groupby(enumerate(uses), key=lambda each: each[1] > OVER):
        numbers = [number for number, _ in stretch]
        places = [solved.phrase[number].place for number in numbers]
        if is_over and not set(places) & set(known):
            yield _finding(score, solved, numbers, uses)


def _finding(score: Score, solved: Solved, numbers: Sequence[int], uses: Sequence[float]) -> Finding:
    peak, use = max(((number, uses[number]) for number in numbers), key=itemgetter(1))
    onset = solved.phrase[peak]
    playing = Playing.of(score, solved).part(numbers[0], numbers[-1])
    speeds = (each for load in playing.loads() for each in load.used if each.share > OVER)
    speed = max(speeds, key=lambda each: each.share, default=None)
    code, message = ("too-much-in-a-beat", _effort(playing, use)) if speed is None else _speed(speed)
    found: dict[str, float | int | str] = {"use": round(use, 3)}
    if speed is not None:
        found |= {"speed": speed.speed, "asked": round(speed.asked, 2), "limit": round(speed.limit, 2)}
    severity = Severity.HARD if use > SLACK else Severity.AWKWARD
    course = onset.notes[0].course if speed is not None else None
    ways = tuple(remedies.slower(score.tempos[onset.place.measure], use))
    return Finding(code, severity, onset.place, course, message, found, ways)


def _speed(used: Used) -> tuple[str, str]:
    if used.speed.startswith("fingers_"):
        fingers = " and ".join(used.speed[-2:])
        rates = f"{used.asked:.1f} notes a second; your limit is {used.limit:g}"
        return "fingers-too-fast", f"fingers {fingers} alternate at {rates}"
    return {"shift": "shift-no-time", "repeated": "stroke-return"}.get(used.speed, "strokes-too-fast"), used.words


def _effort(playing: Playing, use: float) -> str:
    reasons = ", ".join(reason.words for reason in reasons_of(playing))
    words = f"this beat takes {100 * use:.0f}% of your limit"
    return f"{words}: {reasons}" if reasons else words
