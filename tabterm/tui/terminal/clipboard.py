"""The clipboard of the machine that the terminal is on: text is handed to the terminal, which puts it there.

The sequence is OSC 52 of xterm's control sequences ("Manipulate Selection Data"): it crosses ssh like anything
else that is printed. Whether the terminal obeys cannot be told from here: it gives no answer.
"""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

MOST_BYTES = 74_994
"""Of UTF-8 text. From memory: terminals that limit such a sequence take 100,000 bytes of it, a third of which
base64 costs (RFC 4648, section 4)."""

SCREEN_CHUNK = 200
"""Bytes in one string that GNU screen passes on; from memory: it drops one of more than 256 in old releases."""

WITHOUT = frozenset({"", "dumb", "linux", "vt100", "vt220"})
"""Values of TERM for terminals without a clipboard; from memory."""

HINT = "choose fewer measures, or write a file"


def sequence(text: str, environment: Mapping[str, str]) -> str:
    """What is sent to a terminal so that a text stands in its clipboard, through a multiplexer where there is one.

    Raises:
        TabtermError: The terminal has no clipboard, or the text is too long for it.
    """
    name = environment.get("TERM", "")
    if name in WITHOUT:
        raise TabtermError(f"this terminal has no clipboard (TERM={name})", hint="write a file instead")
    data = printable.text(text).encode()
    if len(data) > MOST_BYTES:
        raise TabtermError(f"too long for a clipboard: {len(data):,} bytes, at most {MOST_BYTES:,}", hint=HINT)
    plain = f"\x1b]52;c;{base64.b64encode(data).decode('ascii')}\x07"
    return "".join(passed(plain) for passed in _ways(environment, name))


def _ways(environment: Mapping[str, str], name: str) -> tuple[Callable[[str], str], ...]:
    """How the sequence is written for what is between us and the terminal.

    tmux obeys it with `set-clipboard on`, or hands it through with `allow-passthrough on`: it gets both forms, and
    drops the one that it is not to take. Over ssh its variable is lost, the name of the terminal is not.
    """
    if environment.get("TMUX") or name.startswith("tmux"):
        return str, _through_tmux
    if environment.get("STY") or name.startswith("screen"):
        return (_through_screen,)
    return (str,)


def _through_tmux(plain: str) -> str:
    """In a device control string that tmux passes on, with each escape doubled (tmux(1), `allow-passthrough`)."""
    return "\x1bPtmux;" + plain.replace("\x1b", "\x1b\x1b") + "\x1b\\"


def _through_screen(plain: str) -> str:
    """In device control strings, which GNU screen passes on one by one (its manual, "Control Sequences")."""
    chunks = (plain[at : at + SCREEN_CHUNK] for at in range(0, len(plain), SCREEN_CHUNK))
    return "".join(f"\x1bP{chunk}\x1b\\" for chunk in chunks)
