"""Frames over the link, whole or in pieces."""

from __future__ import annotations

import socket
import struct
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.sound.link import BadFrameError, Frame, Limits, Link


@pytest.fixture
def ends():
    pair = socket.socketpair()
    links = [Link(end) for end in pair]
    yield (*links, pair[0])
    for link in links:
        link.close()


@given(
    st.lists(st.tuples(st.text(), st.dictionaries(st.text(min_size=1), st.floats(allow_nan=False)), st.binary()))
)
def test_frames_arrive_as_they_were_sent(frames):
    one, other = socket.socketpair()
    near, far = Link(one), Link(other)
    frames = [(word, {f"x{key}": value for key, value in values.items()}, body) for word, values, body in frames]
    for word, values, body in frames:
        near.send(word, body, **values)
    assert far.receive() == [Frame(*frame) for frame in frames]
    near.close()
    far.close()


def test_a_frame_in_pieces_is_waited_for(ends):
    near, far, wire = ends
    near.send("play", b"abc", number=1)
    piece = far._connection.recv(1 << 16)
    for byte in piece[:-1]:
        wire.sendall(bytes([byte]))
        assert far.receive() == []
    wire.sendall(piece[-1:])
    assert far.receive() == [Frame("play", {"number": 1}, b"abc")]


def test_the_last_frames_are_read_before_the_end_is_told(ends):
    near, far, _ = ends
    near.send("failed", number=1)
    near.close()
    assert [frame.word for frame in far.receive()] == ["failed"]
    with pytest.raises(EOFError):
        far.receive()


def test_an_end_that_does_not_read_is_given_up(ends, monkeypatch):
    near, _, wire = ends
    wire.settimeout(0.05)
    with pytest.raises(OSError, match="timed out"):
        near.send("play", bytes(10_000_000))


LIMITS = Limits(head_bytes=100, body_bytes=50, brackets=4, frames_per_s=10)


def frame(head: bytes, body: bytes = b"") -> bytes:
    return struct.pack("<II", len(head), len(body)) + head + body


@pytest.mark.parametrize(
    "data",
    [
        frame(b"x" * 101),
        frame(b'["a",{}]', b"x" * 51),
        struct.pack("<II", 0xFFFFFFFF, 0),
        struct.pack("<II", 2, 0xFFFFFFFF) + b"[]",
        frame(b"[" * 100),
        frame(b'["a",{"x":[[[1]]]}]'),
        frame(b'["a",{"x":NaN}]'),
        frame(b'["a",{"x":-Infinity}]'),
        frame(b'["a"]'),
        frame(b'["a",1]'),
        frame(b"[1,{}]"),
        frame(b'{"a":1,"b":2}'),
        frame(b"7"),
        frame(b""),
        frame(b"\xff\xfe"),
        frame(b'["a",{"x":' + b"9" * 80),
        frame(b'["a",{}]') * 21,
    ],
)
def test_what_is_beyond_the_limits_ends_the_reading(data):
    one, other = socket.socketpair()
    link = Link(other, LIMITS)
    one.sendall(data)
    with pytest.raises(BadFrameError):
        link.receive()
    assert not link._received
    one.sendall(frame(b'["a",{}]'))
    with pytest.raises(EOFError):
        link.receive()
    one.close()
    link.close()


def test_within_the_limits_frames_arrive_as_they_were_sent():
    one, other = socket.socketpair()
    near, far = Link(one), Link(other, LIMITS)
    near.send("play", b"x" * 50, names=["a"], number=1)
    assert far.receive() == [Frame("play", {"names": ["a"], "number": 1}, b"x" * 50)]
    near.close()
    far.close()


def test_a_flood_is_never_held_whole():
    one, other = socket.socketpair()
    link = Link(other, LIMITS._replace(body_bytes=1 << 20, frames_per_s=1e9))
    one.settimeout(0)
    whole, most = frame(b'["a",{}]', bytes(1 << 20)) * 4, 0
    while whole:
        with suppress(BlockingIOError):
            whole = whole[one.send(whole) :]
        link.receive()
        most = max(most, len(link._received))
    assert most < 1.3 * (1 << 20)
    one.close()
    link.close()
