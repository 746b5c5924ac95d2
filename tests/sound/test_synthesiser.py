"""The synthesiser as a stream: exact to the sample, the same however it is read, and cut without a click."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Part
from tabterm.sound.rendering import TAIL_S
from tabterm.sound.synthesiser import AHEAD, CEILING, Limiter, Synthesiser
from tabterm.sound.voicing import voicing_of
from tests.sound.analysis import mono
from tests.sound.plucking import RATE, level_db, pluck, sounded, synthesiser

PHRASE = (
    pluck(55, 0.0, 0.2, course=4, attack=Attack.DOWN),
    pluck(57, 0.05, 0.2, course=4, velocity=62, attack=Attack.HAMMER),
    pluck(62, 0.06, 0.3, course=3, attack=Attack.UP, curve=((0.08, 0.0), (0.12, 200.0))),
    pluck(69, 0.1, 0.12, course=2, velocity=127),
    pluck(69, 0.12, 0.3, course=2, muted=True),
    pluck(77, 0.14, 0.3, course=1, velocity=110),
    pluck(76, 0.2, 0.4, course=1, velocity=62, attack=Attack.PULL),
    pluck(76, 0.0, 0.03, course=0, part=Part.CLICK),
    pluck(40, 0.02, 0.3, course=3, part=Part.BASS),
    pluck(67, 0.03, 0.1, course=2, part=Part.CHORDS),
)


def jumps(samples):
    """The largest step from a sample to the next, in each span of 2 ms."""
    steps = np.abs(np.diff(mono(samples)))
    count = len(steps) // 88
    return steps[: count * 88].reshape(count, 88).max(axis=1)


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=30))
@settings(max_examples=15, deadline=None)
def test_blocks_of_any_size_give_the_same_samples(sizes):
    whole = sounded(*PHRASE, seconds=0.5)
    strings = synthesiser()
    for each in PHRASE:
        strings.play(each, 0)
    parts = [strings.read(size) for size in sizes]
    assert strings.frame == sum(sizes)
    read = np.concatenate(parts)[: len(whole)]
    assert read.dtype == np.float32
    assert np.array_equal(read, whole[: len(read)])


def test_loud_chords_give_the_same_samples_in_any_blocks_too():
    """With the limiter at work all the time."""
    loud = [pluck(55 + 7 * n, n / 40, 2.0, course=4 - n, velocity=127) for n in range(4)]
    loud += [pluck(60 + n, n / 30, 2.0, course=n, velocity=127, part=Part.CHORDS) for n in range(1, 5)]
    loud += [pluck(43, 0, 2.0, course=1, velocity=127, part=Part.BASS)]
    whole = sounded(*loud, seconds=0.6)
    assert np.abs(whole).max() > CEILING - 1e-3
    for size in (64, 882, 4096):
        strings = synthesiser()
        for each in loud:
            strings.play(each, 0)
        parts = [strings.read(size) for _ in range(len(whole) // size)]
        assert np.array_equal(np.concatenate(parts), whole[: size * len(parts)])


def test_equal_seeds_give_equal_samples_and_others_do_not():
    assert np.array_equal(sounded(*PHRASE, seed=7), sounded(*PHRASE, seed=7))
    assert not np.array_equal(sounded(*PHRASE, seed=7), sounded(*PHRASE, seed=8))


def test_two_strokes_alike_are_not_the_same():
    samples = sounded(pluck(69, 0.0, 0.4), pluck(69, 0.5, 0.9))
    assert not np.allclose(samples[:20000], samples[22050:42050], atol=1e-3)


def test_a_pluck_may_be_scheduled_up_to_the_frame_that_is_read_next():
    """Although the limiter has looked ahead of it."""
    for size in (10, 64, 882, 5000):
        strings = synthesiser()
        strings.play(pluck(69, 0.0), 0)
        before = strings.read(size)
        strings.play(pluck(76, 0.0, course=1), strings.frame)
        after = strings.read(2000)
        together = sounded(pluck(69, 0.0), pluck(76, size / RATE, course=1))
        assert np.array_equal(np.concatenate((before, after)), together[: size + 2000])


def test_a_late_pluck_begins_at_once():
    strings = synthesiser()
    strings.read(1000)
    strings.play(pluck(69, 0.0, 0.5), 0)
    assert np.abs(strings.read(100)[:10]).max() > 0


def test_the_order_of_scheduling_does_not_matter_for_other_courses():
    apart = [pluck(55 + 7 * n, 0.1 * n, 0.5 + n, course=4 - n) for n in range(4)]
    assert np.allclose(sounded(*apart), sounded(*reversed(apart)), atol=1e-6)


def test_the_next_pluck_of_the_course_silences_the_one_before():
    first, second = pluck(69, 0, 5.0), pluck(81, 0.5, 5.0, velocity=1)
    one, both = sounded(first, alone=True), sounded(first, second, alone=True)
    at = round(0.5 * RATE)
    assert np.array_equal(one[: at - AHEAD], both[: at - AHEAD])
    assert level_db(both[at + 300 : at + 3000]) < level_db(one[at + 300 : at + 3000]) - 20


def test_another_course_or_part_does_not():
    at = round(0.5 * RATE)
    for other in (pluck(76, 0.5, course=1, velocity=1), pluck(81, 0.5, velocity=1, part=Part.CHORDS)):
        one, both = sounded(pluck(69, 0, 5.0)), sounded(pluck(69, 0, 5.0), other)
        assert level_db(both[at:] - one[at:]) < level_db(one[at:]) - 20


def test_a_note_ends_within_a_sixth_of_a_second_and_what_it_set_off_in_the_tail_of_a_file():
    strings = synthesiser("mandocello")
    strings.play(pluck(36, 0.0, 0.5, course=4), 0)
    samples = strings.read(RATE)
    end = round(0.5 * RATE)
    assert level_db(samples[end - 500 : end]) > -40
    assert level_db(samples[round(0.67 * RATE) :]) < -70
    assert not samples[round((0.5 + TAIL_S) * RATE) :].any()
    assert not strings.sounding


def test_a_note_that_rings_dies_away_by_itself():
    strings = synthesiser("tenor-banjo")
    strings.play(pluck(76, 0.0, 1000.0), 0)
    strings.read(5 * RATE)
    assert not strings.sounding


@pytest.mark.parametrize("pitch", [55, 62, 69, 76, 88])
def test_no_end_of_any_kind_clicks(pitch):
    """No step between two samples after a stop is larger than those of the tone itself right before it."""
    course = 4 - min((pitch - 55) // 7, 3)
    at = round(0.3 * RATE)
    ended = sounded(pluck(pitch, 0, 0.3, course=course))
    choked = sounded(pluck(pitch, 0, 5, course=course), pluck(pitch + 1, 0.3, 5, course=course, velocity=1))
    strings = synthesiser()
    strings.play(pluck(pitch, 0, 5, course=course), 0)
    strings.cut(at)
    cut = strings.read(RATE)
    for samples in (ended, choked, cut):
        assert jumps(samples[at:]).max() < 1.1 * jumps(samples[at - 900 : at]).max()
        assert level_db(samples[round(0.45 * RATE) :]) < -60
        second = np.abs(np.diff(mono(samples), 2))
        assert second[at - 5 : at + 2000].max() < 1.25 * second[at - 900 : at - 5].max()


def test_a_cut_forgets_what_was_to_come():
    strings = synthesiser(alone=True)
    for each in PHRASE:
        strings.play(each, 0)
    strings.cut(2000)
    samples = strings.read(RATE)
    assert np.abs(samples[:2000]).max() > 0.05
    assert not samples[2000 + round(0.02 * RATE) :].any()
    assert not strings.sounding


def test_a_cut_ahead_leaves_what_is_scheduled_behind_it_afterwards():
    strings = synthesiser(alone=True)
    strings.play(pluck(69, 0.0, 5.0), 0)
    strings.play(pluck(71, 0.2, 5.0), 0)
    strings.cut(4410)
    strings.play(pluck(76, 0.1, 0.4, course=1), 0)
    samples = strings.read(RATE // 2)
    alone = sounded(pluck(76, 0.1, 0.4, course=1), seconds=0.5, alone=True)
    assert np.allclose(samples[4410 + 600 :], alone[4410 + 600 :], atol=1e-6)
    assert np.abs(samples[:4000]).max() > 0.05


def test_a_cut_between_two_reads_is_heard_from_the_next_frame_on():
    strings = synthesiser(alone=True)
    strings.play(pluck(69, 0.0, 5.0), 0)
    strings.play(pluck(76, 0.1, 5.0, course=1), 0)
    first = strings.read(4400)
    strings.cut(4400)
    rest = strings.read(4000)
    whole = sounded(pluck(69, 0.0, 5.0), alone=True)
    assert np.array_equal(first, whole[:4400])
    assert not rest[round(0.012 * RATE) + 1 :].any()


def test_what_is_kept_sounds_on_to_its_new_end():
    plain = sounded(pluck(69, 0.0, 5.0), alone=True)
    for until_s in (0.2, 0.5):
        strings = synthesiser(alone=True)
        strings.play(pluck(69, 0.0, 0.3), 0)
        strings.play(pluck(76, 0.0, 0.6, course=1), 0)
        strings.cut(4410, {(Part.SOLO, 2): round(until_s * RATE)})
        samples = strings.read(RATE)
        last = round(until_s * RATE)
        assert np.allclose(samples[4410 + 600 : last - AHEAD], plain[4410 + 600 : last - AHEAD], atol=1e-6)
        assert level_db(samples[last + 4410 :]) < -65
        assert not samples[last + round(TAIL_S * RATE) :].any()


def test_what_was_stopped_before_stays_stopped_on_a_course_that_is_kept():
    first, second = pluck(69, 0.0, 0.14), pluck(71, 0.142, 0.3)
    strings = synthesiser()
    for each in (first, second):
        strings.play(each, 0)
    strings.cut(round(0.145 * RATE), {(Part.SOLO, 2): round(0.3 * RATE)})
    assert np.allclose(strings.read(RATE), sounded(first, second), atol=1e-6)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=10, deadline=None)
def test_no_music_goes_over_full_scale(seed):
    chance = np.random.default_rng(seed)
    strings = Synthesiser(voicing_of(PRESETS["mandolin"]), seed=seed)
    for _ in range(60):
        part = (Part.SOLO, Part.CHORDS, Part.BASS, Part.CLICK)[chance.integers(4)]
        start_s = chance.uniform(0, 0.5)
        pitch, course = (int(chance.integers(*bounds)) for bounds in ((40, 90), (1, 5)))
        strings.play(pluck(pitch, start_s, start_s + 1, course, 127, part=part), 0)
    samples = strings.read(RATE)
    assert np.abs(samples).max() <= CEILING + 1e-6
    assert np.isfinite(samples).all()


def test_the_limiter_lets_alone_what_is_below_its_ceiling():
    signal = np.sin(np.arange(20_000 + AHEAD) / 30).astype(np.float32)[None] * np.float32(0.9)
    assert np.array_equal(Limiter(RATE).limit(signal), signal[:, :20_000])


def test_the_limiter_comes_down_before_a_peak_and_goes_back_slowly():
    signal = np.full((1, 30_000 + AHEAD), 0.5, np.float32)
    signal[0, 10_000] = 2.0
    limited = Limiter(RATE).limit(signal)[0]
    assert limited[10_000] == pytest.approx(CEILING, abs=1e-5)
    gains = limited / signal[0, :30_000]
    assert np.abs(np.diff(gains)).max() < 0.02
    assert gains[10_000 - AHEAD - 1] == 1.0
    assert gains[9_990] < 0.7
    assert 0.48 < gains[10_100] < gains[15_000] < gains[29_000] <= 1.0
