"""Single notes of a General MIDI bank under the MIT licence (FluidR3) as timbres to learn from.

Left out, since the trial is made of them: steel guitar 25, banjo 105, and its band 0, 24, 32, 40 and kit 0.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.recording import oracle

PLUCKED = (1, 4, 6, 11, 12, 26, 27, 28, 29, 45, 46, 104, 106, 107)
SUSTAINED = (16, 21, 22, 41, 42, 48, 52, 56, 65, 71, 73)
BASSES = (33, 34, 35, 43)
KIT = 16
STEP = 3
"""Semitones between the notes of a timbre."""
RANGES = {"p": (37, 100, 1.5), "s": (40, 91, 1.4), "b": (28, 56, 1.2)}
"""By kind: from this pitch up to that one, and how long the key is held, in seconds."""
LENGTH = 26_460
"""Samples of a note at 22,050 Hz: 1.2 s."""
EVERY_S = 1.6


def notes(program: int, pitches: range, held_s: float, channel: int = 0) -> np.ndarray:
    """A note a row, (notes, LENGTH), int16, each at full level."""
    played = [(channel, 0.2 + EVERY_S * at, pitch, held_s, 100) for at, pitch in enumerate(pitches)]
    with tempfile.TemporaryDirectory() as folder:
        sound = oracle.render_bank(played, {channel: program}, Path(folder))
    sound = np.pad(sound, (0, 4 * LENGTH))
    rows = []
    for at in range(len(pitches)):
        start = round((0.2 + EVERY_S * at) * oracle.RATE_HZ)
        row = halved(sound[start : start + 2 * LENGTH])
        peak = np.abs(row).max()
        rows.append((row / peak * 32_000 if peak > 1e-4 else row * 0).astype("<i2"))
    return np.stack(rows)


def halved(sound: np.ndarray) -> np.ndarray:
    """44,100 to 22,050 Hz through a windowed sinc."""
    taps = np.arange(-63, 64)
    return np.convolve(sound, np.sinc(taps / 2) / 2 * np.blackman(127), mode="same")[::2]


def main(path: str) -> None:
    """Write the bank."""
    made = {}
    for kind, programs in (("p", PLUCKED), ("s", SUSTAINED), ("b", BASSES)):
        low, high, held_s = RANGES[kind]
        for program in programs:
            made[f"{kind}{program}"] = notes(program, range(low, high, STEP), held_s)
    made["drum"] = notes(KIT, range(35, 60), 0.5, channel=9)[:, : LENGTH // 2]
    np.savez_compressed(path, **made)
    print(f"{path}: {len(made)} timbres, {Path(path).stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main(sys.argv[1])
