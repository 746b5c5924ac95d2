"""The link between editor and engine: frames of a JSON object and bytes, over a pair of sockets."""

from __future__ import annotations

import json
import select
import struct
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import socket

SEND_WITHIN_S = 0.5
"""An end that does not take a frame for so long is given up."""

_SIZES = struct.Struct("<II")
_CHUNK = 1 << 18


class Frame(NamedTuple):
    """What is sent: a word, values that JSON can hold, and bytes."""

    word: str
    values: dict[str, Any]
    body: bytes


class Link:
    """One end of the pair. `receive` never waits; `send` waits only for an end that does not read."""

    def __init__(self, connection: socket.socket) -> None:
        connection.settimeout(SEND_WITHIN_S)
        self._connection = connection
        self._received = bytearray()
        self._ended = False

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
        """The frames that have come in whole; raises EOFError once the other end is gone and all is read."""
        while not self._ended and self.wait(0.0):
            chunk = self._connection.recv(_CHUNK)
            self._ended = not chunk
            self._received += chunk
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
        head_end = _SIZES.size + head_size
        end = head_end + body_size
        if len(received) < end:
            return None
        word, values = json.loads(received[_SIZES.size : head_end])
        body = bytes(received[head_end:end])
        del received[:end]
        return Frame(word, values, body)

    def close(self) -> None:
        """Let the connection go."""
        self._connection.close()
