"""Figures of the chords that are told of a band: bands of chance behind a solo, in two sets.

    python -m tests.bench chords

What the choices of `tabterm/recording/chords.py` were tuned on: piano and nylon guitar of FluidR3 behind the
mandolin of STK. What they are measured on: another bank (TimGM6mb) with steel guitar, electric piano and organ
behind the string of Csound, and Csound's strings strumming; other seeds. Every fourth band has no bass; all are up
to 40 cents off A4 = 440 Hz, which is estimated; the beats are given.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr

from tabterm.harmony.chords import parse_chord
from tests.recording import oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

OTHER_BANK = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
KINDS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10), "m7": (0, 3, 7, 10), "maj7": (0, 4, 7, 11)}
MAJOR = (
    (0, ""),
    (0, ""),
    (5, ""),
    (5, ""),
    (7, ""),
    (7, "7"),
    (9, "m"),
    (2, "m"),
    (2, "7"),
    (9, "7"),
    (10, ""),
    (0, "maj7"),
    (2, "m7"),
    (4, "m"),
)
MINOR = ((0, "m"), (0, "m"), (5, "m"), (7, "7"), (7, "m"), (8, ""), (10, ""), (3, ""), (0, "m7"), (5, "7"))
BEATS, START_S = 32, 0.5
SETS = {
    "tuned": {"bank": oracle.BANK, "lead": "stk", "chords": (0, 24), "bass": (32,), "seed": 1},
    "measured": {"bank": OTHER_BANK, "lead": "csound", "chords": (25, 4, 16, None), "bass": (33, 32), "seed": 2},
}


@dataclass
class Clip:
    """A band and a solo, with the truth."""

    sound: np.ndarray
    moments_s: list[float]
    truth: list[str]
    cents: float


def clip(draw: np.random.Generator, how: dict, index: int) -> Clip:
    """Eight measures of chance in a key."""
    beat, root = 60 / draw.uniform(85, 180), int(draw.integers(12))
    minor = draw.random() < 0.3
    pool, truth = (MINOR if minor else MAJOR), []
    while len(truth) < BEATS:
        step, kind = pool[0] if not truth else pool[draw.integers(len(pool))]
        truth += [NAMES[(root + step) % 12] + kind] * int(draw.choice([2, 4, 4, 8]))
    truth = truth[:BEATS]
    program = how["chords"][index % len(how["chords"])]
    played, strummed, manner, with_bass = [], [], int(draw.integers(4)), index % 4 != 3
    for at, name in enumerate(truth):
        start, chord = START_S + at * beat, parse_chord(name)
        low = int(draw.integers(48, 56))
        tones = [low + (chord.root + interval - low) % 12 for interval in chord.intervals]
        first = at == 0 or truth[at - 1] != name
        bass = (
            36 + (chord.root + (7 if at % 4 == 2 and not first else 0)) % 12 - (12 if draw.random() < 0.2 else 0)
        )
        played += [(2, start, bass, beat * 0.9, 100)] if with_bass else []
        moments = {0: [0.5], 1: [0, 0.5], 2: [0] if at % 2 or first else [], 3: [0, 0.25, 0.5, 0.75]}[manner]
        for number, moment in enumerate(moments):
            for order, pitch in enumerate(sorted(tones)):
                if manner == 3 and (order + number) % 2:
                    continue
                note = (start + moment * beat + 0.008 * order, pitch, beat * 0.5)
                strummed.append(oracle.Note(note[0], pitch, note[2]))
                played += [] if program is None else [(3, *note, 85)]
        played += [(9, start, 38 if at % 2 else 36, 0.1, 80), (9, start + beat / 2, 42, 0.1, 60)]
    length_s = START_S + BEATS * beat + 1
    was, oracle.BANK = oracle.BANK, how["bank"]
    try:
        programs = {2: int(draw.choice(how["bass"]))} | ({} if program is None else {3: program})
        band = oracle.band(played, programs, length_s)
    finally:
        oracle.BANK = was
    if program is None:
        own = oracle.rendered("csound", strummed, length_s)
        band = band / trial.level(band) + own / trial.level(own)
    lead = oracle.rendered(how["lead"], _solo(draw, truth, beat, root, minor=minor), length_s)
    sound = band / trial.level(band) + lead / trial.level(lead)
    cents = draw.uniform(-40, 40)
    faster = 2 ** (cents / 1200)
    sound = soxr.resample(sound, oracle.RATE_HZ * faster, oracle.RATE_HZ)
    moments_s = [(START_S + at * beat) / faster for at in range(BEATS + 1)]
    return Clip(halved(sound).astype(np.float32), moments_s, truth, cents)


def _solo(draw, truth, beat, root, *, minor):
    scale, notes, pitch = (0, 2, 3, 5, 7, 8, 10) if minor else (0, 2, 4, 5, 7, 9, 11), [], 67
    for at, name in enumerate(truth):
        chord = parse_chord(name)
        for half in range(2):
            near = [p for p in range(pitch - 4, pitch + 5) if p != pitch and 55 <= p <= 82]
            tones = [p for p in near if (p - chord.root) % 12 in chord.intervals]
            steps = [p for p in near if (p - root) % 12 in scale]
            pitch = int(draw.choice(tones if tones and (half == 0 or not steps) else steps or near))
            notes.append(
                oracle.Note(START_S + (at + half / 2) * beat, pitch, beat / 2, bool(draw.random() < 0.15))
            )
    return notes


def judged(told: str, true: str) -> Counter:
    """What of a chord is right."""
    one, other = parse_chord(told), parse_chord(true)
    root = one.root == other.root
    triad = root and one.intervals[1:2] == other.intervals[1:2]
    return Counter(beats=1, root=root, triad=triad, seventh=triad and one.intervals == other.intervals)
