"""Figures of the ear on engines that its training never heard (`tests/recording/oracle.py`).

    python -m tests.bench ear

Solos of chance (90 to 170 bpm, eighths to sixteenths and triplets, a quarter of the notes slurred, an eighth with
a second note) alone, over a band 6 dB softer, and over a band as loud as the solo.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from tabterm.recording import ear
from tabterm.recording import net as nets
from tabterm.recording.articulation import articulated
from tests.recording import oracle
from tests.recording.ear.bank import halved
from tests.recording.oracle import Note

SCALES = ((0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 9, 10), (0, 3, 5, 6, 7, 10), (0, 2, 4, 7, 9))
PITCHES = range(55, 82)
LEAD_IN_S, CLIP_S = 0.5, 7.0
PIANO, GUITAR, BASS, BOWED, DRUMS = 0, 1, 2, 3, 9
BAND_PROGRAMS = {PIANO: 0, GUITAR: 24, BASS: 32, BOWED: 40}
SETTINGS = {"alone": None, "band -6 dB": -6.0, "band equal": 0.0}


FIXED = [
    "67",
    "71",
    "74",
    "^76",
    "74",
    "71",
    "^69",
    "67",
    "72",
    "76",
    "79",
    "^81",
    "79",
    "76",
    "^74",
    "72",
    "69",
    "74",
    "78",
    "^79",
    "78",
    "74",
    "^72",
    "69",
    "71",
    "^72",
    "74",
    "67",
    "^69",
    "71",
    "62",
    "67",
]
"""Four measures of eighths in G at 120 bpm; ^ is a slur."""
FIXED_BAND = ((43, (59, 62, 67)), (48, (60, 64, 67)), (50, (57, 62, 66)), (43, (59, 62, 67)))
"""Measure by measure: the bass (and a fourth below it), and the chord on two and four, in the solo's register."""
FIXED_S = 9.5


def fixed() -> tuple[list[Note], list[oracle.Played]]:
    """A phrase and a band that shares its notes and its timbre."""
    notes = [
        Note(0.5 + index / 4, int(sign.lstrip("^")), 0.25, sign[0] == "^") for index, sign in enumerate(FIXED)
    ]
    played: list[oracle.Played] = []
    for measure, (bass, chord) in enumerate(FIXED_BAND):
        for beat in range(4):
            start = 0.5 + (4 * measure + beat) / 2
            if beat % 2:
                played += [(3, start + 0.008 * index, pitch, 0.4, 90) for index, pitch in enumerate(chord)]
            else:
                played.append((2, start, bass - 5 * (beat == 2), 0.45, 100))
    return notes, played


def solo(draw: np.random.Generator, *, doubles: bool) -> tuple[list[Note], float, int]:
    """Notes, the beat in seconds, the root."""
    beat, root = 60 / draw.uniform(90, 170), int(draw.integers(12))
    scale = SCALES[draw.integers(len(SCALES))]
    ladder = [pitch for pitch in PITCHES if (pitch - root) % 12 in scale]
    place, at, notes, before = int(draw.integers(len(ladder))), LEAD_IN_S, [], None
    while at < CLIP_S - 1.5:
        count = int(draw.choice([2, 3, 4], p=[0.55, 0.15, 0.3]))
        for _ in range(count):
            step = int(
                draw.choice([1, -1, 2, -2, 3, -3, 5, -5], p=[0.28, 0.28, 0.14, 0.14, 0.05, 0.05, 0.03, 0.03])
            )
            place = int(np.clip(place + step, 0, len(ladder) - 1))
            pitch = ladder[place]
            slurred = before is not None and 0 < abs(pitch - before) <= 4 and draw.random() < 0.25
            notes.append(Note(at, pitch, beat / count, slurred))
            before = pitch
            if doubles and not slurred and draw.random() < 0.12 and place + 2 < len(ladder):
                notes.append(Note(at + 0.004, ladder[place + 2], beat / count))
                before = None
            at += beat / count
    return notes, beat, root


