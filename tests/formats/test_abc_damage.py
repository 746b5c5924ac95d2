"""Damaged and hostile ABC: one line or a score, quickly, whatever comes."""

from __future__ import annotations

import random
import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import FormatError
from tabterm.formats import abc, smf
from tabterm.formats.abc.tunes import MOST_CHARACTERS
from tabterm.hand.adapt import adapt
from tests.build import PLAYER
from tests.thorough import many

TUNE = b"""X:1
T:Damage
M:6/8
L:1/8
Q:3/8=100
U:T=!trill!
K:Dmix ^g
|:"D7"vA2{gf}B (c>d)(3efg | [DA]4- [DA]2 "^words"z2 :|1 !3!d3-d3 :|2 [K:G][M:2/4]g/f/e/d/ & G4 |]
V:2
P:B
Z4 | x2 y (5:4:5abcde | ^^c__d=e ~.H>u |:: [1,3-5 A,,8 | +EA+ w: la
"""
PIECES = [
    *(b"|", b":|", b"[1", b"(3", b"(9:9:9", b"{", b"}", b"[", b"]", b'"', b"!", b"K:", b"M:999/64", b"L:1/512"),
    *(b"\n\n", b"X:", b"&", b"A9999/9999", b">>>>", b"-", b"(", b")", b"%%", b"\xff", b"V:1", b"[V:", b"Z400"),
    *(b"Q:1/4=99999", b"K:exp ^^c", b"M:(1+2+3)/8", b"M:none", b"^3/2c", b"\\", b"+:", b"U:~=!3!", b"z0", b"c/0"),
]


def survives(data):
    """Whether it is read, or refused in one line."""
    try:
        abc.read(data)
    except FormatError as error:
        return "\n" not in str(error)
    return True


def damaged(number):
    """A tune with bytes changed, taken out and put in, the same for the same number."""
    chance = random.Random(number)
    data = bytearray(TUNE)
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(len(data) + 1)
        kind = chance.random()
        if kind < 0.4:
            data[at:at] = chance.choice(PIECES)
        elif kind < 0.7:
            data[at : at + 1] = bytes((chance.randrange(256),))
        elif kind < 0.85:
            del data[at : at + chance.randint(1, 20)]
        else:
            data[at:at] = data[at : at + chance.randint(1, 60)] * chance.randint(1, 4)
    return bytes(data)


def test_damaged_tunes_never_do_more_than_say_so():
    for number in range(1000):
        assert survives(damaged(number))


@given(st.lists(st.sampled_from([*PIECES, b"ABc", b"d2", b" ", b"\n", b"|:"]), max_size=60))
@settings(max_examples=many(120, 300), deadline=None)
def test_any_order_of_signs_is_survived(pieces):
    assert survives(b"X:1\nK:C\n" + b"".join(pieces))


@given(st.binary(max_size=300))
@settings(max_examples=many(80, 200), deadline=None)
def test_any_bytes_are_survived(data):
    assert survives(data)
    assert survives(b"X:1\nK:G\n" + data)


@pytest.mark.parametrize(
    "data",
    [
        b"X:1\nK:C\n" + b"(" * 200_000,
        b"X:1\nK:C\n" + b"A-" * 19_000,
        b"X:1\nK:C\n" + b"[" * 200_000,
        b"X:1\nK:C\n" + b'"' * 200_001,
        b"X:1\nK:C\n" + b"{" * 100_000 + b"}" * 100_000,
        b"X:1\nK:C\n" + b"|" * 200_000,
        b"X:1\nT:" + b"\\'" * 100_000 + b"\nK:C\nA\n",
        b"X:1\n" * 100_000,
        b"X:1\nK:C\nZ999\n" * 3,
        b"X:1\nK:C\n" + b"A8 | " * 19_000,
    ],
    ids=["slurs", "ties", "brackets", "quotes", "graces", "bars", "mnemonics", "numbers", "rests", "measures"],
)
def test_large_and_odd_tunes_take_no_long_time(data):
    start = time.process_time()
    assert survives(data)
    assert time.process_time() - start < 5


def test_a_tune_that_is_too_long_is_refused():
    with pytest.raises(FormatError, match="the tune has"):
        abc.read(b"X:1\nK:C\n" + b"A " * (MOST_CHARACTERS // 2))


def test_a_bar_of_a_length_that_no_time_signature_has_becomes_a_midi_file():
    read = adapt(abc.read(b"X:1\nM:4/4\nL:1/4\nK:G\nG257/256 z4|G4|").music, PLAYER).score
    assert read.measures[0].length == Fraction(1281, 256)
    assert smf.write(read).data.startswith(b"MThd")


def test_a_bar_that_no_metre_holds_is_refused():
    """Damage that made one bar of many, found by the thorough run."""
    with pytest.raises(FormatError, match="a bar is longer than 99/4"):
        abc.read(damaged(52807288829))
