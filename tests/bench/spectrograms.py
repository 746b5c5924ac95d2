"""Draw the built-in mandolin beside the two references of `tests.bench.tone`, note by note.

    python -m tests.bench.spectrograms [OUT.png]

Across: ours, the waveguide mandolin of `stk`, the sampled steel strings. Down: notes from the open lowest course
to the twelfth fret of the highest. Each panel is a second long and 10 kHz high, and goes 80 dB down from its peak.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from tabterm.instrument.presets import PRESETS
from tests.bench.tone import ours, sampled, toolkit
from tests.sound.plucking import RATE

if TYPE_CHECKING:
    from tests.bench.tone import Samples

NOTES = ((4, 0), (3, 4), (2, 7), (1, 12))
"""Courses and frets."""

WIDE, HIGH, GAP, LEFT, TOP, FOOT = 230, 150, 8, 112, 24, 20
SECONDS, TOP_HZ, DEEP_DB, STEPS = 1.0, 10_000, 80, 16
WINDOW = 1024
HEADS = ("tabterm", "waveguide mandolin (stk)", "sampled steel strings")
DARK, BRIGHT = (12, 14, 30), (255, 240, 170)
MIDDLE = (190, 70, 80)


def main() -> None:
    """Write the picture."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[2] / "docs" / "tone.png"
    picture = drawn()
    picture.quantize(STEPS * 2).save(out, optimize=True)
    print(f"{out}: {out.stat().st_size / 1000:.0f} kB, {picture.width} x {picture.height}")


def drawn() -> Image.Image:
    """All panels with their names."""
    size = (LEFT + len(HEADS) * (WIDE + GAP), TOP + len(NOTES) * (HIGH + GAP) + FOOT)
    picture = Image.new("RGB", size, "white")
    pen, font = ImageDraw.Draw(picture), ImageFont.load_default(13)
    for column, head in enumerate(HEADS):
        pen.text((LEFT + column * (WIDE + GAP), 4), head, "black", font)
    for row, (course, fret) in enumerate(NOTES):
        pitch, y = PRESETS["mandolin"].courses[course - 1].pitch + fret, TOP + row * (HIGH + GAP)
        pen.text((4, y + HIGH // 2 - 16), f"course {course}\nfret {fret}", "black", font)
        for hertz in (0, 5000):
            pen.text((LEFT - 34, y + HIGH - hertz * HIGH // TOP_HZ - 14), f"{hertz // 1000} kHz", "black", font)
        for column, samples in enumerate((ours(course, pitch), toolkit(pitch), sampled(pitch))):
            picture.paste(panel(samples), (LEFT + column * (WIDE + GAP), y))
    for column in range(len(HEADS)):
        for second in (0.0, 0.5):
            at = LEFT + column * (WIDE + GAP) + round(second / SECONDS * WIDE)
            pen.text((at, size[1] - FOOT), f"{second:g} s", "black", font)
    return picture


def panel(samples: Samples) -> Image.Image:
    """One spectrogram."""
    hop = round(SECONDS * RATE / WIDE)
    padded = np.pad(samples, (WINDOW // 2, WINDOW + WIDE * hop))
    frames = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::hop][:WIDE] * np.hanning(WINDOW)
    power = np.abs(np.fft.rfft(frames, 2 * WINDOW)) ** 2
    edges = np.linspace(0, TOP_HZ / RATE * 2 * WINDOW, HIGH + 1)
    rows = np.array([power[:, int(low) : int(low) + 2].max(axis=1) for low in edges[:-1]])[::-1]
    levels_db = 10 * np.log10(rows / rows.max() + 1e-12)
    shade = np.clip(np.floor((1 + levels_db / DEEP_DB) * STEPS) / (STEPS - 1), 0, 1)
    places = np.array([0.0, 0.5, 1.0])
    colours = [np.interp(shade, places, (DARK[c], MIDDLE[c], BRIGHT[c])) for c in range(3)]
    return Image.fromarray(np.dstack(colours).astype(np.uint8))


if __name__ == "__main__":
    main()
