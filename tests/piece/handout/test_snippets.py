"""What the page plays: each phrase once, and what more the whole needs, in the order of repeats and endings."""

from __future__ import annotations

import io

import pytest
import soundfile

from tabterm.performance import perform
from tabterm.piece.handout import snippets
from tabterm.piece.handout.phrases import phrases_of
from tabterm.piece.practice import Practice
from tabterm.score.model import Swing
from tabterm.score.tempo import Tempo
from tabterm.sound.files import SMALL_RATE
from tabterm.sound.rendering import TAIL_S
from tests.build import PLAYER, measure, score

BAR = "4 3.2,4 2.0,4 1.0,4 1.2"


def with_endings():
    """A pickup, two measures with a first and a second ending, and two more."""
    return score(
        measure("4 2.0", short=True),
        measure(BAR, repeat_start=True),
        measure(BAR),
        measure(BAR, endings=(1,), repeat_times=2),
        measure(BAR, endings=(2,), barline="double"),
        *(BAR, BAR),
        tempo=Tempo(240.0),
        swing=Swing(),
    )


@pytest.fixture(scope="module")
def tune():
    return with_endings()


def test_the_whole_is_played_in_its_order_from_as_few_stretches_as_can_be(tune):
    phrases = phrases_of(tune, PLAYER)
    assert [(phrase.first, phrase.last) for phrase in phrases] == [(0, 4), (5, 6)]
    found, order = snippets.stretches(tune, phrases, whole=True)
    assert [tuple(each) for each in found] == [(0, 0, 4), (1, 5, 6), (0, 0, 3), (0, 1, 2), (0, 4, 4)]
    assert order == (2, 3, 4, 1)
    length_s = sum(snippets.snippet_of(tune, found[number], Practice()).length_s for number in order)
    assert length_s == pytest.approx(perform(tune).duration_s)
    assert snippets.stretches(tune, phrases, whole=False)[1] == (0, 1)


def test_marks_and_counts_are_those_of_the_performance(tune):
    """A pickup of a beat is counted in by three beats; an eighth that swings comes at two thirds of the beat."""
    pickup = snippets.snippet_of(tune, snippets.Stretch(0, 0, 3), Practice())
    assert [round(time_s / 0.25, 3) for time_s, _ in pickup.counts] == [-3, -2, -1]
    assert [loud for _, loud in pickup.counts] == [True, False, False]
    assert pickup.marks[:2] == ((0.0, 0, 0.0), (0.25, 1, 0.0))
    swung = score("8 3.2,8 2.0,2. 1.0", tempo=Tempo(60.0), swing=Swing())
    marks = snippets.snippet_of(swung, snippets.Stretch(0, 0, 0), Practice()).marks
    assert marks[1] == (pytest.approx(2 / 3), 0, 0.5)


def test_each_stretch_has_its_tail_and_a_click_where_no_chord_stands():
    tune = score("4 3.2,4 2.0,2 1.0", tempo=Tempo(240.0))
    (snippet,) = (snippets.snippet_of(tune, snippets.Stretch(0, 0, 0), Practice()),)
    (sound,) = snippets.sounds(tune, [snippet], Practice(parts="both"), 100)
    for data in (sound.solo, sound.backing):
        samples, rate = soundfile.read(io.BytesIO(data))
        assert (rate, samples.ndim) == (SMALL_RATE, 1)
        assert len(samples) == round((1.0 + TAIL_S) * SMALL_RATE)
        assert abs(samples).max() > 0.02
    (silent,) = snippets.sounds(tune, [snippet], Practice(parts="both"), 100, may_click=False)
    assert silent.backing is None


def test_of_a_long_piece_tempos_in_between_are_left_out():
    stretch = snippets.Snippet(snippets.Stretch(0, 0, 0), 60.0, (), ())
    assert snippets.fitting([stretch], (100, 60, 80)) == (60, 80, 100)
    assert snippets.fitting([stretch] * 5, (60, 70, 80, 90, 100)) == (60, 100)