def behind(draw: np.random.Generator, beat: float, root: int) -> list[oracle.Played]:
    """Bass on one and three, chords off the beat, a bowed line, drums."""
    played: list[oracle.Played] = []
    chord_channel = int(draw.choice([PIANO, GUITAR]))
    for at in range(int((CLIP_S - LEAD_IN_S - 1) / beat)):
        start, chord = LEAD_IN_S + at * beat, (root + (0, 5, 7, 0)[at // 4 % 4]) % 12
        if at % 2 == 0:
            played.append((BASS, start, 36 + (chord + (7 if at % 4 else 0)) % 12, beat * 0.9, 100))
        else:
            tones = [55 + (chord + tone - 55) % 12 for tone in (0, 4, 7)]
            played += [
                (chord_channel, start + 0.008 * i, pitch, beat * 0.8, 90) for i, pitch in enumerate(sorted(tones))
            ]
        if at % 4 == 0:
            played.append((BOWED, start, 60 + (chord + int(draw.choice([0, 4, 7]))) % 12, beat * 3.6, 70))
        played += [(DRUMS, start, 42, 0.1, 70), (DRUMS, start + beat / 2, 42, 0.1, 60)]
        played.append((DRUMS, start, 38 if at % 2 else 36, 0.1, 90))
    return played


@dataclass
class Tally:
    """What was counted over clips."""

    asked: int = 0
    told: int = 0
    right: int = 0
    errors_ms: list[float] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def clip(self, truth: list[tuple[Note, float]], heard: list[ear.HeardNote], answers: np.ndarray) -> None:
        """Count one clip: notes found within 50 ms, and the best pitches at the known onsets."""
        left = list(heard)
        self.asked, self.told = self.asked + len(truth), self.told + len(left)
        for note, start_s in truth:
            kind = "slur" if note.slurred else "pluck"
            kind = "double" if sum(abs(other - start_s) < 0.03 for _, other in truth) > 1 else kind
            self.counts[kind] += 1
            near = [one for one in left if one.pitch == note.pitch and abs(one.onset_s - start_s) <= 0.05]
            if near:
                one = min(near, key=lambda one: abs(one.onset_s - start_s))
                left.remove(one)
                self.right += 1
                self.counts[f"{kind} found"] += 1
                self.counts[f"{kind} told slurred"] += one.way != "struck"
                self.errors_ms.append(1000 * abs(one.onset_s - start_s))
            if kind != "double":
                best = ear.candidates(answers, start_s)
                self.counts["known"] += 1
                self.counts["first"] += best[0] == note.pitch
                self.counts["in three"] += note.pitch in best[:3]
        octaves = [
            one
            for one in left
            if any(abs(one.onset_s - at) <= 0.05 and abs(one.pitch - n.pitch) == 12 for n, at in truth)
        ]
        self.counts["octave errors"] += len(octaves)

    def share(self, part: str, whole: str) -> float:
        """One count beside another."""
        return self.counts[part] / max(self.counts[whole], 1)

    @property
    def f1(self) -> float:
        """Of the notes: the harmonic mean of precision and recall."""
        return 2 * self.right / max(self.told + self.asked, 1)

    def line(self) -> str:
        """What stands behind the figures, in a line."""
        return (
            f"P {self.right / max(self.told, 1):.3f} R {self.right / max(self.asked, 1):.3f} F {self.f1:.3f}"
            f" | plucks {self.share('pluck found', 'pluck'):.3f} slurs {self.share('slur found', 'slur'):.3f}"
            f" doubles {self.share('double found', 'double'):.3f}"
            f" | told slurred: slurs {self.share('slur told slurred', 'slur found'):.3f}"
            f" plucks {self.share('pluck told slurred', 'pluck found'):.3f}"
            f" | octaves {self.counts['octave errors']} of {self.told}"
        )


def level(sound: np.ndarray) -> float:
    """RMS from the first note on."""
    return float(np.sqrt(np.mean(np.square(sound[round(LEAD_IN_S * oracle.RATE_HZ) :])))) + 1e-9


def clips(engine: str, count: int, seed: int):
    """Each clip: (truth, {setting: sound at the ear's rate})."""
    lag = oracle.lags(engine, PITCHES)
    for index in range(count):
        draw = np.random.default_rng([seed, index, sum(map(ord, engine))])
        notes, beat, root = solo(draw, doubles=engine != "stk")  # that model has one course
        lead = oracle.rendered(engine, notes, CLIP_S)
        band = oracle.band(behind(draw, beat, root), BAND_PROGRAMS, CLIP_S)
        truth = [(n, n.start_s + (0 if engine == "stk" and n.slurred else lag[n.pitch])) for n in notes]
        sounds = {}
        for name, band_db in SETTINGS.items():
            mixed = lead / level(lead)
            if band_db is not None:
                mixed = mixed + 10 ** (band_db / 20) * band / level(band)
            sounds[name] = halved(mixed).astype(np.float32)
        yield truth, sounds


def mixed_fixed(engine: str):
    """The fixed phrase over its band, as loud as the phrase: (truth, sound)."""
    lag = oracle.lags(engine, PITCHES)
    notes, played = fixed()
    lead, band = oracle.rendered(engine, notes, FIXED_S), oracle.band(played, {2: 32, 3: 25}, FIXED_S)
    truth = [(n, n.start_s + (0 if engine == "stk" and n.slurred else lag[n.pitch])) for n in notes]
    return truth, halved(lead / level(lead) + band / level(band)).astype(np.float32)


def counted(net: nets.Net, count: int, seed: int, sure: float) -> dict[str, Tally]:
    """What is heard of so many clips of each engine, and of the fixed phrase, by what is behind the solo."""
    whole = {name: Tally() for name in (*SETTINGS, "fixed")}
    for engine in oracle.engines():
        for truth, sounds in clips(engine, count, seed):
            for name, sound in sounds.items():
                answers = ear.answered(sound, net)
                found = sorted(ear.told(answers, sure), key=lambda note: note.onset_s)
                whole[name].clip(truth, list(articulated(sound, found)), answers)
        truth, sound = mixed_fixed(engine)
        answers = ear.answered(sound, net)
        whole["fixed"].clip(truth, list(ear.told(answers, sure)), answers)
    return whole
