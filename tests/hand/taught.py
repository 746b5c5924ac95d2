"""Phrases and the fingers that a teacher gives them: written down, or made by a rule of published methods.

The sources of each set stand in `tests.hand.judgement`, which compares them with what the search answers.
"""

from __future__ import annotations

import random
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

from tabterm.instrument import PRESETS
from tabterm.score.tempo import Tempo
from tests.build import music

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.score.model import Score

MAJOR = (0, 2, 4, 5, 7, 9, 11)
MINOR = (0, 2, 3, 5, 7, 8, 10)
OPEN = {1: 76, 2: 69, 3: 62, 4: 55}
FIRST = (0, 1, 1, 2, 2, 3, 3, 4, 4)
"""Fingers of frets 0 to 8 in first position."""

Stops = tuple[tuple[int, int], ...]
"""Courses and frets."""


class Case(NamedTuple):
    """A phrase and, note by note, the fingers that are right."""

    name: str
    score: Score
    wanted: tuple[frozenset[int], ...]


def eighths(stops: Iterable[tuple[int, int]], tempo: float = 100.0, value: str = "8", **head: object) -> Score:
    """A phrase of equal notes, the last measure filled with rests."""
    words = [f"{value} {course}.{fret}" for course, fret in stops]
    size = int(value)
    measures = [words[start : start + size] for start in range(0, len(words), size)]
    measures[-1] += [value] * (size - len(measures[-1]))
    return music(" | ".join(", ".join(each) for each in measures), tempo=Tempo(tempo), **head)


def case(name: str, stops: Stops, fingers: Iterable[int | Iterable[int]], tempo: float = 100.0, **head) -> Case:
    """A phrase of eighths; a note for which several fingers are right has them all."""
    wanted = tuple(frozenset([each] if isinstance(each, int) else each) for each in fingers)
    return Case(name, eighths(stops, tempo, **head), wanted)


# Phrases that a student brings, and what the teacher says. Courses and frets are written as E5.


class Told(NamedTuple):
    """A phrase, the fingers told, and what is said with them; "2/3" says that either will do."""

    stops: str
    fingers: str
    words: str
    value: str = "8"


PHRASES = (
    Told("E0 E2 E3 E5 E7 E8 E10 E12", "0 1 2 3 1 2 3 4", "one shift: the index finger to fret 7"),
    Told("E12 E10 E8 E7 E5 E3 E2 E0", "4 3 2 1 3 2 1 0", "the same way down"),
    Told("G8 G10 D5 D6 D8 D10", "3 4 1 2 3 4", "the hand is at fret 5 from the start"),
    Told("A9 A11 A12 A14", "1 2 3 4", "a finger for each step, also where the frets are narrow"),
    Told("D4 D5 D4 D5", "1/2 2/3 1/2 2/3", "a trill is for two fingers"),
    Told("A2 A3 A4 A5", "1 1/2 2/3 3/4", "never the index finger three times"),
    Told("A7 A5 A3 A2 A0 A2 A3 A5", "4 3 2 1 0 1 2 3", "first position has a finger for each"),
    Told("G7 G11 D7 D12 A9", "1 3 1 4 2", "a D chord, the hand at fret 7 all the time"),
    Told("E12 E11 E9 E7 A12 A10 A9 A7", "4 3 2 1 4 3 2 1", "two courses of one closed scale"),
    Told("A4 E0 E5 E9 E10 E9 E5 E0", "2/1 0 1 3 4 3 1 0", "go up over the open E, the index finger takes fret 5"),
    Told("D2 D4 D6 D7", "1 2 3 4", "first position has a place for each", "4"),
    Told("E7 E5 E3 E2 E3 E5 E7 E5", "4 3 2 1 2 3 4 3", "the little finger is there to be used"),
    Told("G2 D2 A2 E2 A2 D2", "1 1 1 1 1 1", "the index finger rolls over, it doesn't hop"),
    Told(
        "E5 E7 E9 E10 E12 E10 E9 E7",
        "1 2/1 3/2 3 4 3 3/2 2/1",
        "third position has 9 and 10 for the ring finger, or one shift to fret 7",
    ),
)


