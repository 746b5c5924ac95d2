"""A MIDI port as an output, with a clock and a port of the test's own: whatever comes, no note is left on."""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.performance import Options, perform
from tabterm.score.place import Span
from tabterm.score.tempo import Tempo
from tabterm.sound import port_output
from tabterm.sound.outputs import OutputKind
from tabterm.sound.plan import Plan
from tabterm.sound.port_output import PortOutput
from tabterm.sound.position import joints
from tabterm.sound.voicing import voicing_of
from tests.build import score

TUNE = score(
    "8 4.0,8 h4.2,8 3.0,8 3.2,8 2.0,8 2.2,8 /2.4,8 1.0",
    "4 1.0 2.0,8 1.2,8 1.3,2 1.5",
    "1 1.0 2.0",
    "16 2.0,16 2.2,16 1.0,16 1.2,4 1.3,2 2.0 3.0",
    tempo=Tempo(120.0),
)
PERFORMANCES = [
    perform(TUNE, span=span, options=Options(tempo_percent=percent, count_in=count_in))
    for span in (None, Span.of_measures(1, 2), Span.of_measures(2, 3))
    for percent in (50, 100, 173)
    for count_in in (0, 1)
]


class Desk:
    """An output to a port that writes down what it is sent, on a clock that goes when it is told to."""

    def __init__(self):
        self.now_s = 100.0
        self.name = "desk"
        self.sent = []
        self.reports = []
        self.sounding = None
        self.count = 0
        port_output.time, self._time = self, port_output.time
        self.output = PortOutput(self, OutputKind.PORT, self.report)

    def monotonic(self):
        return self.now_s

    def sleep(self, _seconds):
        pass

    def send(self, message):
        self.sent.append((self.now_s, bytes(message)))

    def report(self, word, _body=b"", **values):
        self.reports.append((word, values))
        if word == "turn":
            self.sounding = values["number"]

    def plan(self, performance, turns, follows=None):
        self.count += 1
        joined = joints(follows, performance) if follows else ()
        voicing = voicing_of(performance.instrument)
        number = self.sounding if follows else 0
        return Plan.of(performance, voicing, number=self.count, turns=turns, joints=joined, follows=number or 0)

    def go(self, seconds):
        """Let time pass; False once nothing is due any more."""
        until_s = self.now_s + seconds
        while (due_s := self.output.work()) is not None and due_s <= until_s:
            self.now_s = max(due_s, self.now_s)
        self.now_s = max(until_s, self.now_s)
        return due_s is not None

    def on(self):
        """Notes that have been struck and not stopped; fails where one is struck that sounds already."""
        on = set()
        for _, message in self.sent:
            kind, channel = message[0] & 0xF0, message[0] & 15
            if kind == 0x90:
                assert (channel, message[1]) not in on
                on.add((channel, message[1]))
            elif kind == 0x80:
                on.discard((channel, message[1]))
        return on


@pytest.fixture
def desk():
    desk = Desk()
    yield desk
    port_output.time = desk._time


