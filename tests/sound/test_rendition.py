"""What is rendered while plans loop, take over and follow: to the sample, without a gap, nothing left sounding."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.performance import Options, perform
from tabterm.score.place import Span
from tabterm.score.tempo import Tempo
from tabterm.sound import rendition
from tabterm.sound.plan import Plan
from tabterm.sound.position import joints
from tabterm.sound.rendition import Rendition
from tabterm.sound.synthesiser import RATE
from tabterm.sound.voicing import voicing_of
from tests.build import score
from tests.strategies import scores

EIGHTHS = score("8 1.0,8 2.0,8 3.0,8 4.0,8 1.2,8 2.2,8 3.2,8 4.2", tempo=Tempo(133.0))
LONG = score("1 1.0 2.0", tempo=Tempo(120.0))


def plan(performance, number=1, *, turns=1, follows=None):
    return Plan.of(
        performance,
        voicing_of(performance.instrument),
        number=number,
        turns=turns,
        joints=joints(follows, performance) if follows else (),
        follows=1 if follows else 0,
    )


def rest_of(rendition, block=1_000):
    blocks = []
    while rendition.sounds:
        blocks.append(rendition.read(block))
    return np.concatenate(blocks)


class Spy:
    """A synthesiser that sounds nothing and writes down when attacks begin."""

    def __init__(self, _voicing, _rate):
        self.frame, self.sounding, self.starts, self.cuts = 0, False, [], []

    def play(self, pluck, origin):
        start = origin + round(pluck.start_s * RATE)
        assert start >= self.frame
        self.starts.append((start, pluck.pitch))

    def cut(self, at, keep=None):
        self.cuts.append((at, keep or {}))

    def read(self, frames):
        self.frame += frames
        return np.zeros((frames, 2), np.float32)


@pytest.fixture
def spied(monkeypatch):
    monkeypatch.setattr(rendition, "Synthesiser", Spy)


@pytest.mark.usefixtures("spied")
@pytest.mark.parametrize("tempo", [133.0, 96.7, 240.0])
def test_every_attack_of_thousands_of_turns_begins_at_its_sample(tempo):
    """The frame of turn n is n turns after the first, rounded once; an attack in it is rounded once more."""
    performance = perform(score("8 1.0,4 2.0,8 3.0", metre="2/4", tempo=Tempo(tempo)))
    turns = 2500
    played = Rendition(plan(performance, turns=turns))
    while played.plays:
        played.read(RATE)
    starts = played._synthesiser.starts
    wanted = [
        (turn * performance.duration_s + pluck.start_s) * RATE
        for turn in range(turns)
        for pluck in performance.plucks
    ]
    assert len(starts) == len(wanted)
    assert max(abs(start - at) for (start, _), at in zip(starts, wanted, strict=True)) <= 1.5
    loops = [starts[n * len(performance.plucks)][0] for n in range(turns)]
    assert loops == [round(n * performance.duration_s * RATE) for n in range(turns)]


@pytest.mark.usefixtures("spied")
def test_a_change_of_tempo_begins_at_the_sample_of_the_next_beat():
    fast, slow = perform(EIGHTHS), perform(EIGHTHS, options=Options(tempo_percent=50))
    played = Rendition(plan(fast, turns=2))
    played.read(round(0.6 * RATE))
    assert played.change(plan(slow, 2, turns=2, follows=fast))
    rest_of(played)
    eighth_s = 30 / 133.0
    joint = round(4 * eighth_s * RATE)  # beat 3, at 0.902 s
    wanted = [round(n * eighth_s * RATE) for n in range(4)]
    wanted += [joint + (n * 2 * eighth_s) * RATE for n in range(4)]
    wanted += [joint + (8 + n * 2) * eighth_s * RATE for n in range(8)]
    starts = [start for start, _ in played._synthesiser.starts]
    assert starts == pytest.approx(wanted, abs=1)
    assert [pitch for _, pitch in played._synthesiser.starts] == [76, 69, 62, 55, 78, 71, 64, 57] * 2


@pytest.mark.usefixtures("spied")
def test_what_follows_begins_at_the_sample_of_the_end():
    once, slow = perform(EIGHTHS), perform(EIGHTHS, options=Options(tempo_percent=50, count_in=1))
    played = Rendition(plan(once))
    played.then(plan(slow, 2))
    rest_of(played)
    follows = [start for start, pitch in played._synthesiser.starts if pitch in {76, 77}][1:]
    assert follows[0] == round(once.duration_s * RATE)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(scores(max_measures=2), st.floats(0.0, 1.0))
def test_a_change_to_the_same_is_not_heard(built, part):
    """Whatever sounds across the beat sounds on as if nothing had been: equal samples, to -80 dB."""
    performance = perform(built, options=Options(tempo_percent=200))
    one, other = (Rendition(plan(performance)) for _ in range(2))
    first = round(part * min(performance.duration_s, 3.0) * RATE)
    last = first + RATE // 2
    before = [each.read(first) for each in (one, other)]
    assert other.change(plan(performance, 2, follows=performance)) or not other.plays
    after = [each.read(last - first) for each in (one, other)]
    assert np.allclose(*before, rtol=0, atol=1e-4)
    assert np.allclose(*after, rtol=0, atol=1e-4)


def test_a_note_that_is_held_on_both_sides_goes_on_in_a_longer_measure():
    """No new attack: within a period of the lowest string, the level never falls below a third of what it was."""
    fast, slow = perform(LONG), perform(LONG, options=Options(tempo_percent=50))
    played = Rendition(plan(fast))
    head = played.read(round(0.9 * RATE))
    played.change(plan(slow, 2, follows=fast))
    tail = played.read(round(1.8 * RATE))
    level = np.abs(np.concatenate((head, tail))[:, 0])
    frames = [float(level[n : n + 441].max()) for n in range(round(0.3 * RATE), len(level) - 441, 441)]
    assert min(frames) > 0
    steps = [later / earlier for earlier, later in pairwise(frames)]
    assert min(steps) > 0.5
    assert max(steps) < 1.5
    assert abs(rest_of(played)[-100:]).max() < 1e-3


def test_what_is_not_in_what_takes_over_is_cut_without_a_click():
    held, other = perform(LONG), perform(score("4 3.0,4 3.2,4 3.3,4 3.5", tempo=Tempo(120.0)))
    played = Rendition(plan(held))
    head = played.read(round(0.4 * RATE))
    played.change(plan(other, 2, follows=held))
    whole = np.concatenate((head, rest_of(played)))
    alone = Rendition(plan(held)).read(round(0.5 * RATE))
    joint = round(0.5 * RATE)
    assert np.array_equal(whole[:joint], alone)
    # The courses held are silent within the 12 ms of a cut; what is left is the new note on the third course.
    spectrum = np.abs(np.fft.rfft(whole[joint + 2_000 : joint + 18_000, 0] * np.hanning(16_000)))
    hertz = np.fft.rfftfreq(16_000, 1 / RATE)
    at = {pitch: spectrum[abs(hertz - 440 * 2 ** ((pitch - 69) / 12)) < 6].max() for pitch in (64, 69)}
    assert at[64] > 200 * at[69]
    assert np.abs(np.diff(whole[joint - 5 : joint + 700, 0])).max() < 0.3


def test_a_loop_made_shorter_and_longer_goes_on_without_a_gap():
    two = score("4 1.0,4 1.2,4 1.3,4 1.5", "4 2.0,4 2.2,4 2.3,4 2.5", tempo=Tempo(240.0))
    both, first = perform(two), perform(two, span=Span.of_measures(0, 0))
    played = Rendition(plan(first, turns=0))
    played.read(round(0.6 * RATE))
    played.change(plan(both, 2, turns=0, follows=first))
    played.read(round(1.9 * RATE))
    begun = [(frame, stretch.plan.order.number, stretch.turn) for frame, stretch in played.begun]
    quarter = RATE // 4
    assert begun == [(0, 1, 1), (3 * quarter, 2, 1), (8 * quarter, 2, 2)]


def test_another_instrument_takes_over_and_the_old_one_dies_away():
    from tabterm.instrument.presets import PRESETS

    banjo = score("1 1.0 2.0", tempo=Tempo(120.0), instrument=PRESETS["tenor-banjo"])
    one, other = perform(LONG), perform(banjo)
    played = Rendition(plan(one))
    played.read(round(0.4 * RATE))
    played.change(plan(other, 2, follows=one))
    assert np.abs(rest_of(played)).max() <= 1.0
