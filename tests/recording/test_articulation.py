"""Slurs, slides and bends on a physical model of a mandolin (STK)."""

from __future__ import annotations

import shutil

import numpy as np
import pytest

from tabterm.recording.articulation import articulated
from tabterm.recording.ear import HeardNote
from tests.recording import oracle
from tests.recording.ear.bank import halved
from tests.recording.oracle import Note

STEPS = 20


def gliding(start_s, long_s, pitch, semitones):
    """Small changes of length without an attack."""
    return [
        Note(start_s + long_s * step / STEPS, pitch + semitones * step / STEPS, 0.01, slurred=True)
        for step in range(1, STEPS + 1)
    ]


def bent(start_s, pitch, cents):
    asked = [Note(start_s, pitch, 0.6), *gliding(start_s + 0.1, 0.15, pitch, cents / 100)]
    return asked, [(start_s, start_s + 0.9, pitch, "struck", cents)]


def slid(start_s, pitch, other):
    asked = [Note(start_s, pitch, 0.4), *gliding(start_s + 0.35, 0.1, pitch, other - pitch)]
    return asked, [
        (start_s, start_s + 0.37, pitch, "struck", 0),
        (start_s + 0.4, start_s + 0.9, other, "slid", 0),
    ]


def second(way):
    def played(start_s, pitch, other):
        asked = [Note(start_s, pitch, 0.4), Note(start_s + 0.35, other, 0.4, slurred=way == "slurred")]
        return asked, [
            (start_s, start_s + 0.35, pitch, "struck", 0),
            (start_s + 0.35, start_s + 0.9, other, way, 0),
        ]

    return played


slurred, struck = second("slurred"), second("struck")
PLAYED = (
    *((bent, 67, 50), (bent, 69, 100), (bent, 71, 200), (bent, 74, 0), (slid, 67, 71), (slid, 74, 72)),
    *((slurred, 67, 69), (slurred, 72, 71), (slurred, 69, 73), (struck, 67, 69), (struck, 72, 71)),
)


@pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
def test_slurs_slides_and_bends_are_told_from_struck_notes():
    asked, truth = [], []
    for index, (how, *pitches) in enumerate(PLAYED):
        notes, heard = how(0.5 + index, *pitches)
        asked += notes
        truth += heard
    sound = halved(oracle.rendered("stk", asked, len(PLAYED) + 1)).astype(np.float32)
    notes = [HeardNote(start, end, pitch, 1.0, ()) for start, end, pitch, _, _ in truth]
    told = articulated(sound, notes)
    assert [(note.pitch, str(note.way)) for note in told] == [(pitch, way) for _, _, pitch, way, _ in truth]
    for note, (*_, cents) in zip(told, truth, strict=True):
        assert note.bend_cents == pytest.approx(cents, abs=20)


def test_nothing_heard_is_played_in_no_way():
    assert articulated(np.zeros(22_050, np.float32), []) == ()
