"""Make `samples/tollgate-reel.ogg`, a recording to learn with.

    python docs/sample_recording.py

The invented tune `samples/tollgate-reel.abc` on a tenor banjo with chords and bass, all of it by the program's own
strings. As on a record, the tempo drifts (by measures, 104 to 116), and the pitch is not A4 = 440 Hz.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import soundfile
import soxr

import tabterm
from tabterm.piece import audio
from tabterm.score.tempo import Tempo

SAMPLES = Path(__file__).parents[1] / "samples"
TUNE, RECORDING = SAMPLES / "tollgate-reel.abc", SAMPLES / "tollgate-reel.ogg"
TEMPOS = (106, 106, 105, 104, 105, 107, 109, 110, 112, 113, 114, 116, 116)
"""Quarters a minute, of the pickup and each measure."""
CENTS = -24.0
"""How the record is tuned: 24 cents under A4 = 440 Hz."""
SAID = "Invented, and played by tabterm itself: no record of anybody."


def main() -> None:
    """Play, detune, write."""
    piece = tabterm.open(TUNE, player=tabterm.Player(), instrument="tenor-banjo").stroked()
    tempos = zip(piece.score.measures, TEMPOS, strict=True)
    measures = tuple(measure.with_(tempo=Tempo(float(bpm))) for measure, bpm in tempos)
    score = piece.score.with_(measures=measures)
    with tempfile.TemporaryDirectory() as folder:
        played = Path(folder) / "played.wav"
        audio.render(played, score, parts="both", style="bass-and-chop")
        sound, rate = soundfile.read(played, dtype="float32")
    lower = soxr.resample(sound, rate, rate * 2 ** (-CENTS / 1200))
    with soundfile.SoundFile(
        RECORDING, "w", rate, 2, format="OGG", subtype="VORBIS", compression_level=0.5
    ) as file:
        file.title, file.comment = "Tollgate Reel", SAID
        file.write(lower)
    print(f"{RECORDING.name}: {len(lower) / rate:.1f} s, {RECORDING.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
