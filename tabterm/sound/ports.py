"""MIDI ports, by whichever binding of the RtMidi library is installed.

python-rtmidi has wheels up to CPython 3.12, rtmidi2 from 3.13 on; both are spoken to through `Port`. The
libraries under them print to file descriptor 2 when no device is there, so whoever has a screen must not load
this module: it belongs into the engine's process, whose descriptor 2 leads nowhere.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, Protocol

from tabterm.errors import SoundError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

CLIENT = "tabterm"
WITHOUT = "a MIDI file can be written instead"
"""What still works when no port does."""


class Port(Protocol):
    """Somewhere to send MIDI messages to."""

    name: str

    def send(self, message: bytes) -> None:
        """Send one message at once; raises SoundError when the port is gone."""

    def is_there(self) -> bool:
        """Whether what was opened is still among the ports."""

    def close(self) -> None:
        """Let the port go."""


class _RtMidiPort:
    """A port of python-rtmidi."""

    def __init__(self, out: Any, name: str, *, virtual: bool) -> None:
        self._out = out
        self.name = name
        self._virtual = virtual

    def is_there(self) -> bool:
        return self._virtual or self.name in self._out.get_ports()

    def send(self, message: bytes) -> None:
        try:
            self._out.send_message(message)
        except Exception as error:
            raise SoundError(f"the port '{self.name}' is gone", hint="choose another port") from error

    def close(self) -> None:
        self._out.close_port()
        self._out.delete()


class _RtMidi2Port:
    """A port of rtmidi2."""

    def __init__(self, out: Any, name: str, *, virtual: bool) -> None:
        self._out = out
        self.name = name
        self._virtual = virtual

    def is_there(self) -> bool:
        return self._virtual or self.name in self._out.ports

    def send(self, message: bytes) -> None:
        try:
            self._out.send_raw(*message)
        except Exception as error:
            raise SoundError(f"the port '{self.name}' is gone", hint="choose another port") from error

    def close(self) -> None:
        self._out.close_port()


def list_ports() -> list[str]:
    """Names of the ports that can be played to; empty where there are none."""
    names: list[str] = []
    for binding in _bindings():
        names += [name for name in binding.names() if name not in names]
    return names


def open_port(wanted: str | None, *, virtual: bool = False) -> Port:
    """Open a port: the first whose name contains `wanted`, or the first of all, or a new virtual one.

    Raises:
        SoundError: There is no such port, or no MIDI system at all; the hint says what works instead.
    """
    reasons: list[str] = []
    for binding in _bindings(reasons):
        if virtual:
            return binding.open_virtual(wanted or CLIENT)
        names = binding.names()
        matching = [n for n, name in enumerate(names) if (wanted or "").lower() in name.lower()]
        if matching:
            return binding.open(matching[0], names[matching[0]])
        reasons.append(f"no port '{wanted}' among: {'; '.join(names)}" if names else "no MIDI port")
    raise SoundError(reasons[-1] if reasons else "no MIDI system here", hint=WITHOUT)


class _Binding(Protocol):
    """A MIDI system of one binding."""

    def names(self) -> Sequence[str]: ...

    def open(self, number: int, name: str) -> Port: ...

    def open_virtual(self, name: str) -> Port: ...


class _RtMidi:
    """One MIDI system (ALSA, JACK, Core MIDI ...) by python-rtmidi."""

    def __init__(self, out: Any) -> None:
        self._out = out

    def names(self) -> Sequence[str]:
        return list(self._out.get_ports())

    def open(self, number: int, name: str) -> Port:
        self._out.open_port(number)
        return _RtMidiPort(self._out, name, virtual=False)

    def open_virtual(self, name: str) -> Port:
        self._out.open_virtual_port(name)
        return _RtMidiPort(self._out, name, virtual=True)


class _RtMidi2:
    """The MIDI system that rtmidi2 chooses."""

    def __init__(self, out: Any) -> None:
        self._out = out

    def names(self) -> Sequence[str]:
        return list(self._out.ports)

    def open(self, number: int, name: str) -> Port:
        self._out.open_port(number)
        return _RtMidi2Port(self._out, name, virtual=False)

    def open_virtual(self, name: str) -> Port:
        self._out.open_virtual_port(name)
        return _RtMidi2Port(self._out, name, virtual=True)


def _bindings(reasons: list[str] | None = None) -> Iterator[_Binding]:
    """Every MIDI system that can be opened; why one cannot is added to `reasons`."""
    reasons = [] if reasons is None else reasons
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    found = False
    try:
        import rtmidi
    except ImportError:
        pass
    else:
        found = True
        for api in rtmidi.get_compiled_api():
            try:
                out = rtmidi.MidiOut(api, CLIENT)
            except Exception:  # noqa: BLE001, S112 - each MIDI system of the binding has its own error class
                continue
            yield _RtMidi(out)
    try:
        import rtmidi2
    except ImportError:
        pass
    else:
        found = True
        try:
            yield _RtMidi2(rtmidi2.MidiOut(CLIENT))
        except Exception:  # noqa: BLE001 - as above
            reasons.append("no MIDI system here")
    if not found:
        reasons.append("no MIDI library has a wheel for this Python and system")
