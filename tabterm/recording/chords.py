"""The chords of a band, beat by beat: proposals, by which pitches sound between two beats.

The spectrum of each beat is taken apart into notes with their harmonics, by multiplying them until they add up to
it: a fixed dictionary as in Mauch & Dixon 2010, Approximate note transcription for the improved identification of
difficult chords, ISMIR; the update of Lee & Seung 2001, Algorithms for non-negative matrix factorization, NIPS 13
(both from memory). What sounds in the middle is compared with the tones of each chord, what sounds below with its
root; a chord lasts on unless another fits better for some time.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise, product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.harmony.spelling import fifths_in_key, note_name
from tabterm.recording.spectra import BINS_A_SEMITONE, GRID_BINS, GRID_LOW, HOP, RATE_HZ, scale_of
from tabterm.score.key import Key, mode_tones

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tabterm.recording.spectra import Samples

    Table = NDArray[np.floating]

#: semitones above the root; Harte, Sandler, Abdallah and Gomez 2005, Symbolic representation of musical chords
KINDS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10), "m7": (0, 3, 7, 10), "maj7": (0, 4, 7, 11)}
"""The chords that are told, by their intervals."""

WINDOW = 8192  #: samples, 0.37 s; tuned here: tells the semitones of a bass apart
PITCHES, HARMONICS, SLOPE = 72, 8, 0.6  #: pitches from E1, harmonics of each, ratio of one to the next; tuned here
ROUNDS = 40  #: times; tuned here: of multiplying
LOWEST, HIGHEST, BASS = 45, 74, 50  #: MIDI pitches; tuned here: of the chords' tones; highest of the bass
SEVENTH = 0.7  #: share; tuned here: of a seventh against the other tones
ROOT, FIFTH = 0.7, 0.2  #: points; tuned here: for a bass on the root, on the fifth
FOURTH_TONE = 0.06  #: points; tuned here: against chords of four tones
IN_KEY = 0.05  #: points; tuned here: for tones of the key alone
CHANGE = (0.16, 0.2, 0.45)  #: points; tuned here: against a change at a measure, at every other beat, at others
SURE = 0.05  #: points; tuned here: so much better than any other is 73% sure
TINY = 1e-3  #: bins; derived: under the last one
SILENT = 1e-3  #: share; tuned here: of the usual level of a beat

MAJOR_KEYS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")  #: keys; definition


class BeatChord(NamedTuple):
    """What is told of a beat: a chord symbol, "" for silence, and how sure it is, 0 to 1."""

    symbol: str
    sure: float


def chords_of(
    sound: Samples,
    moments_s: Sequence[float],
    *,
    cents: float = 0.0,
    key: Key | None = None,
    first: int = 0,
    beats: int = 4,
) -> list[BeatChord]:
    """The chord of each beat of a mono sound at `spectra.RATE_HZ`.

    Args:
        sound: What is heard.
        moments_s: When each beat begins, and when the last one ends.
        cents: How much higher than A4 = 440 Hz it is tuned.
        key: The key it is in; the likeliest where none is given.
        first: A beat that begins a measure: chords change there rather than elsewhere.
        beats: How many of them a measure has.
    """
    seen = _between_beats(_in_tune(scale_of(sound, WINDOW), cents), moments_s)
    notes = _notes(seen)
    treble, bass = _tones(notes, LOWEST, HIGHEST), _tones(notes, 0, BASS)
    key = key or _key(treble)
    worth = _fits(treble, bass) + IN_KEY * _shapes() @ np.isin(np.arange(12), _scale(key)) / _shapes().sum(axis=1)
    way = _way(worth, [(beat - first) % beats for beat in range(len(worth))])
    loud = seen.sum(axis=1) > SILENT * np.median(seen.sum(axis=1)) + 1e-9
    return [
        BeatChord(_symbol(chord, key), _sure(fits, chord)) if sounds else BeatChord("", 1.0)
        for chord, fits, sounds in zip(way, worth, loud, strict=True)
    ]


def _in_tune(scale: Table, cents: float) -> Table:
    """The scale moved so that its semitones lie where the recording has them."""
    at = np.clip(np.arange(GRID_BINS) + cents * BINS_A_SEMITONE / 100, 0, GRID_BINS - 1 - TINY)
    below, part = at.astype(int), at % 1
    return np.asarray(scale[:, below] * (1 - part) + scale[:, below + 1] * part)


def _between_beats(scale: Table, moments_s: Sequence[float]) -> Table:
    """How strong each semitone is on the mean between two beats; the root of it, so that soft ones count."""
    wide = np.pad(scale, ((0, 0), (1, 1)))
    tones = wide[:, 1:-1:BINS_A_SEMITONE] + 0.5 * (wide[:, :-2:BINS_A_SEMITONE] + wide[:, 2::BINS_A_SEMITONE])
    ends = np.clip(np.round(np.asarray(moments_s) * RATE_HZ / HOP).astype(int), 0, len(tones) - 1)
    means = [tones[start : max(end, start + 1)].mean(axis=0) for start, end in pairwise(ends)]
    return np.asarray(np.sqrt(np.array(means)))


@cache
def _strings() -> Table:
    """Of each pitch its harmonics on the semitones; (PITCHES, semitones), each adds up to one."""
    table = np.zeros((PITCHES, GRID_BINS // BINS_A_SEMITONE))
    for pitch, harmonic in product(range(PITCHES), range(1, HARMONICS + 1)):
        below, part = divmod(pitch + 12 * math.log2(harmonic), 1)
        for place, share in ((int(below), 1 - part), (int(below) + 1, part)):
            if place < table.shape[1]:
                table[pitch, place] += share * SLOPE ** (harmonic - 1)
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def _notes(seen: Table) -> Table:
    """How strong each pitch is in each beat, so that all with their harmonics add up to what is seen."""
    strings = _strings()
    notes = np.full((len(seen), PITCHES), seen.mean() + 1e-9)
    for _ in range(ROUNDS):
        notes *= ((seen + 1e-9) / (notes @ strings + 1e-9)) @ strings.T
    return np.asarray(notes)


def _tones(notes: Table, low: int, high: int) -> Table:
    """The twelve tones of each beat between two pitches, as a direction; beyond them pitches count ever less."""
    pitch = np.arange(PITCHES) + GRID_LOW
    weight = 1 / (1 + np.exp((low - pitch) / 2)) / (1 + np.exp((pitch - high) / 2))
    tones = np.stack([(notes * weight)[:, pitch % 12 == tone].sum(axis=1) for tone in range(12)], axis=1)
    return np.asarray(tones / (np.linalg.norm(tones, axis=1, keepdims=True) + 1e-9))


@cache
def _shapes() -> Table:
    """The tones of each chord; (kinds x roots, 12)."""
    rows = np.zeros((len(KINDS), 12, 12))
    for kind, intervals in enumerate(KINDS.values()):
        for root, interval in product(range(12), intervals):
            rows[kind, root, (root + interval) % 12] = SEVENTH if interval > 7 else 1.0
    return rows.reshape(-1, 12)


def _fits(treble: Table, bass: Table) -> Table:
    """How well each chord fits each beat."""
    shapes, roots = _shapes(), np.tile(np.arange(12), len(KINDS))
    fits = treble @ (shapes / np.linalg.norm(shapes, axis=1, keepdims=True)).T
    fits += ROOT * bass[:, roots] + FIFTH * bass[:, (roots + 7) % 12]
    return np.asarray(fits - FOURTH_TONE * ((shapes > 0).sum(axis=1) > 3))


def _scale(key: Key) -> list[int]:
    return [(key.tonic + step) % 12 for step in mode_tones(key.mode)]


def _key(treble: Table) -> Key:
    """The major key whose scale has most of what sounds; its minor has the same."""
    whole = treble.sum(axis=0)
    return max(map(Key.parse, MAJOR_KEYS), key=lambda key: whole[_scale(key)].sum())


def _way(worth: Table, places: Sequence[int]) -> list[int]:
    """The chords that fit best, change by change (Viterbi); places are beats in their measures."""
    total, came = worth[0], []
    for fits, place in zip(worth[1:], places[1:], strict=True):
        price = CHANGE[0] if place == 0 else CHANGE[1] if place % 2 == 0 else CHANGE[2]
        best = int(total.argmax())
        stays = total >= total[best] - price
        came.append(np.where(stays, np.arange(len(total)), best))
        total = np.where(stays, total, total[best] - price) + fits
    way = [int(total.argmax())]
    for before in reversed(came):
        way.append(int(before[way[-1]]))
    return way[::-1]


def _sure(fits: NDArray[np.floating], chord: int) -> float:
    """How much better a chord fits a beat than those with another root or third, 0 to 1."""
    kinds = list(KINDS.values())
    same = [kind * 12 + chord % 12 for kind, each in enumerate(kinds) if each[1] == kinds[chord // 12][1]]
    ahead = fits[chord] - np.delete(fits, same).max()
    return float(1 / (1 + math.exp(-ahead / SURE)))


def _symbol(chord: int, key: Key) -> str:
    kind, root = divmod(chord, 12)
    return note_name(fifths_in_key(root, key)) + list(KINDS)[kind]
