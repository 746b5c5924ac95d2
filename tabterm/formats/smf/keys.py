"""The key that notes are most likely in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.key import C_MAJOR, Key

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.formats.smf.tracks import Strike

MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
"""How well each semitone over the tonic fits: probe-tone profiles of Krumhansl and Kessler 1982 (from memory)."""

NAMES = ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F")
LONGEST = 4.0
"""Quarters of a note that count."""


def estimate(notes: Iterable[Strike]) -> Key:
    """The key whose profile fits the time that each pitch class sounds best; C where nothing tells."""
    weights = [0.0] * 12
    for note in notes:
        weights[note.pitch % 12] += min(note.end - note.start, LONGEST)
    best, best_fit = C_MAJOR, -2.0
    for ending, profile in (("", MAJOR), ("m", MINOR)):
        for name in NAMES:
            key = Key.parse(f"{name}{ending}")
            fit = _correlation(weights, [profile[(pitch_class - key.tonic) % 12] for pitch_class in range(12)])
            if fit > best_fit + 1e-9 and abs(key.fifths) <= 7:
                best, best_fit = key, fit
    return best


def _correlation(one: Sequence[float], other: Sequence[float]) -> float:
    mean_one, mean_other = sum(one) / 12.0, sum(other) / 12.0
    top = sum((a - mean_one) * (b - mean_other) for a, b in zip(one, other, strict=True))
    squares = sum((a - mean_one) ** 2 for a in one) * sum((b - mean_other) ** 2 for b in other)
    return float(top / squares**0.5) if squares > 0 else -1.0
