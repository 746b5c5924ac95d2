"""Independent plucked strings with known notes: engines that share no code with ours, for judging what is heard.

| engine | what it is | a slur is |
|---|---|---|
| stk | a physical model of a mandolin with recorded body responses (`stk-demo`) | a change of length, no attack |
| steel | a recorded steel-string guitar: FluidR3 GM, program 25, by `fluidsynth` | a soft attack |
| banjo | a recorded banjo: program 105 of the same bank | a soft attack |
| csound | a Karplus-Strong string, opcode `pluck` | a soft attack |

Debian: `apt-get install stk fluidsynth fluid-soundfont-gm csound`.
"""

from __future__ import annotations

import math
import os
import shutil
import struct
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np

RATE_HZ = 44_100
BANK = Path(os.environ.get("TABTERM_BANK", "/usr/share/sounds/sf2/FluidR3_GM.sf2"))
PROGRAMS = {"steel": 25, "banjo": 105}
PROGRAMS_NEEDED = {"stk": "stk-demo", "steel": "fluidsynth", "banjo": "fluidsynth", "csound": "csound"}
LIMIT_S = 300

Played = tuple[int, float, int, float, int]
"""Channel, seconds, MIDI pitch, seconds held, velocity."""


@dataclass(frozen=True)
class Note:
    """A note that is asked of an engine."""

    start_s: float
    pitch: int
    length_s: float
    slurred: bool = False


def engines() -> list[str]:
    """The engines that can be had on this machine."""
    return [
        name
        for name, program in PROGRAMS_NEEDED.items()
        if shutil.which(program) and (program != "fluidsynth" or BANK.exists())
    ]


