"""A MIDI port as an output, with a clock and a port of the test's own: whatever comes, no note is left on."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.performance import Options, perform
from tabterm.score.place import Span
from tabterm.score.tempo import Tempo
from tabterm.sound import port_output
from tabterm.sound.joints import joints
from tabterm.sound.outputs import Kind
from tabterm.sound.plan import Plan
from tabterm.sound.port_output import PortOutput
from tabterm.sound.timbre import voicing_of
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
        self.output = PortOutput(self, Kind.PORT, self.report)

    def monotonic(self):
        return self.now_s

    def sleep(self, _seconds):
        pass

    def send(self, message):
        self.sent.append((self.now_s, bytes(message)))

    def report(self, word, body=b"", **values):
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


def test_every_turn_of_an_hour_is_on_time(desk):
    performance = perform(TUNE, options=Options(133))
    desk.output.play(desk.plan(performance, 0))
    desk.go(3600.0)
    first = desk.sent[0][0] + port_output.START_S
    struck = [time_s - first for time_s, m in desk.sent if m[:2] == b"\x93\x37"]
    wanted = [n * performance.duration_s for n in range(len(struck))]
    assert len(struck) > 550
    assert max(abs(time_s - at_s) for time_s, at_s in zip(struck, wanted, strict=True)) < 1e-6
