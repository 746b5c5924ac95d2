"""What strings sound like: levels, decays, attacks, and what sets them off, in figures."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tabterm.instrument import Course, Instrument
from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Part, ToneControls
from tabterm.sound.synthesiser import Synthesiser
from tabterm.sound.voicing import SoundVoicing, voicing_of
from tests.sound.analysis import hertz_of, level_of, mono, spectrum
from tests.sound.plucking import RATE, dry, level_db, pluck, sounded


def centroid_hz(samples):
    """Where the power of a spectrum lies."""
    magnitudes, hertz = spectrum(samples)
    return (magnitudes**2 * hertz).sum() / (magnitudes**2).sum()


def ring_s(samples, hertz, from_s, to_s):
    """Time in which a partial falls by 60 dB, by its level at two moments."""
    fallen_db = 20 * np.log10(level_of(samples, hertz, from_s) / level_of(samples, hertz, to_s))
    return 60.0 * (to_s - from_s) / fallen_db


def rise_s(samples):
    """From a tenth to nine tenths of the highest peak of the first 30 ms."""
    size = np.abs(samples[: round(0.03 * RATE)])
    reached = [np.flatnonzero(size > part * size.max())[0] for part in (0.1, 0.9)]
    return (reached[1] - reached[0]) / RATE


@pytest.mark.parametrize("pitch", [48, 55, 62, 69, 76])
def test_single_strings_ring_as_long_as_their_timbre_says(pitch):
    timbre = voicing_of(PRESETS["tenor-banjo"]).parts["solo"].timbre
    course = PRESETS["tenor-banjo"].courses.index(
        max((c for c in PRESETS["tenor-banjo"].courses if c.pitch <= pitch), key=lambda c: c.pitch)
    ) + 1  # fmt: skip
    samples = mono(sounded(pluck(pitch, course=course), preset="tenor-banjo"))
    assert ring_s(samples, hertz_of(pitch), 0.05, 0.6) == pytest.approx(timbre.ring_s(hertz_of(pitch)), rel=0.03)


@pytest.mark.parametrize("pitch", [57, 64, 71, 78])
def test_pairs_fall_fast_at_first_and_then_ring(pitch):
    """Between the two strings' own times, and slower later than at first; in tune, so that they do not beat."""
    voicing = voicing_of(PRESETS["mandolin"], ToneControls(detuning=0))
    timbre, strings = voicing.parts["solo"].timbre, Synthesiser(dry(voicing))
    strings.play(pluck(pitch, course=5 - (pitch - 50) // 7), 0)
    samples = mono(strings.read(round(1.6 * RATE)))
    first, then = (ring_s(samples, hertz_of(pitch), at_s, at_s + 0.25) for at_s in (0.02, 0.9))
    stated = timbre.ring_s(hertz_of(pitch))
    assert stated / 1.6 < first < stated * 1.6
    assert level_db(samples[:4410]) - level_db(samples[30000:34410]) > 3.0
    assert then > 1.02 * first


def test_higher_courses_and_higher_partials_die_sooner():
    low, high = (mono(sounded(pluck(pitch, course=c))) for pitch, c in ((55, 4), (81, 1)))
    assert ring_s(high, hertz_of(81), 0.05, 0.4) < 0.7 * ring_s(low, hertz_of(55), 0.05, 0.4)
    assert ring_s(low, 6 * hertz_of(55), 0.05, 0.3) < 0.8 * ring_s(low, hertz_of(55), 0.05, 0.3)


def test_the_pick_starts_a_tone_within_milliseconds_and_a_finger_more_softly():
    for preset in PRESETS:
        open_pitch = PRESETS[preset].courses[1].pitch
        assert rise_s(mono(sounded(pluck(open_pitch + 2), preset=preset))) < 0.008
    picked, hammered = (
        mono(sounded(pluck(71, attack=attack), seconds=0.2)) for attack in (Attack.DOWN, Attack.HAMMER)
    )
    early = slice(0, round(0.0005 * RATE))
    assert level_db(hammered[early]) < level_db(picked[early]) - 6


def test_nothing_sounds_before_the_attack_which_is_exact_to_the_sample():
    for at in (0, 1, 777, 12_345):
        samples = sounded(pluck(69, at / RATE), seconds=0.5)
        assert not samples[:at].any()
        assert np.abs(samples[at : at + 8]).max() > 0


def test_strength_makes_louder_and_brighter():
    soft, usual, hard = (mono(sounded(pluck(69, velocity=v), seconds=0.4)) for v in (40, 86, 120))
    assert level_db(soft) + 6 < level_db(usual) < level_db(hard) - 3
    assert centroid_hz(soft) < centroid_hz(usual) < centroid_hz(hard)


def test_up_strokes_meet_the_other_string_first_and_are_a_little_brighter():
    voicing = voicing_of(PRESETS["mandolin"])
    solo = voicing.parts["solo"]
    strings = [replace(string, pan=side) for string, side in zip(solo.courses[1].strings, (-1, 1), strict=True)]
    apart = SoundVoicing({"solo": replace(solo, courses=(replace(solo.courses[1], strings=tuple(strings)),) * 4)})
    heard = []
    for attack in (Attack.DOWN, Attack.UP):
        synthesiser = Synthesiser(apart)
        synthesiser.play(pluck(69, attack=attack), 0)
        heard.append(synthesiser.read(RATE // 2))
    down, up = (np.abs(samples[: round(0.0008 * RATE)]).sum(axis=0) for samples in heard)
    assert down[0] > 1.25 * down[1]
    assert up[1] > 1.25 * up[0]
    assert centroid_hz(mono(heard[1])) > centroid_hz(mono(heard[0]))


def test_the_pick_weakens_the_partials_that_have_a_node_there():
    """|sin(pi k p)|: Fletcher and Rossing, The Physics of Musical Instruments, 2nd ed., ch. 2 (from memory)."""
    instrument = PRESETS["tenor-banjo"]
    place = voicing_of(instrument).parts["solo"].timbre.pick_mm / instrument.scale_length_mm
    samples = mono(sounded(pluck(48, course=4), preset="tenor-banjo", seconds=0.3))
    at_node = round(1 / place)
    node, others = (
        max(level_of(samples, k * hertz_of(48) * (1 + 1e-4), 0.03) for k in ks)
        for ks in ((at_node,), (at_node - 2, at_node + 2))
    )
    assert node < others / 1.6


def test_a_muted_note_is_a_short_thump_with_a_hint_of_pitch():
    open_note, dead = (mono(sounded(pluck(69, 0.0, 1.0, muted=m), seconds=0.5)) for m in (False, True))
    assert level_db(dead[:1500]) > level_db(open_note[:1500]) - 12
    assert level_db(dead[6000:8000]) < level_db(open_note[6000:8000]) - 25
    near, far = (level_of(dead, hertz, 0.0, 0.05) for hertz in (440.0, 530.0))
    assert near > 1.5 * far


def test_a_hammered_string_keeps_what_it_had():
    """With a tone before it a hammer-on is louder than out of nothing, as far as the two meet in phase; no gap."""
    louder_db = []
    for pitch, at_s in product((69, 70, 71), (0.1, 0.13, 0.171, 0.2)):
        hammered = pluck(pitch + 2, at_s, 2.0, attack=Attack.HAMMER, velocity=50)
        after, alone = mono(sounded(pluck(pitch, 0, at_s), hammered)), mono(sounded(hammered))
        at = round(at_s * RATE)
        louder_db.append(level_db(after[at + 500 : at + 4000]) - level_db(alone[at + 500 : at + 4000]))
        envelope = [level_db(after[at + n : at + n + 220]) for n in range(-880, 2000, 110)]
        assert min(envelope) > level_db(after[at - 2000 : at]) - 10
    assert np.mean(louder_db) > 1.5


def test_a_string_goes_on_in_phase_when_a_finger_comes_down_on_the_same_pitch():
    """With nothing of its own, a hammer-on to the same pitch is the same wave, only weaker."""
    plain = mono(sounded(pluck(69, 0, 3.0), seconds=0.8))
    again = mono(sounded(pluck(69, 0, 0.3), pluck(69, 0.3, 3.0, attack=Attack.HAMMER, velocity=1), seconds=0.8))
    one, other = plain[round(0.35 * RATE) :], again[round(0.35 * RATE) :]
    assert np.corrcoef(one, other)[0, 1] > 0.999
    assert 0.4 < np.abs(other).max() / np.abs(one).max() < 0.7


def test_each_string_of_an_octave_course_goes_on_as_itself():
    """Also when the pick met the upper one first."""
    preset = "octave-mandolin-octave-strung"
    first = pluck(45, 0, 0.3, course=4, attack=Attack.UP)
    slurred = first._replace(start_s=0.3, end_s=2.0, velocity=1, attack=Attack.HAMMER)
    plain, again = (
        mono(sounded(*plucks, seconds=0.8, preset=preset))[round(0.35 * RATE) :]
        for plucks in ((first._replace(end_s=2.0),), (first, slurred))
    )
    assert np.corrcoef(plain, again)[0, 1] > 0.999


def test_a_finger_that_leaves_plucks_more_the_farther_it_stood():
    """A pull-off sounds the more of the string, the nearer to its middle the finger was."""
    near, far = (
        mono(sounded(pluck(69 + step, 0, 0.3), pluck(69, 0.3, 2, attack=Attack.PULL, velocity=62)))
        for step in (1, 4)
    )
    part = slice(round(0.31 * RATE), round(0.4 * RATE))
    assert centroid_hz(near[part]) > centroid_hz(far[part])


def test_courses_and_strings_are_spread_and_both_sides_are_as_loud():
    left, right = (sounded(pluck(p, course=c), seconds=0.5) for p, c in ((55, 4), (76, 1)))
    balance = [level_db(s[:, 0]) - level_db(s[:, 1]) for s in (left, right)]
    assert 0.3 < balance[0] < 3
    assert -3 < balance[1] < -0.3


@pytest.mark.parametrize("preset", PRESETS)
def test_there_is_no_constant_part(preset):
    """Over a whole tone, noise and release included."""
    samples = sounded(pluck(PRESETS[preset].courses[1].pitch, 0.0, 0.7), preset=preset)
    assert np.abs(samples.mean(axis=0)).max() < 2e-3 * np.abs(samples).max()


def test_every_preset_sounds_different_and_any_other_is_found_between_them():
    voices = {word: voicing_of(instrument).parts["solo"].timbre for word, instrument in PRESETS.items()}
    assert len(set(voices.values())) == len(PRESETS)
    made = Instrument(name="Between", courses=PRESETS["mandolin"].courses, frets=15, scale_length_mm=390.0)
    timbre = voicing_of(made).parts["solo"].timbre
    low, high = sorted((voices["mandolin"].bright_hz, voices["mandola"].bright_hz))
    assert low < timbre.bright_hz < high
    assert timbre.name == "Between"
    tiny, huge = (made.with_(scale_length_mm=length) for length in (150.0, 1900.0))
    assert voicing_of(tiny).parts["solo"].timbre.bright_hz == voices["mandolin"].bright_hz
    assert voicing_of(huge).parts["solo"].timbre.bright_hz == voices["mandocello"].bright_hz


def test_any_tuning_of_any_number_of_courses_sounds():
    pitches = (110, 88, 76, 60, 50, 40, 30, 12)
    courses = tuple(Course(pitch=p, octave=n == 7, single=n == 0) for n, p in enumerate(pitches))
    wide = Instrument(name="Wide", courses=courses, frets=10, scale_length_mm=600.0)
    voicing = voicing_of(wide)
    assert len(voicing.parts["solo"].courses) == 8
    for course, made in enumerate(wide.courses, 1):
        strings = Synthesiser(voicing)
        strings.play(pluck(made.pitch + 10, course=course), 0)
        assert -60 < level_db(strings.read(4000)) < -5


def test_what_lies_beyond_the_sample_rate_is_left_out():
    """The octave string of a very high note has no partial that could be sampled; the lower one has one."""
    course = Course(pitch=110, octave=True)
    high = Instrument(name="High", courses=(course,), frets=17, scale_length_mm=352.0)
    strings = Synthesiser(dry(voicing_of(high)))
    strings.play(pluck(127, 0.0, 0.3, course=1, velocity=127), 0)
    samples = mono(strings.read(RATE // 2))
    magnitudes, hertz = spectrum(samples[3000:12000])
    assert abs(hertz[magnitudes.argmax()] - hertz_of(127)) < 8
    assert magnitudes[(hertz > 1000) & (hertz < 12_000)].max() < 1e-2 * magnitudes.max()
    assert not strings.sounding


def test_other_parts_have_voices_of_their_own():
    solo, chords, bass, click = (
        mono(sounded(pluck(pitch, course=course, part=part), seconds=0.3))
        for part, course, pitch in (
            (Part.SOLO, 4, 55),
            (Part.CHORDS, 4, 55),
            (Part.BASS, 1, 43),
            (Part.CLICK, 0, 76),
        )
    )
    assert level_db(chords) < level_db(solo) - 3
    assert centroid_hz(bass) < 0.6 * centroid_hz(solo)
    assert level_db(click[8000:]) < -90 < level_db(click[:2000])
    low_click = mono(sounded(pluck(77, course=0, part=Part.CLICK), seconds=0.3))
    assert centroid_hz(low_click) < 0.85 * centroid_hz(click)


def test_a_bass_note_is_played_on_a_string_that_has_it():
    bass = voicing_of(PRESETS["mandolin"]).parts["bass"]
    assert bass.course(1, 28).pitch == 28
    assert bass.course(0, 40).pitch == 38
    assert bass.course(3, 20).pitch == 28


def test_a_voicing_travels_as_text():
    for instrument in PRESETS.values():
        voicing = voicing_of(instrument)
        assert SoundVoicing.from_values(json.loads(json.dumps(voicing.as_values()))) == voicing


def test_the_synthesiser_loads_neither_score_nor_screen():
    heavy = ("textual", "pydantic", "mido", "soundfile")
    code = "import sys, tabterm.sound.synthesiser, tabterm.sound.voicing; "
    code += f"print([name for name in {heavy} if name in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"


@pytest.mark.parametrize("pitch", [40, 43, 45, 48, 50])
def test_the_bass_is_heard_on_a_loudspeaker_that_begins_at_150_hz(pitch):
    """What a telephone gives of it is at most 8 dB softer than a stroke of the solo."""
    samples = mono(sounded(pluck(pitch, course=1, part=Part.BASS), seconds=0.6))
    magnitudes, hertz = spectrum(samples)
    share = (magnitudes[hertz > 150] ** 2).sum() / (magnitudes**2).sum()
    solo = mono(sounded(pluck(69), seconds=0.6))
    assert level_db(samples) + 10 * np.log10(share) > level_db(solo) - 8