def rendered(engine: str, notes: list[Note], length_s: float) -> np.ndarray:
    """Mono sound at RATE_HZ of exactly this length."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        if engine == "stk":
            sound = _stk(notes, length_s, place)
        elif engine == "csound":
            sound = _csound(notes, length_s, place)
        else:
            played = [
                (index % 2, note.start_s, note.pitch, note.length_s, 60 if note.slurred else 100)
                for index, note in enumerate(notes)
            ]
            sound = render_bank(played, dict.fromkeys((0, 1), PROGRAMS[engine]), place)
    samples = round(length_s * RATE_HZ)
    return np.pad(sound, (0, max(0, samples - len(sound))))[:samples]


def band(played: list[Played], programs: dict[int, int], length_s: float) -> np.ndarray:
    """A band of bank instruments, by channel; channel 9 is drums."""
    with tempfile.TemporaryDirectory() as folder:
        sound = render_bank(played, programs, Path(folder))
    samples = round(length_s * RATE_HZ)
    return np.pad(sound, (0, max(0, samples - len(sound))))[:samples]


def _run(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", timeout=LIMIT_S, check=False)
    if done.returncode:
        raise RuntimeError(f"{command[0]} failed: {(done.stdout + done.stderr)[-800:]}")


def read_wave(path: Path) -> np.ndarray:
    """A 16 bit file, mixed to mono, -1 to 1."""
    with wave.open(str(path)) as file:
        assert (file.getsampwidth(), file.getframerate()) == (2, RATE_HZ), path
        values = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float) / 32768
        return values.reshape(-1, file.getnchannels()).mean(1)


def _stk(notes: list[Note], length_s: float, place: Path) -> np.ndarray:
    """Times are deltas, truncated to samples; the model's loop is a sample too long: a higher note is asked for.

    Strings ring on: the model's damper clicks. Without reverberation; the second string 1.5 cents lower.
    """

    def asked(pitch: int) -> float:
        hz = 440 * 2 ** ((pitch - 69) / 12)
        return 69 + 12 * math.log2(1 / (1 / hz - 1 / RATE_HZ) / 440)

    said = [(0, "ControlChange {} 1 44 0"), (0, "ControlChange {} 1 1 1.1")]
    for note in notes:
        how = "PitchChange {{}} 1 {:.5f}" if note.slurred else "NoteOn {{}} 1 {:.5f} 100"
        said.append((round(note.start_s * RATE_HZ), how.format(asked(note.pitch))))
    said.append((round(length_s * RATE_HZ), "NoteOff {} 1 60 64"))
    at, lines = 0, []
    for sample, line in said:
        lines.append(line.format(f"{(sample - at + 0.5) / RATE_HZ:.9f}"))
        at = sample
    score, sound = place / "s.ski", place / "s.wav"
    score.write_text("\n".join(lines) + "\n")
    _run("stk-demo", "Mandolin", "-s", str(RATE_HZ), "-n", "1", "-ow", str(sound), "-if", str(score))
    return read_wave(sound)


def render_bank(played: list[Played], programs: dict[int, int], place: Path) -> np.ndarray:
    """What fluidsynth makes of notes, dry."""
    events = [(0, 0, bytes((0xC0 | channel, program))) for channel, program in programs.items()]
    for channel, start_s, pitch, held_s, velocity in played:
        events.append((round(start_s * 48_000), 2, bytes((0x90 | channel, pitch, velocity))))
        events.append((round((start_s + held_s) * 48_000), 1, bytes((0x80 | channel, pitch, 64))))
    track, at = b"\0\xff\x51\x03" + (500_000).to_bytes(3, "big"), 0
    for tick, _, data in sorted(events):
        track += _variable(tick - at) + data
        at = tick
    track += _variable(24_000) + b"\xff\x2f\0"
    score, sound = place / "m.mid", place / "m.wav"
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 24_000)
    score.write_bytes(header + b"MTrk" + struct.pack(">I", len(track)) + track)
    dry = ["-ni", "-q", "-R", "0", "-C", "0", "-g", "0.5", "-r", str(RATE_HZ), "-O", "s16", "-T", "wav"]
    _run("fluidsynth", *dry, "-F", str(sound), str(BANK), str(score))
    return read_wave(sound)


def _variable(number: int) -> bytes:
    out = [number & 127]
    while number := number >> 7:
        out.append(number & 127 | 128)
    return bytes(reversed(out))


ORCHESTRA = f"""<CsoundSynthesizer>
<CsInstruments>
sr={RATE_HZ}
ksmps=1
nchnls=1
0dbfs=1
instr 1
 a1 pluck p5, p4, p4, 0, 1
 a2 pluck p5, p4*0.99913, p4*0.99913, 0, 1
 out (a1+a2)*0.5*linsegr(1,0.02,1,0.04,0)
endin
</CsInstruments>
<CsScore>
SCORE
</CsScore>
</CsoundSynthesizer>
"""


def _csound(notes: list[Note], length_s: float, place: Path) -> np.ndarray:
    lines = [
        f"i1 {note.start_s:.7f} {note.length_s + 0.05:.6f} {440 * 2 ** ((note.pitch - 69) / 12):.6f} "
        f"{0.4 * (0.22 if note.slurred else 1):.4f}"
        for note in notes
    ]
    score, sound = place / "c.csd", place / "c.wav"
    score.write_text(ORCHESTRA.replace("SCORE", "\n".join([*lines, f"e {length_s}"])))
    _run("csound", "-d", "-m0", "-W", "-s", "-o", str(sound), str(score))
    return read_wave(sound)


def lags(engine: str, pitches: range) -> dict[int, float]:
    """Seconds from a note's asked time until its envelope reaches a fifth of its peak, by pitch, measured alone.

    Recorded samples have a slow start of their own; a player hears the note then.
    """
    notes = [Note(0.5 + index, pitch, 0.8) for index, pitch in enumerate(pitches)]
    sound = np.abs(rendered(engine, notes, len(notes) + 1.5))
    told = {}
    for note in notes:
        here = sound[round(note.start_s * RATE_HZ) : round((note.start_s + 0.3) * RATE_HZ)]
        told[note.pitch] = np.flatnonzero(here > 0.2 * here.max())[0] / RATE_HZ
    return told
