"""Chords for a line that has none: several for each measure, ranked, with the reasons.

A chord is asked how much of its half of the measure it explains, how usual it is in the key, and how it goes on
from the chord before to the next; the best way through all of them decides, and for each measure the best ways
that have another chord there.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.chords import Chord, parse_chord
from tabterm.harmony.keys import key_guesses
from tabterm.harmony.melody import sounds
from tabterm.harmony.progression import roman
from tabterm.harmony.spelling import fifths_in_chord, note_name
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.harmony.melody import SoundingNote
    from tabterm.score.key import Key
    from tabterm.score.model import Score

#: degree and quality, points; common practice, no source
USUAL = {
    "major": {
        "1": 0.0,
        "5": -0.1,
        "57": -0.1,
        "4": -0.15,
        "2m": -0.45,
        "6m": -0.45,
        "3m": -0.9,
        "b7": -0.8,
        "27": -0.6,
        "67": -0.9,
        "37": -1.0,
        "17": -0.6,
    },
    "minor": {
        "1m": 0.0,
        "57": -0.1,
        "4m": -0.2,
        "b7": -0.3,
        "b3": -0.4,
        "b6": -0.5,
        "5m": -0.4,
        "4": -0.7,
        "b77": -0.9,
        "17": -1.0,
        "27": -1.0,
    },
    "mixolydian": {"1": 0.0, "b7": -0.1, "4": -0.25, "5m": -0.6, "5": -0.5, "2m": -0.6, "6m": -0.9},
    "dorian": {"1m": 0.0, "b7": -0.1, "5m": -0.4, "4": -0.3, "b3": -0.5, "57": -0.6, "2m": -0.9},
}
"""The chords of each mode, as number and quality, and how much rarer than the tonic each is."""

#: degrees, points; common practice, no source
LEADS = {
    ("5", "1"): 0.35,
    ("4", "5"): 0.15,
    ("2", "5"): 0.3,
    ("6", "2"): 0.15,
    ("4", "1"): 0.15,
    ("1", "4"): 0.15,
    ("1", "5"): 0.15,
    ("3", "6"): 0.3,
    ("b7", "1"): 0.15,
    ("1", "6"): 0.05,
    ("b6", "5"): 0.15,
    ("5", "4"): -0.2,
    ("5", "2"): -0.3,
    ("2", "1"): -0.25,
    ("1", "b7"): 0.1,
}
"""What is gained where one degree goes on to another."""

#: points; common practice, no source
ROOT, THIRD, FIFTH, SEVENTH, NO_TONE = 1.05, 1.0, 0.9, 0.4, -0.5
"""What a second's worth of a tone says for a chord that has it so, and for one that has it not."""

#: times a quarter; common practice, no source
STRENGTHS = (0.7, 1.0, 1.5, 2.0)
"""How much a note counts by the strength of the moment that it begins on."""

#: points; tuned here
FITS, NEW, NEW_WITHIN, AT_ENDS = 1.6, -0.25, -0.5, 0.5
"""For a chord that explains all of its half; for a change over the bar line, and within a measure; for the tonic
at both ends."""


class Candidate(NamedTuple):
    """A chord of a key: symbol, chord, its degree and how usual it is."""

    symbol: str
    chord: Chord
    degree: str
    usual: float


@dataclass(frozen=True, slots=True)
class ChordProposal:
    """A chord for a measure.

    Attributes:
        symbol: The chord symbol.
        roman: Its numeral.
        points: By how much the best way through the line with it is worse than the best of all; 0 for the first.
        reasons: What speaks for it, in words.
    """

    symbol: str
    roman: str
    points: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Half:
    """A half of a measure, or a whole one that has no half: what is heard in it."""

    measure: int
    span: Span
    heard: tuple[SoundingNote, ...]


def proposals(score: Score, key: Key | None = None) -> tuple[tuple[ChordProposal, ...], ...]:
    """For each measure of a line the chords that could stand there, the best first; chord symbols are not asked.

    Args:
        score: The line.
        key: The key to harmonise it in; None: the likeliest one.
    """
    bare = score.with_(measures=tuple(each.with_(chords=()) for each in score.measures))
    key = key or next((each.key for each in key_guesses(bare)), score.head.key)
    halves = _halves(bare)
    ways = _ways(halves, candidates(key))
    return tuple(_of_measure(index, halves, ways, key) for index in range(len(score.measures)))


def candidates(key: Key) -> tuple[Candidate, ...]:
    """The chords of a key."""
    found = []
    for name, usual in USUAL.get(key.mode, USUAL["major"]).items():
        degree = name.rstrip("m7") if name[:2] != "b7" else "b7"
        flat, number = degree[:-1].count("b"), int(degree[-1])
        root = key.tonic_fifths + (0, 2, 4, -1, 1, 3, 5)[number - 1] - 7 * flat
        symbol = note_name(root) + name.removeprefix(degree)
        chord = parse_chord(symbol)
        if chord is not None:
            found.append(Candidate(symbol, chord, degree, usual))
    return tuple(found)


