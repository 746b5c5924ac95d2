"""The transport: turns, rungs and changes, told to a player that counts only when it is told to."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.performance import Part
from tabterm.piece.practice import Ladder, Practice, PreRoll
from tabterm.piece.takes import Take, passage, performed
from tabterm.score.model import ChordMark
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tabterm.sound.position import Position
from tabterm.workspace.transport import Transport
from tests.build import measure, score

TUNE = score(measure("4 1.0", short=True), "2 1.2,2 1.3", "1 2.0", "1 2.2", "1 2.3", tempo=Tempo(100.0))
PHRASE = Span.of_measures(2, 3)


@dataclass
class Slow:
    """A player whose time goes on turn by turn."""

    state = "idle"
    sounding = waiting = None
    loop = 1
    next_loop = 1
    turn = 1
    at_s = 0.0
    changes = 0

    shipped = None

    def start(self):
        pass

    def send_ahead(self, *part):
        self.ahead = part

    def play(self, performance, *, loop=1):
        self.sounding, self.loop, self.turn, self.state, self.waiting = performance, loop, 1, "playing", None
        self.at_s = performance.lead_s

    def change(self, performance, *, loop=None):
        self.sounding = performance
        self.loop, self.waiting = self.loop if loop is None else loop, None
        self.changes += 1

    def then(self, performance, *, loop=1):
        self.waiting, self.next_loop = performance, loop

    def stop(self):
        self.state = "idle"

    close = stop

    def position(self):
        if self.state != "playing":
            return None
        marks = [mark.place for mark in self.sounding.marks if mark.time_s <= self.at_s]
        return Position(self.sounding, self.turn, self.at_s, marks[-1] if marks else None)

    def go_on(self, turns=1):
        """Let turns pass."""
        for _ in range(turns):
            if not self.loop or self.turn < self.loop:
                self.turn += 1
            elif self.waiting is not None:
                self.sounding, self.loop, self.turn, self.waiting = self.waiting, self.next_loop, 1, None
            else:
                self.state = "idle"

    @property
    def quarter_s(self):
        return self.sounding.measures[-1].quarter_s


@pytest.fixture
def transport():
    """A transport with a slow player, and what has ended."""
    made = Transport(playback=Slow())
    made.over = []
    made.ended = made.over.append
    return made


def played(transport, turns=1):
    transport.playback.go_on(turns)
    transport.look()


def percents(transport):
    return round(60.0 / transport.playback.quarter_s)


def test_once_or_a_loop_until_stopped(transport):
    transport.play([Take(TUNE, PHRASE)])
    assert (transport.playback.loop, transport.looping) == (1, False)
    played(transport)
    assert transport.over[0].done == {100.0: 1}
    transport.set(loop=True)
    transport.play([Take(TUNE, PHRASE)])
    played(transport, 7)
    assert transport.playing
    assert transport.looping
    transport.stop()
    assert transport.over[1].done == {100.0: 7}


def test_a_ladder_is_climbed_by_itself_and_ends(transport):
    transport.set(ladder=Ladder.parse("60:80:10x2"))
    transport.play([Take(TUNE, PHRASE)])
    tempos = []
    while transport.playing:
        tempos.append((percents(transport), transport.rung))
        played(transport)
    assert tempos == [(60, 0), (60, 0), (70, 1), (70, 1), (80, 2), (80, 2)]
    assert transport.over[0].done == {60.0: 2, 70.0: 2, 80.0: 2}
    assert transport.over[0].reached == 80.0
    assert transport.rung == 0


def test_with_the_loop_on_the_last_rung_goes_on(transport):
    transport.set(ladder=Ladder.parse("60:70:10x1"), loop=True)
    transport.play([Take(TUNE, PHRASE)])
    played(transport, 9)
    assert (transport.playing, percents(transport), transport.rung) == (True, 70, 1)


def test_a_ladder_is_climbed_when_told_and_a_turn_counts_for_its_slower_tempo(transport):
    transport.set(ladder=Ladder.parse("60:100:20"))
    transport.play([Take(TUNE, PHRASE)])
    played(transport, 5)
    assert (transport.rung, percents(transport)) == (0, 60)
    transport.climb(1, Tempo(100.0))
    assert (transport.rung, percents(transport), transport.playback.changes) == (1, 80, 1)
    played(transport)
    assert transport.run.done == {60.0: 6}
    played(transport, 2)
    transport.climb(5, Tempo(100.0))
    assert (transport.rung, percents(transport)) == (2, 100)
    transport.stop()
    assert transport.over[0].done == {60.0: 6, 80.0: 2}


def test_told_up_in_the_middle_of_a_ladder_the_rung_after_that_follows(transport):
    transport.set(ladder=Ladder.parse("60:90:10x3"))
    transport.play([Take(TUNE, PHRASE)])
    transport.climb(1, Tempo(100.0))
    played(transport, 3)
    assert (percents(transport), transport.rung) == (80, 2)


def test_told_up_to_the_last_rung_that_one_is_climbed_once(transport):
    transport.set(ladder=Ladder.parse("60:70:10x1"))
    transport.play([Take(TUNE, PHRASE)])
    transport.climb(1, Tempo(100.0))
    assert (percents(transport), transport.rung) == (70, 1)
    played(transport)
    assert not transport.playing


def test_another_ladder_begins_at_the_next_beat_with_turns_of_its_own(transport):
    transport.set(loop=True)
    transport.play([Take(TUNE, PHRASE)])
    played(transport, 4)
    transport.set(ladder=Ladder.parse("60:70:10x2"))
    assert (percents(transport), transport.rung, transport.playback.turn) == (60, 0, 5)
    assert transport.run.count == (1, 2)
    transport.set(click="beats")
    assert transport.run.count == (1, 2)
    played(transport)
    assert (percents(transport), transport.playback.turn) == (60, 6)
    assert transport.run.count == (2, 2)
    played(transport)
    assert (percents(transport), transport.playback.turn) == (70, 1)
    assert transport.run.count == (1, 0)
    transport.set(ladder=Ladder.parse("90:100:10x1"), loop=False)
    played(transport)
    played(transport)
    assert not transport.playing
    assert transport.over[0].done == {100.0: 5, 60.0: 2, 70.0: 1}


def test_a_ladder_put_away_leaves_nothing_of_it_to_follow(transport):
    transport.set(ladder=Ladder.parse("100:120:10x1"))
    transport.play([Take(TUNE, PHRASE)])
    transport.set(ladder=None)
    played(transport)
    assert not transport.playing


def test_a_rung_follows_even_when_nobody_looked_in_time(transport):
    transport.set(ladder=Ladder.parse("60:80:10x1"))
    transport.play([Take(TUNE, PHRASE)])
    transport.playback.waiting = None
    played(transport)
    assert (transport.playing, percents(transport), transport.rung) == (True, 70, 1)


def test_the_loop_turned_off_ends_with_the_turn_and_turned_on_goes_on(transport):
    transport.set(loop=True)
    transport.play([Take(TUNE, PHRASE)])
    played(transport, 4)
    transport.set(loop=False)
    assert transport.playing
    played(transport)
    assert not transport.playing
    transport.play([Take(TUNE, PHRASE)])
    transport.set(loop=True)
    played(transport, 3)
    assert transport.playing


def test_what_is_stopped_right_at_its_end_has_been_played(transport):
    transport.play([Take(TUNE, PHRASE)], 3)
    transport.playback.go_on(3)
    transport.stop()
    assert transport.over[0].done == {100.0: 3}


def test_changes_take_effect_while_it_sounds_and_only_where_something_differs(transport):
    transport.set(loop=True)
    transport.play([Take(TUNE, PHRASE)])
    transport.set(click="beats")
    assert Part.CLICK in {pluck.part for pluck in transport.playback.sounding.plucks}
    transport.set(count_in=0)
    transport.take([Take(TUNE, PHRASE)])
    assert transport.playback.changes == 1
    transport.take([Take(TUNE, Span.of_measures(1, 1))])
    assert [mark.place.measure for mark in transport.playback.sounding.marks] == [1] * 4
    assert transport.playback.changes == 2


@pytest.mark.parametrize(
    "change",
    [
        lambda transport: transport.take([Take(TUNE, Span(Place(1), Place(1)))]),
        lambda transport: transport.set(ladder=Ladder.parse("1:9:1bpm")),
        lambda transport: transport.set(style="polka", parts="both"),
    ],
)
def test_what_cannot_be_played_is_not_taken_over_now_or_at_the_next_rung(transport, change):
    transport.set(ladder=Ladder.parse("60:90:10x1"))
    transport.play([Take(TUNE, PHRASE)])
    played(transport)
    before = (transport.practice, transport.rung, transport.run.takes, transport.playback.sounding)
    with pytest.raises(ScoreError):
        change(transport)
    assert (transport.practice, transport.rung, transport.run.takes, transport.playback.sounding) == before
    played(transport)
    played(transport)
    assert (transport.rung, percents(transport)) == (3, 90)


def test_what_is_heard_once_is_not_taken_over(transport):
    transport.play([Take(TUNE, PHRASE)])
    transport.take([Take(TUNE, Span.of_measures(1, 1))])
    assert transport.playback.changes == 0


def test_the_count_in_is_told_word_by_word_and_only_that(transport):
    transport.set(count_in=2)
    transport.play([Take(TUNE, None)])  # three beats of the pickup's measure are counted, and one measure before
    told = []
    for beat in range(8):
        transport.playback.at_s = 0.6 * beat + 0.01
        told.append(transport.counted())
    assert told == ["1", "1 2", "1 2 3", "1 2 3 4", "1", "1 2", "1 2 3", ""]


def test_a_pre_roll_leads_in_once_or_before_every_turn():
    once = performed([Take(TUNE, PHRASE)], Practice(pre_roll=PreRoll.parse("1m")), 100, lead=True)
    assert once.lead_s == pytest.approx(2.4)
    assert [mark.place.measure for mark in once.marks if mark.time_s < once.lead_s] == [1] * 4
    again = performed(
        [Take(TUNE, PHRASE)], Practice(pre_roll=PreRoll.parse("2 beats every turn")), 100, lead=False
    )
    assert again.lead_s == 0
    assert again.marks[0].place == Place(1, Fraction(2))
    assert again.duration_s == pytest.approx(0.6 * 10)


def test_the_count_in_comes_before_the_pre_roll():
    practice = Practice(pre_roll=PreRoll.parse("1m"), count_in=1)
    performance = performed([Take(TUNE, PHRASE)], practice, 100, lead=True)
    clicks = [pluck.start_s for pluck in performance.plucks if pluck.part is Part.CLICK]
    assert clicks == pytest.approx([0, 0.6, 1.2, 1.8])
    assert performance.lead_s == pytest.approx(4.8)
    assert performed([Take(TUNE, PHRASE)], practice, 100, lead=False).duration_s == pytest.approx(4.8)


@pytest.mark.parametrize(
    ("text", "place", "start"),
    [
        ("1m", Place(2), Place(1)),
        ("1m", Place(2, Fraction(2)), Place(1, Fraction(2))),
        ("9m", Place(2), Place(0)),
        ("1b", Place(1), Place(0)),  # the pickup is one beat
        ("2b", Place(1), Place(0)),
        ("1b", Place(2), Place(1, Fraction(3))),
        ("5b", Place(2), Place(0)),
        ("1b", Place(2, Fraction(1, 2)), Place(2)),
    ],
)
def test_where_a_pre_roll_begins(text, place, start):
    assert PreRoll.parse(text).start(TUNE, place) == start


def test_two_takes_are_one_turn():
    b = score("2 1.5,2 1.7", "1 2.0", tempo=Tempo(100.0))
    both = performed(
        [Take(TUNE, Span.of_measures(1, 1)), Take(b, Span.of_measures(0, 0))], Practice(), 100, lead=True
    )
    assert [(pluck.pitch, round(pluck.start_s, 6)) for pluck in both.plucks] == [
        (78, 0), (79, 1.2), (81, 2.4), (83, 3.6),
    ]  # fmt: skip
    times = [message.time_s for message in both.messages]
    assert times == sorted(times)
    assert both.duration_s == pytest.approx(4.8)


def test_who_is_heard():
    chords = score(measure("1 1.0", chords=(ChordMark(offset=Fraction(0), symbol="G"),)))
    heard = {
        parts: {pluck.part for pluck in performed([Take(chords)], Practice(parts=parts), 100, lead=True).plucks}
        for parts in ("solo", "chords", "both")
    }
    assert heard["solo"] == {Part.SOLO}
    assert Part.SOLO not in heard["chords"]
    assert heard["both"] == heard["solo"] | heard["chords"]


@pytest.mark.parametrize(
    ("span", "name"),
    [
        (Span.of_measures(1, 1), "1"),
        (Span.of_measures(1, 3), "1-3"),
        (None, "0-4"),
        (Span(Place(1, Fraction(1)), Place(2, Fraction(1, 2))), "1.2-2.1&"),
        (Span(Place(1, Fraction(1)), Place(2)), "1.2-2.1"),
        (Span(Place(1), Place(2, Fraction(4))), "1-2"),
    ],
)
def test_a_passage_has_a_name(span, name):
    assert passage(Take(TUNE, span))[2] == name
