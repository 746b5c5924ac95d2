"""The real editor in a real pseudo-terminal, with an emulator that shows what a person would see."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from typing import TYPE_CHECKING

import psutil
import pyte

from tests import warm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

KEYS = {
    "up": b"\x1b[A",
    "down": b"\x1b[B",
    "right": b"\x1b[C",
    "left": b"\x1b[D",
    "home": b"\x1b[H",
    "end": b"\x1b[F",
    "pageup": b"\x1b[5~",
    "pagedown": b"\x1b[6~",
    "delete": b"\x1b[3~",
    "insert": b"\x1b[2~",
    "tab": b"\t",
    "shift+tab": b"\x1b[Z",
    "enter": b"\r",
    "escape": b"\x1b",
    "backspace": b"\x7f",
    "space": b" ",
    "ctrl+right": b"\x1b[1;5C",
    "shift+right": b"\x1b[1;2C",
    "shift+left": b"\x1b[1;2D",
    "ctrl+home": b"\x1b[1;5H",
    "ctrl+end": b"\x1b[1;5F",
    "f2": b"\x1bOQ",
    "f3": b"\x1bOR",
    "f4": b"\x1bOS",
    "f5": b"\x1b[15~",
    "f6": b"\x1b[17~",
    "f8": b"\x1b[19~",
    "f12": b"\x1b[24~",
}
"""What an xterm sends (xterm control sequences, "PC-style function keys")."""


WARM_ENOUGH = frozenset({"TERM", "COLORTERM", "TABTERM_CONFIG", "XDG_STATE_HOME", "XDG_CONFIG_HOME"})
"""Variables that the editor reads itself, not the interpreter or the toolkit while they start."""


def key_bytes(name: str) -> bytes:
    """The bytes of a key: a name above, `ctrl+letter`, or the characters themselves."""
    if name in KEYS:
        return KEYS[name]
    if name.startswith("ctrl+") and len(name) == 6:
        return bytes((ord(name[5]) & 0x1F,))
    return name.encode()


class Editor:
    """An editor on a file, or another command that opens one; `screen` is what its terminal shows."""

    def __init__(
        self,
        *arguments: str | Path,
        columns: int = 80,
        lines: int = 24,
        command: list[str] | None = None,
        **environment: str,
    ) -> None:
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.ByteStream(self.screen)
        self.received = 0
        self.sent = b""
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        variables = {
            **os.environ,
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "LANG": "C.UTF-8",
            **environment,
        }
        for name in ("NO_COLOR", "TMUX", "TEXTUAL"):
            variables.pop(name, None)
        variables |= environment
        self.started = time.monotonic()
        self.process: subprocess.Popen[bytes] | warm.Forked
        if command is None and WARM_ENOUGH.issuperset(environment):
            self.process = warm.start([*map(str, arguments)], slave, variables)
        else:
            self.process = subprocess.Popen(
                command or [sys.executable, "-m", "tabterm", *map(str, arguments)],
                stdin=slave,
                stdout=slave,
                stderr=slave,
                env=variables,
                start_new_session=True,
                preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
            )
        os.close(slave)

    def read(self, quiet_s: float = 0.05, timeout_s: float = 5.0) -> int:
        """Take what comes until nothing has come for a while, and the process waits; the number of bytes."""
        before, deadline = self.received, time.monotonic() + timeout_s
        while time.monotonic() < deadline:
            if not select.select([self._master], [], [], quiet_s)[0]:
                if self._works():
                    continue
                break
            try:
                data = os.read(self._master, 65536)
            except OSError:
                break
            if not data:
                break
            self.take(data)
        return self.received - before

    def _works(self) -> bool:
        """Whether the process has something to do, though a busy machine may not let it."""
        try:
            return psutil.Process(self.process.pid).status() == psutil.STATUS_RUNNING
        except psutil.Error:
            return False

    def pieces(self, seconds: float) -> Iterator[tuple[float, bytes]]:
        """What comes in so long a time, each piece with the moment it came; shown to nobody yet."""
        deadline = time.monotonic() + seconds
        while (left := deadline - time.monotonic()) > 0:
            if select.select([self._master], [], [], left)[0]:
                yield time.monotonic(), os.read(self._master, 65536)

    def take(self, data: bytes) -> None:
        """Show what came."""
        self.received += len(data)
        self.sent += data
        self.last_byte = time.monotonic()
        self._stream.feed(data)

    def wait_for(self, text: str, timeout_s: float = 60.0) -> None:
        """Read until a text is on the screen; fails when it does not come."""
        deadline = time.monotonic() + timeout_s
        while text not in self.text:
            assert time.monotonic() < deadline, f"no '{text}' on the screen:\n{self.text}"
            assert self.process.poll() is None or text in self.text, f"the editor has ended:\n{self.text}"
            self.read(0.05, 0.5)

    def wait_until(self, holds: Callable[[], bool], timeout_s: float = 60.0) -> None:
        """Read until something holds of the screen; fails when it does not come to that."""
        deadline = time.monotonic() + timeout_s
        while not holds():
            assert time.monotonic() < deadline, self.text
            self.read(0.02, 0.2)

    def ready(self) -> Editor:
        """Wait for the first screen, and for the thread of frames behind it, which begins before keys are read."""
        self.wait_for("? keys")
        self.wait_until(
            lambda: self.process.poll() is not None or psutil.Process(self.process.pid).num_threads() > 1
        )
        self.read(0.3)
        return self

    def press(self, *keys: str) -> None:
        """Send keys one by one, and read what comes of them."""
        for key in keys:
            self.type_bytes(key_bytes(key))
            if key == "escape":
                time.sleep(0.15)
        self.read()

    def type_bytes(self, data: bytes) -> None:
        """Send bytes as they are."""
        os.write(self._master, data)

    def save(self, name: str) -> None:
        """Save, and wait until that is said of a file (what was recovered is told as not saved, too)."""
        self.press("ctrl+s")
        self.wait_for(f"saved {name}")

    def command(self, name: str, answer: str | None = None) -> None:
        """Run a command by its name through the palette, and answer its question."""
        self.press("ctrl+p")
        self.wait_for("name of a command, or what it does")
        self.press(name)
        self.wait_until(lambda: self.screen.display[3].partition("│")[2].lstrip().startswith(f"{name} "))
        self.press("enter")
        self.wait_until(lambda: "╭" not in self.text)
        if answer is not None:
            self.wait_until(lambda: ": " in self.screen.display[-1])
            self.press("ctrl+a", "ctrl+k", answer, "enter")
            self.wait_until(lambda: not self.screen.display[-1].rstrip().endswith(f": {answer}"))

    @property
    def text(self) -> str:
        """The screen as text."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def row(self, label: str, number: int = 0) -> str:
        """The nth line of the screen that begins with a label."""
        return [line.rstrip() for line in self.screen.display if line.strip().startswith(label)][number]

    @property
    def terminal(self) -> int:
        """The descriptor of the terminal's own end."""
        return self._master

    def resize(self, columns: int, lines: int, quiet_s: float = 0.3) -> None:
        """Change the size of the terminal."""
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.screen.resize(lines, columns)
        os.killpg(self.process.pid, signal.SIGWINCH)
        self.read(quiet_s)

    def quit(self) -> int:
        """Leave, and give the exit status."""
        self.press("ctrl+q")
        return self.ended()

    def ended(self, timeout_s: float = 60.0) -> int:
        """The exit status, when it comes; nothing is left on the terminal behind it but words for a person."""
        deadline = time.monotonic() + timeout_s
        while self.process.poll() is None and time.monotonic() < deadline:
            self.read(0.02, 0.1)
        self.read(0.02, 0.1)
        assert b"Traceback" not in self.sent, self.text
        return self.process.wait(0.1)

    def hang_up(self) -> None:
        """Close the terminal, as a dropped line does."""
        os.close(self._master)
        self._master = -1

    def close(self) -> None:
        """End the editor, however it stands."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        if self._master >= 0:
            os.close(self._master)
            self._master = -1