def _halves(score: Score) -> list[Half]:
    found = []
    for index, measure in enumerate(score.measures):
        beats = score.metres[index].beats
        middle = score.metres[index].length / 2
        starts = [Fraction(0)]
        if len(beats) % 2 == 0 and middle in beats and measure.length == score.metres[index].length:
            starts.append(middle)
        for start, end in zip(starts, [*starts[1:], measure.length], strict=True):
            span = Span(Place(index, start), Place(index, end))
            found.append(Half(index, span, tuple(sounds(score, span))))
    return found


class _Ways(NamedTuple):
    """For each half and candidate, the points of the best way that has it there."""

    candidates: tuple[Candidate, ...]
    best: list[list[float]]


def _ways(halves: Sequence[Half], among: tuple[Candidate, ...]) -> _Ways:
    own = [[_fit(half, each) + each.usual * 0.5 for each in among] for half in halves]
    for end in (own[0], own[-1]):
        for number, each in enumerate(among):
            end[number] += AT_ENDS * (each.degree == "1" and not each.symbol.endswith("7"))
    steps = {
        within: [[_step(one, other, within=within) for other in among] for one in among]
        for within in (True, False)
    }
    inside = [one.measure == other.measure for one, other in pairwise(halves)]
    numbers = range(len(among))
    forward = [own[0]]
    for layer, within in zip(own[1:], inside, strict=True):
        before, step = forward[-1], steps[within]
        forward.append([layer[to] + max(before[at] + step[at][to] for at in numbers) for to in numbers])
    backward = [[0.0] * len(among)]
    for layer, within in zip(reversed(own[1:]), reversed(inside), strict=True):
        after, step = backward[-1], steps[within]
        backward.append([max(step[at][to] + layer[to] + after[to] for to in numbers) for at in numbers])
    best = [
        [a + b for a, b in zip(one, other, strict=True)]
        for one, other in zip(forward, backward[::-1], strict=True)
    ]
    return _Ways(among, best)


def _weight(each: SoundingNote) -> float:
    return float(each.length) * STRENGTHS[each.strength]


def _tone(each: SoundingNote, chord: Chord) -> float:
    interval = (each.pitch - (chord.root or 0)) % 12
    known = {0: ROOT, chord.third: THIRD, chord.fifth: FIFTH, 10: SEVENTH if 10 in chord.intervals else NO_TONE}
    return known.get(interval, NO_TONE)


def _fit(half: Half, each: Candidate) -> float:
    """How much of what is heard a chord explains, in points."""
    total = sum(map(_weight, half.heard))
    return FITS * sum(_weight(sound) * _tone(sound, each.chord) for sound in half.heard) / total if total else 0.0


def _step(one: Candidate, other: Candidate, *, within: bool) -> float:
    if one is other:
        return 0.0
    same_root = one.degree == other.degree
    return (NEW_WITHIN if within else NEW) / (2 if same_root else 1) + LEADS.get((one.degree, other.degree), 0.0)


def _of_measure(index: int, halves: Sequence[Half], ways: _Ways, key: Key) -> tuple[ChordProposal, ...]:
    """The chords of a measure: by the half that each is best in, the first half a little before the second."""
    own = [number for number, half in enumerate(halves) if half.measure == index]
    heard = [sound for number in own for sound in halves[number].heard]
    top = max(max(ways.best[number]) for number in own)
    ranked = sorted(
        (min(top - ways.best[number][at] for number in own) + _mean(ways, own, at, top) / 2, at)
        for at in range(len(ways.candidates))
    )
    least = ranked[0][0]
    return tuple(
        ChordProposal(
            each.symbol, roman(each.chord, key), round(points - least, 3), _reasons(each, heard, ways, own, halves)
        )
        for points, each in ((points, ways.candidates[at]) for points, at in ranked)
    )


def _mean(ways: _Ways, own: Sequence[int], at: int, top: float) -> float:
    return sum(top - ways.best[number][at] for number in own) / len(own)


def _reasons(
    each: Candidate, heard: Sequence[SoundingNote], ways: _Ways, own: Sequence[int], halves: Sequence[Half]
) -> tuple[str, ...]:
    """What of the melody it has, what it has not, and where it leads."""
    names = {
        each.chord.tone(interval): note_name(each.chord.root_fifths + fifths_in_chord(interval, each.chord))
        for interval in each.chord.intervals
    }
    total = float(sum(sound.length for sound in heard)) or 1.0
    inside = [sound for sound in heard if sound.pitch % 12 in names]
    told = [name for tone, name in names.items() if tone in {sound.pitch % 12 for sound in inside}]
    share = float(sum(sound.length for sound in inside)) / total
    reasons = (
        [f"has {' '.join(told)}: {100 * share:.0f}% of the measure"]
        if told
        else ["has none of the melody's notes"]
    )
    following = own[-1] + 1
    if following < len(halves):
        best = max(range(len(ways.candidates)), key=ways.best[following].__getitem__)
        coming = ways.candidates[best]
        if LEADS.get((each.degree, coming.degree), 0.0) > 0.1:
            reasons.append(f"leads to {coming.symbol}")
    if each.degree == "1" and own[0] == 0:
        reasons.append("starts on the home chord")
    if each.degree == "1" and following >= len(halves):
        reasons.append("ends on the home chord")
    return tuple(reasons)
