"""A recording slower or faster at its own pitch, or higher or lower at its own speed, with its attacks left whole.

A phase vocoder: frames of the recording are laid out at another distance, each bin's phase carried on so that what
sounds goes on sounding. The bins around a peak turn together with it (Laroche & Dolson 1999, Improved phase
vocoder time-scale modification of audio, IEEE Transactions on Speech and Audio Processing 7(3)), and around every
attack the recording runs at its own speed with its own phases, so that a plucked note begins as it was plucked
(after Roebel 2003, A new approach to transient processing in the phase vocoder, DAFx-03).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import soxr

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tabterm.recording.audio import Recording

    Samples = NDArray[np.float32]
    Spectrum = NDArray[np.complexfloating]

SLOWEST, FASTEST = 0.25, 2.0  #: share of the speed; tuned here
WINDOW_S = 0.046  #: s; tuned here: tells the strings of a low chord apart, and fits between sixteenths
OVERLAP = 4  #: frames over each sample; definition: the squares of four windows of cosine add up evenly
AFTER_S = 0.015  #: s; tuned here: how much of an attack behind its onset keeps its own speed
FLUX_WINDOW, FLUX_HOP = 1024, 256  #: samples; tuned here
RISE = 1.6  #: ratio; tuned here: of an onset to what is usual around it
LEAST = 0.12  #: ratio; tuned here: of an onset to the strongest ones
BEFORE_SHARE, AFTER_SHARE = 0.7, 0.25  #: share; tuned here: of the time between two attacks that each may take
STRONGEST = 0.995  #: share; tuned here: frames that are weaker than the strongest onsets
AROUND, FRAMES = 5, 4096  #: times APART_S, frames; tuned here: what is usual around an onset; looked at in one go
SILENT = 1e-12  #: level; derived: below it a bin has no phase
APART_S = 0.05  #: s; tuned here: onsets nearer to each other are one


def slowed(
    recording: Recording,
    start_s: float,
    end_s: float,
    speed: float,
    *,
    semitones: float = 0.0,
    rate_hz: int | None = None,
) -> Iterator[Samples]:
    """A part of a recording as blocks of (frames, 2).

    Args:
        recording: What is heard; of more than two channels, the first two.
        start_s: Where the part begins.
        end_s: Where it ends.
        speed: Share of its speed, SLOWEST to FASTEST.
        semitones: How much higher (or, negative, lower), in semitones and parts of them; -12 to 12.
        rate_hz: Samples a second; as many as the recording has, where none are given.

    Raises:
        StorageError: The file is gone.
        FormatError: It is damaged there.
    """
    higher, rate_hz = 2.0 ** (semitones / 12), rate_hz or recording.rate_hz
    for block in _at_pitch(recording, start_s, end_s, speed, higher, rate_hz):
        yield np.clip(block, -1, 1)


def _at_pitch(
    recording: Recording, start_s: float, end_s: float, speed: float, higher: float, rate_hz: int
) -> Iterator[Samples]:
    """Stretched by as much as playing it back faster takes away."""
    stretched = _stretched(recording, start_s, end_s, speed / higher)
    if higher == 1 and rate_hz == recording.rate_hz:
        yield from stretched
        return
    resampler = soxr.ResampleStream(recording.rate_hz * higher, rate_hz, 2, dtype="float32")
    for block in stretched:
        yield resampler.resample_chunk(block)
    yield resampler.resample_chunk(np.zeros((0, 2), np.float32), last=True)


def _stretched(recording: Recording, start_s: float, end_s: float, speed: float) -> Iterator[Samples]:
    rate, end_s = recording.rate_hz, min(end_s, recording.length_s)
    size = 2 ** round(np.log2(WINDOW_S * rate))
    hop, shape = size // OVERLAP, np.hanning(size + 1)[:-1].astype(np.float32)[:, None]
    length = round((end_s - start_s) * rate)
    attacks = onsets(recording, start_s, end_s)
    heard, meant = _ways(attacks, length, speed, before=size // 2, after=round(AFTER_S * rate))
    sound, total = _Ahead(recording.stereo(start_s, end_s)), round(length / speed)
    laid, kept, was_whole = np.zeros((size, 2), np.float32), np.zeros(size // 2 + 1, np.complex64), False
    for at in range(-size // 2, total, hop):
        middle = round(float(np.interp(at + size // 2, meant, heard)))
        region = int(np.searchsorted(meant, at + size // 2))
        whole = region % 2 == 0 and region > 0
        earlier = sound.part(middle - size // 2 - hop, size).mean(axis=1) * shape[:, 0]
        spectrum: Spectrum = np.fft.rfft(sound.part(middle - size // 2, size) * shape, axis=0)
        if was_whole or not whole:
            spectrum *= turns(spectrum.mean(axis=1), np.fft.rfft(earlier), kept)[:, None]
        kept, was_whole = spectrum.mean(axis=1), whole
        laid += np.fft.irfft(spectrum, size, axis=0).astype(np.float32) * shape / (OVERLAP * 3 / 8)
        if at >= 0:
            yield laid[: min(hop, total - at)].copy()
        laid = np.concatenate([laid[hop:], np.zeros((hop, 2), np.float32)])


def turns(here: Spectrum, earlier: Spectrum, kept: Spectrum) -> Spectrum:
    """By what each bin is to be turned so that it goes on from the last frame laid out.

    Args:
        here: The spectrum of this frame.
        earlier: That of the recording a hop before it.
        kept: That of the last frame as it was laid out.
    """
    level = np.abs(here)
    inner = level[2:-2]
    peaks = 2 + np.flatnonzero(
        (inner > level[1:-3]) & (inner >= level[3:-1]) & (inner > level[:-4]) & (inner >= level[4:])
    )
    if not len(peaks):
        return np.ones(len(here), np.complex64)
    turned = kept[peaks] * np.conj(earlier[peaks])
    size = np.abs(turned)
    turned = np.where(size > SILENT, turned / np.maximum(size, SILENT), 1)
    borders = (peaks[1:] + peaks[:-1] + 1) // 2
    return np.repeat(turned, np.diff([0, *borders, len(here)])).astype(np.complex64)


def _ways(
    attacks: list[int], length: int, speed: float, *, before: int, after: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Corners of the way through the recording: samples heard, and where they are to sound.

    Around every attack both go on alike; those stretches lie between an odd corner and the next.
    """
    attacks = [attack for attack in attacks if attack < length]
    heard, meant, ends = [0.0], [0.0], [*attacks, length][1:]
    last = 0.0
    for attack, then in zip(attacks, ends, strict=True):
        least = min(1.0, 1 / speed)
        early = min(before, BEFORE_SHARE * least * (attack - last))
        late = min(after, AFTER_SHARE * least * (then - attack))
        heard += [attack - early, attack + late]
        meant += [attack / speed - early, attack / speed + late]
        last = attack
    beyond = length + before
    return np.array([*heard, float(beyond)]), np.array([*meant, length / speed + before])


