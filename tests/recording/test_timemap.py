"""Measures and seconds of a recording: a drift, pulled bar lines, pickups, and scores that change."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.judge import UnfitError
from tabterm.recording.beats import Beats
from tabterm.recording.timemap import Anchor, TimeMap, of_beats
from tabterm.score import operations as do
from tabterm.score.change import Change
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.place import Place, Span
from tests import build

FOUR = build.score(*["1 2.0"] * 4)
PICKUP = build.score(build.measure("4 2.0", short=True), *["1 2.0"] * 3)


def drifting(first_bpm, last_bpm, beats=16, start_s=2.0):
    """The moments of beats whose tempo goes evenly, by beats, from one to another (its integral)."""
    change = (last_bpm - first_bpm) / beats
    return tuple(start_s + 60 / change * math.log(1 + change * beat / first_bpm) for beat in range(beats + 1))


def mapped(*moments):
    return TimeMap(anchors=tuple(Anchor(measure=index, at_s=at) for index, at in enumerate(moments)))


def test_a_drift_is_followed_by_the_bar_lines_alone():
    moments = drifting(110, 130)
    line = of_beats(Beats(moments, 0, COMMON_TIME), FOUR).on(FOUR)
    off = [abs(line.at(Place(beat // 4, Fraction(beat % 4))) - at) for beat, at in enumerate(moments)]
    assert max(off) < 0.015
    assert [place for place, _, _ in line.beats(Span(Place(1), Place(2)))] == [
        Place(1, Fraction(b)) for b in range(4)
    ]
    assert [begins for _, _, begins in line.beats(Span(Place(1), Place(2)))] == [True, False, False, False]
    assert 60 / line.quarter_s(Place(0)) == pytest.approx(112, abs=1)
    assert 60 / line.quarter_s(Place(3, Fraction(3))) == pytest.approx(128, abs=1)


def test_where_and_when_are_each_others_inverse():
    line = mapped(1.0, 3.0, 4.8, 7.0).on(FOUR)
    for place in (Place(0), Place(1, Fraction(1, 3)), Place(2, Fraction(7, 8)), Place(3, Fraction(5, 2))):
        assert line.place(line.at(place)) == place
    assert line.place(-9) == Place(0)
    assert line.place(99) == Place(4)
    assert line.seconds(Span(Place(1), Place(2))) == (3.0, 4.8)


def test_beyond_the_anchors_the_tempo_stays_and_one_alone_goes_by_the_score():
    assert mapped(1.0, 3.0).on(FOUR).at(Place(3)) == pytest.approx(7.0)
    alone = TimeMap(anchors=(Anchor(measure=1, at_s=10.0),)).on(build.score(*["1 2.0"] * 4, tempo="1/4=120"))
    assert (alone.at(Place(0)), alone.at(Place(3))) == (8.0, 14.0)


def test_a_pickup_lies_before_the_beat_that_begins_a_measure():
    time_map = of_beats(Beats((1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0), 2, COMMON_TIME), PICKUP)
    assert [(each.measure, each.at_s) for each in time_map.anchors] == [(0, 1.5), (1, 2.0), (2, 4.0)]
    assert [at for _, at, _ in time_map.on(PICKUP).beats(Span(Place(0), Place(1)))] == [1.5]


def test_beats_of_other_metres_are_counted_by_the_measure():
    """A beat of 6/8 is a dotted quarter; the last beat of 7/8 in 2+2+3 has three eighths (common practice)."""
    jig = build.score("2. 2.0", "2. 2.0", metre="6/8")
    moments = (0.0, 0.5, 1.0, 1.5, 2.0)
    assert of_beats(Beats(moments, 0, Metre.parse("6/8")), jig).on(jig).at(Place(1, Fraction(3, 2))) == 1.5
    seven = build.score("2 2.0, 4. 2.0", "2 2.0, 4. 2.0", metre="7/8(2+2+3)")
    found = of_beats(Beats((0.0, 1.0, 2.0, 3.5, 4.5), 0, Metre.parse("7/8(2+2+3)")), seven)
    assert [each.at_s for each in found.anchors] == [0.0, 3.5]


def test_a_bar_line_is_pulled_alone_or_with_what_follows():
    time_map = mapped(1.0, 3.0, 5.0, 7.0)
    alone = time_map.pulled(FOUR, Place(2), 5.4)
    assert [each.at_s for each in alone.anchors] == [1.0, 3.0, 5.4, 7.0]
    assert [each.held for each in alone.anchors] == [False, False, True, False]
    together = time_map.pulled(FOUR, Place(2), 5.4, rest_follows=True)
    assert [each.at_s for each in together.anchors] == [1.0, 3.0, 5.4, 7.4]


def test_any_place_can_be_pulled_and_let_go_of():
    time_map = mapped(1.0, 3.0, 5.0)
    place = Place(0, Fraction(1))
    pulled = time_map.pulled(FOUR, place, 1.6)
    assert pulled.on(FOUR).at(Place(0, Fraction(2))) == pytest.approx(1.6 + 1.4 / 3)
    assert pulled.released(place) == time_map
    with pytest.raises(ScoreError, match="no bar line is tied here"):
        time_map.released(place)
    with pytest.raises(ScoreError, match="no bar line is tied here"):
        mapped(1.0).released(Place(0))


@pytest.mark.parametrize(
    ("at_s", "said"),
    [(2.9, "before measure 2, which is at 3.00 s"), (7.1, "after measure 4, which is at 7.00 s"), (1e9, "moment")],
)
def test_a_bar_line_never_goes_past_another(at_s, said):
    with pytest.raises(ScoreError, match=said):
        mapped(1.0, 3.0, 5.0, 7.0).pulled(FOUR, Place(2), at_s)


def test_a_map_whose_anchors_do_not_rise_is_refused():
    with pytest.raises(UnfitError):
        mapped(1.0, 0.5)


def changed(time_map, old, new):
    found = time_map.after(Change.between(old, new), new)
    return found and [(each.measure, each.at_s) for each in found.anchors]


def test_measures_keep_their_moments_when_the_score_changes():
    time_map, varied = mapped(0.0, 2.0, 4.0, 6.0, 8.0), build.score("1 2.0", "1 2.1", "1 2.2", "1 2.3")
    note = do.replace_measures(varied, 1, 1, build.score("1 1.5").measures)
    assert changed(time_map, varied, note) == [(0, 0.0), (1, 2.0), (2, 4.0), (3, 6.0), (4, 8.0)]
    before = do.insert_measures(varied, 0, 1)
    assert changed(time_map, varied, before) == [(1, 0.0), (2, 2.0), (3, 4.0), (4, 6.0), (5, 8.0)]
    behind = do.insert_measures(varied, 4, 2)
    assert changed(time_map, varied, behind) == [(0, 0.0), (1, 2.0), (2, 4.0), (3, 6.0), (4, 8.0)]
    without = do.delete_measures(varied, 1, 1)
    assert changed(time_map, varied, without) == [(0, 0.0), (1, 4.0), (2, 6.0), (3, 8.0)]
    shorter = do.delete_measures(varied, 2, 3)
    assert changed(time_map, varied, shorter) == [(0, 0.0), (1, 2.0), (2, 4.0)]
    only = TimeMap(anchors=(Anchor(measure=1, offset=Fraction(1), at_s=2.0),))
    assert changed(only, varied, without) is None


def test_what_the_player_holds_stays_when_beats_are_found_anew():
    mine = mapped(0.0, 2.0, 4.0, 6.0).pulled(FOUR, Place(2), 4.5)
    anew = mine.proposed(mapped(0.1, 2.1, 4.1, 4.4, 8.1))
    assert [(each.measure, each.at_s) for each in anew.anchors] == [(0, 0.1), (1, 2.1), (2, 4.5), (4, 8.1)]
