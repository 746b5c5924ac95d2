"""How strongly each pitch sounds in a recording, moment by moment, before the ear decides on notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.recording import ear, net, tuning
from tabterm.recording.spectra import HIGH, HOP, LOW, RATE_HZ

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import NDArray

    from tabterm.recording.audio import Recording


@dataclass(frozen=True, slots=True)
class Sounding:
    """A part of a recording as the ear sees it.

    Attributes:
        from_s: The second at which its first moment lies.
        lead: For each moment and pitch from LOW on, how likely it is that the lead sounds it, 0 to 1.
        begins: How likely it is that the lead begins it.
        step_s: From one moment to the next.
    """

    from_s: float
    lead: NDArray[np.float32]
    begins: NDArray[np.float32]
    step_s: float = HOP / RATE_HZ  #: s; derived: HOP / RATE_HZ, of a recording in tune

    @property
    def to_s(self) -> float:
        """Where it ends."""
        return self.from_s + len(self.lead) * self.step_s

    def at(self, moment_s: float, pitch: int) -> tuple[float, float]:
        """How likely it is that a pitch sounds at a moment, and that it begins there; 0 of what is not known."""
        frame = round((moment_s - self.from_s) / self.step_s)
        if not (0 <= frame < len(self.lead) and LOW <= pitch <= HIGH):
            return 0.0, 0.0
        begins = self.begins[max(frame - 1, 0) : frame + 2, pitch - LOW].max()
        return float(self.lead[frame, pitch - LOW]), float(begins)


def sounding(
    recording: Recording,
    start_s: float,
    end_s: float,
    *,
    cents: float | None = None,
    progress: Callable[[float], bool] | None = None,
) -> Sounding:
    """Listen to a part of a recording.

    Args:
        recording: What is heard.
        start_s: Where the part begins.
        end_s: Where it ends.
        cents: How much higher than A4 = 440 Hz it is tuned; None: as it seems to be.
        progress: Told the share done, 0 to 1; it stops the work by answering False.

    Raises:
        FormatError: It is damaged there.
        StorageError: It is gone.
    """
    from_s = max(start_s, 0.0)
    if cents is None:
        cents = tuning.cents_off(recording.mono(from_s, end_s, RATE_HZ)) or 0.0
    # Read at another rate and taken for this one, it is in tune, and its time is as much longer.
    rate_hz = round(RATE_HZ * 2.0 ** (cents / 1200))
    answers = ear.answered(recording.mono(from_s, end_s, rate_hz), net.trained(), progress)
    return Sounding(from_s, answers[net.LEAD_SOUNDS], answers[net.LEAD_ONSET], HOP / rate_hz)