def onsets(recording: Recording, start_s: float, end_s: float) -> list[int]:
    """The attacks in a part of a recording, in samples from its beginning."""
    shape, kept, rises = np.hanning(FLUX_WINDOW).astype(np.float32), np.zeros(0, np.float32), []
    last = np.full(FLUX_WINDOW // 2 + 1, np.inf, np.float32)
    for block in recording.stereo(start_s, end_s):
        sound = np.concatenate([kept, block.mean(axis=1)])
        count = max(0, (len(sound) - FLUX_WINDOW) // FLUX_HOP + 1)
        kept = sound[count * FLUX_HOP :]
        if count:
            frames = np.lib.stride_tricks.sliding_window_view(sound, FLUX_WINDOW)[::FLUX_HOP][:count]
            loud = np.log1p(1000 * np.abs(np.fft.rfft(frames * shape)) / FLUX_WINDOW).astype(np.float32)
            rises.append(np.maximum(np.diff(loud, axis=0, prepend=last[None]), 0).sum(axis=1))
            last = loud[-1]
    rise = np.convolve(np.concatenate([*rises, np.zeros(3)]), np.ones(3), "same")
    return _peaks(rise, round(APART_S * recording.rate_hz / FLUX_HOP))


def _peaks(rise: NDArray[np.float64], apart: int) -> list[int]:
    """Where something begins: more than around it, and not much less than the strongest."""
    around, strong = AROUND * apart, LEAST * np.quantile(rise, STRONGEST)
    padded, found = np.pad(rise, around, mode="edge"), list[int]()
    for start in range(0, len(rise), FRAMES):
        here = rise[start : start + FRAMES]
        wide = np.lib.stride_tricks.sliding_window_view(
            padded[start : start + len(here) + 2 * around], 2 * around + 1
        )
        near = wide[:, around - apart : around + apart + 1].max(axis=1)
        loud = np.flatnonzero((here == near) & (here > strong))
        begins = loud[here[loud] > RISE * np.median(wide[loud], axis=1)]
        found += (begins + start).tolist()
    return [frame * FLUX_HOP + FLUX_WINDOW // 2 for frame in found]


class _Ahead:
    """Blocks read ahead as they are needed, and let go behind; silence beyond both ends."""

    def __init__(self, blocks: Iterator[Samples]) -> None:
        self._blocks = blocks
        self._held, self._first, self._ended = np.zeros((0, 2), np.float32), 0, False

    def part(self, start: int, size: int) -> Samples:
        """Samples from a place on, which moves back by less than a block."""
        while not self._ended and self._first + len(self._held) < start + size:
            block = next(self._blocks, None)
            if block is None:
                self._ended = True
            else:
                gone = max(0, min(len(self._held), start - 8 * size - self._first))
                self._held, self._first = np.concatenate([self._held[gone:], block]), self._first + gone
        low, high = max(start - self._first, 0), max(start + size - self._first, 0)
        found = self._held[low:high]
        return found if len(found) == size else _filled(found, start - self._first, size)


def _filled(found: Samples, at: int, size: int) -> Samples:
    """A part with silence where there is nothing."""
    out = np.zeros((size, 2), np.float32)
    begin = min(max(-at, 0), size)
    out[begin : begin + len(found)] = found[: size - begin]
    return out
