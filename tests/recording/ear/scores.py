"""Scores of chance: a plucked lead line and the band behind it, note by note, as rows of numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

SPAN_S = 3.0
SCALES = (
    (0, 2, 4, 5, 7, 9, 11),
    (0, 2, 3, 5, 7, 8, 10),
    (0, 3, 5, 6, 7, 10),
    (0, 2, 4, 7, 9),
    (0, 2, 3, 5, 7, 9, 10),
    (0, 2, 4, 5, 7, 9, 10),
    tuple(range(12)),
)
COLUMNS = [
    "clip",
    "start_s",
    "length_s",
    "pitch",
    "level",
    "kind",
    "row",
    "attack_s",
    "release_s",
    "slide_cents",
    "slide_s",
    "bend_cents",
    "bend_after_s",
    "bend_s",
    "vibrato_cents",
    "part",
    "noise",
    "octaves",
]
AT = {name: index for index, name in enumerate(COLUMNS)}
LEAD, BAND, DRUMS = range(3)
STRING, SAMPLE, DRUM = range(3)


@dataclass
class Timbres:
    """The rows of a bank: where each timbre begins, how many rows it has, its lowest pitch and its step."""

    first: dict[str, tuple[int, int, int, int]]
    kept_back: frozenset[str] = frozenset()

    def of(self, kind: str, *, trial: bool = False) -> list[str]:
        """The timbres of a kind that may be used: those kept back for validation, or the others."""
        return sorted(name for name in self.first if name[0] == kind and (name in self.kept_back) == trial)


@dataclass
class Player:
    """Draws the notes of one clip."""

    draw: np.random.Generator
    timbres: Timbres
    clip: int
    trial: bool = False
    rows: list[list[float]] = field(default_factory=list)

    def note(
        self, start_s: float, length_s: float, pitch: float, level: float, timbre: str | None, part: int, **more
    ):
        """Write one note down; `timbre` None is the clip's own string."""
        values = dict.fromkeys(COLUMNS, 0.0) | {
            "clip": self.clip,
            "start_s": start_s,
            "length_s": max(length_s, 0.05),
            "pitch": pitch,
            "level": level,
            "attack_s": 0.001,
            "release_s": 0.03,
            "slide_s": 0.004,
            "bend_s": 0.1,
            "part": part,
            "noise": 1.0,
        }
        values.update(more)
        if timbre is None:
            values["kind"], values["row"] = STRING, self.clip
        else:
            first, count, lowest, step = self.timbres.first[timbre]
            shift = values.pop("formant", 0)
            row = int(np.clip(round((pitch - lowest) / step) + shift, 0, count - 1))
            values["kind"] = DRUM if timbre == "drum" else SAMPLE
            values["row"] = first + row
            values["octaves"] = 0.0 if timbre == "drum" else (pitch - lowest - step * row) / 12
        values.pop("formant", None)
        if -1.2 < start_s < SPAN_S - 0.01:
            self.rows.append([values[name] for name in COLUMNS])

    def chance(self, likelihood: float) -> bool:
        """Whether it happens this time."""
        return bool(self.draw.random() < likelihood)

    def lead(self, low: int, high: int, timbre: str | None) -> None:
        """A line in one scale: runs and leaps, slurs, double stops, tremolo, bends, vibrato, ringing notes."""
        draw = self.draw
        beat = 60 / draw.uniform(70, 210)
        at = -draw.uniform(0, 1)
        root, scale = draw.integers(12), SCALES[draw.integers(len(SCALES))]
        ladder = [pitch for pitch in range(low, high + 1) if (pitch - root) % 12 in scale]
        place, before = int(draw.integers(len(ladder))), None
        slurred, doubled = draw.choice([0, 0.15, 0.35]), draw.choice([0, 0.1, 0.3])
        ringing, shaken, swing = draw.choice([0, 0, 0.3]), draw.choice([0, 0, 0.12]), draw.choice([0, 0, 0.12])
        own = {"formant": int(draw.integers(-2, 3))} if timbre else {}
        while at < SPAN_S:
            value = draw.choice([0.25, 0.5, 1, 2, 1 / 3], p=[0.25, 0.42, 0.15, 0.05, 0.13])
            count = {0.25: 4, 1 / 3: 3, 0.5: 2}.get(value, 1)
            for index in range(count):
                length = value * beat * (1 + (swing if index % 2 == 0 else -swing) * (count == 2))
                if self.chance(0.06):
                    at, before = at + length, None
                    continue
                if self.chance(0.15):
                    place = int(draw.integers(len(ladder)))
                else:
                    step = draw.choice([1, -1, 2, -2, 3, -3, 0], p=[0.25, 0.25, 0.14, 0.14, 0.08, 0.08, 0.06])
                    place = int(np.clip(place + step, 0, len(ladder) - 1))
                pitch, level = ladder[place], 10 ** (draw.normal(0, 2.5) / 20)
                start = at + draw.normal(0, 0.008)
                more = {"attack_s": draw.uniform(0.0005, 0.004), "release_s": draw.uniform(0.01, 0.05)} | own
                slur = before is not None and before != pitch and abs(pitch - before) <= 5 and self.chance(slurred)
                if slur:
                    level *= draw.uniform(0.25, 0.95)
                    more |= {"attack_s": draw.uniform(0.002, 0.012), "noise": 0.0}
                    more |= {"slide_cents": (before - pitch) * 100.0, "slide_s": draw.choice([0.003, 0.008, 0.06])}
                more |= self._ornament()
                rest = draw.uniform(0.05, 0.5) if self.chance(ringing) else draw.uniform(-0.02, 0.02)
                at += length
                if value >= 1 and self.chance(shaken):
                    every = 1 / draw.uniform(9, 16)
                    for stroke in range(max(1, int(length / every))):
                        louder = level * draw.uniform(0.7, 1)
                        self.note(start + stroke * every, every * 1.1, pitch, louder, timbre, LEAD, **own)
                    before = pitch
                    continue
                self.note(start, length + rest, pitch, level, timbre, LEAD, **more)
                before = pitch
                if not slur and self.chance(doubled):
                    second = ladder[min(place + int(draw.choice([2, 2, 3, 4, 5])), len(ladder) - 1)]
                    if second != pitch:
                        later, softer = start + draw.uniform(0, 0.015), level * draw.uniform(0.6, 1.1)
                        self.note(later, length + rest, second, softer, timbre, LEAD, **own)
                        before = None

    def _ornament(self) -> dict[str, float]:
        """Now and then a bend, or vibrato."""
        draw, more = self.draw, {}
        if self.chance(0.05):
            more |= {"bend_cents": float(draw.choice([50, 100, 150, 200]))}
            more |= {"bend_after_s": draw.uniform(0.02, 0.15), "bend_s": draw.uniform(0.05, 0.2)}
        if self.chance(0.08):
            more["vibrato_cents"] = draw.uniform(5, 25)
        return more

    def band(self) -> None:
        """Bass, chords in one of four manners, a sustained line, drums; each may be missing."""
        draw = self.draw
        beat = 60 / draw.uniform(70, 210)
        first = -draw.uniform(0, beat)
        root, beats = int(draw.integers(12)), int(SPAN_S / beat) + 2
        if self.chance(0.7):
            self._bass(beat, first, root, beats)
        if self.chance(0.8):
            self._chords(beat, first, root, beats)
        if self.chance(0.4):
            self._sustained(beat, first, root, beats)
        if self.chance(0.45):
            self._drums(beat, first, beats)

    def _one(self, kind: str) -> str:
        names = self.timbres.of(kind, trial=self.trial) or self.timbres.of(kind)
        return names[self.draw.integers(len(names))]

    def _bass(self, beat: float, first: float, root: int, beats: int) -> None:
        timbre, level = self._one("b"), 10 ** (self.draw.normal(0, 3) / 20)
        for at in range(beats):
            if self.chance(0.75):
                pitch = 28 + (root + self.draw.choice([0, 7, 5, 4, 2])) % 12 + self.draw.choice([0, 12])
                self.note(
                    first + at * beat, beat * 0.9, pitch, level, timbre, BAND, attack_s=0.002, release_s=0.04
                )

    def _chord(self) -> list[int]:
        third = 4 if self.chance(0.7) else 3
        return [0, third, 7] + ([10] if self.chance(0.3) else [])

    def _chords(self, beat: float, first: float, root: int, beats: int) -> None:
        draw = self.draw
        timbre, level = self._one("p"), 10 ** (draw.normal(-1, 4) / 20)
        manner, lowest, chord, above = draw.integers(4), draw.integers(43, 68), self._chord(), 0
        formant = int(draw.integers(-2, 3))
        for at in range(beats):
            if at % 2 == 0 and self.chance(0.4):
                above, chord = int(draw.choice([0, 5, 7, 2, 9])), self._chord()
            voices = [lowest + (root + above + tone - lowest) % 12 + 12 * self.chance(0.2) for tone in chord]
            moments = {0: [0.5], 1: [0, 0.5], 2: [0] if at % 2 else []}.get(int(manner), [])
            for moment in moments:
                length = beat * draw.choice([0.15, 0.5, 1.0])
                for index, pitch in enumerate(voices):
                    start = first + (at + moment) * beat + index * draw.uniform(0, 0.012)
                    self.note(start, length, pitch, level * draw.uniform(0.7, 1), timbre, BAND, formant=formant)
            if manner == 3:
                for part in range(int(draw.choice([2, 4]))):
                    pitch = voices[draw.integers(len(voices))]
                    start = first + (at + part / 4) * beat
                    self.note(start, beat * 0.6, pitch, level * 0.8, timbre, BAND, release_s=0.05, formant=formant)

    def _sustained(self, beat: float, first: float, root: int, beats: int) -> None:
        draw = self.draw
        timbre, level, at = self._one("s"), 10 ** (draw.normal(-5, 3) / 20), 0.0
        while at < beats:
            length = draw.choice([1, 2, 4])
            for tone in [0] if self.chance(0.5) else [0, 4, 7]:
                pitch = 55 + (root + tone + draw.choice([0, 2, 5])) % 12 + 12 * self.chance(0.4)
                more = {"attack_s": 0.02, "release_s": 0.06, "vibrato_cents": draw.uniform(0, 20)}
                self.note(first + at * beat, length * beat, pitch, level, timbre, BAND, **more)
            at += length

    def _drums(self, beat: float, first: float, beats: int) -> None:
        draw = self.draw
        level = 10 ** (draw.normal(-3, 4) / 20)
        for at in range(2 * beats):
            keys = [42] if self.chance(0.7) else []
            keys += {0: [36], 2: [38]}.get(at % 4, [])
            keys += [int(draw.integers(35, 60))] if self.chance(0.1) else []
            for key in keys:
                more = {"attack_s": 0.0005, "release_s": 0.05}
                self.note(first + at * beat / 2, 0.5, key, level * draw.uniform(0.4, 1), "drum", DRUMS, **more)


