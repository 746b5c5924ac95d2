"""Loudness, against the tables and signals of its standards and against meters of others."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tabterm import formats
from tabterm.hand.strokes import with_proposals
from tabterm.instrument.presets import PRESETS
from tabterm.performance import ALL_PARTS, Click, Options, Part, perform
from tabterm.score.place import Span
from tabterm.sound.loudness import STEP_S, high_pass, measured, shelf
from tests.build import PLAYER, score
from tests.sound.plucking import RATE
from tests.sound.test_files import SAMPLES, rendered, rendering
from tests.thorough import many

NEXT_S = 0.03
"""About as long as the ear takes a stroke for one."""


def tone(hertz, decibels, seconds, rate=48_000, phase=0.0):
    """A sine on both channels."""
    wave = 10 ** (decibels / 20) * np.sin(2 * math.pi * hertz * np.arange(round(seconds * rate)) / rate + phase)
    return np.column_stack((wave, wave)).astype(np.float32)


def lufs(samples, rate=48_000):
    return measured(np.array_split(samples, 7), rate).lufs()


def independent(samples, rate=RATE):
    """Loudness and true peak as a meter and a resampler of others tell them."""
    meter = pytest.importorskip("pyloudnorm").Meter(rate)
    finer = pytest.importorskip("scipy.signal").resample_poly(samples, 4, 1, axis=0)
    return meter.integrated_loudness(samples.astype(np.float64)), 20 * math.log10(np.abs(finer).max())


def test_the_filters_are_those_of_the_standard_at_48_khz():
    """ITU-R BS.1770-4, tables 1 and 2 (from memory)."""
    ahead, back = shelf(48_000)
    assert ahead == pytest.approx((1.53512485958697, -2.69169618940638, 1.19839281085285), abs=1e-8)
    assert back == pytest.approx((1.0, -1.69065929318241, 0.73248077421585), abs=1e-8)
    ahead, back = high_pass(48_000)
    assert ahead == (1.0, -2.0, 1.0)
    assert back == pytest.approx((1.0, -1.99004745483398, 0.99007225036621), abs=1e-8)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_tone_of_997_hz_on_one_channel_measures_3_below_full_scale(rate):
    """ITU-R BS.1770-4: full scale at 997 Hz on one channel is -3.01 LKFS (from memory)."""
    assert lufs(tone(997, 0.0, 2.0, rate) * np.array([1, 0], np.float32), rate) == pytest.approx(-3.01, abs=0.02)


@pytest.mark.parametrize(
    ("parts", "loud"),
    [
        ([(-23, 5)], -23.0),
        ([(-33, 5)], -33.0),
        ([(-36, 2), (-23, 12), (-36, 2)], -23.0),
        ([(-72, 2), (-36, 2), (-23, 12), (-36, 2), (-72, 2)], -23.0),
        ([(-26, 4), (-20, 4.02), (-26, 4)], -23.0),
    ],
)
def test_signals_of_the_broadcasters_read_as_they_must(parts, loud):
    """EBU Tech 3341, the first five of its minimum requirements, a fifth as long (from memory): within 0.1 LU."""
    assert lufs(np.concatenate([tone(1000, *part) for part in parts])) == pytest.approx(loud, abs=0.1)


@pytest.mark.parametrize("degrees", [0, 45, 67.5])
def test_a_peak_between_samples_is_seen(degrees):
    """EBU Tech 3341: a quarter of the rate at half of full scale is -6 dB, 0.2 more to 0.4 less (from memory)."""
    samples = tone(12_000, -6.02, 0.5, phase=math.radians(degrees))
    fade = np.minimum(1, np.minimum(np.arange(len(samples)), np.arange(len(samples))[::-1]) / 2400)
    peak_db = measured([samples * fade[:, None].astype(np.float32)], 48_000).peak_db
    assert -6.4 < peak_db < -5.8


def test_silence_and_what_is_shorter_than_a_block_have_no_loudness():
    assert lufs(np.zeros((48_000, 2), np.float32)) == -math.inf
    assert lufs(tone(1000, -10, 0.3)) == -math.inf


def test_turns_that_come_again_count_as_often():
    lead, turn = tone(1000, -26, 2), np.concatenate((tone(1000, -20, 0.5), tone(1000, -24, 0.5)))
    counted = measured([np.concatenate((lead, turn, turn))], 48_000).lufs(again_from_s=3.0, times=3)
    assert counted == pytest.approx(lufs(np.concatenate((lead, *[turn] * 4))), abs=0.02)


def played(name):
    return with_proposals(formats.read(SAMPLES / f"{name}.tabterm").music, PLAYER)


@pytest.mark.parametrize("name", ["ferrymans-jig", "cinder-lane-two-step"])
def test_files_are_as_loud_as_meant_at_every_tempo(name):
    """By the meter and the resampler of others: -18 LUFS within half, so that two tempos are within 1 LU."""
    music = played(name)
    span = Span.of_measures(0, min(many(7, 1000), len(music.measures) - 1))
    for percent in (60, 140):
        options = Options(tempo_percent=percent, count_in=1, parts=ALL_PARTS)
        performance = perform(music, span=span, options=options)
        for parts in (None, {Part.CHORDS, Part.BASS, Part.CLICK}):
            level = rendering(performance, parts=parts).level()
            loud, peak_db = independent(rendered(performance, parts=parts, level=level))
            assert loud == pytest.approx(-18.0, abs=0.5)
            assert peak_db <= -1.0


def test_later_turns_are_as_loud_as_meant():
    music = score("8 4.0,8 3.0,8 2.0,8 1.0,2", "1")
    performance = perform(music, options=Options(count_in=2))
    level = rendering(performance, turns=4).level()
    loud, peak_db = independent(rendered(performance, turns=4, level=level))
    assert loud == pytest.approx(-18.0, abs=0.5)
    assert peak_db <= -1.0


def test_what_is_not_limited_is_softer_instead():
    music = score("2 4.0,2 1.0")
    performance = perform(music, options=Options(click=Click.BEATS))
    level = rendering(performance).level(limited=False)
    made = rendered(performance, level=level)
    plain = rendered(performance)
    assert np.allclose(made, plain * np.float32(level.gain), atol=1e-4)


def strokes_db(samples, times_s):
    """Weighted level of the first NEXT_S of each."""
    parts = [samples[round(at_s * RATE) :][: round(NEXT_S * RATE)] for at_s in times_s]
    padding = np.zeros((round(STEP_S * RATE) - round(NEXT_S * RATE), 2), np.float32)
    steps = [measured([np.vstack((part, padding))], RATE).steps[0] for part in parts]
    return 10 * np.log10(steps)


@pytest.mark.parametrize("preset", PRESETS)
def test_the_click_is_heard_over_the_solo_and_not_far_over_it(preset):
    """Not under the middle stroke of a solo, and less than 6 dB over it."""
    music = score(
        "8 4.0,8 4.2,8 4.4,8 4.5,8 3.0,8 3.2,8 3.4,8 3.5",
        "8 2.0,8 2.2,8 2.4,8 2.5,8 1.0,8 1.2,8 1.4,8 1.5",
        instrument=PRESETS[preset],
    )
    performance = perform(music, options=Options(count_in=1, click=Click.BEATS))
    solo, click = (rendered(performance, parts=[part]) for part in (Part.SOLO, Part.CLICK))
    plucks = performance.plucks
    middle_db = np.median(strokes_db(solo, [each.start_s for each in plucks if each.part is Part.SOLO]))
    clicks_db = strokes_db(click, [each.start_s for each in plucks if each.part is Part.CLICK])
    assert (clicks_db - middle_db).min() >= 0
    assert (clicks_db - middle_db).max() < 6


@pytest.mark.parametrize("name", ["ferrymans-jig", "cinder-lane-two-step", "lantern-waltz"])
def test_before_chords_and_bass_alone_the_count_in_is_softer(name):
    """Heard over their middle stroke, and less than 6 dB over it."""
    music = played(name)
    options = Options(count_in=1, parts=ALL_PARTS - {Part.SOLO})
    performance = perform(music, span=Span.of_measures(0, 7), options=options)
    times_s = [
        sorted({each.start_s for each in performance.plucks if (each.part is Part.CLICK) is click})
        for click in (True, False)
    ]
    samples = rendered(performance)
    click_db, band_db = (strokes_db(samples, times) for times in times_s)
    assert (click_db - np.median(band_db)).min() >= 0
    assert (click_db - np.median(band_db)).max() < 6
