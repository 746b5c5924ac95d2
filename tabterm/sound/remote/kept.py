"""An engine that is kept: when its process ends, another is started after a rest."""

from __future__ import annotations

import selectors
import subprocess
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from tabterm.sound.link import spawn
from tabterm.sound.outputs import OutputKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.sound.link import Frame, Link
    from tabterm.sound.outputs import Wish

RESTS_S = (0.0, 0.2, 0.5, 1.0, 2.0, 5.0)  #: s; implementation limit
"""How long there is no engine after the first of a row has ended, after the second, and so on."""

STEADY_S = 10.0  #: s; implementation limit
"""An engine that has lived for so long begins a new row."""

END_WITHIN_S = 1.0  #: s; implementation limit


class KeptEngine:
    """The engine of a listener.

    Attributes:
        take: Called with each report.
        ended: Called when the process has ended.
    """

    def __init__(
        self,
        wish: Wish,
        selector: selectors.BaseSelector,
        *,
        take: Callable[[Frame], None],
        ended: Callable[[], None],
    ) -> None:
        """Start it.

        Args:
            wish: What to play through.
            selector: Where its link is registered, with what is to be called when it is readable.
            take: See above.
            ended: See above.
        """
        self._wish, self._selector = wish, selector
        self.take, self.ended = take, ended
        self._row = 0
        self._port = ""  # a MIDI port that this engine, or the one before it, has sent notes to
        self._due_s = 0.0
        self._process: subprocess.Popen[bytes] | None = None
        self._link: Link | None = None
        self._start()

    def order(self, word: str, body: bytes = b"", **values: Any) -> bool:
        """Give an order; False when there is no engine just now."""
        if self._link is None:
            return False
        try:
            self._link.send(word, body, **values)
        except OSError:
            self._has_ended()
            return False
        return True

    def look(self, now_s: float) -> None:
        """Start another one when it is time."""
        if self._link is None and now_s >= self._due_s:
            self._start()

    def close(self) -> None:
        """Silence and end it."""
        if self._link is not None:
            self._selector.unregister(self._link)
            self._link.close()
            self._link = None
        if self._process is not None:
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(END_WITHIN_S)
            self._process.kill()
            self._process.wait()
            self._process = None

    def _start(self) -> None:
        self._started_s = time.monotonic()
        self._process, self._link = spawn("tabterm.sound.engine")
        self._selector.register(self._link, selectors.EVENT_READ, self._hear)
        if self._port:
            self.order("silence", name=self._port)
        self.order("warm", kind=self._wish.kind, name=self._wish.name)
        self.order("outputs")  # answered once the output has been opened, or has not

    def _hear(self) -> None:
        if self._link is None:
            return
        try:
            frames = self._link.receive()
        except (EOFError, OSError):
            self._has_ended()
            return
        for frame in frames:
            if frame.word == "output":
                self._port = frame.values["name"] if frame.values["kind"] == OutputKind.PORT else ""
            self.take(frame)

    def _has_ended(self) -> None:
        self.close()
        now_s = time.monotonic()
        row = 0 if now_s - self._started_s > STEADY_S else self._row
        self._due_s = now_s + RESTS_S[row]
        self._row = min(row + 1, len(RESTS_S) - 1)
        self.ended()
