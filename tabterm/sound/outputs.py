"""Outputs: where sound can go, and the rule by which one is chosen.

The rule, in order; the first line that can be followed decides:

| what | when |
|---|---|
| what the player named | always, and nothing else is tried |
| a listener | one is known, and it answers |
| the audio device | this is not an SSH session: over SSH nobody would hear it |
| a MIDI port | there is one other than the system's own loopback |

Where none can be, that is said, and what can be done instead. The listener is reached in place of an engine
(`Playback`), so an engine knows of the other lines only.
"""

from __future__ import annotations

import os
from enum import StrEnum
from importlib.util import find_spec
from typing import TYPE_CHECKING, Protocol, Self

from tabterm.dataclass import dataclass
from tabterm.errors import INSTALL, SoundError, lacking

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.sound.plan import Plan


class OutputKind(StrEnum):
    """What can be named, as `KIND` or `KIND:NAME`."""

    LISTENER = "listener"
    DEVICE = "device"
    PORT = "port"
    VIRTUAL = "virtual"

    @property
    def noun(self) -> str:
        """What it is in a sentence."""
        return {"device": "audio device", "virtual": "port"}.get(self.value, self.value)


AUTOMATIC = "auto"
"""The word for no wish at all."""

FORMS = "device, device:NAME, port, port:NAME, virtual:NAME, listener, listener:ADDRESS or auto"


@dataclass(frozen=True, slots=True)
class Wish:
    """What the player named.

    Attributes:
        kind: What, or None to go by the rule.
        name: Part of its name, or "" for the first; of a virtual port, the name that it gets; of a listener, its
            address.
    """

    kind: OutputKind | None = None
    name: str = ""

    @classmethod
    def parse(cls, text: str) -> Self:
        """The wish from `device`, `port:Synth` and the like; raises SoundError when it is none."""
        word, _, name = (part.strip() for part in text.strip().partition(":"))
        if word in {"", AUTOMATIC} and not name:
            return cls()
        if word not in {*OutputKind}:
            raise SoundError(f"not an output: '{text}'", hint=FORMS)
        return cls(OutputKind(word), name)

    def __str__(self) -> str:
        return AUTOMATIC if self.kind is None else f"{self.kind}:{self.name}" if self.name else self.kind.value


ANY = Wish()


class Tell(Protocol):
    """Tells the other end of the link something."""

    def __call__(self, word: str, body: bytes = b"", **values: object) -> None:
        """Send a frame."""


class Output(Protocol):
    """Somewhere that plans are played to; one at a time.

    It tells, with its `report`:

    * `turn`: from `start_s` of the monotonic clock on, plan `number` sounds from its moment `at_s`, in turn `turn`
    * `ended`: plan `number`, the last to begin or to take over, has been played, with the lateness of each message
      in s where that was asked for
    * `missed`: plan `number` cannot take over from the plan that it follows; another sounds
    * `underruns`: how often samples came too late, so far

    Attributes:
        kind: What it is.
        name: Its name, for the player.
        exact: What is due is due within a fraction of a millisecond.
    """

    kind: OutputKind
    name: str
    exact: bool

    def play(self, plan: Plan) -> None:
        """Play at once, in place of what sounds."""

    def change(self, plan: Plan) -> None:
        """Let a plan take over at the next beat."""

    def then(self, plan: Plan) -> None:
        """Let a plan follow what sounds; at once where nothing does."""

    def stop(self) -> None:
        """Silence at once."""

    def work(self) -> float | None:
        """Do what is due. When to come again, on the monotonic clock; None when there is nothing to come."""

    def is_there(self) -> bool:
        """Whether it can still be played to."""

    def close(self) -> None:
        """Let it go, once what has been sent is out."""


def open_output(wish: Wish, report: Tell, *, better_than: OutputKind | None = None) -> Output:
    """Open what was wished for or, where nothing was, the first that the rule finds.

    Raises:
        SoundError: No such output; or none at all, or none that stands before `better_than` in the rule.
    """
    if wish.kind is not None:
        return _opened(wish.kind, wish.name, report)
    errors = []
    for kind in _by_rule():
        if kind is better_than:
            break
        try:
            return _opened(kind, "", report)
        except SoundError as error:
            errors.append(error.message)
    raise SoundError("; ".join(errors) or "nothing better", hint=_what_to_do())


def found() -> list[tuple[OutputKind, str]]:
    """Everything that can be named here, in the order of the rule."""
    from tabterm.sound.device import list_devices
    from tabterm.sound.ports import list_ports

    return [(OutputKind.DEVICE, name) for name in list_devices()] + [
        (OutputKind.PORT, name) for name in list_ports()
    ]


def silence_port(name: str) -> None:
    """Silence a MIDI port that an engine which was killed has left sounding; raises SoundError if it has gone."""
    from tabterm.sound.port_output import silence
    from tabterm.sound.ports import open_port

    silence(open_port(name))


def over_ssh() -> bool:
    """Whether this process runs in an SSH session (its server sets the variable, ssh(1))."""
    return bool(os.environ.get("SSH_CONNECTION"))


def _by_rule() -> Iterator[OutputKind]:
    if not over_ssh():
        yield OutputKind.DEVICE
    yield OutputKind.PORT


def _opened(kind: OutputKind, name: str, report: Tell) -> Output:
    """Open an output; what it needs is loaded here, since it takes long and not every output needs it."""
    if kind is OutputKind.DEVICE:
        try:
            from tabterm.sound.audio_output import AudioOutput
        except ModuleNotFoundError as error:
            raise SoundError(lacking(error).message, hint=INSTALL) from None
        return AudioOutput(name, report)
    if kind is OutputKind.LISTENER:
        raise SoundError("no listener is running", hint="run `tabterm listen` on the machine you sit at")
    from tabterm.sound.port_output import PortOutput
    from tabterm.sound.ports import open_port

    return PortOutput(open_port(name or None, virtual=kind is OutputKind.VIRTUAL), kind, report)


def _what_to_do() -> str:
    """What helps where there is nothing to play to; "" where only a file does."""
    if over_ssh():
        return "run `tabterm listen` on the machine you sit at"
    return "" if find_spec("numpy") else INSTALL
