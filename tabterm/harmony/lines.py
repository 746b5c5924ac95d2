"""Lines drawn by lot: pitches for a rhythm, by step more often than not, towards where the line is to end.

Each note is drawn by how well it follows the one before and by how much can still follow it, so that every draw
reaches its target. The weights are common practice, no source; `craft` judges what comes out.
"""

from __future__ import annotations

from dataclasses import field
from itertools import pairwise
from math import exp
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.harmony.craft import FOURTH, OCTAVE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from fractions import Fraction
    from random import Random

    from tabterm.harmony.ground import Pulse

#: times; tuned here (tests/harmony/craft.txt)
BY_STEPS = (0.12, 1.0, 0.5, 0.22, 0.12)
"""How likely a move is by the steps that it goes; wider ones are as likely as the last."""

#: times; tuned here
ON_CHORD = (0.9, 2.5, 12.0, 25.0)
"""How much likelier a tone of the chord is than another, by the strength of the moment."""

#: times; tuned here
AGAIN, BACK, ON, OFF_CHORD, MIRRORED = 0.35, 2.5, 0.15, 0.12, 6.0
"""For the note before last, for turning back behind a leap and for leaping on, for a leap from or to a note that
is not of its chord, and for the move that an earlier measure has there."""

#: times; tuned here
CHROMATIC, COLOUR, FAR = 0.1, 0.5, 0.02
"""For a note outside the scale, for one that colours it, and for an end more than an octave from its neighbour."""

LEAST = 1e-4  #: times; implementation limit
"""How likely a given note is at least, so that there is an order of any notes."""

CONTOURS: dict[str, tuple[tuple[float, float], ...]] = {
    "rises": ((0.0, 0.1), (1.0, 0.9)),
    "falls": ((0.0, 0.9), (1.0, 0.1)),
    "rises and falls": ((0.0, 0.15), (0.5, 0.95), (1.0, 0.2)),
    "falls and rises": ((0.0, 0.85), (0.5, 0.05), (1.0, 0.8)),
    "stays level": ((0.0, 0.5), (1.0, 0.5)),
}
"""How a line may go, in the words of `phrases.contour`: parts of its time, and of its compass from the lowest."""


@dataclass(frozen=True)
class Wish:
    """What a line is to be.

    Attributes:
        pulses: Its rhythm and what lies under it.
        lowest: MIDI note number.
        highest: The same.
        centre: The pitch that it is to be near at each pulse.
        spread: How far from it, in semitones.
        start: Pitch classes of its first note; None for any.
        target: Those of its last note.
        fixed: Notes that are given, by the number of their pulse.
        mirrors: For a pulse the number of the earlier one whose move it is to have.
        before: What sounds before it, or None.
        after: What follows it.
        chromatic: Short notes outside the scale may lead to chord tones.
    """

    pulses: tuple[Pulse, ...]
    lowest: int
    highest: int
    centre: tuple[float, ...]
    spread: float = 5.0
    start: frozenset[int] | None = None
    target: frozenset[int] | None = None
    fixed: Mapping[int, int] = field(default_factory=dict)
    mirrors: Mapping[int, int] = field(default_factory=dict)
    before: int | None = None
    after: int | None = None
    chromatic: bool = False


def centre(shape: str, pulses: Sequence[Pulse], lowest: int, highest: int) -> tuple[float, ...]:
    """The pitch that a line of a contour is near at each pulse, between two MIDI note numbers."""
    points = CONTOURS[shape]
    first, last = pulses[0].at, pulses[-1].at
    found = []
    for pulse in pulses:
        part = float((pulse.at - first) / (last - first)) if last > first else 0.0
        (one, low), (other, high) = next(pair for pair in pairwise(points) if part <= pair[1][0])
        height = low + (high - low) * (part - one) / (other - one)
        found.append(lowest + height * (highest - lowest))
    return tuple(found)


