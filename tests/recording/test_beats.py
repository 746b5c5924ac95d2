"""Beats of recordings made by other engines, at steady and drifting tempos."""

from __future__ import annotations

import math
import shutil
from fractions import Fraction

import numpy as np
import pytest

from tabterm.recording import beats
from tabterm.recording.beats import Beats, tracked
from tabterm.score.metre import Metre
from tests.recording import oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

BEATS = 32
COMMON = Metre.parse("4/4")
STK = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")


def moment(beat, first, last):
    """Seconds of a beat where the tempo goes evenly, by beats, from one to another."""
    change = (last - first) / BEATS
    return 0.5 + (60 * beat / first if not change else 60 / change * math.log(1 + change * beat / first))


def recorded(first, last):
    """The fixed phrase twice by a physical model of a mandolin (STK)."""
    notes = [
        oracle.Note(moment(at / 2, first, last), int(sign.lstrip("^")), 0.2, sign[0] == "^")
        for at, sign in enumerate(trial.FIXED * 2)
    ]
    return halved(oracle.rendered("stk", notes, notes[-1].start_s + 2)).astype(np.float32)


@STK
@pytest.mark.parametrize(("first", "last"), [(80, 80), (96, 116), (110, 130), (140, 150), (200, 200)])
def test_every_beat_is_found_within_40_ms(first, last):
    """With the tempo and one downbeat known, as a player who taps gives them."""
    found = tracked(recorded(first, last), COMMON, bpm=(first + last) / 2, downbeat_s=0.5)
    truth = [moment(beat, first, last) for beat in range(BEATS)]
    off = [min(abs(each - at) for each in found.moments_s) for at in truth]
    assert max(off) <= 0.04
    assert found.moments_s[found.first] == pytest.approx(0.5, abs=0.04)
    for beat in (0, 7, 21):
        assert found.quarters_at(truth[beat]) == pytest.approx(beat, abs=0.1)


@STK
def test_a_tempo_in_the_middle_of_the_usual_is_found_by_itself():
    assert tracked(recorded(140, 150), COMMON).bpm == pytest.approx(145, abs=2)


def clicks(times, length_s):
    sound = np.zeros(round(length_s * beats.RATE_HZ), np.float32)
    for at, level in times:
        start = round(at * beats.RATE_HZ)
        burst = np.random.default_rng(1).normal(size=600) * np.exp(-np.arange(600) / 100)
        sound[start : start + 600] += level * burst.astype(np.float32)
    return sound


def test_a_downbeat_that_is_given_settles_on_which_half_the_beat_lies():
    eighths = clicks([(0.4 + 0.25 * at, 1.0) for at in range(40)], 11)
    for downbeat in (0.4, 0.65):
        found = tracked(eighths, COMMON, bpm=120, downbeat_s=downbeat)
        assert found.moments_s[found.first] == pytest.approx(downbeat, abs=0.03)
        assert found.bpm == pytest.approx(120, abs=1)


def test_quarters_go_by_the_beats_of_the_metre():
    """In 6/8 a beat is a dotted quarter, in 7/8 the last of three is long; beyond the ends the tempo stays."""
    jig = Beats((1.0, 1.5, 2.0, 2.5), 1, Metre.parse("6/8"))
    assert [jig.quarters_at(at) for at in (1.0, 1.5, 1.75, 2.5, 3.0, 0.5)] == [-1.5, 0, 0.75, 3, 4.5, -3]
    seven = Beats((0.0, 1.0, 2.0, 3.0), 0, Metre.parse("7/8(2+2+3)"))
    assert [Fraction(seven.quarters_at(at)) for at in (0, 1, 2, 3)] == [0, 1, 2, Fraction(7, 2)]


@pytest.mark.parametrize(
    "sound", [np.zeros(22_050, np.float32), np.full(30_000, 0.5, np.float32)], ids=["none", "hum"]
)
def test_without_anything_to_count_there_are_beats_at_the_tempo_all_the_same(sound):
    found = tracked(sound, COMMON, bpm=100)
    assert len(found.moments_s) >= 2
    assert list(found.moments_s) == sorted(set(found.moments_s))
