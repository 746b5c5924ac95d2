"""A thin, stalled or noisy line: the real editor in a pseudo-terminal that is read slowly, or not at all."""

from __future__ import annotations

import os
import random
import select
import shutil
import signal
import sys
import termios
import time
from itertools import pairwise

import psutil
import pytest

from tabterm.formats import native
from tests.bench.files import SAMPLE
from tests.terminal import Editor, key_bytes
from tests.thorough import many
from tests.tui.ticking import ticks


@pytest.fixture
def piece(tmp_path):
    path = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, path)
    return path


class SlowLine:
    """Reads so many bytes a second, and answers the terminal's question when it has come to it."""

    def __init__(self, editor: Editor, bytes_per_s: float) -> None:
        self.editor = editor
        self.bytes_per_s = bytes_per_s
        self.allowance = 0.0
        self.answered = editor.sent.count(b"\x1b[5n")
        self.then = time.monotonic()

    def read(self, for_s: float) -> float:
        """Take what the line carries for a while; when the cursor, or what is said of its place, last changed."""
        last, end, where = self.then, time.monotonic() + for_s, self._where()
        while time.monotonic() < end:
            now = time.monotonic()
            self.allowance = min(self.allowance + (now - self.then) * self.bytes_per_s, self.bytes_per_s / 20)
            self.then = now
            ready = select.select([self.editor.terminal], [], [], 0.005)[0]
            if ready and self.allowance >= 1:
                data = os.read(self.editor.terminal, int(self.allowance))
                self.allowance -= len(data)
                self.editor.take(data)
                if self._where() != where:
                    last, where = time.monotonic(), self._where()
                self._answer()
        return last

    def _answer(self) -> None:
        """Give every sign of life that has been asked for, however the question was torn on its way."""
        asked = self.editor.sent.count(b"\x1b[5n")
        self.editor.type_bytes(b"\x1b[0n" * (asked - self.answered))
        self.answered = asked

    def _where(self) -> tuple[int, int, str]:
        screen = self.editor.screen
        return screen.cursor.x, screen.cursor.y, screen.display[0]


@pytest.mark.parametrize("key", ["right", "pagedown"])
def test_a_slow_line_lags_little_behind_a_held_key(key, open_editor, piece):
    """3 s of 30 keys a second through 4 kB/s; then at most 0.5 s (pages: a screenful) until all is shown."""
    editor = open_editor(piece, "--look", "terminal").ready()
    line = SlowLine(editor, 4000)
    editor.type_bytes(b"\x1b[0n")  # as a terminal that has answered
    for _ in range(90):
        editor.type_bytes(key_bytes(key))
        line.read(1 / 30)
    released = time.monotonic()
    last = line.read(2.5)
    assert last - released < (0.5 if key == "right" else 1.0)
    editor.type_bytes(key_bytes("ctrl+home"))
    line.read(1.0)
    assert (editor.screen.cursor.x, editor.screen.cursor.y) == (8, 5)


def test_a_stalled_line_holds_nothing_up(open_editor, piece, tmp_path):
    """Not read for seconds while keys come: the event loop ticks each tenth, and each edit is in the journal.

    Then one frame tells it all. It is 10 s if thorough.
    """
    pulse = tmp_path / "pulse"
    command = [sys.executable, "-m", "tests.tui.ticking", str(pulse), str(piece)]
    editor = open_editor(command=command).ready()
    editor.press("ctrl+home", "a")
    process = psutil.Process(editor.process.pid)
    journal = next(piece.parent.glob(".piece*journal*"))
    sizes = []
    stalled_s = time.monotonic()
    tenths = many(40, 100)
    for number in range(tenths):
        editor.type_bytes(
            key_bytes(str(number % 8)) + key_bytes("left") + key_bytes("pagedown") + key_bytes("ctrl+home")
        )
        time.sleep(0.1)
        sizes.append(journal.stat().st_size)
    count, longest_s = ticks(pulse, stalled_s, tenths / 10)
    assert abs(count - tenths) <= 1
    assert longest_s < 1.0
    assert sum(later > earlier for earlier, later in pairwise(sizes)) > 0.9 * tenths
    assert process.cpu_percent(1.0) < 20.0
    editor.read(0.3)
    assert editor.row("E |").startswith(f"     E |{(tenths - 1) % 8}")
    shown = editor.text
    editor.press("ctrl+l")
    editor.read(0.3)
    assert editor.text == shown
    editor.press("ctrl+s")
    assert editor.quit() == 0


def test_sound_goes_on_while_the_line_is_stalled(recorder, open_editor, piece):
    """Heard at a real port: nothing is read for 5 s, and more is wanted on the screen than the line holds."""
    editor = open_editor(piece).ready()
    editor.press("ctrl+home", "f6", "f5")
    recorder.wait_for(1, 10.0)
    for _ in range(5):
        before = len(recorder.notes())
        editor.type_bytes((key_bytes("pagedown") + key_bytes("pageup")) * 20)
        time.sleep(1.0)
        assert len(recorder.notes()) > before
    editor.press("f5", "ctrl+s")
    assert recorder.sounding() == set()
    assert editor.quit() == 0