STRING_COLUMNS = 19
"""Of a string: pluck place, slope of its partials, decay in s, slope of the decays, stiffness, cents between the
two strings of a course, level of the second; then four peaks of a body, each as Hz, gain, width in octaves."""


def string(draw: np.random.Generator) -> np.ndarray:
    """The timbre of a string of chance."""
    plain = [draw.uniform(0.08, 0.45), draw.uniform(0.3, 1.6), draw.uniform(0.25, 2.5), draw.uniform(0.2, 1.2)]
    course = [10 ** draw.uniform(-5, -3.3), draw.choice([0, 0, 1]) * draw.uniform(0.5, 8), draw.uniform(0, 0.5)]
    body = [[10 ** draw.uniform(2.2, 3.7), draw.uniform(0, 4), draw.uniform(0.05, 0.4)] for _ in range(4)]
    return np.concatenate([plain, course, np.ravel(body)])


RECORDING_COLUMNS = 12
"""Of a recording: tilt and middle of an equaliser in dB, share and length of a room, noise, drive, the frequency
where old records end, cents off pitch; then tilt and middle of the lead alone, its drive, and the band's level."""


def recording(draw: np.random.Generator, band_db: tuple[float, float]) -> list[float]:
    """How a recording of chance is made."""
    return [
        draw.uniform(-8, 8),
        draw.uniform(-8, 8),
        draw.uniform(0, 1) ** 2 * 0.6,
        10 ** draw.uniform(-1.3, 0.2),
        10 ** (draw.uniform(-75, -30) / 20),
        draw.uniform(0.2, 3),
        draw.choice([0, 0, 1]) * draw.uniform(2500, 7000),
        draw.uniform(-15, 15),
        draw.uniform(-6, 6),
        draw.uniform(-6, 6),
        10 ** draw.uniform(-0.3, 1.2) * (draw.random() < 0.2),
        10 ** (draw.uniform(*band_db) / 20),
    ]


def batches(seed: int, size: int, timbres: Timbres, *, trial: bool = False) -> Iterator[tuple[np.ndarray, ...]]:
    """Without end: notes (n, COLUMNS), strings (size, STRING_COLUMNS), recordings (size, RECORDING_COLUMNS).

    A trial is of timbres kept back, its band at most as loud as the lead.
    """
    draw = np.random.default_rng(seed)
    while True:
        rows, strings, recordings = [], [], []
        for clip in range(size):
            player = Player(draw, timbres, clip, trial)
            low = int(draw.integers(40, 64))
            own = player.chance(0.3 if trial else 0.6)
            player.lead(low, min(low + int(draw.integers(14, 31)), 96), None if own else player._one("p"))
            if player.chance(0.82):
                player.band()
            rows += player.rows
            strings.append(string(draw))
            recordings.append(recording(draw, (-6, 0) if trial else (-14, 7)))
        yield tuple(np.array(table, dtype=np.float32) for table in (rows, strings, recordings))
