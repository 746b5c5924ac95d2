"""Frames that no editor sends: random bytes, lies about sizes, heads and plans with something wrong in them."""

from __future__ import annotations

import json
import random
import struct
import zlib
from contextlib import suppress
from typing import NamedTuple

import psutil

from tabterm.sound.link import BadFrameError, Frame
from tabterm.sound.remote.inspection import checked_plan
from tabterm.sound.remote.records import Records
from tests.sound.remote.near import guest, packed

BOMB = zlib.compress(bytes(64 << 20), 9)
BODY, VALUES = packed()

HEADS = (
    b"",
    b"null",
    b"7",
    b'"play"',
    b"[]",
    b"{}",
    b'["play"]',
    b'["play",[]]',
    b'["play",{},{}]',
    b'[["play"],{}]',
    b'["stop",{"now":true}]',
    b'["warm",{"kind":"virtual","name":"mine"}]',
    b'["outputs",{}]',
    b'["hello",{}]',
    b'["quit",{}]',
    b'["\\ud800",{}]',
    b'["play",{"number":NaN}]',
    b"[" * 5000,
    b'{"a":' * 3000,
    b'["play",' + b"9" * 10_000 + b"]",
    b'["play",{"number":1e999}]',
    b"\xff\xfe\x00",
)

WRONG = (None, True, -1, 0, 1.5, 2**70, "1", [], {}, [1])


class Told(NamedTuple):
    """How a process stood it: bytes that it holds more at the end than after the first tenth."""

    memory_bytes: int


def bombard(listening, frames, seed=16):
    """Send so many to a process that listens, every fourth before it knows who we are; it must hang up on each."""
    drawn, before = random.Random(seed), 0
    process = psutil.Process(listening.process.pid)
    for number in range(frames):
        connection = guest(listening)._connection if number % 4 else listening.address.connect()
        connection.settimeout(10)
        with suppress(ConnectionError):
            connection.sendall(malformed(drawn))
            while connection.recv(1 << 16):
                pass
        connection.close()
        if number == frames // 10:
            before = process.memory_info().rss
    return Told(process.memory_info().rss - before)


def framed(head, body=b""):
    """A frame as it is on the wire."""
    return struct.pack("<II", len(head), len(body)) + head + body


def malformed(drawn):
    """One of them, by a random generator."""
    return drawn.choice((_noise, _sizes, _head, _values, _mutated, _torn, _bomb, _flood))(drawn)


def _noise(drawn):
    return b"\xff" * 8 + drawn.randbytes(drawn.randrange(200))


def _sizes(drawn):
    head, body = drawn.choice(((1 << 31, 0), (20_000, 0), (10, 1 << 31), (10, (1 << 20) + 1), (2**32 - 1,) * 2))
    return struct.pack("<II", head, body) + drawn.randbytes(50)


def _head(drawn):
    return framed(drawn.choice(HEADS))


def _values(drawn):
    """A real plan, with something wrong beside it."""
    values = dict(VALUES)
    name = drawn.choice((*values, "body", "word", "another"))
    values[name] = drawn.choice(WRONG)
    if name in {"turns", "follows"} and values[name] == 0:
        del values[name]
    if name == "measures_lateness" and values[name] is True:
        values[name] = 1
    word = drawn.choice(("play", "change", "then"))
    return framed(json.dumps([word, values]).encode(), zlib.compress(BODY))


def _mutated(drawn):
    """A real plan with bytes of it changed, so that it can no longer be played."""
    while True:
        body = bytearray(BODY)
        for _ in range(drawn.randrange(1, 4)):
            at = drawn.randrange(len(body))
            body[at : at + drawn.choice((0, 1, 8))] = drawn.randbytes(drawn.choice((0, 1, 8)))
        frame = Frame("play", VALUES, zlib.compress(bytes(body), 1))
        try:
            checked_plan(frame, Records())
        except BadFrameError:
            return framed(json.dumps(["play", VALUES]).encode(), frame.body)


def _torn(drawn):
    folded = bytearray(zlib.compress(BODY, 1))
    at = drawn.randrange(len(folded) - 6)
    body = drawn.choice((bytes(folded[:at]), bytes(folded) + b"more", drawn.randbytes(100), BODY))
    return framed(json.dumps(["play", VALUES]).encode(), body)


def _bomb(_drawn):
    return framed(json.dumps(["play", VALUES]).encode(), BOMB)


def _flood(_drawn):
    return framed(b'["alive",{}]') * 500
