"""How the notes that were heard are played: struck or slurred, slid into, bent; proposals.

A pick sets off more than the string's own partials: where an onset lacks that noise, the left hand has made it.
What the pitch does, in cents, shows slides and bends.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.recording.ear import HeardNote, Way
from tabterm.recording.spectra import BINS_A_SEMITONE, GRID_BINS, GRID_LOW, HOP, RATE_HZ, scale_of
from tabterm.recording.tuning import A4_HZ

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tabterm.recording.spectra import Samples

    Numbers = NDArray[np.floating]

ATTACK = 1024  #: samples, 46 ms; tuned here: as the ear's short window
BEFORE, AFTER = 4, 4  #: frames; tuned here: between which an attack rises
HARMONICS = 6  #: harmonics; tuned here: that are the note's own
NOISE_FROM = 150  #: bin, 740 Hz; tuned here: above it lies what a pick sets off
NO_ATTACK = 0.64  #: ratio; tuned here on STK and Csound: to the usual attack; a pick gives 0.7 and more
SLUR_SEMITONES = 5  #: semitones; common practice, no source: how far a left hand slurs
APART_S = 0.08  #: s; tuned here: a note ends so long before the next at most, if it is slurred to it
CHORD_S = 0.03  #: s; tuned here: onsets so near are one stroke

PITCH = 2048  #: samples, 93 ms; tuned here: a compromise between semitones and time
FINE = 8192  #: samples; tuned here: the spectrum is filled up to so many
STEP_CENTS = 10  #: cents; tuned here: of the pitches that are tried
BEYOND_CENTS = 60  #: cents; tuned here: below and above the notes that are looked at
BEND_CENTS = 250  #: cents; common practice, no source: how far a bend goes
LEAST_BEND = 35  #: cents; tuned here: less is vibrato, or the string's own
BETWEEN_CENTS = 35  #: cents; tuned here: off both notes, a pitch lies between them
SLIDE_FRAMES = 3  #: frames, 35 ms; tuned here: that lie between the notes of a slide
LEAST_S = 0.12  #: s; tuned here: a shorter note is not looked at for a bend
SMALLEST = 1e-6  #: level; derived: below it is silence


class Told(NamedTuple):
    """A note with its neighbours on the line: the one before, or None, and when the next begins."""

    note: HeardNote
    before: HeardNote | None
    next_s: float


def articulated(sound: Samples, notes: Sequence[HeardNote], cents: float = 0.0) -> tuple[HeardNote, ...]:
    """The notes of a mono sound at `spectra.RATE_HZ`, by onset, with how each is played.

    `cents` is how much higher than A4 = 440 Hz it is tuned.
    """
    if not notes:
        return ()
    tuned = A4_HZ * 2 ** (cents / 1200)
    attacks = _attacks(scale_of(sound, ATTACK), notes)
    told = []
    for each, attack in zip(_in_line(notes), attacks / np.median(attacks), strict=True):
        slurred = attack < NO_ATTACK and _reaches(each)
        way = Way.STRUCK
        if slurred and each.before is not None:
            way = Way.SLID if _slides(sound, tuned, each.before, each.note) else Way.SLURRED
        told.append(each.note._replace(way=way, bend_cents=_bend(sound, tuned, each)))
    return tuple(told)


def _in_line(notes: Sequence[HeardNote]) -> list[Told]:
    """Each note with those before and after it; notes of one stroke are beside each other, not after."""
    found = []
    for note in notes:
        earlier = [other for other in notes if other.onset_s < note.onset_s - CHORD_S]
        together = [other for other in notes if abs(other.onset_s - note.onset_s) <= CHORD_S]
        later = [other.onset_s for other in notes if other.onset_s > note.onset_s + CHORD_S]
        before = max(earlier, key=lambda other: other.onset_s, default=None) if len(together) == 1 else None
        found.append(Told(note, before, min(later, default=note.end_s)))
    return found


def _reaches(each: Told) -> bool:
    """Whether a left hand can have made it out of the note before."""
    before, note = each.before, each.note
    return (
        before is not None
        and 0 < abs(note.pitch - before.pitch) <= SLUR_SEMITONES
        and before.end_s >= note.onset_s - APART_S
    )


def _attacks(scale: Numbers, notes: Sequence[HeardNote]) -> Numbers:
    """What rises at each onset above 740 Hz beside the note's own partials."""
    padded = np.pad(scale, ((BEFORE, AFTER), (0, 0)))
    found = []
    for note in notes:
        frame = BEFORE + round(note.onset_s * RATE_HZ / HOP)
        rise = padded[frame : frame + AFTER].max(axis=0) - padded[frame - BEFORE : frame - 1].mean(axis=0)
        partials = (note.pitch - GRID_LOW) * BINS_A_SEMITONE + np.round(
            12 * BINS_A_SEMITONE * np.log2(np.arange(1, HARMONICS + 1))
        ).astype(int)
        own = np.unique(np.clip(partials[:, None] + np.arange(-1, 2), 0, GRID_BINS - 1))
        rise[own] = 0
        found.append(np.maximum(rise[NOISE_FROM:], 0).sum() + SMALLEST)
    return np.array(found)