ORDERS = st.lists(
    st.tuples(
        st.sampled_from(["play", "change", "change", "change", "then", "stop"]),
        st.sampled_from(PERFORMANCES),
        st.integers(0, 2),
        st.floats(0.0, 2.5),
    ),
    max_size=12,
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ORDERS)
def test_whatever_is_ordered_no_note_is_left_on(orders):
    desk = Desk()
    try:
        told = {}
        for word, performance, turns, seconds in orders:
            if word == "stop":
                desk.output.stop()
                assert desk.on() == set()
            elif word == "change":
                follows = told.get(desk.sounding)
                if follows is not None:
                    plan = desk.plan(performance, turns, follows)
                    told[plan.order.number] = performance
                    desk.output.change(plan)
            else:
                plan = desk.plan(performance, turns)
                told[plan.order.number] = performance
                (desk.output.play if word == "play" else desk.output.then)(plan)
            desk.go(seconds)
            assert len(desk.on()) <= 9  # each course once or, slid, twice, and the click
        desk.output.stop()
        assert desk.on() == set()
        bends = {message[0]: message[1:] for _, message in desk.sent if message[0] & 0xF0 == 0xE0}
        assert set(bends.values()) <= {b"\x00\x40"}
    finally:
        port_output.time = desk._time


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(PERFORMANCES), st.floats(0.0, 8.0))
def test_a_change_to_the_same_sends_what_would_have_been_sent(performance, at_s):
    sent = []
    for changes in (False, True):
        desk = Desk()
        try:
            desk.output.play(desk.plan(performance, 2))
            desk.go(at_s)
            if changes and desk.output.work() is not None:
                desk.output.change(desk.plan(performance, 2, performance))
            desk.go(60.0)
            sent.append([(round(time_s, 6), message) for time_s, message in desk.sent])
        finally:
            port_output.time = desk._time
    assert sent[0] == sent[1]


TEMPO = Tempo(300.0)
QUARTERS = score("4 1.0,4 1.2,4 1.3,4 1.5", "4 2.0,4 2.2,4 2.3,4 2.5", tempo=Tempo(240.0))  # 0.25 s each
HALF = Options(tempo_percent=50)


def struck(desk):
    """The pitch of every note, and when it is struck after the first."""
    notes = [(message[1], time_s) for time_s, message in desk.sent if message[0] & 0xF0 == 0x90]
    return [(pitch, pytest.approx(time_s - notes[0][1], abs=1e-6)) for pitch, time_s in notes]


def in_measure(index, options=None):
    return perform(QUARTERS, span=Span.of_measures(index, index), options=options or Options())


def test_a_new_tempo_begins_at_the_next_beat(desk):
    performance = perform(QUARTERS)
    desk.output.play(desk.plan(performance, 1))
    desk.go(0.3)
    desk.output.change(desk.plan(perform(QUARTERS, options=HALF), 1, performance))
    assert not desk.go(10)
    times = [0, 0.25, 0.5, 1, 1.5, 2, 2.5, 3]
    assert struck(desk) == list(zip([76, 78, 79, 81, 69, 71, 72, 74], times, strict=True))


def test_a_note_that_is_held_across_the_beat_is_not_struck_again(desk):
    held = score("1 1.0 2.0", tempo=Tempo(240.0))
    desk.output.play(desk.plan(perform(held), 1))
    desk.go(0.1)
    desk.output.change(desk.plan(perform(held, options=HALF), 1, perform(held)))
    desk.go(10)
    assert len(struck(desk)) == 2
    on, off = (next(t for t, m in desk.sent if m[0] & 0xF0 == kind) for kind in (0x90, 0x80))
    assert off - on == pytest.approx(0.25 + 1.5)


def test_another_loop_begins_at_the_next_beat_and_turns_are_counted_on(desk):
    first, second = in_measure(0), in_measure(1)
    desk.output.play(desk.plan(first, 3))
    desk.go(1.1)  # in the second turn
    desk.output.change(desk.plan(second, 3, first))
    desk.go(10)
    pitches = [76, 78, 79, 81, 76, *[69, 71, 72, 74] * 2]
    assert struck(desk) == [(pitch, number / 4) for number, pitch in enumerate(pitches)]
    turns = [(values["number"], values["turn"]) for word, values in desk.reports if word == "turn"]
    assert turns == [(1, 1), (1, 2), (2, 2), (2, 3)]


def test_what_follows_begins_when_the_turns_are_over(desk):
    desk.output.play(desk.plan(in_measure(0), 2))
    desk.output.then(desk.plan(in_measure(0), 1))
    desk.output.then(desk.plan(in_measure(0, Options(200)), 2))
    desk.go(10)
    assert struck(desk) == list(
        zip([76, 78, 79, 81] * 4, [n / 4 for n in range(8)] + [2 + n / 8 for n in range(8)], strict=True)
    )
    assert desk.reports[-1] == ("ended", {"number": 3})


