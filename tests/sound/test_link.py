"""Frames over the link, whole or in pieces."""

from __future__ import annotations

import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.sound.link import Frame, Link


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
