"""A solo with known notes in a band whose tempo drifts, played by engines that share no code with ours."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import soundfile

from tabterm.instrument.presets import PRESETS
from tabterm.performance import Part, Performance, Pluck
from tabterm.sound.rendering import Rendering
from tabterm.sound.voicing import voicing_of
from tests.recording import oracle

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.score.model import Score

LEAD_S = 0.8
"""Of silence before the first beat."""

# An invented line in G over G, C, D and G; a number is an eighth, `.` holds it on.
LINE = (
    "67 69 71 74 76 74 71 69 | 72 . 76 79 76 72 69 72 | 74 78 76 74 78 81 78 74 | 79 . 74 71 67 . . ."
    "| 71 74 79 78 76 74 71 74 | 76 74 72 69 67 69 72 . | 69 72 74 78 76 74 72 69 | 67 71 74 79 67 . . ."
)
CHORDS = ((43, 59, 62, 67), (48, 60, 64, 67), (50, 57, 62, 66), (43, 59, 62, 67)) * 2
"""Bass and three tones of each measure."""


@dataclass(frozen=True)
class Solo:
    """What was played.

    Attributes:
        notes: (quarters from the start, MIDI pitch, quarters it lasts).
        beats_s: Seconds of every quarter, the end included.
    """

    notes: tuple[tuple[Fraction, int, Fraction], ...]
    beats_s: tuple[float, ...]

    def at(self, quarters: float) -> float:
        """The second of a moment."""
        return float(np.interp(quarters, range(len(self.beats_s)), self.beats_s))


def solo(*, bpm: float = 112.0, to_bpm: float = 122.0, measures: int = 8) -> Solo:
    """The line, with a tempo that goes evenly from one to the other."""
    notes: list[tuple[Fraction, int, Fraction]] = []
    words = [word for bar in LINE.split("|")[:measures] for word in bar.split()]
    for eighth, word in enumerate(words):
        if word == ".":
            at, pitch, length = notes[-1]
            notes[-1] = at, pitch, length + Fraction(1, 2)
        else:
            notes.append((Fraction(eighth, 2), int(word), Fraction(1, 2)))
    tempos = np.linspace(bpm, to_bpm, 4 * measures)
    return Solo(tuple(notes), tuple(np.concatenate([[LEAD_S], LEAD_S + np.cumsum(60 / tempos)]).tolist()))


def recorded(path: Path, played: Solo, *, engine: str = "stk", level: float = 0.6) -> None:
    """Write it over bass, chords and a hi-hat (FluidR3), the band at a share of the solo's power."""
    length_s = played.beats_s[-1] + 1.0
    if engine in oracle.engines():
        asked = [
            oracle.Note(played.at(at), pitch, played.at(at + length) - played.at(at))
            for at, pitch, length in played.notes
        ]
        lead = oracle.rendered(engine, asked, length_s)
    else:
        lead = _own(played, length_s)
    sound = lead / np.sqrt(np.mean(lead**2))
    if level and "steel" in oracle.engines():
        band = oracle.band(_band(played), {0: 32, 1: 24}, length_s)
        sound = sound + level * band / np.sqrt(np.mean(band**2))
    soundfile.write(path, 0.7 * sound / np.abs(sound).max(), oracle.RATE_HZ)


def _own(played: Solo, length_s: float) -> np.ndarray:
    """The line on the strings of the program itself, where no other engine is there."""
    instrument = PRESETS["octave-mandolin"]
    plucks = tuple(
        Pluck(Part.SOLO, 1, pitch, played.at(at), played.at(at + length), 96) for at, pitch, length in played.notes
    )
    alone = Performance((), (), plucks, (), (), 0.0, length_s, instrument)
    sound = np.concatenate(list(Rendering(alone, voicing_of(instrument)).blocks())).mean(axis=1).astype(float)
    size = round(length_s * oracle.RATE_HZ)
    return np.pad(sound, (0, max(0, size - len(sound))))[:size]


def _band(played: Solo) -> list[oracle.Played]:
    struck: list[oracle.Played] = []
    for beat in range(len(played.beats_s) - 1):
        chord, at_s = CHORDS[beat // 4 % len(CHORDS)], played.beats_s[beat]
        held_s = played.beats_s[beat + 1] - at_s
        struck.append((9, at_s, 42, 0.1, 90))
        if beat % 2 == 0:
            struck.append((0, at_s, chord[0] - 12 * (chord[0] > 45), 0.9 * held_s, 100 if beat % 4 == 0 else 80))
        else:
            struck += [(1, at_s, tone, 0.6 * held_s, 70) for tone in chord[1:]]
    return struck


def heard(score: Score) -> list[tuple[Fraction, int]]:
    """What a score plays: (quarters from the start, MIDI pitch) of every note that is struck."""
    found, at = [], Fraction(0)
    for measure in score.measures:
        for offset, event in measure.timed():
            found += [
                (at + offset, score.head.instrument.pitch(note.course, note.fret))
                for note in event.notes
                if not note.tied
            ]
        at += measure.length
    return found
