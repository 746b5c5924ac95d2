"""The tone of a plucked course up the neck, beside two references rendered in the same run.

References: the mandolin model of The Synthesis ToolKit (Debian's `stk`, two waveguide strings), and the sampled
steel strings of the bank FluidR3 GM (Debian's `fluid-soundfont-gm`, by `fluidsynth`; program 25, counted from 0).
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import mido
import numpy as np
import soundfile

from tabterm.instrument.presets import PRESETS
from tests.bench.figure import Figure
from tests.sound.analysis import hertz_of, mono, spectrum
from tests.sound.plucking import RATE, level_db, pluck, sounded
from tests.sound.test_against_others import modelled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float64]

BANK = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
STEEL = 25
FRETS = range(16)
SECONDS = 1.1
PARTIALS = 8
MOMENTS_S = (0.3, 0.6, 1.0)
BETWEEN_S = ((0.06, 0.1), (0.1, 0.15), (0.15, 0.2))
BETWEEN_HZ = (1500, 6000)
LEAST_PITCH = 71
"""Below it partials lie too near each other, or too far off, for anything to be seen between them in 40 ms."""

STIFF = 2e-4
"""B of about the strings of all three."""


class Look(NamedTuple):
    """What is measured of a tone.

    Attributes:
        off_db: How far the second and the third partial lie off a straight line through the first eight.
        centroid_hz: Where the power of the first 40 ms lies.
        high_db: Power over 5 kHz in the first 10 ms, against all of it.
        fallen_db: Level at 0.3, 0.6 and 1.0 s against that of 50 to 100 ms.
        between_db: Power between the partials at 60 to 100, 150 and 200 ms, against all of the first 50 ms.
    """

    off_db: tuple[float, float]
    centroid_hz: float
    high_db: float
    fallen_db: tuple[float, ...]
    between_db: tuple[float, ...]


def look(samples: Samples, pitch: int) -> Look:
    """A tone that begins with its attack."""
    ks = np.array([k for k in range(1, PARTIALS + 1) if k * hertz_of(pitch) < 0.4 * RATE])
    levels = np.array([20 * np.log10(max(_partial(samples, k * hertz_of(pitch)), 1e-9)) for k in ks])
    trend = np.polyval(np.polyfit(ks, levels, 1), ks)
    magnitudes, hertz = spectrum(samples[:1764])
    power = magnitudes**2
    first, first_hz = spectrum(samples[:441])
    high = (first[first_hz > 5000] ** 2).sum() / (first**2).sum()
    start = level_db(samples[2205:4410])
    return Look(
        (float((levels - trend)[1]), float((levels - trend)[2])),
        float((power * hertz).sum() / power.sum()),
        float(10 * np.log10(high + 1e-12)),
        tuple(level_db(samples[round(s * RATE) - 1100 : round(s * RATE) + 1100]) - start for s in MOMENTS_S),
        _between(samples, hertz_of(pitch)) if pitch >= LEAST_PITCH else (),
    )


def _partial(samples: Samples, hertz: float) -> float:
    """Its level 30 ms after the attack, where it is strongest: a stiff string has its partials a little higher."""
    magnitudes, at_hz = spectrum(samples[1323:4851])
    inside = (at_hz > hertz * 0.99) & (at_hz < hertz * 1.06)
    return float(magnitudes[inside].max())


def _between(samples: Samples, hertz: float) -> tuple[float, ...]:
    """What lies more than a quarter of the fundamental off every partial."""
    ks = np.arange(1, 65)
    partials = ks * np.sqrt((1 + STIFF * ks**2) / (1 + STIFF))
    whole, _ = spectrum(samples[:2205])
    found = []
    for first_s, last_s in BETWEEN_S:
        magnitudes, at_hz = spectrum(samples[round(first_s * RATE) : round(last_s * RATE)])
        inside = (at_hz > BETWEEN_HZ[0]) & (at_hz < BETWEEN_HZ[1])
        off = np.abs(at_hz[inside, None] / hertz - partials).min(axis=1) > 0.25
        found.append(float(10 * np.log10((magnitudes[inside][off] ** 2).sum() / (whole**2).sum())))
    return tuple(found)


def notes(frets: range | tuple[int, ...] = FRETS) -> list[tuple[int, int]]:
    """Courses from 1, and pitches."""
    return [
        (number, course.pitch + fret)
        for number, course in enumerate(PRESETS["mandolin"].courses, 1)
        for fret in frets
    ]


def ours(course: int, pitch: int) -> Samples:
    """A second and a bit of a down-stroke."""
    return mono(sounded(pluck(pitch, course=course), seconds=SECONDS))


@cache
def toolkit(pitch: int) -> Samples:
    """The same by the toolkit."""
    with tempfile.TemporaryDirectory() as folder:
        return modelled(pitch, Path(folder), SECONDS)


@cache
def sampled(pitch: int) -> Samples:
    """The same by the bank."""
    with tempfile.TemporaryDirectory() as folder:
        track = mido.MidiTrack(
            [
                mido.Message("program_change", program=STEEL),
                mido.Message("note_on", note=pitch, velocity=100, time=96),
                mido.Message("note_off", note=pitch, time=1440),
            ]
        )
        mido.MidiFile(tracks=[track]).save(f"{folder}/one.mid")
        words = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.5", "-r", str(RATE), "-O", "s16"]
        words += ["-T", "wav", "-F", f"{folder}/one.wav", str(BANK), f"{folder}/one.mid"]
        subprocess.run(words, check=True, capture_output=True)
        samples = mono(soundfile.read(f"{folder}/one.wav")[0])
    return np.pad(samples[np.flatnonzero(np.abs(samples) > 0.02 * np.abs(samples).max())[0] :], (0, RATE))


HAS_REFERENCES = all(map(shutil.which, ("stk-demo", "fluidsynth"))) and BANK.exists()


def references(pitch: int) -> tuple[Samples, Samples]:
    """What the toolkit and the bank make of a pitch."""
    return toolkit(pitch), sampled(pitch)


def figures() -> list[Figure]:
    """Every figure; the whole takes about half a minute."""
    found = [_partials()]
    if HAS_REFERENCES:
        found += _beside()
    return found


def _partials() -> Figure:
    off = {note: max(map(abs, look(ours(*note), note[1]).off_db)) for note in notes()}
    worst = max(off, key=lambda note: off[note])
    over = sum(each > 12 for each in off.values())
    note = f"worst: course {worst[0]}, fret {worst[1] - PRESETS['mandolin'].courses[worst[0] - 1].pitch}"
    return Figure(
        "2nd and 3rd partial off the trend, at most", off[worst], "dB", 12, f"{over} of {len(off)} over; {note}"
    )


def _beside() -> list[Figure]:
    """Against the references, over all courses and frets."""
    heard = [
        (course, look(ours(course, pitch), pitch), tuple(look(each, pitch) for each in references(pitch)))
        for course, pitch in notes()
    ]
    found = []
    for name, field, unit in (
        ("attack centroid, outside the references", "centroid_hz", "Hz"),
        ("share over 5 kHz in 10 ms, outside them", "high_db", "dB"),
    ):
        outside, spans = 0, []
        for number in range(1, 5):
            mine = [getattr(each, field) for course, each, _ in heard if course == number]
            theirs = [getattr(each, field) for course, _, both in heard if course == number for each in both]
            outside += sum(not min(theirs) <= each <= max(theirs) for each in mine)
            spans.append(f"course {number} {_span(mine)} ({_span(theirs)})")
        note = f"of {len(heard)}; {unit}, references in brackets: {'; '.join(spans)}"
        found.append(Figure(name, outside, "notes", 0, note))
    off = [
        min(abs(mine.fallen_db[at] - other.fallen_db[at]) for other in both)
        for _, mine, both in heard
        for at in range(len(MOMENTS_S))
    ]
    over = sum(each > 4 for each in off)
    note = f"{over} of {len(off)} over; {', '.join(f'{part}: {each:.1f}' for part, each in _parts(off))}"
    between = [
        (mine.between_db[at], *(other.between_db[at] for other in both))
        for _, mine, both in heard
        for at in range(len(mine.between_db))
    ]
    off_samples = float(np.median([abs(mine - samples) for mine, _, samples in between]))
    middle = " ".join(f"{float(np.median(each)):.0f}" for each in zip(*between, strict=True))
    return [
        *found,
        Figure("decay off the nearer reference, at most", max(off), "dB", 4, note),
        Figure(
            "between the partials, off the samples (median)",
            off_samples,
            "dB",
            6,
            f"of {len(between)}, from B4, 1.5 to 6 kHz, 60 to 200 ms; medians: ours, model, samples {middle} dB",
        ),
    ]


def _parts(values: list[float]) -> list[tuple[str, float]]:
    """What half, nine tenths and nearly all of them do not exceed."""
    return [(f"{part}%", float(np.percentile(values, part))) for part in (50, 90, 98)]


def _span(values: list[float]) -> str:
    return f"{min(values):.0f} to {max(values):.0f}"
