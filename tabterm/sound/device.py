"""The audio device, by the miniaudio library; for the engine's process only, whose descriptor 2 leads nowhere."""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING, Any

from tabterm.errors import INSTALL, SoundError

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator

    import numpy as np
    from numpy.typing import NDArray

CLIENT = "tabterm"
PERIOD_MS, PERIODS = 10, 3  #: ms, periods; implementation limit
"""The device asks for so much at a time, and has so many of them before it sounds."""

LATENCY_S = PERIOD_MS * PERIODS / 1000  #: s; derived: PERIOD_MS x PERIODS
"""From the taking of a sample to its sounding, as far as can be known here."""

LOST_S = 1.0  #: s; implementation limit
"""A running device that has asked for nothing in so long has gone."""

BACKENDS = ("PULSEAUDIO", "ALSA", "JACK", "COREAUDIO")
"""The sound systems in the order in which they are asked."""

VARIABLE = "TABTERM_AUDIO"
"""The environment variable that names other ones, parted by commas: `null` is heard nowhere, `none` is none."""

NOWHERE = "discard all samples"
"""ALSA lists a device of its own that sounds nowhere."""


class Device:
    """A device that takes (frames, 2) samples of 32 bits.

    Attributes:
        name: Its name, or which system's default it is.
        runs: It has been started and not stopped.
    """

    def __init__(self, wanted: str, rate: int, take: Callable[[int], NDArray[np.float32]]) -> None:
        """Open the default device, or the first whose name contains `wanted`.

        Raises:
            SoundError: There is none, or no library for it.
        """
        self.runs = False
        self._take = take
        self._asked_s = 0.0
        self.name, self._device = _opened(wanted, rate)
        self._device.stop_callback = self._stopped

    def start(self) -> None:
        """Begin to take samples; raises SoundError when the device will not."""
        import miniaudio

        source = self._source()
        next(source)
        self._asked_s, self.runs = time.monotonic(), True
        try:
            self._device.start(source)
        except miniaudio.MiniaudioError as error:
            self.runs = False
            raise SoundError(f"the audio device '{self.name}' does not start") from error

    def stop(self) -> None:
        """Take no more samples."""
        self.runs = False
        self._device.stop()

    def is_there(self) -> bool:
        """Whether a device that runs still asks for samples."""
        return not self.runs or time.monotonic() - self._asked_s < LOST_S

    def close(self) -> None:
        """Let it go."""
        self.runs = False
        self._device.close()

    def _source(self) -> Generator[NDArray[np.float32] | bytes, int, None]:
        """What the library calls in its own thread: nothing is done here but to copy."""
        frames = yield b""
        while True:
            self._asked_s = time.monotonic()
            frames = yield self._take(frames)

    def _stopped(self) -> None:
        """The library says so when the system has taken the device away, and when we have stopped it."""
        if self.runs:
            self._asked_s = 0.0


def list_devices() -> list[str]:
    """Names of the devices that can be played to; empty where there are none, or no library."""
    return [name for _, name, _ in _found()]


def _opened(wanted: str, rate: int) -> tuple[str, Any]:
    try:
        import miniaudio
    except ImportError:
        raise SoundError("no audio library is installed for this Python and system", hint=INSTALL) from None
    names = []
    for backend in _backends(miniaudio):
        choices = [(f"default device of {backend.name}", None)]
        if wanted:
            choices = [(name, ident) for system, name, ident in _found() if system is backend]
            names += [name for name, _ in choices]
            choices = [(name, ident) for name, ident in choices if wanted.lower() in name.lower()]
        for name, ident in choices:
            try:
                device = miniaudio.PlaybackDevice(
                    output_format=miniaudio.SampleFormat.FLOAT32,
                    nchannels=2,
                    sample_rate=rate,
                    buffersize_msec=PERIOD_MS,
                    callback_periods=PERIODS,
                    device_id=ident,
                    backends=[backend],
                    app_name=CLIENT,
                )
            except miniaudio.MiniaudioError:
                continue
            return name, device
    if names:
        raise SoundError(f"no audio device '{wanted}' among: {'; '.join(names)}")
    raise SoundError("no audio device here")


def _found() -> Iterator[tuple[Any, str, Any]]:
    """Every device: its system, its name, and what the library knows it by."""
    try:
        import miniaudio
    except ImportError:
        return
    for backend in _backends(miniaudio):
        try:
            listed = miniaudio.Devices([backend]).get_playbacks()
        except miniaudio.MiniaudioError:
            continue
        for device in listed:
            if NOWHERE not in device["name"].lower():
                yield backend, device["name"], device["id"]


def _backends(miniaudio: Any) -> Iterator[Any]:
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    named = os.environ.get(VARIABLE)
    for name in map(str.strip, named.upper().split(",")) if named else BACKENDS:
        if hasattr(miniaudio.Backend, name):
            yield miniaudio.Backend[name]
