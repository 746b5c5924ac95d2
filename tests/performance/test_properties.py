"""What holds for every performance of every score."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.performance import ALL_PARTS, AS_WRITTEN, Click, Options, perform, playing_order
from tabterm.performance.midi import CHANNELS
from tabterm.performance.styles import STYLES
from tabterm.score.click_rests import ClickRests
from tabterm.score.model import Swing
from tests.strategies import scores, spans
from tests.thorough import many

few = settings(max_examples=many(15, 40), deadline=None)
options = st.builds(
    Options,
    tempo_percent=st.integers(20, 200),
    count_in=st.integers(0, 2),
    click=st.sampled_from(Click),
    click_rests=st.none() | st.sampled_from(["1:1", "2:3", "m1 m3-4"]).map(ClickRests.parse),
    parts=st.sets(st.sampled_from(sorted(ALL_PARTS))).map(frozenset),
    style=st.none() | st.sampled_from(sorted(STYLES)),
    groove=st.booleans(),
    swing=st.just(AS_WRITTEN) | st.none() | st.just(Swing()),
)


def notes_of(performance):
    return [message for message in performance.messages if message.data[0] & 0xF0 in {0x80, 0x90}]


def straight_or_whole(score):
    """A short measure that cuts a swung pair is shorter or longer than its written length."""
    return score.head.swing is None or not any(measure.short for measure in score.measures)


@few
@given(scores(max_measures=3), options)
def test_messages_are_in_order_and_nothing_hangs_or_overlaps(score, options):
    performance = perform(score, options=options)
    courses = score.head.instrument.course_count
    on: Counter[tuple[int, int]] = Counter()
    bent = dict.fromkeys(range(courses), (0, 64))
    before_s = 0.0
    for time_s, data in performance.messages:
        kind, channel = data[0] & 0xF0, data[0] & 15
        assert len(data) == 3
        assert max(data[1:]) < 128
        assert before_s <= time_s <= performance.duration_s
        before_s = time_s
        assert channel in CHANNELS.values() or channel < courses
        if kind == 0x90:
            assert data[2] > 0
            same = [key for key in on if key[0] == channel and (channel < courses or key[1] == data[1])]
            assert channel == 9 or not any(on[key] for key in same)
            on[channel, data[1]] += 1
        elif kind == 0x80:
            on[channel, data[1]] -= 1
            assert on[channel, data[1]] >= 0
        else:
            assert kind == 0xE0
            assert (data[1], data[2]) != bent[channel]
            bent[channel] = (data[1], data[2])
    assert not +on
    assert set(bent.values()) == {(0, 64)}


@few
@given(scores(max_measures=3).filter(straight_or_whole), st.integers(20, 200))
def test_it_lasts_as_long_as_the_measures_say(score, percent):
    performance = perform(score, options=Options(tempo_percent=percent))
    expected = sum(
        float(score.measures[index].length) * 60 / score.tempos[index].quarters_per_minute
        for index in playing_order(score)
    )
    assert performance.lead_s == 0
    assert performance.duration_s == pytest.approx(expected * 100 / percent, abs=1e-6)


@few
@given(st.data())
def test_a_span_lasts_as_long_as_it_says_and_has_a_mark_for_each_event(data):
    score = data.draw(scores(max_measures=3).filter(lambda score: score.head.swing is None))
    span = data.draw(spans(score))
    performance = perform(score, span=span)
    times = [mark.time_s for mark in performance.marks]
    assert times == sorted(set(times))
    places = {mark.place for mark in performance.marks}
    for index in range(span.start.measure, min(span.end.measure + 1, len(score.measures))):
        for offset, _ in score.measures[index].timed():
            place = type(span.start)(index, offset)
            assert (place in places) == (place in span)
    expected = sum(float(m.high - m.low) * m.quarter_s for m in performance.measures)
    assert performance.duration_s == pytest.approx(expected, abs=1e-6)
    assert all(place in span for place in places)


@few
@given(scores(max_measures=3), st.integers(1, 2))
def test_a_count_in_moves_the_music_and_changes_nothing_else(score, count_in):
    plain = perform(score)
    counted = perform(score, options=Options(count_in=count_in))
    assert counted.lead_s > 0
    assert counted.duration_s - counted.lead_s == pytest.approx(plain.duration_s, abs=1e-6)
    moved = [(time_s - counted.lead_s, data) for time_s, data in notes_of(counted) if data[0] & 15 != 9]
    assert sorted(data for _, data in moved) == sorted(data for _, data in notes_of(plain))
    assert sorted(time_s for time_s, _ in moved) == pytest.approx(
        [time_s for time_s, _ in notes_of(plain)], abs=1e-6
    )


@few
@given(scores(max_measures=3))
def test_the_beats_of_the_click_are_marked(score):
    performance = perform(score, options=Options(click=Click.BEATS))
    marked = [mark.time_s for mark in performance.marks]
    for time_s, data in performance.messages:
        if data[0] == 0x99:
            assert min(abs(time_s - mark_s) for mark_s in marked) < 1e-9
