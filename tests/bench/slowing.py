"""Ways of slowing a recording, on plucked notes of engines of their own, and ways of closing a loop.

`tabterm` is what the program does: a phase vocoder whose bins turn with the peak they lie around, and which lets
attacks run at their own speed. Beside it the same without the attacks; a vocoder whose bins turn one by one; and
segments of the sound laid over each other where they are most alike (WSOLA, Verhelst & Roelands 1993, ICASSP; from
memory), alone and with the attacks left whole.
"""

from __future__ import annotations

import tempfile
import time
from itertools import product
from pathlib import Path
from unittest.mock import patch

import numpy as np
import soundfile

from tabterm.performance.model import Passage, Record
from tabterm.recording import slow
from tabterm.recording.audio import Recording
from tabterm.sound import record as sound_record
from tests.bench.figure import Figure
from tests.recording import oracle
from tests.recording.test_slow import attack_ms
from tests.sound.test_record import played

RATE = oracle.RATE_HZ
SPEED = 0.5
PITCHES = range(55, 82, 4)
HELD = (19, 40, 48)
WINDOW, HOP, SEARCH = 2048, 512, 512
"""Samples: windows as long as the program's; a segment is looked for so far around."""


def by_program(recording, attacks):
    """As the program slows it; without its attacks where these are not wanted."""
    with patch.object(slow, "onsets", slow.onsets if attacks else lambda *_: []):
        return np.concatenate(list(slow.slowed(recording, 0, recording.length_s, SPEED)))[:, 0]


def bin_by_bin(recording, _attacks):
    """A vocoder that carries each bin's phase on by itself."""
    sound = np.pad(mono(recording), WINDOW)
    shape, total = np.hanning(WINDOW + 1)[:-1], round(len(sound) / SPEED)
    out, phase = np.zeros(total + WINDOW), None
    for at in range(0, total - WINDOW, HOP):
        middle = round(at * SPEED)
        if middle + WINDOW + HOP > len(sound):
            break
        here = np.fft.rfft(sound[middle : middle + WINDOW] * shape)
        later = np.fft.rfft(sound[middle + HOP : middle + HOP + WINDOW] * shape)
        phase = np.angle(here) if phase is None else phase + np.angle(later * np.conj(here))
        out[at : at + WINDOW] += np.fft.irfft(np.abs(here) * np.exp(1j * phase)) * shape / 1.5
    return out[round(WINDOW / SPEED) :]


