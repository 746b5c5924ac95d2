"""The door of a listener: lets in who says in time who it is, and knows what it must know."""

from __future__ import annotations

import selectors
import socket
import time
from typing import TYPE_CHECKING, Any

from tabterm.errors import SoundError
from tabterm.sound.link import BadFrameError, Link
from tabterm.sound.remote.address import peer_is_trusted
from tabterm.sound.remote.handshake import HELLO_LIMITS, HELLO_WITHIN_S, Handshake

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_VISITORS = 8  #: connections; implementation limit
"""Connections that have not yet said who they are; the oldest makes way for the next."""


class Visitor:
    """A connection that has not yet said who it is, or the editor that it has turned out to be.

    Attributes:
        link: To it.
        handshake: What has been said.
        since_s: When it came.
    """

    def __init__(self, connection: socket.socket, token: bytes | None) -> None:
        self.link = Link(connection, HELLO_LIMITS)
        self.handshake = Handshake("listener", token)
        self.since_s = time.monotonic()


class Door:
    """A listening socket and those who stand before it.

    Attributes:
        admit: Called with a visitor that may come in and has not been told; raises SoundError when it may not
            after all. From then on the door has nothing to do with it.
        say: Called with a line about whoever was sent away.
    """

    def __init__(
        self,
        listening: socket.socket,
        token: bytes | None,
        selector: selectors.BaseSelector,
        *,
        admit: Callable[[Visitor], None],
        say: Callable[[str], None],
    ) -> None:
        """Open it.

        Args:
            listening: The socket; it is closed by `close`.
            token: What a visitor must know; None where nobody else can reach the socket.
            selector: Where the sockets are registered, each with what is to be called when it is readable.
            admit: See above.
            say: See above.
        """
        listening.settimeout(0)
        self._listening, self._token, self._selector = listening, token, selector
        self.admit, self.say = admit, say
        self._visitors: list[Visitor] = []
        selector.register(listening, selectors.EVENT_READ, self._open)

    def look(self, now_s: float) -> None:
        """Send away who has stood there for too long."""
        for visitor in [each for each in self._visitors if now_s - each.since_s > HELLO_WITHIN_S]:
            self._send_away(visitor, f"it did not identify itself within {HELLO_WITHIN_S:g} s")

    def close(self) -> None:
        """Close it, and let go whoever stands before it."""
        for visitor in list(self._visitors):
            self._forget(visitor)
        self._selector.unregister(self._listening)
        self._listening.close()

    def _open(self) -> None:
        try:
            connection, _ = self._listening.accept()
        except OSError:
            return  # it has gone again
        if not peer_is_trusted(connection):
            connection.close()
            self.say("a caller was refused: not of this user")
            return
        if len(self._visitors) >= MOST_VISITORS:
            self._send_away(self._visitors[0], "too many at once, and it was the oldest")
        if connection.family != socket.AF_UNIX:
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        visitor = Visitor(connection, self._token)
        self._visitors.append(visitor)
        self._selector.register(connection, selectors.EVENT_READ, lambda: self._hear(visitor))
        self._answer(visitor, "hello", **visitor.handshake.hello())

    def _hear(self, visitor: Visitor) -> None:
        """Admit a visitor that has said everything."""
        try:
            frames = visitor.link.receive()
        except (EOFError, OSError):
            self._forget(visitor)  # somebody looked whether the listener is there
            return
        except BadFrameError as error:
            self._send_away(visitor, f"it sent {error}")
            return
        if not frames:
            return
        if len(frames) > 1:
            self._send_away(visitor, "it spoke before it was asked")
            return
        try:
            visitor.handshake.hear(frames[0])
            visitor.handshake.check("editor", frames[0].values.get("proof"))
            self.admit(visitor)
        except SoundError as error:
            self._answer(visitor, "refused", message=error.message, hint=error.hint)
            self._send_away(visitor, error.message)
            return
        self._visitors.remove(visitor)

    def _answer(self, visitor: Visitor, word: str, **values: Any) -> None:
        try:
            visitor.link.send(word, **values)
        except OSError:
            self._forget(visitor)

    def _send_away(self, visitor: Visitor, why: str) -> None:
        self.say(f"a caller was refused: {why}")
        self._forget(visitor)

    def _forget(self, visitor: Visitor) -> None:
        if visitor in self._visitors:
            self._visitors.remove(visitor)
            self._selector.unregister(visitor.link)
            visitor.link.close()