def stops_of(text: str) -> Stops:
    """`E5 A3` as courses and frets."""
    return tuple(("EADG".index(word[0]) + 1, int(word[1:])) for word in text.split())


def phrases() -> Iterator[Case]:
    """What is told to a student."""
    for each in PHRASES:
        wanted = tuple(frozenset(map(int, word.split("/"))) for word in each.fingers.split())
        yield Case(each.stops, eighths(stops_of(each.stops), value=each.value), wanted)


# Made by rule


MAJOR_BELOW = (0, 2, 3, 5)
"""How far above the index finger's fret each finger has the tonic, where the next course goes on with finger 1."""


def closed_scale(start: int, lowest: int, course: int) -> tuple[Stops, tuple[int, ...]]:
    """The major scale from a finger on a course, the index finger at fret `lowest`, one finger a step.

    After the little finger the next note is the index finger's on the next course, an octave in all.
    """
    tonic, stops, fingers, finger = lowest + MAJOR_BELOW[start - 1], [], [], start
    for step in (*MAJOR, 12):
        stops.append((course, tonic + step))
        fingers.append(finger)
        finger += 1
        if finger > 4:
            finger, course, tonic = 1, course - 1, tonic - 7
    return tuple(stops), tuple(fingers)


def closed_shapes() -> Iterator[Case]:
    """36 base frets (four fingers at nine frets) on three pairs of courses, as far as the pair goes."""
    for start, lowest, course in product((1, 2, 3, 4), range(2, 11), (4, 3, 2)):
        stops, fingers = closed_scale(start, lowest, course)
        kept = [(stop, finger) for stop, finger in zip(stops, fingers, strict=True) if stop[0] >= course - 1]
        name = f"finger {start}, fret {lowest}, course {course}"
        yield case(name, tuple(stop for stop, _ in kept), [finger for _, finger in kept])


def one_course_scales(tempos: Iterable[float] = (80.0, 100.0, 120.0, 140.0, 160.0), courses=(1, 2, 3, 4)):
    """Names and scores of major scales along one course, from the open course or fret 1 to fret 12."""
    for key, tempo, course, value in product(range(12), tempos, courses, ("8", "4")):
        frets = [fret for fret in range(13) if (fret - key) % 12 in MAJOR]
        for way, order in (("up", frets), ("down", frets[::-1])):
            name = f"key {key}, course {course}, {value}, {way} at {tempo:g}"
            yield name, eighths([(course, fret) for fret in order], tempo, value)


def in_first_position(pitch: int, lowest: int = 55) -> tuple[int, int] | None:
    """Course and fret of a pitch on the lowest frets up to the 7th, or None."""
    for course in range(1, 5):
        fret = pitch - (lowest + 7 * (4 - course))
        if 0 <= fret <= 7:
            return course, fret
    return None


def first_position() -> Iterator[Case]:
    """Scales up and down, arpeggios and chromatics, over the whole of first position."""
    kinds = {"major": MAJOR, "minor": MINOR, "arpeggio": (0, 4, 7), "minor arpeggio": (0, 3, 7)}
    for (kind, steps), key in product(kinds.items(), range(12)):
        places = [in_first_position(pitch) for pitch in range(55, 84) if (pitch - key) % 12 in steps]
        scale = MINOR if "minor" in kind else MAJOR
        for way, stops in (("up", places), ("down", places[::-1])):
            wanted = [_of_first_position(course, fret, key, scale) for course, fret in stops]
            yield case(f"{kind} {key} {way}", tuple(stops), wanted)
    for low, way in product((55, 57, 60, 62), ("up", "down")):
        stops = [in_first_position(pitch) for pitch in range(low, low + 17)][:: 1 if way == "up" else -1]
        yield case(f"chromatic {low} {way}", tuple(stops), [FIRST[fret] for _, fret in stops])


