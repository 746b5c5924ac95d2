"""The built-in strings tuned by ear: brightness, body, room, detuning."""

from __future__ import annotations

import numpy as np
import pytest

from tabterm.errors import ScoreError
from tabterm.instrument.presets import PRESETS
from tabterm.performance import Options, ToneControls, perform
from tabterm.piece.practice import Practice
from tabterm.piece.takes import options_of
from tabterm.sound.remote.inspection import can_sound
from tabterm.sound.synthesiser import Synthesiser
from tabterm.sound.voicing import voicing_of
from tests.build import score
from tests.sound.analysis import mono
from tests.sound.plucking import RATE, level_db, pluck
from tests.sound.test_tones import centroid_hz

MANDOLIN = PRESETS["mandolin"]


def sounded(tone, seconds=0.5):
    strings = Synthesiser(voicing_of(MANDOLIN, tone))
    strings.play(pluck(69), 0)
    return strings.read(round(seconds * RATE))


def test_brightness_moves_the_spectrum():
    dull, usual, bright = (centroid_hz(mono(sounded(ToneControls(brightness=each)))) for each in (20, 100, 200))
    assert dull < 0.9 * usual < usual < bright


def test_without_body_and_room_there_are_the_strings_alone():
    usual, bare = ToneControls(), ToneControls(body=0, room=0)
    assert voicing_of(MANDOLIN, bare).room == 0
    assert voicing_of(MANDOLIN, bare).parts["solo"].timbre.sympathy == 0
    side = [np.diff(sounded(each).astype(float), axis=1) for each in (usual, bare)]
    assert level_db(side[1]) < level_db(side[0]) - 2


def test_detuning_is_how_far_the_strings_of_a_course_are_apart():
    for percent, cents in ((0, 0.0), (100, 1.5), (200, 3.0)):
        low, high = voicing_of(MANDOLIN, ToneControls(detuning=percent)).parts["solo"].courses[1].strings
        assert abs(high.cents - low.cents) == pytest.approx(cents)


@pytest.mark.parametrize("percent", [0, 200])
@pytest.mark.parametrize("name", ToneControls._fields)
def test_every_tone_can_be_sent_to_a_listener_and_stays_within_full_scale(name, percent):
    tone = ToneControls(**{name: percent})
    assert can_sound(voicing_of(MANDOLIN, tone))
    assert np.abs(sounded(tone)).max() < 1


def test_a_tone_is_written_in_words_and_reaches_the_performance():
    practice = Practice().with_tone("brightness 120, room 50%")
    assert practice.tone == (("brightness", 120), ("room", 50))
    assert practice.with_tone("room 100").tone == (("brightness", 120),)
    assert practice.with_tone("").tone == ()
    performance = perform(score("1 1.0"), options=options_of(practice, 100, 0))
    assert performance.tone == ToneControls(brightness=120, room=50)
    assert perform(score("1 1.0"), options=Options()).tone == ToneControls()


@pytest.mark.parametrize("words", ["bright 100", "brightness", "brightness 201", "brightness loud", "room -5"])
def test_what_is_not_a_tone_is_refused(words):
    with pytest.raises(ScoreError, match="tone"):
        Practice().with_tone(words)
