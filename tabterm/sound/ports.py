"""MIDI ports, by whichever binding of the RtMidi library is installed and whichever MIDI system answers.

The libraries below print to descriptor 2 when no device is there, so this is used in the engine's process
only, whose descriptor 2 leads nowhere.
"""

from __future__ import annotations

import os
import select
import stat
from typing import TYPE_CHECKING, Any, cast

from tabterm.dataclass import dataclass
from tabterm.errors import INSTALL, SoundError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import ModuleType

CLIENT = "tabterm"
LOOPBACK = "midi through"
"""ALSA's own loopback comes first in its list, but nothing sounds there: any other port is better."""

APIS = ("API_LINUX_ALSA", "API_MACOSX_CORE", "API_WINDOWS_MM", "API_UNIX_JACK")
"""The MIDI systems in the order in which they are asked."""


MOST_DESCRIPTORS = 256  #: descriptors; implementation limit
"""The engine's process has few open files: all of them lie below this."""


@dataclass(frozen=True, slots=True)
class Binding:
    """What differs between the two bindings of RtMidi.

    Attributes:
        load: Load it; raises ImportError where it is not installed.
        make: Make an output from the module and an API number; may raise anything.
        names: The ports an output can be connected to.
        sender: The function that sends a message of an output.
        close: Take an output's port and client away.
        virtual: APIs by which a virtual port is safe to make.
    """

    load: Callable[[], ModuleType]
    make: Callable[[Any, int], Any]
    names: Callable[[Any], list[str]]
    sender: Callable[[Any], Callable[[bytes], None]]
    close: Callable[[Any], None]
    virtual: tuple[str, ...]


def _rtmidi() -> ModuleType:
    import rtmidi

    return cast("ModuleType", rtmidi)


def _rtmidi2() -> ModuleType:
    import rtmidi2

    return cast("ModuleType", rtmidi2)


BINDINGS = (
    Binding(
        load=_rtmidi,
        make=lambda module, api: module.MidiOut(api, CLIENT),
        names=lambda output: list(output.get_ports()),
        sender=lambda output: output.send_message,
        close=lambda output: output.delete(),
        virtual=APIS,
    ),
    # It does not say that no JACK server answers, and ends the process when a port is then made.
    Binding(
        load=_rtmidi2,
        make=lambda module, api: module.MidiOut(CLIENT, api),
        names=lambda output: list(output.ports),
        sender=lambda output: lambda message: output.send_raw(*message),
        close=lambda output: output.close_port(),
        virtual=("API_LINUX_ALSA", "API_MACOSX_CORE"),
    ),
)


class MidiOutput:
    """An output of a MIDI system, not yet connected.

    Attributes:
        api: Name of the system.
        binding: The binding by which it is reached.
        handle: The binding's own object.
    """

    def __init__(self, api: str, binding: Binding, module: Any) -> None:
        before = _open_sockets()
        self.api = api
        self.binding = binding
        self.handle = binding.make(module, getattr(module, api))
        self._hang_ups = select.poll()
        for descriptor in _open_sockets() - before:
            self._hang_ups.register(descriptor, 0)

    def names(self) -> list[str]:
        """The ports it can be connected to."""
        return self.binding.names(self.handle)

    def has_hung_up(self) -> bool:
        """Whether the MIDI system has gone: JACK goes on listing ports then, and takes messages for ever."""
        return bool(self._hang_ups.poll(0))


class Port:
    """Somewhere to send MIDI messages to.

    Attributes:
        name: Its name.
        virtual: Others connect to it, instead of being connected to.
        send: Send one message at once.
    """

    def __init__(self, output: MidiOutput, name: str, *, virtual: bool) -> None:
        self.name = name
        self.virtual = virtual
        self.send = output.binding.sender(output.handle)
        self._output = output

    def is_there(self) -> bool:
        """Whether what is played to is still among the ports."""
        return not self._output.has_hung_up() and (self.virtual or self.name in self._output.names())

    def close(self) -> None:
        """Let the port go."""
        self._output.binding.close(self._output.handle)


def list_ports() -> list[str]:
    """Names of the ports that can be played to, the likeliest first; empty where there are none."""
    names = [name for output in _outputs() for name in output.names()]
    return sorted(dict.fromkeys(names), key=_is_loopback)


def open_port(wanted: str | None, *, virtual: bool = False) -> Port:
    """Open a port: the first whose name contains `wanted`, or the first of all, or a new virtual one.

    Raises:
        SoundError: No such port, or no MIDI system at all.
    """
    if not any(_is_installed(binding) for binding in BINDINGS):
        raise SoundError("no MIDI library is installed for this Python and system", hint=INSTALL)
    outputs = list(_outputs())
    if virtual:
        return _make_virtual(wanted or CLIENT, outputs)
    found = [(name, number, output) for output in outputs for number, name in enumerate(output.names())]
    found.sort(key=lambda port: _is_loopback(port[0]))
    for name, number, output in found:
        if (wanted or "").lower() in name.lower():
            output.handle.open_port(number)
            return Port(output, name, virtual=False)
    if found:
        raise SoundError(f"no port '{wanted}' among: {'; '.join(name for name, *_ in found)}")
    raise SoundError("no MIDI port" if outputs else "no MIDI system here")


def _make_virtual(name: str, outputs: list[MidiOutput]) -> Port:
    for output in outputs:
        if output.api in output.binding.virtual:
            output.handle.open_virtual_port(name)
            return Port(output, name, virtual=True)
    raise SoundError("no MIDI system here can make a port")


def _is_loopback(name: str) -> bool:
    return LOOPBACK in name.lower()


def _is_installed(binding: Binding) -> bool:
    try:
        binding.load()
    except ImportError:
        return False
    return True


def _outputs() -> Iterator[MidiOutput]:
    """An unconnected output of every MIDI system that answers."""
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    for binding in filter(_is_installed, BINDINGS):
        module = binding.load()
        for api in APIS:
            try:
                output = MidiOutput(api, binding, module)
                if output.handle.get_current_api() == getattr(module, api):
                    yield output
            except Exception:  # noqa: BLE001, S112 - each MIDI system has its own error class
                continue


def _open_sockets() -> set[int]:
    return {number for number in range(MOST_DESCRIPTORS) if _is_socket(number)}


def _is_socket(descriptor: int) -> bool:
    try:
        return stat.S_ISSOCK(os.fstat(descriptor).st_mode)
    except OSError:
        return False
