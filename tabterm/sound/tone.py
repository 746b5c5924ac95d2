"""One string sounding: damped partials, by recurrences.

Partial k of a string at f Hz lies at f_k = k f sqrt((1 + B k^2) / (1 + B)) and is a complex number z_k that turns
and shrinks by exp(2 pi i f_k - d_k) from sample to sample; the string is the real part of their sum. While the
pitch stands, ROW samples are one product of z and a table of powers, and CHUNK samples are one product of
matrices. While the pitch moves, the phases are counted sample by sample.

Chunks begin at the tone's own start and have always the same shape, so that the samples of a tone do not depend
on how it is read.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Cents = Callable[[NDArray[np.int64]], NDArray[np.float64]]

ROW, ROWS = 64, 16  #: samples, rows; implementation limit
CHUNK = ROW * ROWS  #: samples; derived: ROW x ROWS
SILENT = 1e-5  #: amplitude; implementation limit: -100 dB of full scale
"""A partial below this amplitude (-100 dB of full scale) is left out."""

HIGHEST = 0.42  #: part of the rate; implementation limit
"""No partial lies above this part of the sample rate."""

MOST_PARTIALS = 64  #: partials; implementation limit


class Series(NamedTuple):
    """The partials of a string: what their frequencies and decays follow from.

    Attributes:
        turns: Cycles of the fundamental in a sample.
        inharmonicity: B.
        partials: How many.
        losses: Decay of the amplitude per sample: a + b f + c f^2, f in cycles a sample.
    """

    turns: float
    inharmonicity: float
    partials: int
    losses: tuple[float, float, float]


@dataclass(frozen=True)
class Steps:
    """The powers of exp(2 pi i f_k - d_k) of a series."""

    ratios: NDArray[np.float64]
    decays: NDArray[np.float64]
    row: NDArray[np.float32]
    rows: NDArray[np.complex64]
    chunk: NDArray[np.complex128]


@lru_cache(maxsize=512)
def ratios_of(inharmonicity: float, count: int) -> NDArray[np.float64]:
    """f_k / f_1 of the first partials."""
    k = np.arange(1, count + 1)
    return np.asarray(k * np.sqrt((1.0 + inharmonicity * k * k) / (1.0 + inharmonicity)))


def count_of(turns: float, inharmonicity: float) -> int:
    """How many partials lie below the highest frequency; none of a string that is beyond it."""
    return int(np.searchsorted(ratios_of(inharmonicity, MOST_PARTIALS) * turns, HIGHEST))


@lru_cache(maxsize=192)
def steps_of(series: Series) -> Steps:
    """The tables of a series, kept for the next note of the same pitch."""
    ratios = ratios_of(series.inharmonicity, series.partials)
    turns = series.turns * ratios
    still, rising, steep = series.losses
    decays = still + rising * turns + steep * turns**2
    powers = 2j * math.pi * turns - decays
    row = np.exp(np.outer(powers, np.arange(ROW)))
    table = np.empty((2 * series.partials, ROW), np.float32)
    table[0::2], table[1::2] = row.real, -row.imag
    rows = np.exp(np.outer(np.arange(ROWS) * ROW, powers))
    return Steps(ratios, decays, table, rows.astype(np.complex64), np.exp(powers * CHUNK))


class StringTone:
    """The samples of one string from an attack on; read forwards, and back by no more than a chunk.

    Args:
        series: Its partials.
        start: The partials at the first sample, as complex amplitudes.
        cents: What the pitch is off the series at given samples, or None where it never is.
        rise: Samples in which the amplitude rises from nothing, at most a chunk.

    Attributes:
        end: The sample from which on nothing is left, once that is known.
    """

    def __init__(
        self, series: Series, start: NDArray[np.complex128], cents: Cents | None = None, rise: int = 0
    ) -> None:
        self._series = series
        self._cents = cents
        self._rise = min(rise, CHUNK)
        self.end: int | None = None
        self._number = -1
        self._state = self._next = start
        self._samples = np.zeros(0, np.float32)
        self._before = (start, self._samples)

    def samples(self, first: int, last: int) -> NDArray[np.float32]:
        """The samples from `first` up to `last`, counted from the attack."""
        parts = []
        while first < last:
            number, inside = divmod(first, CHUNK)
            until = min(last - number * CHUNK, CHUNK)
            parts.append(self._chunk(number)[inside:until])
            first = number * CHUNK + until
        return parts[0] if len(parts) == 1 else np.concatenate(parts)

    def state(self, at: int) -> NDArray[np.complex128]:
        """The partials at a sample, as complex amplitudes."""
        number, inside = divmod(at, CHUNK)
        self._chunk(number)
        state = self._state if number == self._number else self._before[0]
        steps = steps_of(self._series)
        ratio = self._ratio(number * CHUNK, inside)
        turns = float(inside) if ratio is None else float(ratio.sum())
        count = len(state)
        angle = 2j * math.pi * self._series.turns * turns * steps.ratios[:count]
        return np.asarray(state * np.exp(angle - steps.decays[:count] * inside))

    def _chunk(self, number: int) -> NDArray[np.float32]:
        while self._number < number:
            self._before = (self._state, self._samples)
            self._number += 1
            self._state = self._next
            self._samples, self._next = self._render(self._number, self._state)
            if self.end is None and not len(self._next):
                self.end = (self._number + 1) * CHUNK
            if self._number == 0 and self._rise:
                self._samples[: self._rise] *= _rising(self._rise)
        return self._samples if number == self._number else self._before[1]

    def _render(
        self, number: int, state: NDArray[np.complex128]
    ) -> tuple[NDArray[np.float32], NDArray[np.complex128]]:
        count = len(state)
        if not count:
            return np.zeros(CHUNK, np.float32), state
        ratio = self._ratio(number * CHUNK, CHUNK)
        if ratio is None:
            return self._standing(self._series, state)
        if ratio[0] == ratio[-1] and (ratio == ratio[0]).all():
            return self._standing(self._series._replace(turns=self._series.turns * float(ratio[0])), state)
        return self._moving(ratio, state)

    def _ratio(self, first: int, count: int) -> NDArray[np.float64] | None:
        """The pitch at samples, against that of the series; None where it is the same all the time."""
        if self._cents is None:
            return None
        return np.asarray(np.exp2(self._cents(first + np.arange(count)) / 1200.0))

    def _standing(
        self, series: Series, state: NDArray[np.complex128]
    ) -> tuple[NDArray[np.float32], NDArray[np.complex128]]:
        steps, count = steps_of(series), len(state)
        rows = state.astype(np.complex64) * steps.rows[:, :count]
        samples = rows.view(np.float32) @ steps.row[: 2 * count]
        return samples.reshape(CHUNK), _audible(state * steps.chunk[:count])

    def _moving(
        self, ratio: NDArray[np.float64], state: NDArray[np.complex128]
    ) -> tuple[NDArray[np.float32], NDArray[np.complex128]]:
        """Phases in turns, taken down to below one turn before they are cut to short numbers."""
        steps, count = steps_of(self._series), len(state)
        turned = np.cumsum(ratio) * self._series.turns
        end = turned[-1]
        turned -= ratio * self._series.turns
        ratios = steps.ratios[:count]
        phases = np.outer(ratios, turned)
        phases += (np.angle(state) / (2.0 * math.pi))[:, None]
        phases -= np.rint(phases)
        waves = np.cos((2.0 * np.pi * phases).astype(np.float32))
        decays = np.exp(np.outer(-steps.decays[:count], np.arange(CHUNK))) * np.abs(state)[:, None]
        waves *= decays.astype(np.float32)
        after = state * np.exp(2j * math.pi * ratios * end - steps.decays[:count] * CHUNK)
        return waves.sum(axis=0, dtype=np.float32), _audible(after)


@lru_cache(maxsize=64)
def _rising(length: int) -> NDArray[np.float32]:
    """From 0 to 1 along a squared sine."""
    return (np.sin(np.arange(length) / length * math.pi / 2) ** 2).astype(np.float32)


def _audible(state: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """The partials up to the last that can be heard."""
    if len(state) and abs(state[-1]) > SILENT:
        return state
    loud = np.flatnonzero(np.abs(state) > SILENT)
    return state[: loud[-1] + 1] if len(loud) else state[:0]
