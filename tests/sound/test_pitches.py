"""Pitches of rendered tones against equal temperament, and against the curves that they are told to follow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack
from tabterm.sound.synthesiser import Synthesiser
from tabterm.sound.voicing import SoundVoicing, voicing_of
from tests.sound.analysis import cents, fundamental_hz, hertz_of, mono, peak_hz, pitch_track
from tests.sound.plucking import RATE, dry, pluck, sounded

EACH_S = 0.6


def one_string_a_course(voicing, number):
    """Only the first or the second string of every course; the first where there is one."""
    solo = voicing.parts["solo"]
    courses = tuple(replace(course, strings=course.strings[number:] or course.strings) for course in solo.courses)
    courses = tuple(replace(course, strings=course.strings[:1]) for course in courses)
    return dry(SoundVoicing({"solo": replace(solo, courses=courses)}))


def every_fret(preset, voicing):
    """(course, pitch, samples) of every fret, rendered one after the other."""
    instrument, strings = PRESETS[preset], Synthesiser(voicing)
    places = [(c, f) for c in range(1, instrument.course_count + 1) for f in range(instrument.frets + 1)]
    for number, (course, fret) in enumerate(places):
        start_s = number * EACH_S
        strings.play(pluck(instrument.pitch(course, fret), start_s, start_s + EACH_S, course), 0)
    for course, fret in places:
        yield course, instrument.pitch(course, fret), mono(strings.read(round(EACH_S * RATE)))


@pytest.mark.parametrize("number", [0, 1])
@pytest.mark.parametrize("preset", PRESETS)
def test_each_string_at_every_fret_is_in_tune(preset, number):
    """The peak of the transform of half a second, at the fundamental of one string alone."""
    for course, pitch, samples in every_fret(preset, one_string_a_course(voicing_of(PRESETS[preset]), number)):
        made = PRESETS[preset].courses[course - 1]
        sounding = pitch + (12 if made.octave and number else 0)
        off = cents(fundamental_hz(samples[900:23000], sounding), hertz_of(sounding))
        assert off == pytest.approx(0.0 if made.single else (-0.75, 0.75)[number], abs=0.1), (course, pitch)


@pytest.mark.parametrize("preset", PRESETS)
def test_every_fret_is_in_tune(preset):
    """The same of a quarter of a second of the whole course, before its strings drift out of step."""
    for course, pitch, samples in every_fret(preset, dry(voicing_of(PRESETS[preset]))):
        off = cents(fundamental_hz(samples[900:12000], pitch), hertz_of(pitch))
        assert abs(off) < 1.0, (course, pitch, off)


def test_partials_are_stretched_by_stiffness():
    """Partial k lies at k f sqrt((1 + B k^2) / (1 + B)): Fletcher (1964), JASA 36, 203 (from memory)."""
    b = voicing_of(PRESETS["tenor-banjo"]).parts["solo"].courses[3].strings[0].inharmonicity
    samples = mono(sounded(pluck(48, course=4), preset="tenor-banjo"))[2000:30000]
    for k in (2, 5, 9):
        expected = k * hertz_of(48) * np.sqrt((1 + b * k * k) / (1 + b))
        assert abs(cents(peak_hz(samples, expected * 0.98, expected * 1.02), expected)) < 1.0
        assert expected > k * hertz_of(48)


CURVES = {
    "slide of a whole tone": ((0.2, 0.0), (0.32, 200.0)),
    "bend up and back": ((0.1, 0.0), (0.3, 50.0), (0.4, 50.0), (0.55, 0.0)),
    "vibrato": tuple((0.1 + 0.09 * n, 14.0 * (-1) ** n) for n in range(6)),
    "slide into the first note": ((0.0, -200.0), (0.12, 0.0)),
    "straight from a point before the attack": ((-0.1, 100.0), (0.1, -100.0), (0.2, 0.0)),
}


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("preset", ["mandolin", "tenor-banjo"])
def test_slides_and_bends_follow_their_curves(name, preset):
    """The fundamental's instantaneous frequency, away from corners, which a band cannot show."""
    curve = CURVES[name]
    samples = mono(sounded(pluck(69, curve=curve), seconds=0.8, preset=preset, alone=True))
    base = hertz_of(69)
    track = cents(pitch_track(samples, base), base)
    times = np.arange(len(track)) / RATE
    points = curve if curve[0][0] <= 0 else ((0.0, 0.0), *curve)
    wanted = np.interp(times, *np.array(points).T)
    corners = np.array([time_s for time_s, _ in points])
    clear = (np.abs(times[:, None] - corners).min(axis=1) > 0.015) & (times > 0.02) & (times < 0.7)
    assert clear.sum() > 0.2 * RATE
    assert np.abs(track - wanted)[clear].max() < 3.0
    assert np.median(np.abs(track - wanted)[clear]) < 1.0


def test_a_slide_over_an_octave_arrives():
    samples = mono(sounded(pluck(62, course=3, curve=((0.1, 0.0), (0.22, 1200.0))), seconds=0.9, alone=True))
    assert abs(cents(fundamental_hz(samples[:4000], 62), hertz_of(62))) < 5.0
    assert abs(cents(fundamental_hz(samples[12000:35000], 74), hertz_of(74))) < 1.0


def test_a_hammered_and_a_pulled_note_are_in_tune():
    plucks = (
        pluck(69, 0.0, 0.3),
        pluck(71, 0.3, 0.9, attack=Attack.HAMMER, velocity=62),
        pluck(69, 0.9, 1.5, attack=Attack.PULL, velocity=62),
    )
    samples = mono(sounded(*plucks, seconds=1.5, alone=True))
    assert abs(cents(fundamental_hz(samples[15000:39000], 71), hertz_of(71))) < 1.0
    assert abs(cents(fundamental_hz(samples[41000:65000], 69), hertz_of(69))) < 1.0