def _frames(sound: Samples, start_s: float, end_s: float) -> range:
    """Where the frames lie that a stretch of the sound has, in samples."""
    end = min(round(end_s * RATE_HZ), len(sound) + PITCH // 2 + 1)
    return range(round(start_s * RATE_HZ), end, HOP)


def _contour(sound: Samples, a4_hz: float, frames: Sequence[int], lowest: float, highest: float) -> Numbers:
    """The pitch at some frames, as MIDI pitches and parts of them: where most partials lie."""
    steps = np.arange(lowest, highest, STEP_CENTS / 100)
    hz = a4_hz * 2 ** ((steps - 69) / 12)
    bins = np.outer(np.arange(1, 5), hz * FINE / RATE_HZ)
    below, part = bins.astype(int), bins % 1
    heard = np.stack([_frame(sound, at) for at in frames])
    seen = np.fft.rfft(heard * np.hanning(PITCH).astype(np.float32), FINE)
    here, next_to_it = (np.sqrt(np.abs(seen[:, places])) for places in (below, below + 1))
    return np.asarray(steps[(here * (1 - part) + next_to_it * part).sum(axis=1).argmax(axis=1)])


def _frame(sound: Samples, at: int) -> Samples:
    """The samples around a moment, with silence beyond the ends."""
    start, frame = at - PITCH // 2, np.zeros(PITCH, np.float32)
    inside = sound[max(start, 0) : max(start + PITCH, 0)]
    frame[max(-start, 0) :][: len(inside)] = inside
    return frame


def _slides(sound: Samples, a4_hz: float, before: HeardNote, note: HeardNote) -> bool:
    """Whether the pitch goes from one note to the next by way of what lies between."""
    low, high = sorted((before.pitch, note.pitch))
    beyond, around_s = BEYOND_CENTS / 100, min(note.onset_s - before.onset_s, 2 * APART_S)
    frames = _frames(sound, note.onset_s - around_s, note.onset_s + APART_S)
    way = _contour(sound, a4_hz, frames, low - beyond, high + beyond)
    between = (way > low + BETWEEN_CENTS / 100) & (way < high - BETWEEN_CENTS / 100)
    return bool(between.sum() >= SLIDE_FRAMES)


def _bend(sound: Samples, a4_hz: float, each: Told) -> int:
    """By how many cents a note is bent up while it sounds; 0 for none."""
    note, end_s = each.note, min(each.note.end_s, each.next_s)
    if end_s - note.onset_s < LEAST_S:
        return 0
    beyond = BEYOND_CENTS / 100
    edge_s = PITCH / RATE_HZ / 2
    frames = _frames(sound, note.onset_s + edge_s, end_s - edge_s / 2)
    if len(frames) < 2 * SLIDE_FRAMES:
        return 0
    ends = [*frames[:SLIDE_FRAMES], *frames[-SLIDE_FRAMES:]]
    way = _contour(sound, a4_hz, ends, note.pitch - beyond, note.pitch + BEND_CENTS / 100)
    cents = 100 * (np.median(way[-SLIDE_FRAMES:]) - np.median(way[:SLIDE_FRAMES]))
    return round(cents / STEP_CENTS) * STEP_CENTS if cents >= LEAST_BEND else 0
