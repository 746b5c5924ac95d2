"""A call: from an address to a listener that has welcomed us, or one clear line that says why there is none."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from tabterm.errors import SoundError
from tabterm.sound.link import BadFrameError, EngineProcess, Frame, Link, spawn
from tabterm.sound.outputs import OutputKind, Wish
from tabterm.sound.remote.address import PORT, LoopbackPort, found, parse
from tabterm.sound.remote.handshake import (
    HELLO_LIMITS,
    HELLO_WITHIN_S,
    PLAY,
    Handshake,
    far_token,
    plain,
    read_token,
)
from tabterm.sound.remote.inspection import LIMITS

if TYPE_CHECKING:
    from tabterm.sound.remote.address import Address
    from tabterm.sound.remote.handshake import Errand

VARIABLE = "TABTERM_LISTENER"
"""Where the listener is when it is not named: a path, 127.0.0.1:PORT, `auto` or `none`."""

AUTOMATIC, NONE = "auto", "none"

NOBODY = "start `tabterm listen` on the machine you sit at, and log in with the ssh line that it prints"


class Connection(NamedTuple):
    """A line to a listener.

    Attributes:
        link: To it.
        round_trip_s: From what was said to the answer.
        said: What came behind the welcome.
    """

    link: Link
    round_trip_s: float
    said: list[Frame]


def reach(wish: Wish) -> EngineProcess | None:
    """A process that stands for an engine, and calls the listener; None where another output is to be found.

    Args:
        wish: What the player named. A listener that has been named is called even though nobody answers there
            yet: what is wrong is told when something is to be played.
    """
    wanted = wish.name or os.environ.get(VARIABLE) or AUTOMATIC
    if wish.kind is OutputKind.LISTENER or (wish.kind is None and somebody_answers(wanted)):
        return spawn("tabterm.sound.remote.caller", wanted)
    return None


def call(wanted: str, errand: Errand = PLAY) -> Connection:
    """Call a listener, wherever one answers.

    Args:
        wanted: An address; `auto`: what ssh has forwarded to where we look by ourselves; `none`.
        errand: What for.

    Raises:
        SoundError: None can be played through, and why; or `wanted` is no address.
    """
    faults = []
    for address in _addresses(wanted):
        try:
            return _call(address, errand)
        except SoundError as error:
            faults.append(error)
    raise faults[0] if faults else SoundError("no listener is forwarded to this machine", hint=NOBODY)


def somebody_answers(wanted: str) -> bool:
    """Whether there is a listener where one is wanted."""
    try:
        return any(address.answers() for address in _addresses(wanted))
    except SoundError:
        return False


def _addresses(wanted: str) -> list[Address]:
    """Where a listener may be, the likeliest first; raises SoundError when `wanted` is no address."""
    if wanted == NONE:
        return []
    if wanted != AUTOMATIC:
        return [parse(wanted)]
    port = LoopbackPort("127.0.0.1", PORT)
    return [*found(), *([port] if far_token().exists() else [])]


def _call(address: Address, errand: Errand) -> Connection:
    try:
        link = Link(address.connect(), HELLO_LIMITS)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SoundError(f"no listener answers: {reason}", place=str(address), hint=NOBODY) from None
    try:
        token = None if address.is_guarded else read_token(far_token())
        line = _greet(link, Handshake("editor", token, errand))
    except BaseException as error:
        link.close()
        if isinstance(error, EOFError):
            raise SoundError("no listener at the other end", place=str(address), hint=NOBODY) from None
        if isinstance(error, (OSError, BadFrameError)):
            raise SoundError(
                "another program answers there, not a listener", place=str(address), hint=NOBODY
            ) from None
        raise
    link.limits = LIMITS
    return line


def _greet(link: Link, handshake: Handshake) -> Connection:
    deadline_s = time.monotonic() + HELLO_WITHIN_S
    try:
        handshake.hear(_next(link, deadline_s)[0])
    except SoundError:
        with suppress(OSError):
            link.send("hello", **handshake.hello())  # so that the listener, too, can say whose version is which
        raise
    asked_s = time.monotonic()
    link.send("hello", **handshake.hello())
    answer, *said = _next(link, deadline_s)
    round_trip_s = time.monotonic() - asked_s
    if answer.word == "refused":
        message, hint = (plain(str(answer.values.get(name, ""))) for name in ("message", "hint"))
        raise SoundError(message or "the listener refused", hint=hint)
    if answer.word != "welcome":
        raise BadFrameError("no welcome")
    handshake.check("listener", answer.values.get("proof"))
    return Connection(link, round_trip_s, said)


def _next(link: Link, deadline_s: float) -> list[Frame]:
    """What comes next, at least one frame; raises SoundError when nothing comes in time."""
    while (left_s := deadline_s - time.monotonic()) > 0:
        if link.wait(left_s) and (frames := link.receive()):
            return frames
    raise SoundError("the listener does not answer", hint=NOBODY)