def _of_first_position(course: int, fret: int, key: int, scale: tuple[int, ...]) -> set[int]:
    """The finger of the table, or the one of the note's step, as the fifth of a flat key is the little finger's.

    One finger a step of the scale is how such instruments are fingered (common practice, no source). Fret 6 has
    a second choice: 26.6 % of ten violinists take the little finger (TNUA data set, Jen et al. 2021, own count).
    """
    step = sum((OPEN[course] + each - key) % 12 in scale for each in range(1, fret + 1))
    return {FIRST[fret], min(step, 4)} | ({3, 4} if fret == 6 else set())


PATTERNS = {
    "scale": (0, 1, 2, 3, 4, 5, 6, 7, 6, 5, 4, 3, 2, 1, 0),
    "thirds": (0, 2, 1, 3, 2, 4, 3, 5, 4, 6, 5, 7),
    "sixths": (0, 5, 1, 6, 2, 7),
    "arpeggio": (0, 2, 4, 7, 4, 2, 0),
    "sevenths": (0, 2, 4, 6, 1, 3, 5, 7),
}
"""Steps of eight notes that lie under four fingers on two courses."""


def closed_patterns(instruments: Iterable[str] = ("mandolin", "mandola")) -> Iterator[Case]:
    """Patterns in 12 keys where four steps of the scale lie under the hand on each of two courses."""
    for name, key, index in product(instruments, range(12), range(3, 11)):
        if (index - key) % 12 not in MAJOR:
            continue
        course = 2 + (key + index) % 3  # the pair of courses changes with the key
        steps = [fret for fret in range(index, index + 14) if (fret - key) % 12 in MAJOR][:8]
        stops = [(course, fret) for fret in steps[:4]] + [(course - 1, fret - 7) for fret in steps[4:]]
        for pattern, order in PATTERNS.items():
            places = tuple(stops[step] for step in order)
            fingers = [step % 4 + 1 for step in order]
            title = f"{name}, {pattern}, key {key}, index {index}, course {course}"
            yield case(title, places, fingers, instrument=PRESETS[name])


LONG = ("octave-mandolin", "tenor-banjo", "mandocello")


def long_necks() -> Iterator[Case]:
    """Scales and broken thirds on long necks in the keys that have all open courses, one finger a fret."""
    orders = {"scale": range, "thirds": lambda n: [k + d for k in range(n - 2) for d in (0, 2)]}
    for name, above, (pattern, order) in product(LONG, (0, 5, 7), orders.items()):
        lowest = PRESETS[name].pitch(4, 0)
        steps = [step for step in range(27) if (step - above) % 12 in MAJOR]
        stops = [(4 - min(step // 7, 3), step - 7 * min(step // 7, 3)) for step in steps]
        stops = [stops[number] for number in order(len(stops))]
        for way, there in (("up", stops), ("down", stops[::-1])):
            wanted = [_one_a_fret(fret) for _, fret in there]
            title = f"{name}, {pattern}, key {(lowest + above) % 12}, {way}"
            yield case(title, tuple(there), wanted, instrument=PRESETS[name])


def _one_a_fret(fret: int) -> tuple[int, ...]:
    """Fingers of a fret with the index finger at fret 1 or 2; fret 5 is the little finger's."""
    return (0,) if fret == 0 else tuple(sorted({min(max(fret - frame + 1, 1), 4) for frame in (1, 2)}))


def positions(count: int = 60, length: int = 16) -> Iterator[Case]:
    """Walks along scales in a closed position, as a player who stays there fingers them."""
    draw = random.Random(1)
    for number in range(count):
        key, index = draw.choice([(k, i) for k in range(12) for i in range(4, 10) if (i - k) % 12 in MAJOR])
        steps = [fret for fret in range(index, index + 14) if (fret - key) % 12 in MAJOR][:8]
        stops = [(3, fret) for fret in steps[:4]] + [(2, fret - 7) for fret in steps[4:]]
        walk = [draw.randrange(8)]
        while len(walk) < length:
            walk.append(min(max(walk[-1] + draw.choice((-2, -1, -1, 1, 1, 2)), 0), 7))
        places = tuple(stops[step] for step in walk)
        yield case(f"walk {number}, key {key}, index {index}", places, [step % 4 + 1 for step in walk])
