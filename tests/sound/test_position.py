"""Where one performance takes over from another."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from tabterm.performance import Click, Options, perform
from tabterm.performance.perform import joined
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tabterm.sound.position import joints
from tests.build import measure, score
from tests.strategies import scores

FOUR = score(*["4 1.0,4 1.2,4 1.3,4 1.5"] * 4, tempo=Tempo(120.0))
HALF = Options(tempo_percent=50)


def approx(pairs):
    return [tuple(map(pytest.approx, pair)) for pair in pairs]


def measures(first, last):
    return perform(FOUR, span=Span.of_measures(first, last))


def test_the_same_place_at_another_tempo():
    found = joints(measures(0, 0), perform(FOUR, span=Span.of_measures(0, 0), options=HALF))
    assert list(found) == approx([(0, 0), (0.5, 1), (1, 2), (1.5, 3), (2, 4)])


def test_a_loop_that_grows_is_gone_on_with_and_one_elsewhere_begun():
    assert joints(measures(0, 0), measures(0, 1))[-1] == approx([(2, 2)])[0]
    assert set(joints(measures(0, 0), measures(2, 3))[:-1]) == {(0, 0), (0.5, 0), (1, 0), (1.5, 0)}
    assert joints(measures(0, 3), measures(1, 2))[3:6] == tuple(approx([(1.5, 0), (2, 0), (2.5, 0.5)]))


def test_a_place_played_twice_is_met_the_same_time_round():
    twice = score(measure("1 1.0", repeat_start=True, repeat_times=2), "1 2.0", tempo=Tempo(120.0))
    slow = perform(twice, options=HALF)
    assert list(joints(perform(twice), slow))[4:5] == approx([(2, 4)])
    once = perform(twice, span=Span.of_measures(0, 0))
    assert list(joints(perform(twice), once))[4:6] == approx([(2, 0), (2.5, 0.5)])


def test_the_count_in_is_gone_on_with_beat_by_beat():
    one, two = (perform(FOUR, options=Options(count_in=count)) for count in (1, 2))
    assert list(joints(one, two))[:5] == approx([(0, 2), (0.5, 2.5), (1, 3), (1.5, 3.5), (2, 4)])
    assert list(joints(two, one))[:6] == approx([(0, 0), (0.5, 0), (1, 0), (1.5, 0), (2, 0), (2.5, 0.5)])
    assert list(joints(one, measures(0, 3)))[:5] == approx([(0, 0), (0.5, 0), (1, 0), (1.5, 0), (2, 0)])


def test_the_clicks_of_a_pre_roll_are_none_of_the_count_in():
    def with_pre_roll(percent):
        counted = perform(FOUR, span=Span.of_measures(0, 0), options=Options(percent, 1, Click.BEATS))
        phrase = perform(FOUR, span=Span.of_measures(1, 1), options=Options(percent, click=Click.BEATS))
        return joined((counted, phrase), loop_from=1)

    found = joints(with_pre_roll(100), with_pre_roll(50))
    assert list(found) == approx([(number / 2, number) for number in range(13)])


def test_a_pickup_and_a_part_of_a_measure():
    built = score(measure("4 1.0", short=True), "2 1.2,2 1.3", tempo=Tempo(120.0))
    assert list(joints(perform(built), perform(built, options=HALF)))[:2] == approx([(0, 0), (0.5, 1)])
    within = perform(FOUR, span=Span(Place(0, Fraction(1)), Place(0, Fraction(3))))
    assert list(joints(within, measures(0, 0))) == approx([(0, 0.5), (0.5, 1), (1, 1.5)])


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(scores(max_measures=3))
def test_every_beat_leads_to_itself(built):
    performance = perform(built)
    found = joints(performance, performance)
    assert all(one == other for one, other in found)
    assert list(found) == sorted(found)
