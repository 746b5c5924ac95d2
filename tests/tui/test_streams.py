"""A flood of input: no more is read than is carried out, and nothing of it is lost."""

from __future__ import annotations

import os
import select
import shutil
import threading
import time

import psutil
from textual import events

from tabterm.tui.terminal.streams import AT_ONCE, Reader
from tests.bench.files import SAMPLE


class Application:
    """Takes messages as the editor does: what is to be called back waits behind them."""

    def __init__(self):
        self.keys, self.behind, self.came = [], [], threading.Semaphore(0)

    def when_taken(self, then):
        self.behind.append(then)
        self.came.release()


def test_no_more_keys_wait_than_are_read_at_once_and_none_is_lost():
    flood, mouth = os.pipe()
    application = Application()
    reader = Reader(flood, application.keys.append, application.when_taken, lambda: None)
    typed = "".join(str(number % 10) for number in range(20 * AT_ONCE))
    os.write(mouth, typed.encode())
    taken = ""
    while len(taken) < len(typed):
        assert application.came.acquire(timeout=10.0)
        assert len(application.keys) <= AT_ONCE
        assert not application.came.acquire(timeout=0.01)
        taken += "".join(key.character for key in application.keys)
        application.keys.clear()
        application.behind.pop()()
    assert taken == typed
    reader.stop()
    os.close(flood)
    os.close(mouth)


def test_a_reader_whose_keys_are_never_carried_out_ends_all_the_same():
    flood, mouth = os.pipe()
    application = Application()
    reader = Reader(flood, application.keys.append, application.when_taken, lambda: None)
    os.write(mouth, b"a")
    assert application.came.acquire(timeout=10.0)
    reader.stop()
    application.behind.pop()()  # too late to matter
    assert [type(key) for key in application.keys] == [events.Key]
    os.close(flood)
    os.close(mouth)


def test_a_million_digits_wait_outside_of_the_editor(open_editor, tmp_path):
    """For 3 s as many are sent as the terminal takes."""
    editor = open_editor(shutil.copy(SAMPLE, tmp_path / "piece.tabterm")).ready()
    editor.press("ctrl+home", "a")
    os.set_blocking(editor.terminal, False)
    flood, end = b"01234567" * 125_000, time.monotonic() + 3.0
    while time.monotonic() < end:
        reads, writes, _ = select.select([editor.terminal], [editor.terminal], [], 0.05)
        if reads:
            os.read(editor.terminal, 65536)
        if writes:
            flood = flood[os.write(editor.terminal, flood[:4096]) :]
    assert psutil.Process(editor.process.pid).memory_info().rss < 200e6
    assert editor.process.poll() is None
