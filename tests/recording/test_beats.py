"""Beats of recordings made by other engines, at steady and drifting tempos, tapped along or not."""

from __future__ import annotations

import shutil
from fractions import Fraction

import numpy as np
import pytest

from tabterm.recording import beats
from tabterm.recording.beats import Beats, tracked
from tabterm.score.metre import Metre
from tests.recording import beats_trial, oracle

COMMON = Metre.parse("4/4")
STK = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
BANK = pytest.mark.skipif(
    not shutil.which("fluidsynth") or not oracle.BANK.exists(), reason="no bank here (Debian: fluid-soundfont-gm)"
)


def tapped(truth, measures=2):
    """The beats of the first measures as a player taps them, off by a draw of 20 ms."""
    draw = np.random.default_rng(1)
    return tuple(at + draw.normal(0, beats_trial.TAPS_S) for at in truth[: 4 * measures])


@STK
@pytest.mark.parametrize("tempos", [(80, 112), (200, 180)])
@pytest.mark.parametrize("swing", [False, True], ids=["straight", "swung"])
def test_two_measures_tapped_are_enough_to_find_every_beat(tempos, swing):
    sound = beats_trial.recorded("stk", *tempos, swing=swing)
    truth = [beats_trial.moment(beat, *tempos) for beat in range(beats_trial.BEATS)]
    furthest_ms, share, begins = beats_trial.judged(tracked(sound, COMMON, taps=tapped(truth)), truth)
    assert furthest_ms <= 40
    assert share == 1
    assert begins


@BANK
def test_swung_offbeats_that_are_stronger_than_the_beats_do_not_win():
    """A banjo alone, whose offbeats are struck harder, swung at 200."""
    sound = beats_trial.recorded("banjo", 200, 200, swing=True)
    truth = [beats_trial.moment(beat, 200, 200) for beat in range(beats_trial.BEATS)]
    assert beats_trial.judged(tracked(sound, COMMON, taps=tapped(truth)), truth)[0] <= 40


@STK
@pytest.mark.parametrize("tempos", [(80, 80), (110, 130)])
def test_the_tempo_and_a_downbeat_find_every_beat_too(tempos):
    truth = [beats_trial.moment(beat, *tempos) for beat in range(beats_trial.BEATS)]
    found = tracked(beats_trial.recorded("stk", *tempos), COMMON, bpm=sum(tempos) / 2, downbeat_s=truth[0])
    assert beats_trial.judged(found, truth)[0] <= 40
    for beat in (0, 7, 21):
        assert found.quarters_at(truth[beat]) == pytest.approx(beat, abs=0.1)


@STK
@pytest.mark.parametrize("tempos", [(80, 80), (130, 105), (200, 180)])
@pytest.mark.parametrize("swing", [False, True], ids=["straight", "swung"])
def test_with_nothing_to_go_by_eighths_tell_the_beats_of_a_solo(tempos, swing):
    truth = [beats_trial.moment(beat, *tempos) for beat in range(beats_trial.BEATS)]
    found = tracked(beats_trial.recorded("stk", *tempos, swing=swing), COMMON)
    assert beats_trial.judged(found, truth)[:2] == (pytest.approx(20, abs=20), 1)


def test_thirds_tell_the_beats_of_a_jig():
    """Eighths at 0.2 s: three are a beat of 6/8, two are one of 4/4."""
    eighths = clicks([(0.4 + 0.2 * at, 1.0) for at in range(60)], 13)
    assert tracked(eighths, Metre.parse("6/8")).bpm == pytest.approx(100, abs=1)
    assert tracked(eighths, COMMON).bpm == pytest.approx(150, abs=1)


def test_taps_in_the_middle_settle_tempo_and_measures_of_the_whole():
    eighths = clicks([(0.4 + 0.25 * at, 1.0) for at in range(60)], 16)
    found = tracked(eighths, COMMON, taps=[6.15, 6.65, 7.15, 7.65, 8.15])
    assert found.bpm == pytest.approx(120, abs=1)
    assert found.moments_s[found.first] == pytest.approx(6.15, abs=0.02)
    assert found.quarters_at(2.15) == pytest.approx(-8, abs=0.1)
    slow = tracked(eighths, COMMON, taps=[6.4, 7.4, 8.4, 9.4])
    assert slow.bpm == pytest.approx(60, abs=1)


def test_half_double_and_another_first_beat():
    found = Beats((1.0, 1.5, 2.0, 2.5, 3.0), 1, COMMON)
    assert found.halved() == Beats((1.5, 2.5), 0, COMMON)
    assert found.doubled().moments_s == (1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0)
    assert found.doubled().moments_s[found.doubled().first] == 1.5
    assert found.doubled().halved() == found
    assert found.beginning_at(2.4).first == 3
    assert (found.moment_of(0.5), found.moment_of(-1), found.moment_of(5)) == (1.25, 0.5, 3.5)


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