def by_segments(recording, attacks):
    """Segments of the sound where they fit best; around an attack exactly where it lies."""
    sound, size = mono(recording), WINDOW
    found = slow.onsets(recording, 0, recording.length_s) if attacks else []
    heard, meant = slow._ways(found, len(sound), SPEED, before=size // 2, after=round(slow.AFTER_S * RATE))
    padded, shape = np.pad(sound, 2 * size), np.hanning(size + 1)[:-1]
    total, step = round(len(sound) / SPEED), size // 2
    out, follows = np.zeros(total + 2 * size), 0
    for at in range(0, total, step):
        middle = round(float(np.interp(at, meant, heard)))
        region = int(np.searchsorted(meant, at))
        whole = region % 2 == 0 and region > 0
        start = 2 * size + middle - size // 2
        if at and not whole:
            wanted = padded[follows : follows + size]
            near = padded[start - SEARCH : start + SEARCH + size]
            power = np.convolve(near * near, np.ones(size), "valid")
            start += int(np.argmax(np.correlate(near, wanted, "valid") / np.sqrt(power + 1e-9))) - SEARCH
        out[at : at + size] += padded[start : start + size] * shape
        follows = start + step
    return out[size // 2 :]


METHODS = {
    "tabterm": (by_program, True),
    "without attacks": (by_program, False),
    "bin by bin": (bin_by_bin, False),
    "segments": (by_segments, False),
    "segments, attacks": (by_segments, True),
}


def mono(recording):
    """Its left channel."""
    return np.concatenate(list(recording.stereo(0, recording.length_s)))[:, 0]


def level_db(sound, start_s, length_s, step_s):
    """Level in steps over a stretch of a note."""
    size = round(step_s * RATE)
    part = sound[round(start_s * RATE) :][: size * round(length_s / step_s)]
    return 10 * np.log10(np.mean(part.reshape(-1, size) ** 2, axis=1) + 1e-12)


def shift_cents(before, after, note):
    """By how much the partials of a note have moved, each beside itself, weighed by its power."""
    hz, total, weight = 440 * 2 ** ((note.pitch - 69) / 12), 0.0, 0.0
    for k in range(1, 4):
        was, power = peak(before, note.start_s + 0.08, 0.5, k * hz, 80)
        now, _ = peak(after, (note.start_s + 0.08) / SPEED, 0.5 / SPEED, was, 20)
        total, weight = total + power * abs(1200 * np.log2(now / was)), weight + power
    return float(total / weight)


def peak(sound, start_s, length_s, hz, within_cents):
    """Frequency and power of the strongest partial within so many cents of a frequency."""
    part, size = sound[round(start_s * RATE) : round((start_s + length_s) * RATE)], 1 << 19
    level, scale = np.abs(np.fft.rfft(part * np.hanning(len(part)), size)), np.fft.rfftfreq(size, 1 / RATE)
    low, high = (round(hz * 2 ** (side * within_cents / 1200) * size / RATE) for side in (-1, 1))
    best = low + int(level[low:high].argmax())
    return scale[best], level[best] ** 2


def warble_db(before, after, start_s):
    """How much the level of a slowed note goes up and down beside that of the note itself (standard deviation)."""
    one = level_db(before, start_s + 0.1, 0.5, 0.02)
    return float(np.std(level_db(after, (start_s + 0.1) / SPEED, 0.5 / SPEED, 0.02 / SPEED) - one))


def ahead_db(sound, start_s):
    """How loud it is in the 25 ms before an attack, beside the tenth of a second behind it."""
    before, behind = (
        np.mean(sound[round((start_s + low) * RATE) : round((start_s + high) * RATE)] ** 2) + 1e-10
        for low, high in ((-0.03, -0.005), (0.0, 0.1))
    )
    return 10 * float(np.log10(before / behind))


def partial_db(sound, start_s, speed, hz):
    """Level of a note's first partial, in steps over it."""
    size = round(0.08 * RATE)
    shape = np.hanning(size) * np.exp(-2j * np.pi * hz * np.arange(size) / RATE)
    at_s = start_s + 0.1 + 0.02 * np.arange(25)
    parts = [sound[round(each / speed * RATE) - size // 2 :][:size] for each in at_s]
    return np.array([20 * np.log10(abs(np.sum(part * shape)) + 1e-9) for part in parts])


def notes_of(engine, folder, second=None):
    """A recording of single notes, a second apart, or of double stops with a note so many semitones higher."""
    tones = [(at, pitch) for at, pitch in enumerate(PITCHES)]
    tones += [] if second is None else [(at, pitch + second) for at, pitch in tones]
    notes = [oracle.Note(0.5 + at, pitch, 0.9) for at, pitch in sorted(tones)]
    sound = oracle.rendered(engine, notes, len(PITCHES) + 1.0)
    path = folder / f"{engine}{second or ''}.wav"
    soundfile.write(path, 0.8 * sound / np.abs(sound).max(), RATE, subtype="FLOAT")
    return notes, Recording.opened(path)


def of_method(name, recordings, stops):
    """Pitch, attack, warble and speed over all engines."""
    method, attacks = METHODS[name]
    off, rises, longer, ahead, warbles, heard_s, spent_s = [], [], [], [], [], 0.0, 0.0
    for notes, recording in recordings:
        before, begun = mono(recording), time.process_time()
        after = method(recording, attacks)
        spent_s, heard_s = spent_s + time.process_time() - begun, heard_s + recording.length_s / SPEED
        for note in notes:
            off.append(shift_cents(before, after, note))
            rises.append(attack_ms(after, note.start_s / SPEED))
            longer.append(rises[-1] - attack_ms(before, note.start_s))
            ahead.append(ahead_db(after, note.start_s / SPEED) - ahead_db(before, note.start_s))
            warbles.append(warble_db(before, after, note.start_s))
    stops_off, stops_warble = [], []
    for notes, recording in stops:
        before, after = mono(recording), method(recording, attacks)
        for note in notes:
            hz = 440 * 2 ** ((note.pitch - 69) / 12)
            stops_off.append(shift_cents(before, after, note))
            ups = partial_db(after, note.start_s, SPEED, hz) - partial_db(before, note.start_s, 1, hz)
            stops_warble.append(float(np.std(ups)))
    goals = {"pitch": 1, "attack": 8} if name == "tabterm" else {}
    yield Figure(f"{name}: pitch off, median", float(np.median(off)), "cents", goals.get("pitch"))
    yield Figure(f"{name}: pitch off, most", max(off), "cents")
    yield Figure(f"{name}: attack, median", float(np.median(rises)), "ms", goals.get("attack"))
    yield Figure(f"{name}: attack longer than it was, most", max(longer), "ms")
    yield Figure(f"{name}: heard before the attack, median", float(np.median(ahead)), "dB")
    yield Figure(f"{name}: warble, median", float(np.median(warbles)), "dB")
    stops_median = float(np.median(stops_off))
    yield Figure(f"{name}: double stops, pitch off, median", stops_median, "cents", goals.get("pitch"))
    yield Figure(f"{name}: double stops, pitch off, most", max(stops_off), "cents")
    yield Figure(f"{name}: double stops, warble, median", float(np.median(stops_warble)), "dB")
    yield Figure(
        f"{name}: CPU a second of sound", 1000 * spent_s / heard_s, "ms", 50 if name == "tabterm" else None
    )


def held_of(program, folder):
    """A recording of one held tone: violin, strings or organ of the bank, in which a seam is heard best."""
    sound = oracle.band([(2, 0.2, 67, 4.0, 100)], {2: program}, 4.5)
    path = folder / f"{program}.wav"
    soundfile.write(path, 0.5 * sound / np.abs(sound).max(), RATE, subtype="FLOAT")
    return Recording.opened(path)


def of_loops(recordings):
    """How deep a loop's level falls at its seam, and how steep it is there, where it is closed in three ways."""
    ways = {"as it fits best": None, "faded over": lambda *_: 0, "cut": lambda *_: 0}
    for name, start in ways.items():
        dips, steps = [], []
        for recording, length_s in product(recordings, (0.311, 0.4137, 0.5021, 0.777)):
            sound = looped(recording, 1.0, 1.0 + length_s, start, cut=name == "cut")
            level = level_db(sound, 0.0, 2 * length_s - 0.05, 0.01)
            turn = round(length_s / 0.01)
            dips.append(max(float(np.median(level) - level[turn - 3 : turn + 4].min()), 0.0))
            steps.append(steepest(sound, length_s))
        goal = 3 if start is None else None
        yield Figure(f"loop {name}: level falls at the seam, median", float(np.median(dips)), "dB", goal)
        yield Figure(f"loop {name}: level falls at the seam, most", max(dips), "dB")
        yield Figure(f"loop {name}: steepest there, beside elsewhere", max(steps), "ratio")


def looped(recording, from_s, to_s, start, *, cut):
    """Four turns, as the engine plays them."""
    record, passage = Record(str(recording.path), "a"), Passage(0.0, from_s, to_s)
    patches = [patch.object(sound_record, "_best_start", start)] if start else []
    patches += [patch.object(sound_record, "_crossed", lambda _old, new: new)] if cut else []
    for each in patches:
        each.start()
    try:
        return played(record, passage, turns=4)[:, 0]
    finally:
        for each in patches:
            each.stop()


def steepest(sound, length_s):
    """The steepest step within 25 ms of a seam, beside the steepest elsewhere."""
    steps, seam, near = np.abs(np.diff(sound)), round(length_s * RATE), round(0.025 * RATE)
    return float(steps[seam - near : seam + near].max() / steps[near * 2 : seam - near].max())


def figures():
    """Figures of each way on every engine that is there."""
    with tempfile.TemporaryDirectory() as folder:
        recordings = [notes_of(engine, Path(folder)) for engine in oracle.engines()]
        able = [engine for engine in oracle.engines() if engine != "stk"]  # that model has one course
        stops = [notes_of(engine, Path(folder), second=4) for engine in able]
        for name in METHODS:
            yield from of_method(name, recordings, stops)
        if oracle.BANK.exists():
            yield from of_loops([held_of(program, Path(folder)) for program in HELD])