@pytest.mark.parametrize("seed", range(4))
def test_noise_on_the_line_loses_nothing(seed, open_editor, piece):
    """Random bytes that begin no key: no crash, no edit, nothing lost."""
    before = native.read(piece.read_bytes())
    editor = open_editor(piece).ready()
    editor.press("ctrl+home", "a", "9", "ctrl+s")
    choose = random.Random(seed)
    noise = b""
    while len(noise) < 10_000:
        broken = bytes(choose.randint(0x80, 0xFF) for _ in range(choose.randint(1, 9)))
        sequence = b"\x1b[" + bytes(choose.choice(b"0123456789;:<>=?") for _ in range(choose.randint(0, 9))) + b"z"
        paste = (
            b"\x1b[200~" + bytes(choose.randint(0, 255) for _ in range(50)).replace(b"\x1b", b"") + b"\x1b[201~"
        )
        noise += choose.choice((broken, sequence, paste, b"\x1b[97;1:3u", b"\x1b[M\xff\x20\xf0", b"\x1b]0;x\x07"))
    for start in range(0, len(noise), 500):
        editor.type_bytes(noise[start : start + 500])
        editor.read(0.02)
    time.sleep(0.7)
    editor.press("right")
    assert editor.process.poll() is None
    after = native.read(piece.read_bytes())
    assert after.measures[1:] == before.measures[1:]
    assert "*" not in editor.screen.display[0][:1]
    assert editor.quit() == 0


def test_any_bytes_at_all_leave_the_document_whole(open_editor, piece):
    """Bytes of anything (10,000 if thorough), keys among them: the editor lives, or its work is there."""
    editor = open_editor(piece).ready()
    choose = random.Random(7)
    forbidden = {key_bytes("ctrl+q")[0], ord("x")}
    noise = bytes(
        byte for byte in (choose.randint(0, 255) for _ in range(many(3_000, 10_000))) if byte not in forbidden
    )
    for start in range(0, len(noise), 250):
        editor.type_bytes(noise[start : start + 250])
        editor.read(0.03)
    assert editor.process.poll() is None
    native.read(piece.read_bytes())


def test_a_terminal_that_is_gone_ends_the_editor_even_if_hang_ups_are_ignored(open_editor, piece):
    previous = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        editor = open_editor(piece).ready()
    finally:
        signal.signal(signal.SIGHUP, previous)
    editor.press("ctrl+home", "a", "7")
    editor.wait_until(lambda: "7" in editor.row("E |"))  # what is still on the line is lost with it
    editor.hang_up()
    assert editor.process.wait(60.0) == 129
    again = open_editor(piece)
    again.wait_for("recovered a change")
    again.wait_until(lambda: "7" in again.row("E |"))


def test_stopped_and_going_on_the_screen_is_drawn_anew(open_editor, piece):
    editor = open_editor(piece).ready()
    editor.wait_for("1 to fix")
    shown = editor.text
    os.kill(editor.process.pid, signal.SIGTSTP)
    stopped = psutil.Process(editor.process.pid)
    editor.wait_until(lambda: stopped.status() == psutil.STATUS_STOPPED)
    editor.read()
    assert editor.sent.endswith(b"\x1b[?1049l")
    os.kill(editor.process.pid, signal.SIGCONT)
    editor.screen.reset()
    editor.wait_until(lambda: editor.text == shown)
    os.kill(editor.process.pid, signal.SIGSTOP)
    os.kill(editor.process.pid, signal.SIGCONT)
    editor.press("right")
    assert editor.process.poll() is None
    assert editor.quit() == 0


def test_a_storm_of_resizes_ends_with_the_last_size(open_editor, piece):
    editor = open_editor(piece).ready()
    choose = random.Random(1)
    for _ in range(200):
        editor.resize(choose.randint(40, 200), choose.randint(12, 60), quiet_s=0.001)
    editor.resize(80, 24)
    editor.wait_until(lambda: editor.screen.display[-1].rstrip().endswith("ctrl+q quit"))
    editor.press("ctrl+home", "a", "7")
    editor.wait_until(lambda: "7" in editor.row("E |"))


def test_nothing_is_sent_and_nothing_done_when_idle(open_editor, piece):
    editor = open_editor(piece).ready()
    editor.read(1.0)
    process = psutil.Process(editor.process.pid)
    before = process.cpu_times()
    assert editor.read(3.0, 3.5) == 0
    after = process.cpu_times()
    assert after.user + after.system - before.user - before.system <= 0.02


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGQUIT, signal.SIGHUP])
def test_an_editor_that_is_ended_while_it_begins_gives_the_terminal_back(number, open_editor, piece):
    """The signal comes with the first byte that the terminal is sent."""
    before = open_editor("--help")
    editor = open_editor(piece)
    while not editor.sent:
        editor.read(0.0, 0.02)
    assert not termios.tcgetattr(editor.terminal)[3] & termios.ICANON
    editor.process.send_signal(number)
    assert editor.ended() in {128 + number, -number}
    assert termios.tcgetattr(editor.terminal)[3] == termios.tcgetattr(before.terminal)[3]


@pytest.mark.parametrize(("number", "status"), [(signal.SIGTERM, 143), (signal.SIGQUIT, -signal.SIGQUIT)])
def test_an_editor_that_is_ended_gives_the_terminal_back(number, status, open_editor, piece):
    before = open_editor("--help")
    editor = open_editor(piece).ready()
    raw = termios.tcgetattr(editor.terminal)[3]
    editor.press("ctrl+home", "a", "7")
    editor.process.send_signal(number)
    assert editor.ended() == status
    editor.read(0.2)
    assert not raw & termios.ICANON
    assert termios.tcgetattr(editor.terminal)[3] == termios.tcgetattr(before.terminal)[3]
    assert editor.sent.endswith(b"\x1b[?1049l")
