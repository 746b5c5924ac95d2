"""A sheet on its way: from an editor to the machine where the listener runs, whole or not at all.

It travels by the same forwarded line and handshake as what is played, as a caller of its own, so that it neither
interrupts what sounds nor waits for it. Each part is answered before the next goes, so that little of it is ever
ahead of an order to play. The near end keeps to two kinds of files and to a size.
"""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING, Protocol

from tabterm.errors import SoundError, TabtermError
from tabterm.sound.link import BadFrameError, Limits
from tabterm.sound.outputs import Wish
from tabterm.sound.remote.call import AUTOMATIC, VARIABLE, call, somebody_answers
from tabterm.sound.remote.handshake import SHEET, plain
from tabterm.sound.remote.inspection import FROM_COURIER, FROM_DESK, MOST_SHEET_BYTES, PART_BYTES, inspect

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.sound.link import Frame, Link


class Deliver(Protocol):
    """Takes in a sheet."""

    def __call__(self, name: str, data: bytes, /, *, opens: bool) -> str:
        """Keep a file under its name, show it if asked to, and say what was done; raises TabtermError."""


#: by ending, the bytes that a file begins with; ISO 32000-1, 7.5.2, and PNG (W3C, third edition), 5.2
KINDS = {".pdf": b"%PDF-", ".png": b"\x89PNG\r\n\x1a\n"}
"""What is taken from another machine."""

#: bytes, brackets, 1/s; implementation limit
LIMITS = Limits(head_bytes=2048, body_bytes=PART_BYTES, brackets=3, frames_per_s=200)
"""What is taken from a caller that brings a sheet."""

ANSWER_WITHIN_S = 20.0  #: s; implementation limit
"""A part that is not answered for so long is lost, and the sheet with it."""


def line_of(output: str) -> str | None:
    """Where a listener answers that a sheet can be sent to; None for none.

    Args:
        output: The output that is configured for the sound; a listener that it names is asked.
    """
    wanted = Wish.parse(output).name if output.startswith("listener:") else ""
    wanted = wanted or os.environ.get(VARIABLE) or AUTOMATIC
    return wanted if somebody_answers(wanted) else None


def can_travel(name: str) -> bool:
    """Whether a file of this name is taken at the other end."""
    return name.lower().endswith(tuple(KINDS))


def send(wanted: str, name: str, data: bytes, *, opens: bool, progress: Callable[[float], None]) -> str:
    """Send a file to a listener, and say what has become of it there.

    Args:
        wanted: The address of the listener, or `auto`.
        name: Of the file.
        data: All of it.
        opens: Whether it is to be shown at once.
        progress: Called with the part that has arrived, from 0 to 1.

    Raises:
        SoundError: No listener answers, it refused, or the line dropped; nothing is kept there then.
    """
    check(name, data)
    line = call(wanted, SHEET)
    try:
        for at in range(0, len(data), PART_BYTES):
            line.link.send("part", data[at : at + PART_BYTES], name=name, size=len(data), at=at, opens=opens)
            answer = inspect(_next(line.link), FROM_DESK)
            if answer.word == "kept":
                return plain(answer.values["words"])
            if answer.word == "refused":
                raise SoundError(plain(answer.values["message"]), hint=plain(answer.values["hint"]))
            progress(min((at + PART_BYTES) / len(data), 1.0))
    except (OSError, EOFError, BadFrameError):
        raise SoundError(
            "the connection to the listener dropped; the sheet did not arrive", hint="send it again"
        ) from None
    finally:
        line.link.close()
    raise SoundError("the listener did not confirm the sheet", hint="send it again")


def check(name: str, data: bytes) -> None:
    """Raise SoundError for a file that the other end would not take."""
    ending = next((each for each in KINDS if name.lower().endswith(each)), None)
    if ending is None:
        raise SoundError(
            f"'{plain(name, most=60)}' is not a file that can be sent", hint=f"one of: {', '.join(KINDS)}"
        )
    if not data.startswith(KINDS[ending]):
        raise SoundError(f"'{plain(name, most=60)}' is not the kind of file that its extension says")
    if len(data) > MOST_SHEET_BYTES:
        raise SoundError(
            f"a sheet of {len(data):,} bytes is too large to send", hint=f"{MOST_SHEET_BYTES:,} at most"
        )


def _next(link: Link) -> Frame:
    deadline_s = time.monotonic() + ANSWER_WITHIN_S
    while (left_s := deadline_s - time.monotonic()) > 0:
        if link.wait(left_s) and (frames := link.receive()):
            return frames[0]
    raise EOFError


class Courier:
    """Somebody who brings a sheet to this machine, as the listener hears it.

    Attributes:
        link: To it.
        heard_s: When something came last.
    """

    def __init__(self, link: Link, deliver: Deliver) -> None:
        self.link, self.heard_s = link, time.monotonic()
        link.limits = LIMITS
        self._deliver = deliver
        self._received = bytearray()
        self._told: tuple[str, int, bool] | None = None

    def hear(self) -> str | None:
        """Take in what has come; words for the user once it is over, None while more is to come.

        Raises:
            BadFrameError: What came is not a part of a sheet.
            EOFError, OSError: The line has ended.
        """
        self.heard_s = time.monotonic()
        for frame in self.link.receive():
            if (words := self._take(inspect(frame, FROM_COURIER))) is not None:
                return words
        return None

    def _take(self, part: Frame) -> str | None:
        told = (part.values["name"], part.values["size"], part.values["opens"])
        self._told = self._told or told
        self._received += part.body
        is_next = part.values["at"] == len(self._received) - len(part.body)
        if told != self._told or not is_next or not part.body or len(self._received) > told[1]:
            raise BadFrameError("a part of a sheet that does not fit")
        if len(self._received) < told[1]:
            self.link.send("got", at=len(self._received))
            return None
        name, data = plain(told[0], most=100), bytes(self._received)
        try:
            check(told[0], data)
            words = self._deliver(told[0], data, opens=told[2])
        except TabtermError as error:
            self.link.send("refused", message=plain(error.message), hint=plain(error.hint))
            return f"the sheet '{name}' was refused: {error}"
        self.link.send("kept", words=plain(words))
        return f"the sheet '{name}' has arrived: {words}"
