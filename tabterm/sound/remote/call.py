"""A call: from an address to a listener that has welcomed us, or one clear line that says why there is none."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from tabterm.errors import SoundError
from tabterm.sound.link import BadFrameError, Frame, Link
from tabterm.sound.remote.address import PORT, LoopbackPort, found, parse
from tabterm.sound.remote.handshake import (
    HELLO_LIMITS,
    HELLO_WITHIN_S,
    Handshake,
    far_token,
    plain,
    read_token,
)
from tabterm.sound.remote.inspection import LIMITS

if TYPE_CHECKING:
    from tabterm.sound.remote.address import Address

VARIABLE = "TABTERM_LISTENER"
"""Where the listener is: a path, 127.0.0.1:PORT, `auto` or `none`; it goes before the configuration."""

NOBODY = "start `tabterm listen` on the machine that you sit at, and log in with the ssh line that it prints"


class Line(NamedTuple):
    """A line to a listener.

    Attributes:
        link: To it.
        round_trip_s: From what was said to the answer.
    """

    link: Link
    round_trip_s: float


def addresses(wanted: str) -> list[Address]:
    """Where to look for a listener, the likeliest first; raises SoundError when `wanted` is no address.

    Args:
        wanted: An address; `auto`: what ssh has forwarded to where we look by ourselves; `none`.
    """
    wanted = os.environ.get(VARIABLE) or wanted
    if wanted == "none":
        return []
    if wanted != "auto":
        return [parse(wanted)]
    sockets: list[Address] = [each for each in found() if each.answers()]
    port = LoopbackPort("127.0.0.1", PORT)
    return [*sockets, port] if far_token().exists() and port.answers() else sockets


def call(where: list[Address]) -> Line:
    """Call one after the other until one answers; raises SoundError with what the first one said otherwise."""
    faults = []
    for address in where:
        try:
            return _call(address)
        except SoundError as error:
            faults.append(error)
    raise faults[0] if faults else SoundError("no listener is forwarded to this machine", hint=NOBODY)


def _call(address: Address) -> Line:
    handshake = Handshake("editor", None if address.is_guarded else read_token(far_token()))
    try:
        link = Link(address.connect(), HELLO_LIMITS)
    except OSError as error:
        reason = error.strerror or str(error)
        raise SoundError(f"no listener: {reason.lower()}", place=str(address), hint=NOBODY) from None
    try:
        line = _greet(link, handshake)
    except (OSError, BadFrameError):
        link.close()
        raise SoundError("what answers is no listener", place=str(address), hint=NOBODY) from None
    except EOFError:
        link.close()
        raise SoundError("no listener at the other end", place=str(address), hint=NOBODY) from None
    except BaseException:
        link.close()
        raise
    link.limits = LIMITS
    return line


def _greet(link: Link, handshake: Handshake) -> Line:
    deadline_s = time.monotonic() + HELLO_WITHIN_S
    try:
        handshake.hear(_next(link, deadline_s))
    except SoundError:
        with suppress(OSError):
            link.send("hello", **handshake.hello())  # so that the listener, too, can say whose version is which
        raise
    asked_s = time.monotonic()
    link.send("hello", **handshake.hello())
    answer = _next(link, deadline_s)
    round_trip_s = time.monotonic() - asked_s
    if answer.word == "refused":
        message, hint = (plain(str(answer.values.get(name, ""))) for name in ("message", "hint"))
        raise SoundError(message or "the listener refused", hint=hint)
    if answer.word != "welcome":
        raise BadFrameError("no welcome")
    handshake.check("listener", answer.values.get("proof"))
    return Line(link, round_trip_s)


def _next(link: Link, deadline_s: float) -> Frame:
    """The next frame; raises SoundError when none comes in time."""
    while (left_s := deadline_s - time.monotonic()) > 0:
        if link.wait(left_s) and (frames := link.receive()):
            return frames[0]
    raise SoundError("the listener does not answer", hint=NOBODY)