def test_the_end_is_that_of_a_change_which_took_over_there(desk):
    """What was to follow has been given up by it, and whoever waits for that must know."""
    desk.output.play(desk.plan(in_measure(0), 1))
    desk.output.then(desk.plan(in_measure(1), 1))
    desk.go(0.9)  # in the last beat
    desk.output.change(desk.plan(in_measure(0, HALF), 1, in_measure(0)))
    desk.go(10)
    assert [pitch for pitch, _ in struck(desk)] == [76, 78, 79, 81]
    assert desk.reports[-1] == ("ended", {"number": 3})


SIXTEENTHS = {
    fret: perform(score(*[",".join([f"16 1.{fret}"] * 8)] * 4, metre="2/4", tempo=TEMPO)) for fret in (0, 2, 5)
}
BEAT, BEAT_S = 4, 0.2


@pytest.mark.parametrize("stall_s", [0.0, 0.03, 0.15, 0.4, 1.0])
@pytest.mark.parametrize("between_s", [0.0, 0.1])
@pytest.mark.parametrize("before_s", [0.0, 0.17, 0.3])
def test_an_engine_that_stands_still_round_a_change_loses_no_note(desk, before_s, between_s, stall_s):
    """Late notes are struck late and in their order: those before the beat at which another takes over as well."""
    old, new, following = SIXTEENTHS.values()
    desk.output.play(desk.plan(old, 1))
    desk.go(before_s)
    desk.now_s += stall_s
    desk.output.change(desk.plan(new, 1, old))
    desk.output.then(desk.plan(following, 1))
    desk.go(between_s)
    desk.now_s += stall_s
    assert not desk.go(10)
    beats = max(1, math.ceil((before_s + stall_s - port_output.START_S) / BEAT_S))
    pitches = [76] * BEAT * beats + [78] * BEAT * (8 - beats) + [81] * BEAT * 8
    assert [pitch for pitch, _ in struck(desk)] == pitches


def test_bends_that_differ_are_set_where_another_takes_over(desk):
    """MIDI 1.0: pitch bend is En, its middle 00 40."""
    bent, plain = (perform(score(line, tempo=Tempo(240.0))) for line in ("4 1.2,4 /1.4,2 1.4", "4 1.2,2. 1.3"))
    desk.output.play(desk.plan(bent, 1))
    desk.go(0.4)  # the slide has arrived, and the second beat is under way
    bends = [message for _, message in desk.sent if message[0] == 0xE0]
    assert bends[-1] not in {b"\xe0\x00\x40", bends[1]}
    desk.output.change(desk.plan(plain, 1, bent))
    desk.go(0.2)
    assert desk.sent[-1][1] == b"\xe0\x00\x40"


def test_silence_is_said_twice(desk):
    """Controllers of the MIDI 1.0 specification: 123 is all notes off, 120 all sound off."""
    desk.output.play(desk.plan(in_measure(0), 1))
    desk.go(0.1)
    desk.output.stop()
    desk.go(1)
    for controller in (120, 123):
        times = [time_s for time_s, message in desk.sent if message[:2] == bytes((0xB0, controller))]
        assert times[1] - times[0] == pytest.approx(port_output.AGAIN_S)


def test_every_turn_of_an_hour_is_on_time(desk):
    performance = perform(TUNE, options=Options(133))
    desk.output.play(desk.plan(performance, 0))
    desk.go(3600.0)
    first = desk.sent[0][0] + port_output.START_S
    found = [time_s - first for time_s, m in desk.sent if m[:2] == b"\x93\x37"]
    wanted = [n * performance.duration_s for n in range(len(found))]
    assert len(found) > 550
    assert max(abs(time_s - at_s) for time_s, at_s in zip(found, wanted, strict=True)) < 1e-6
