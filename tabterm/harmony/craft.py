"""What a teacher would mend in a line: the rules of a melody, each with its weight and its words.

All of them are common practice, no source; `tests/harmony/craft.txt` has what a student is told, with a line that
keeps each rule and one that breaks it. A rule says how much is wrong at which note, the whole is the sum.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tabterm.harmony.ground import Pulse

    Amounts = Iterator[tuple[int, float]]

FOURTH, FIFTH, OCTAVE = 5, 7, 12  #: semitones; definition
TRITONE, SEVENTHS = 6, (10, 11)  #: semitones; definition

NARROW, WIDE = 4, 19  #: semitones; common practice, no source
"""The compass of a line of some notes: a third at least, an octave and a fifth at most."""

SOME = 6  #: notes; common practice, no source
"""Of so many notes a line is asked for its compass."""

LONG_RUN = 7  #: moves; common practice, no source
"""A line goes so far one way before it turns: an octave of a scale."""

TURNS = 4  #: moves; common practice, no source
"""So many turns one after the other, by more than a step, are a zigzag; rolls over chord tones are none."""


class Melody(NamedTuple):
    """A line over its ground.

    Attributes:
        pulses: When its notes begin, and what lies under them.
        pitches: MIDI note numbers, one for each.
        before: What sounds before it, or None.
        after: What follows it.
    """

    pulses: tuple[Pulse, ...]
    pitches: tuple[int, ...]
    before: int | None = None
    after: int | None = None

    def move(self, number: int) -> int:
        """Semitones from the note before to a note; 0 for the first."""
        return self.pitches[number] - self.pitches[number - 1] if number else 0

    def has(self, number: int) -> bool:
        """Whether a note is a tone of its chord."""
        return self.pulses[number].has(self.pitches[number])

    def by_step(self, number: int) -> bool:
        """Whether a note is reached by a step of its scale, or is the note before again."""
        return abs(self.pulses[number].steps(self.pitches[number - 1], self.pitches[number])) <= 1

    def resolves(self, number: int, widest: int = 2) -> bool:
        """Whether a note goes on to a tone of the next one's chord, by so many semitones at most."""
        following = number + 1
        if following == len(self.pitches):
            return False
        return self.has(following) and 0 < abs(self.move(following)) <= widest


class Rule(NamedTuple):
    """A rule of a melody.

    Attributes:
        name: What it is called in data.
        weight: Points for one breach of it.
        words: What a student is told.
        breaches: How much is wrong at which note.
    """

    name: str
    weight: float
    words: str
    breaches: Callable[[Melody], Amounts]


class Fault(NamedTuple):
    """A breach of a rule: by which note, and how much it weighs."""

    rule: Rule
    number: int
    points: float


def _strong(line: Melody) -> Amounts:
    for number, pulse in enumerate(line.pulses):
        if pulse.strength and not line.has(number):
            amount = 1.0 if pulse.strength > 1 else 0.4
            yield number, amount * (0.4 if line.resolves(number) else 1.0)


def _chromatic(line: Melody) -> Amounts:
    for number, pulse in enumerate(line.pulses):
        if not pulse.fits(line.pitches[number]) and not line.has(number):
            colour = line.pitches[number] % 12 in pulse.colours
            short = pulse.length <= pulse.beat and (pulse.strength < 2 or colour)
            to = number + 1
            leads = to < len(line.pitches) and colour and line.pulses[to].fits(line.pitches[to])
            if not short or not (line.resolves(number, 1) or (leads and abs(line.move(to)) == 1)):
                yield number, 1.0


def _octave(line: Melody) -> Amounts:
    for number in range(1, len(line.pitches)):
        if abs(line.move(number)) > OCTAVE:
            yield number, 1.0


def _wide(line: Melody) -> Amounts:
    for number in range(1, len(line.pitches)):
        size = abs(line.move(number))
        if size in SEVENTHS:
            yield number, 1.0
        elif FIFTH < size <= OCTAVE or (size == TRITONE and not (line.has(number) and line.has(number - 1))):
            yield number, 0.4


def _recovers(line: Melody) -> Amounts:
    for number in range(1, len(line.pitches) - 1):
        leap, then = line.move(number), line.move(number + 1)
        if abs(leap) < FOURTH or then == 0:
            continue
        turns = leap * then < 0
        chordal = all(map(line.has, (number - 1, number, number + 1))) and abs(leap + then) <= OCTAVE
        if not chordal and not (turns and abs(then) <= FOURTH - 1):
            yield number + 1, 1.0


def _stuck(line: Melody) -> Amounts:
    for number in range(2, len(line.pitches)):
        if line.pitches[number] == line.pitches[number - 1] == line.pitches[number - 2]:
            yield number, 1.0


def _rocking(line: Melody) -> Amounts:
    pitches = line.pitches
    for number in range(3, len(pitches)):
        one, other = pitches[number - 1], pitches[number]
        if one != other and (one, other) == (pitches[number - 3], pitches[number - 2]):
            yield number, 1.0


def _leaps_between(line: Melody) -> Amounts:
    for number in range(1, len(line.pitches)):
        if not line.by_step(number) and not (line.has(number) and line.has(number - 1)):
            both = not line.has(number) and not line.has(number - 1)
            yield number, 1.0 if both or abs(line.move(number)) >= FOURTH else 0.6


