"""What of a recording is heard: one side, what both share, what they do not, a register brought forward."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tabterm.dataclass import dataclass
from tabterm.score.record_mix import EAR_PERCENT, Side

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tabterm.score.record_mix import RecordMix

    Samples = NDArray[np.float32]

TAPS = 1023  #: samples; tuned here: a register begins and ends within 90 Hz at 44.1 kHz
HALF = (TAPS - 1) // 2  #: samples; derived: by which the filter is late, and what is read ahead
FORWARD_DB = 12.0  #: dB; tuned here: by which a register stands out where one is chosen
MOST_DB = 24.0  #: dB; tuned here: by which a register may be brought forward


#: shares of left and right in each ear; definition: the centre is what both have, the sides where they differ
MATRICES: dict[Side, tuple[tuple[float, float], tuple[float, float]]] = {
    Side.BOTH: ((1, 0), (0, 1)),
    Side.LEFT: ((1, 0), (1, 0)),
    Side.RIGHT: ((0, 1), (0, 1)),
    Side.CENTRE: ((0.5, 0.5), (0.5, 0.5)),
    Side.SIDES: ((0.5, -0.5), (0.5, -0.5)),
}


@dataclass(frozen=True, slots=True)
class Mix:
    """What is heard, and how.

    Attributes:
        side: Of the two channels.
        balance: -1 (left alone) to 1 (right alone): the other side gets softer.
        low_hz: Where the register that is brought forward begins.
        high_hz: Where it ends; not above the low end: none is.
        forward_db: By how much.
    """

    side: Side = Side.BOTH
    balance: float = 0.0
    low_hz: float = 0.0
    high_hz: float = 0.0
    forward_db: float = 0.0

    @classmethod
    def chosen(cls, words: RecordMix) -> Mix:
        """As the player has chosen it."""
        low_hz, high_hz = words.register or (0.0, 0.0)
        forward_db = FORWARD_DB if words.register else 0.0
        return cls(words.side, words.balance / EAR_PERCENT, low_hz, high_hz, forward_db)

    def of(self, blocks: Iterator[Samples], rate_hz: int) -> Iterator[Samples]:
        """Blocks of (frames, 2) as they are heard, as long as they were."""
        ears = np.array(MATRICES[self.side], np.float32).T
        ears = ears * np.array([min(1.0, 1 - self.balance), min(1.0, 1 + self.balance)], np.float32)
        mixed = (block @ ears for block in blocks)
        if self.forward_db and self.high_hz > self.low_hz:
            return _forward(mixed, self._taps(rate_hz))
        return mixed

    def _taps(self, rate_hz: int) -> Samples:
        """A filter that leaves the register as it is, and lets the rest fall back by `forward_db`."""
        at = np.arange(TAPS) - HALF
        low, high = (2 * min(edge / rate_hz, 0.5) for edge in (self.low_hz, self.high_hz))
        band = (high * np.sinc(high * at) - low * np.sinc(low * at)) * np.hanning(TAPS + 2)[1:-1]
        rest = 10 ** (-min(abs(self.forward_db), MOST_DB) / 20)
        return np.asarray((1 - rest) * band + rest * (at == 0), np.float32)


PLAIN = Mix()


def _forward(blocks: Iterator[Samples], taps: Samples) -> Iterator[Samples]:
    """Blocks through a filter, in time: what it is late by is read ahead."""
    kept = np.zeros((HALF, 2), np.float32)
    for block in blocks:
        kept = np.concatenate([kept, block])
        if len(kept) >= TAPS:
            yield _through(kept, taps)
            kept = kept[1 - TAPS :]
    ending = np.concatenate([kept, np.zeros((HALF, 2), np.float32)])
    if len(ending) >= TAPS:
        yield _through(ending, taps)


def _through(sound: Samples, taps: Samples) -> Samples:
    return np.stack([np.convolve(sound[:, ear], taps, "valid") for ear in (0, 1)], axis=1)