def mirrors(pulses: Sequence[Pulse], measure: Fraction) -> dict[int, int]:
    """For the pulses of a measure with the rhythm of an earlier one, those that stand at the same place there."""
    groups: dict[int, list[int]] = {}
    for number, pulse in enumerate(pulses):
        groups.setdefault(int(pulse.at // measure), []).append(number)
    found: dict[int, int] = {}
    seen: dict[tuple[Fraction, ...], list[int]] = {}
    for numbers in groups.values():
        earlier = seen.setdefault(tuple(pulses[number].at % measure for number in numbers), numbers)
        if earlier is not numbers and len(numbers) > 1:
            found |= dict(zip(numbers[1:], earlier[1:], strict=True))
    return found


class Lot:
    """Draws lines of a wish; what can follow what is worked out once."""

    def __init__(self, wish: Wish) -> None:
        """Take a wish."""
        self._wish = wish
        self._tones = [self._candidates(number) for number in range(len(wish.pulses))]
        self._ahead = self._reach()

    def _candidates(self, number: int) -> dict[int, float]:
        """The pitches that a pulse may have, and how likely each is by itself."""
        wish, pulse = self._wish, self._wish.pulses[number]
        if number in wish.fixed:
            return {wish.fixed[number]: 1.0}
        last = number == len(wish.pulses) - 1
        asked = wish.target if last else wish.start if not number else None
        leads = not last and pulse.length <= pulse.beat
        found = {}
        for pitch in range(wish.lowest, wish.highest + 1):
            if asked is not None and pitch % 12 not in asked:
                continue
            weight = self._own(pulse, pitch) if leads or pulse.fits(pitch) or pulse.has(pitch) else 0.0
            if last and wish.after is not None and abs(pitch - wish.after) > OCTAVE:
                weight *= FAR
            if weight:
                found[pitch] = weight * exp(-(((pitch - wish.centre[number]) / wish.spread) ** 2) / 2)
        return found

    def _own(self, pulse: Pulse, pitch: int) -> float:
        """How likely a pitch is by itself; 0 for one that may not be."""
        if pulse.has(pitch):
            return ON_CHORD[pulse.strength]
        if pulse.fits(pitch):
            return 1.0
        if pitch % 12 in pulse.colours:
            return COLOUR
        return CHROMATIC if self._wish.chromatic and not pulse.strength and pulse.length < pulse.beat else 0.0

    def _reach(self) -> list[dict[int, float]]:
        """For each pulse and pitch how much can follow it; pitches that nothing can follow are left out."""
        ahead: list[dict[int, float]] = [dict.fromkeys(self._tones[-1], 1.0)]
        for number in range(len(self._tones) - 2, -1, -1):
            after, later = self._tones[number + 1], ahead[0]
            found = {}
            for pitch in self._tones[number]:
                total = sum(
                    weight * later[other] * self._move(number + 1, pitch, other)
                    for other, weight in after.items()
                    if other in later
                )
                if total > 0.0:
                    found[pitch] = total
            most = max(found.values(), default=1.0)
            ahead.insert(0, {pitch: total / most for pitch, total in found.items()})
        return ahead

    def _move(self, number: int, one: int, other: int) -> float:
        """How likely a move to the pulse of a number is; 0 where it cannot be."""
        before, pulse = self._wish.pulses[number - 1], self._wish.pulses[number]
        if number in self._wish.fixed and number - 1 in self._wish.fixed:
            return 1.0
        if abs(other - one) > OCTAVE:
            return 0.0
        if not (before.fits(one) or before.has(one)):  # it leads a half step on
            leads = pulse.has(other) or (one % 12 in before.colours and pulse.fits(other))
            return 1.0 if abs(other - one) == 1 and leads else 0.0
        steps = abs(pulse.steps(one, other))
        weight = BY_STEPS[min(steps, len(BY_STEPS) - 1)]
        leaps = steps > 1 and not (before.has(one) and pulse.has(other))
        return weight * (OFF_CHORD if leaps else 1.0)

    def draw(self, random: Random) -> tuple[int, ...] | None:
        """A line; None where no line can be what is wished."""
        line: list[int] = []
        for number, tones in enumerate(self._tones):
            ahead = self._ahead[number]
            weights = {
                pitch: own * ahead[pitch] * self._following(line, number, pitch)
                for pitch, own in tones.items()
                if pitch in ahead
            }
            if not any(weights.values()):
                return None
            line += random.choices(list(weights), list(weights.values()))
        return tuple(line)

    def order(self, pitches: Sequence[int], random: Random) -> list[int]:
        """Given pitches in an order that follows well, as far as what is left of them allows."""
        left, line = list(pitches), list[int]()
        for number, pulse in enumerate(self._wish.pulses):
            each = {pitch: self._own(pulse, pitch) * self._following(line, number, pitch) for pitch in set(left)}
            likely = [max(each[pitch], LEAST) for pitch in sorted(each)]
            (chosen,) = random.choices(sorted(each), likely)
            left.remove(chosen)
            line.append(chosen)
        return line

    def _following(self, line: Sequence[int], number: int, pitch: int) -> float:
        """How likely a pitch is behind what has been drawn."""
        wish, pulse = self._wish, self._wish.pulses[number]
        if not line:
            near = wish.before is None or abs(pitch - wish.before) <= OCTAVE
            return 1.0 if near else FAR
        weight = self._move(number, line[-1], pitch)
        if number in wish.mirrors:
            at = wish.mirrors[number]
            was = wish.pulses[at].steps(line[at - 1], line[at])
            weight *= MIRRORED if pulse.steps(line[-1], pitch) == was else 1.0
        if len(line) < 2:
            return weight
        leap, then = line[-1] - line[-2], pitch - line[-1]
        if pitch == line[-2]:
            weight *= AGAIN
        if abs(leap) >= FOURTH and then:
            weight *= (BACK if abs(then) < FOURTH else 1.0) if leap * then < 0 else ON
        return weight