def _ends(line: Melody) -> Amounts:
    last = len(line.pitches) - 1
    pulse, pitch = line.pulses[-1], line.pitches[-1]
    if pitch % 12 not in pulse.home:
        yield last, 0.5 if pulse.has(pitch) else 1.5


def _arrives(line: Melody) -> Amounts:
    last = len(line.pitches) - 1
    if abs(line.move(last)) > FOURTH:
        yield last, 1.0


def _rests(line: Melody) -> Amounts:
    last = line.pulses[-1]
    if len(line.pulses) > 1 and last.length < last.beat:
        yield len(line.pulses) - 1, 1.0


def _compass(line: Melody) -> Amounts:
    size = max(line.pitches) - min(line.pitches)
    if size > WIDE:
        yield line.pitches.index(max(line.pitches)), (size - WIDE) / 4
    if len(line.pitches) >= SOME and size < NARROW:
        yield 0, 1.0


def _run(line: Melody) -> Amounts:
    count, way = 0, 0
    for number in range(1, len(line.pitches)):
        move = line.move(number)
        now = (move > 0) - (move < 0)
        count, way = (count + 1 if now and now == way else 1), now
        if count > LONG_RUN:
            yield number, 1.0


def _zigzag(line: Melody) -> Amounts:
    count = 0
    for number in range(2, len(line.pitches)):
        turns = line.move(number) * line.move(number - 1) < 0 and not line.by_step(number)
        chordal = line.has(number) and line.has(number - 1)
        count = count + 1 if turns and not chordal else 0
        if count >= TURNS:
            yield number, 1.0


def _peak(line: Melody) -> Amounts:
    highest = max(line.pitches)
    at = [number for number, pitch in enumerate(line.pitches) if pitch == highest]
    apart = [other for one, other in pairwise(at) if other - one > 2]
    for number in apart[1:]:
        yield number, 1.0


def _joins(line: Melody) -> Amounts:
    if line.before is not None and abs(line.pitches[0] - line.before) > OCTAVE:
        yield 0, 1.0
    if line.after is not None and abs(line.pitches[-1] - line.after) > OCTAVE:
        yield len(line.pitches) - 1, 1.0


def _leads(line: Melody) -> Amounts:
    for number in range(1, len(line.pitches)):
        here, pulse = line.pitches[number], line.pulses[number]
        if pulse.chord != line.pulses[number - 1].chord and pulse.strength > 1:
            near = abs(line.move(number)) <= FOURTH - 1
            if not (near and line.has(number)):
                yield number, 1.0
            elif here % 12 not in pulse.home:
                yield number, 0.3


def _goes(line: Melody) -> Amounts:
    """More than half of the moves by step, in a line of some notes."""
    moves = [number for number in range(1, len(line.pitches)) if line.move(number)]
    leaps = [number for number in moves if not line.by_step(number)]
    if len(line.pitches) >= SOME and 2 * len(leaps) > len(moves):
        yield leaps[-1], (len(leaps) - len(moves) / 2) / 2


#: points; tuned here (tests/harmony/craft.txt)
RULES = (
    Rule("strong", 1.5, "a strong beat has a chord tone, or a note that moves to one by step", _strong),
    Rule(
        "chromatic", 3.0, "a note outside the scale is short and moves by a semitone to a chord tone", _chromatic
    ),
    Rule("octave", 5.0, "no leap is wider than an octave", _octave),
    Rule("wide", 0.8, "sevenths, sixths and a bare tritone are rare leaps", _wide),
    Rule("recovers", 0.7, "after a leap the line turns back by step, or stays in the chord", _recovers),
    Rule("stuck", 0.6, "no note is played three times in a row", _stuck),
    Rule("rocking", 0.5, "two notes do not keep alternating", _rocking),
    Rule("leaps", 0.8, "a leap goes from chord tone to chord tone", _leaps_between),
    Rule("ends", 2.0, "it ends on the root or the third of its chord", _ends),
    Rule("arrives", 0.7, "the last note is reached by a fourth at most", _arrives),
    Rule("rests", 0.7, "the last note lasts a beat or more", _rests),
    Rule("compass", 0.8, "it spans more than a third, and an octave and a fifth at most", _compass),
    Rule("run", 0.4, "it turns after an octave of a scale", _run),
    Rule("zigzag", 0.5, "it does not turn at every note", _zigzag),
    Rule("peak", 0.3, "it reaches its highest note only once or twice", _peak),
    Rule("joins", 1.5, "it joins the music before and after it within an octave", _joins),
    Rule("leads", 0.6, "it moves to a new chord by a small step, onto the root or third", _leads),
    Rule("goes", 0.5, "it moves by step more often than not", _goes),
)
"""What is listened for, in the order in which a teacher would say it."""


def faults(line: Melody) -> tuple[Fault, ...]:
    """What a teacher would mend, rule by rule."""
    return tuple(
        Fault(rule, number, rule.weight * amount) for rule in RULES for number, amount in rule.breaches(line)
    )


def points(line: Melody) -> float:
    """How much is wrong with a line; less is better."""
    return sum(rule.weight * amount for rule in RULES for _, amount in rule.breaches(line))
