"""MIDI ports, by whichever binding of the RtMidi library is installed and whichever MIDI system answers.

The libraries below print to descriptor 2 when no device is there, so this is used in the engine's process
only, whose descriptor 2 leads nowhere.
"""

from __future__ import annotations

import importlib
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tabterm.errors import SoundError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

CLIENT = "tabterm"
WITHOUT = "a MIDI file can be written instead"
"""What still works when no port does."""

LOOPBACK = "midi through"
"""ALSA's own loopback comes first in its list, but nothing sounds there: any other port is better."""

APIS = ("API_LINUX_ALSA", "API_MACOSX_CORE", "API_WINDOWS_MM", "API_UNIX_JACK")
"""The MIDI systems in the order in which they are asked."""


@dataclass(frozen=True, slots=True)
class Binding:
    """What differs between the two bindings of RtMidi.

    Attributes:
        module: Its name.
        make: Make an output from the module and an API number; may raise anything.
        names: The ports an output can be connected to.
        sender: The function that sends a message of an output.
        close: Take an output's port and client away.
        virtual: APIs by which a virtual port is safe to make.
    """

    module: str
    make: Callable[[Any, int], Any]
    names: Callable[[Any], list[str]]
    sender: Callable[[Any], Callable[[bytes], None]]
    close: Callable[[Any], None]
    virtual: tuple[str, ...]


BINDINGS = (
    Binding(
        module="rtmidi",
        make=lambda module, api: module.MidiOut(api, CLIENT),
        names=lambda output: list(output.get_ports()),
        sender=lambda output: output.send_message,
        close=lambda output: output.delete(),
        virtual=APIS,
    ),
    # It does not say that no JACK server answers, and ends the process when a port is then made.
    Binding(
        module="rtmidi2",
        make=lambda module, api: module.MidiOut(CLIENT, api),
        names=lambda output: list(output.ports),
        sender=lambda output: lambda message: output.send_raw(*message),
        close=lambda output: output.close_port(),
        virtual=("API_LINUX_ALSA", "API_MACOSX_CORE"),
    ),
)


class Port:
    """Somewhere to send MIDI messages to.

    Attributes:
        name: Its name.
        virtual: Others connect to it, instead of being connected to.
        send: Send one message at once.
    """

    def __init__(self, binding: Binding, output: Any, name: str, *, virtual: bool) -> None:
        self.name = name
        self.virtual = virtual
        self.send = binding.sender(output)
        self._binding = binding
        self._output = output

    def is_there(self) -> bool:
        """Whether what is played to is still among the ports."""
        return self.virtual or self.name in self._binding.names(self._output)

    def close(self) -> None:
        """Let the port go."""
        self._binding.close(self._output)


def list_ports() -> list[str]:
    """Names of the ports that can be played to, the likeliest first; empty where there are none."""
    names: list[str] = []
    for _, binding, output in _outputs():
        names += [name for name in binding.names(output) if name not in names]
    return sorted(names, key=_is_loopback)


def open_port(wanted: str | None, *, virtual: bool = False) -> Port:
    """Open a port: the first whose name contains `wanted`, or the first of all, or a new virtual one.

    Raises:
        SoundError: There is no such port, or no MIDI system at all; the hint says what works instead.
    """
    if not any(_is_installed(binding) for binding in BINDINGS):
        raise SoundError("no MIDI library is installed for this Python and system", hint=WITHOUT)
    found: list[tuple[str, int, Binding, Any]] = []
    answered = False
    for api, binding, output in _outputs():
        answered = True
        if virtual and api in binding.virtual:
            output.open_virtual_port(wanted or CLIENT)
            return Port(binding, output, wanted or CLIENT, virtual=True)
        found += [(name, number, binding, output) for number, name in enumerate(binding.names(output))]
    if virtual:
        raise SoundError("no MIDI system here can make a port", hint=WITHOUT)
    found.sort(key=lambda port: _is_loopback(port[0]))
    for name, number, binding, output in found:
        if (wanted or "").lower() in name.lower():
            output.open_port(number)
            return Port(binding, output, name, virtual=False)
    raise SoundError(_why_none(wanted, [name for name, *_ in found], answered=answered), hint=WITHOUT)


def _why_none(wanted: str | None, names: list[str], *, answered: bool) -> str:
    if names:
        return f"no port '{wanted}' among: {'; '.join(names)}"
    return "no MIDI port" if answered else "no MIDI system here"


def _is_loopback(name: str) -> bool:
    return LOOPBACK in name.lower()


def _is_installed(binding: Binding) -> bool:
    try:
        importlib.import_module(binding.module)
    except ImportError:
        return False
    return True


def _outputs() -> Iterator[tuple[str, Binding, Any]]:
    """An unconnected output of every MIDI system that answers."""
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    for binding in filter(_is_installed, BINDINGS):
        module = importlib.import_module(binding.module)
        for name in APIS:
            api = getattr(module, name)
            try:
                output = binding.make(module, api)
                if output.get_current_api() == api:
                    yield name, binding, output
            except Exception:  # noqa: BLE001, S112 - each MIDI system has its own error class
                continue
