"""The link between editor and engine: frames of a JSON object and bytes; and the process at its other end."""

from __future__ import annotations

import json
import os
import select
import socket
import struct
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

SEND_WITHIN_S = 0.5  #: s; implementation limit
"""An end that does not take a frame for so long is given up."""

_SIZES = struct.Struct("<II")
_CHUNK = 1 << 18  #: bytes; implementation limit


class Frame(NamedTuple):
    """What is sent: a word, values that JSON can hold, and bytes."""

    word: str
    values: dict[str, Any]
    body: bytes


class Limits(NamedTuple):
    """What is taken from an end that is not trusted.

    Attributes:
        head_bytes: Longest head.
        body_bytes: Longest body.
        brackets: Most brackets that a head opens, so that none is nested deeper.
        frames_per_s: So many frames may come on the long run, and within a second of a rest twice as many.
    """

    head_bytes: int
    body_bytes: int
    brackets: int
    frames_per_s: float


class BadFrameError(ValueError):
    """The other end sent what no end of ours would: nothing more is to be read from it."""


class Link:
    """One end of the pair. `receive` never waits; `send` waits only for an end that does not read.

    Attributes:
        limits: What is taken from the other end; None trusts it.
    """

    def __init__(self, connection: socket.socket, limits: Limits | None = None) -> None:
        connection.settimeout(SEND_WITHIN_S)
        self.limits = limits
        self._connection = connection
        self._received = bytearray()
        self._ended = False
        self._allowance = 2 * limits.frames_per_s if limits else 0.0
        self._allowed_s = time.monotonic()

    def fileno(self) -> int:
        """The descriptor that becomes readable when something has come."""
        return self._connection.fileno()

    def send(self, word: str, body: bytes = b"", **values: Any) -> None:
        """Send a frame; raises OSError when the other end is gone or does not read."""
        head = json.dumps([word, values]).encode()
        self._connection.sendall(_SIZES.pack(len(head), len(body)) + head + body)

    def wait(self, timeout_s: float | None) -> bool:
        """Wait until something has come; False after the time is up. None waits for ever."""
        return bool(select.select([self._connection], [], [], timeout_s)[0])

    def receive(self) -> list[Frame]:
        """The frames that have come in whole.

        Raises:
            EOFError: The other end is gone and all is read.
            BadFrameError: What came is beyond the limits, or no frame at all.
        """
        while not self._ended and self.wait(0.0):
            chunk = self._connection.recv(_CHUNK)
            self._ended = not chunk
            self._received += chunk
            if self.limits:
                break
        frames = []
        while (frame := self._cut_frame()) is not None:
            frames.append(frame)
        if self._ended and not frames:
            raise EOFError
        return frames

    def _cut_frame(self) -> Frame | None:
        received = self._received
        if len(received) < _SIZES.size:
            return None
        head_size, body_size = _SIZES.unpack_from(received)
        if self.limits and (head_size > self.limits.head_bytes or body_size > self.limits.body_bytes):
            self._refuse(f"a frame of {head_size} + {body_size} bytes")
        head_end = _SIZES.size + head_size
        end = head_end + body_size
        if len(received) < end:
            return None
        head, body = bytes(received[_SIZES.size : head_end]), bytes(received[head_end:end])
        del received[:end]
        word, values = json.loads(head) if self.limits is None else self._checked(head, self.limits)
        return Frame(word, values, body)

    def _checked(self, head: bytes, limits: Limits) -> tuple[str, dict[str, Any]]:
        now_s = time.monotonic()
        earned = (now_s - self._allowed_s) * limits.frames_per_s
        self._allowance = min(self._allowance + earned, 2 * limits.frames_per_s) - 1
        self._allowed_s = now_s
        if self._allowance < 0:
            self._refuse("too many frames at once")
        if head.count(b"[") + head.count(b"{") > limits.brackets:
            self._refuse("a frame nested too deep")
        try:
            word, values = json.loads(head, parse_constant=self._refuse)
        except (ValueError, TypeError, RecursionError):
            self._refuse("a frame that cannot be read")
        if not isinstance(word, str) or not isinstance(values, dict):
            self._refuse("a frame that cannot be read")
        return word, values

    def _refuse(self, what: str) -> NoReturn:
        """Read nothing more, and forget what has come."""
        self._received.clear()
        self._ended = True
        raise BadFrameError(what)

    def close(self) -> None:
        """Let the connection go."""
        self._connection.close()


EngineProcess = tuple["subprocess.Popen[bytes]", Link]
"""A process of this machine that does what an engine does, and the link to it."""


def spawn(module: str, *arguments: str) -> EngineProcess:
    """Start a module's `main` in a process of its own, without waiting for it.

    Args:
        module: Its full name; it is called with the descriptor of its end of the link, and the arguments.
        arguments: What else it is to know.
    """
    ours, its = socket.socketpair()
    with its:
        process = subprocess.Popen(
            # Without `site` it starts sooner, and nothing in the working folder can stand in for a module.
            [sys.executable, "-S", "-P", "-m", module, str(its.fileno()), *arguments],
            pass_fds=(its.fileno(),),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # a stopped terminal job must not stop it inside a note
            env=os.environ | {"PYTHONPATH": module_path()},
        )
    return process, Link(ours)


def module_path() -> str:
    """Where it finds the modules that are found here, this one first."""
    root = str(Path(__file__).parents[2])
    return os.pathsep.join([root, *(path for path in sys.path if path)])
