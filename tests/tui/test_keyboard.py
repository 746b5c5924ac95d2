"""What comes from the terminal: keys in order, and nothing of what is no key.

Sequences: ECMA-48, 5th edition, 5.4 (control sequences) and 5.6 (control strings); xterm control sequences (mouse,
bracketed paste, modifyOtherKeys); the kitty keyboard protocol's events; UTF-8 by RFC 3629.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual import events

from tabterm.tui.keys import key_name
from tabterm.tui.terminal.keyboard import LONGEST_PASTE, Keyboard, Settled
from tests.terminal import KEYS, key_bytes


class Clock:
    """A clock that goes on when it is told."""

    def __init__(self):
        self.s = 100.0

    def __call__(self):
        return self.s


def read(*pieces, pause_s=0.0):
    """Everything that pieces of input mean, with a pause after each."""
    clock = Clock()
    keyboard = Keyboard(clock)
    found = []
    for piece in pieces:
        found += keyboard.feed(piece)
        clock.s += pause_s
        if keyboard.patience_s is not None and pause_s > keyboard.patience_s:
            found += keyboard.give_up()
    while keyboard.patience_s is not None:
        found += keyboard.give_up()
    return found


def names(*pieces, **options):
    return [key_name(each) for each in read(*pieces, **options) if isinstance(each, events.Key)]


@pytest.mark.parametrize("name", [*KEYS, "ctrl+s", "ctrl+q", "a", "Z", "7", "~", "é", "漢"])
def test_each_key_has_its_name(name):
    assert names(key_bytes(name)) == [name]


def test_keys_typed_ahead_stay_in_order():
    keys = ["5", "down", "h", "7", "ctrl+s", "tab", "é", "pageup", "space", "enter", "2"]
    data = b"".join(map(key_bytes, keys))
    assert names(data) == keys
    for cut in range(1, len(data)):
        assert names(data[:cut], data[cut:]) == keys


@given(
    st.lists(st.sampled_from([name for name in KEYS if name != "escape"] + list("abc123é漢")), max_size=20),
    st.data(),
)
def test_keys_in_pieces_stay_in_order(keys, data):
    raw = b"".join(map(key_bytes, keys))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(raw)), max_size=8)))
    pieces = [raw[start:end] for start, end in zip([0, *cuts], [*cuts, len(raw)], strict=True)]
    assert names(*pieces) == keys


@pytest.mark.parametrize(
    "data",
    [
        b"\xff",
        b"\xc3",
        b"\xe2\x82",
        b"\xed\xa0\x80",
        b"\xf8\x88\x80\x80\x80",
        b"\xc0\xaf",
        b"\x1b[97;1:3u",
        b"\x1b[57441;2u",
        b"\x1b[1;1:3C",
        b"\x1b[99;99;99z",
        b"\x1b[1;",
        b"\x1b[12\x01",
        b"\x1b[?1;2c",
        b"\x1b[>0;276;0c",
        b"\x1b[24;80R",
        b"\x1b[I",
        b"\x1b[O",
        b"\x1b[?2026;2$y",
        b"\x1b[48;24;80;480;640t",
        b"\x1b]11;rgb:0000/0000/0000\x07",
        b"\x1b]11;rgb:0000/0000/0000\x1b\\",
        b"\x1bP1$r0m\x1b\\",
        b"\x1b_Gi=31;OK\x1b\\",
        b"\x1b[M !!",
        b"\x1b[32;5;7M",
        b"\x1b[[X",
        b"\x1b[[",
        b"\x1bO",
    ],
)
def test_what_is_no_key_does_nothing(data):
    assert names(data) == []
    assert names(data, pause_s=1.0) == []
    assert names(data + b"\x1b[A") == ["up"]
    assert names(data, b"a", pause_s=1.0) == ["a"]


def test_reports_of_keys_that_were_not_asked_for_are_read_all_the_same():
    assert names(b"\x1b[97u\x1b[97;1:1u\x1b[97;1:2u\x1b[97;5u\x1b[27;5;115~\x1b[13u\x1b[9;2u\x1b[97;2u") == [
        *["a", "a", "a", "ctrl+a", "ctrl+s", "enter", "shift+tab", "A"]
    ]
    assert names(b"\x1b[1;1:1C\x1b[1;2:1C\x1b[5;1:2~") == ["right", "shift+right", "pageup"]
    assert names(b"\x1b[97;3u\x1b[99999999u\x1b[1114112u\x1b[55296u") == []


def test_a_lone_escape_waits_for_the_rest_of_a_sequence():
    keyboard = Keyboard(Clock())
    assert keyboard.feed(b"\x1b") == []
    assert 0.0 < keyboard.patience_s <= 0.1
    assert [each.key for each in keyboard.give_up()] == ["escape"]
    assert keyboard.patience_s is None


@pytest.mark.parametrize("key", ["j", "x", "5", "enter", "backspace", "é", "escape", "right", "ctrl+s"])
def test_a_key_right_behind_escape_counts(key):
    assert names(b"\x1b" + key_bytes(key)) == ["escape", key]
    assert names(b"\x1b", key_bytes(key)) == ["escape", key]


@pytest.mark.parametrize("rest", [b"[", b"O", b"]", b"P", b"[j"])
def test_what_begins_like_a_sequence_behind_escape_is_harmless(rest):
    assert names(b"\x1b" + rest) == []
    assert names(b"\x1b" + rest, b"a", pause_s=1.0) == ["a"]
    assert names(b"\x1b", b"[j", pause_s=0.15) == ["escape"]


def test_a_sequence_that_the_line_has_torn_apart_is_still_one():
    assert names(b"\x1b", b"[C", pause_s=0.15) == ["escape", "right"]
    assert names(b"\x1b", b"[1;2C", pause_s=0.15) == ["escape", "shift+right"]
    assert names(b"\x1b[1", b";2C", pause_s=0.3) == ["shift+right"]
    assert names(b"\x1b", b"[", b"5", pause_s=0.15) == ["escape", "[", "5"]


def test_a_paste_is_one_event_and_no_key():
    found = read(b"\x1b[200~5\x1b[A7\x00\xff tune\r\n\x1b[201~a")
    assert [type(each) for each in found] == [events.Paste, events.Key]
    assert found[0].text == "5[A7 tune\n"


@given(st.binary(max_size=200).filter(lambda data: b"\x1b[201" not in data), st.integers(1, 7))
def test_a_paste_of_anything_in_any_pieces_is_one_event(data, size):
    raw = b"\x1b[200~" + data + b"\x1b[201~x"
    found = read(*(raw[start : start + size] for start in range(0, len(raw), size)))
    assert [type(each) for each in found] == [events.Paste, events.Key]


def test_a_paste_is_kept_within_bounds_and_one_without_end_ends():
    found = read(b"\x1b[200~" + b"a" * (3 * LONGEST_PASTE) + b"\x1b[201~")
    assert len(found[0].text) == LONGEST_PASTE
    assert names(b"\x1b[200~abc", b"def", b"g", pause_s=0.5) == []
    assert names(b"\x1b[200~abc", b"g", pause_s=6.0) == ["g"]
    assert names(b"\x1b[200~abc", b"a pasted line that comes late", pause_s=6.0) == []


def test_an_answer_of_the_terminal_is_none_of_the_keys():
    assert [type(each) for each in read(b"\x1b[0n")] == [Settled]


def test_mouse_reports_are_clicks_or_nothing():
    found = read(b"\x1b[<0;5;7M\x1b[<0;5;7m\x1b[<35;6;7M\x1b[<0;-3;1M\x1b[<99999;1;1M")
    assert all(isinstance(each, events.MouseEvent) for each in found)
    assert [(each.x, each.y) for each in found[:2]] == [(4, 6), (4, 6)]


@pytest.mark.parametrize("seed", range(50))
def test_random_bytes_are_read_to_their_end(seed):
    """10,000 random bytes, in random pieces; afterwards a key is a key again."""
    choose = random.Random(seed)
    alphabet = bytes(range(256)) + b"\x1b[\x1b[\x1bO;:0123456789~uMmABC<?" * (seed % 5)
    data = bytes(choose.choice(alphabet) for _ in range(10_000))
    clock = Clock()
    keyboard = Keyboard(clock)
    while data:
        size = choose.randint(1, 400)
        keyboard.feed(data[:size])
        data = data[size:]
        if choose.random() < 0.2:
            clock.s += 1.0
            keyboard.give_up()
    clock.s += 10.0
    keyboard.give_up()
    assert [each.key for each in keyboard.feed(b"a")] == ["a"]
