"""A flood of input: no more is read than is carried out, and nothing of it is lost."""

from __future__ import annotations

import asyncio
import os
import select
import shutil
import time
from contextlib import suppress

import psutil
import pytest

from tabterm.tui.terminal.streams import AT_ONCE, Reader
from tests.bench.files import SAMPLE


class Application:
    """Takes messages as the editor does: what is to be called back waits behind them."""

    def __init__(self, *, carries_out=False):
        self.carries_out = carries_out
        self.keys, self.behind, self.at_once, self.hung_up = [], [], [], 0

    def carry_out(self, message):
        if self.carries_out:
            self.at_once.append(message)
        return self.carries_out

    def hang_up(self):
        self.hung_up += 1

    def reader(self, descriptor):
        return Reader(descriptor, self.carry_out, self.keys.append, self.behind.append, self.hang_up)


async def until(holds):
    end_s = time.monotonic() + 10.0
    while not holds():
        assert time.monotonic() < end_s
        await asyncio.sleep(0.001)


@pytest.fixture
def line():
    """The end that is read, and the end that is written to."""
    ends = os.pipe()
    yield ends
    for end in ends:
        with suppress(OSError):
            os.close(end)


def test_no_more_keys_wait_than_are_read_at_once_and_none_is_lost(line):
    flood, mouth = line
    typed = "".join(str(number % 10) for number in range(20 * AT_ONCE))

    async def read_all():
        application, taken = Application(), ""
        reader = application.reader(flood)
        os.write(mouth, typed.encode())
        while len(taken) < len(typed):
            await until(lambda: application.behind)
            assert len(application.keys) <= AT_ONCE
            await asyncio.sleep(0.01)
            assert len(application.behind) == 1
            taken += "".join(key.character for key in application.keys)
            application.keys.clear()
            application.behind.pop()()
        reader.stop()
        return taken

    assert asyncio.run(read_all()) == typed


def test_a_reader_whose_keys_are_never_carried_out_ends_all_the_same(line):
    flood, mouth = line

    async def read_one():
        application = Application()
        reader = application.reader(flood)
        os.write(mouth, b"a")
        await until(lambda: application.behind)
        reader.stop()
        application.behind.pop()()  # too late to matter
        os.write(mouth, b"b")
        await asyncio.sleep(0.01)
        return application

    assert [key.character for key in asyncio.run(read_one()).keys] == ["a"]


def test_a_key_that_comes_alone_may_be_carried_out_at_once_and_more_wait_their_turn(line):
    """The reader goes on behind a key that was carried out, and never lets one overtake those that wait."""
    flood, mouth = line

    async def read_some():
        application = Application(carries_out=True)
        reader = application.reader(flood)
        for typed, there in ((b"a", 1), (b"b", 2)):
            os.write(mouth, typed)
            await until(lambda there=there: len(application.at_once) == there)
        os.write(mouth, b"cd")
        await until(lambda: application.behind)
        os.write(mouth, b"e")
        await asyncio.sleep(0.01)
        assert len(application.at_once) == 2
        application.behind.pop()()
        await until(lambda: len(application.at_once) == 3)
        reader.stop()
        return application

    application = asyncio.run(read_some())
    assert [key.character for key in application.at_once] == ["a", "b", "e"]
    assert [key.character for key in application.keys] == ["c", "d"]


@pytest.mark.parametrize("carries_out", [False, True])
def test_a_lone_escape_is_a_key_when_nothing_follows_it(line, carries_out):
    flood, mouth = line

    async def read_escape():
        application = Application(carries_out=carries_out)
        reader = application.reader(flood)
        os.write(mouth, b"a\x1b")
        if not carries_out:
            await until(lambda: application.behind)
            application.behind.pop()()
        found = application.at_once if carries_out else application.keys
        await until(lambda: len(found) == 2)
        reader.stop()
        return [key.key for key in found]

    assert asyncio.run(read_escape()) == ["a", "escape"]


def test_the_end_of_a_terminal_is_told_once(line):
    flood, mouth = line

    async def read_end():
        application = Application()
        reader = application.reader(flood)
        os.close(mouth)
        await until(lambda: application.hung_up)
        await asyncio.sleep(0.01)
        reader.stop()
        return application.hung_up

    assert asyncio.run(read_end()) == 1


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
