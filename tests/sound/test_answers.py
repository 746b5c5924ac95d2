"""What answers a pluck: the body, the open courses, the room; and that no partial of it is lost."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Release
from tabterm.sound.excitation import BODY_S
from tabterm.sound.room import REFLECTIONS, Room
from tabterm.sound.synthesiser import Synthesiser
from tabterm.sound.timbre import TIMBRES
from tabterm.sound.voicing import voicing_of
from tests.bench import tone
from tests.sound.analysis import hertz_of, mono, spectrum
from tests.sound.plucking import RATE, dry, level_db, pluck, sounded

VOICING = replace(voicing_of(PRESETS["mandolin"]), room=0.0)
SOLO = VOICING.parts["solo"]
SILENT = replace(SOLO.timbre, sympathy=0.0)


@pytest.mark.parametrize(("course", "pitch"), tone.notes((0, 4, 5, 9, 12, 15)))
def test_no_partial_falls_out_of_a_tone(course, pitch):
    """The pick stands near the middle of a string stopped at the twelfth fret: an ideal pluck has no octave."""
    assert max(map(abs, tone.look(tone.ours(course, pitch), pitch).off_db)) < 12


def between_partials_db(samples, pitch):
    """Power off the first six partials from 20 to 120 ms, against all of it."""
    magnitudes, hertz = spectrum(samples[882:5292])
    low = hertz < 6.5 * hertz_of(pitch)
    magnitudes, number = magnitudes[low], hertz[low] / hertz_of(pitch)
    near = np.abs(number - np.maximum(np.rint(number), 1)) < 0.25
    power = magnitudes**2
    return 10 * np.log10(power[~near].sum() / power.sum())


@pytest.mark.parametrize(("course", "pitch"), [(1, 81), (2, 74), (3, 69)])
def test_the_body_answers_between_the_partials(course, pitch):
    """A mandolin of waveguides: -56 to -58 dB, sampled steel strings: -24 to -29 (measured here)."""
    of_pluck = pluck(pitch, course=course)
    alone, whole = (mono(sounded(of_pluck, alone=alone)) for alone in (True, False))
    assert between_partials_db(alone, pitch) < -60
    assert -50 < between_partials_db(whole, pitch) < -25


@pytest.mark.parametrize(("course", "pitch"), [(1, 79), (2, 74), (3, 73)])
def test_the_body_goes_on_as_a_noise(course, pitch):
    """From 60 to 200 ms: sampled strings are 50 to 66 dB down, a model 63 to 84 dB (measured here)."""
    between_db = tone.look(tone.ours(course, pitch), pitch).between_db
    assert -62 < between_db[0] < -50
    assert -76 < between_db[-1] < between_db[1] < between_db[0]


@pytest.mark.skipif(not tone.HAS_REFERENCES, reason="needs stk, fluidsynth and fluid-soundfont-gm")
@pytest.mark.parametrize(("course", "fret"), [(4, 12), (3, 4), (1, 15)])
def test_a_tone_falls_as_that_of_a_reference(course, fret):
    """Within 5 dB at 0.3, 0.6 and 1.0 s; `python -m tests.bench tone` has all frets."""
    pitch = PRESETS["mandolin"].courses[course - 1].pitch + fret
    mine, *both = (tone.look(each, pitch) for each in (tone.ours(course, pitch), *tone.references(pitch)))
    for at, fallen_db in enumerate(mine.fallen_db):
        assert min(abs(fallen_db - other.fallen_db[at]) for other in both) < 5


def test_an_open_course_answers_what_meets_its_partials():
    """About 35 dB down, and less where nothing meets; a finger of the left hand sets none of it off."""

    def answer_db(pitch, attack=Attack.DOWN):
        samples = []
        for voicing in (VOICING, replace(VOICING, parts={"solo": replace(SOLO, timbre=SILENT)})):
            synthesiser = Synthesiser(voicing)
            synthesiser.play(pluck(pitch, 0.0, 0.5, course=3, attack=attack), 0)
            samples.append(mono(synthesiser.read(RATE // 2)))
        with_answer, without = samples
        return level_db((with_answer - without)[4410:13230]) - level_db(without[4410:13230])

    assert -40 < answer_db(69) < -30
    assert answer_db(68) < answer_db(69) - 6
    assert answer_db(69, Attack.HAMMER) < -100


@pytest.mark.parametrize(("course", "pitch"), [(1, 76), (2, 72), (3, 65), (4, 58)])
def test_the_side_lies_12_to_18_db_under_the_middle(course, pitch):
    samples = sounded(pluck(pitch, course=course)).astype(float)
    middle, side = samples.mean(axis=1), (samples[:, 0] - samples[:, 1]) / 2
    assert -18 < 10 * np.log10((side**2).sum() / (middle**2).sum()) < -12


def test_a_room_gives_back_what_it_was_given_however_it_is_read():
    chance = np.random.default_rng(1)
    signal = chance.standard_normal((2, 6000)).astype(np.float32)
    whole = Room(RATE).around(signal, 6000)
    room, parts, at = Room(RATE), [], 0
    for frames in (1, 700, 64, 3000, 2235):
        parts.append(room.around(signal[:, at : at + frames], frames))
        at += frames
    assert np.allclose(np.concatenate(parts, axis=1), whole, atol=1e-6)
    assert np.array_equal(Room(RATE, 0.0).around(signal, 6000), signal)
    assert -14 < level_db(whole - signal) - level_db(signal) < -6


def test_eight_reflections_within_42_ms():
    assert len(REFLECTIONS) == 8
    assert max(after_s for after_s, _, _ in REFLECTIONS) < 0.042


@pytest.mark.parametrize("preset", PRESETS)
def test_modes_die_within_what_is_kept_of_them(preset):
    """By 60 dB; on a mandolin in 25 to 130 ms."""
    dies_ms = [1000 * np.log(1000) * q / (np.pi * hertz) for hertz, _, q in TIMBRES[preset].modes]
    assert len(dies_ms) == 16
    assert max(dies_ms) < 1000 * BODY_S + 2
    if preset == "mandolin":
        assert [round(ms) for ms in (min(dies_ms), max(dies_ms))] == [24, 129]


def test_strings_alone_are_strings_alone():
    """The means of these tests: nothing but partials."""
    part = dry(voicing_of(PRESETS["mandolin"])).parts["solo"]
    assert (part.timbre.knock, part.timbre.pick_noise, part.timbre.sympathy) == (0, 0, 0)


def test_a_harder_stroke_has_more_of_the_pick():
    def noise_db(velocity):
        samples = mono(sounded(pluck(69, velocity=velocity), seconds=0.2))
        magnitudes, hertz = spectrum(samples[:441])
        power = magnitudes**2
        return 10 * np.log10(power[hertz > 5000].sum() / power.sum())

    assert noise_db(50) + 1 < noise_db(86) < noise_db(120) - 0.5


LEFT_S = 0.5


def released(release, pitch=64, course=3, **more):
    """The strings and what answers them, without room: a stopped note that ends after LEFT_S."""
    synthesiser = Synthesiser(VOICING)
    synthesiser.play(pluck(pitch, 0.0, LEFT_S, course=course, release=release, **more), 0)
    return mono(synthesiser.read(RATE))


@pytest.mark.parametrize(("course", "fret"), [(1, 5), (2, 2), (3, 2), (4, 7)])
def test_a_finger_that_leaves_is_heard_faintly(course, fret):
    """About 39 dB under the stroke with the open string, which is not the fret's, 45 dB without."""
    open_pitch = PRESETS["mandolin"].courses[course - 1].pitch
    silent, damped, left = (released(each, open_pitch + fret, course) for each in Release)
    attack_db = level_db(silent[:2205])
    at = round(LEFT_S * RATE)
    assert np.array_equal(silent[:at], left[:at])
    for heard, under_db in ((damped, -45.5), (left, -39)):
        assert level_db((heard - silent)[at : at + 2205]) - attack_db == pytest.approx(under_db, abs=2)
    ringing = slice(at + 1000, at + 6000)
    magnitudes, hertz = spectrum((left - silent)[ringing])
    assert abs(hertz[magnitudes.argmax()] / hertz_of(open_pitch) - 1) < 0.02
    assert level_db((damped - silent)[ringing]) < level_db((left - silent)[ringing]) - 6


def test_what_a_finger_leaves_is_over_with_the_tail_of_a_file_and_with_the_next_stroke():
    at = round(LEFT_S * RATE)
    assert not released(Release.LEAVES)[at + round(0.3 * RATE) :].any()
    parts = []
    for release in (Release.NONE, Release.LEAVES):
        synthesiser = Synthesiser(VOICING)
        synthesiser.play(pluck(64, 0.0, LEFT_S, course=3, release=release), 0)
        synthesiser.play(pluck(66, LEFT_S + 0.05, 2.0, course=3), 0)
        parts.append(mono(synthesiser.read(RATE)))
    both = parts[1] - parts[0]
    assert np.abs(both[at : at + 2205]).max() > 0
    assert not both[at + round(0.055 * RATE) :].any()
