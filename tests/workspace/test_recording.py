"""Commands on the recording and on what is heard in it, on a session whose player counts when it is told to."""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass, field
from fractions import Fraction

import pytest

from tabterm.formats import native
from tabterm.harmony.progression import sounding_chords
from tabterm.page.rows import CHORD, COURSE, SOURCE
from tabterm.piece import proposing, recorded
from tabterm.piece.practice import Practice
from tabterm.recording.ear import HeardNote, Way
from tabterm.score import operations as do
from tabterm.score.kinds import Reached
from tabterm.score.place import Place
from tabterm.score.record_mix import Side
from tabterm.workspace import commands  # noqa: F401 - importing commands fills the registry
from tabterm.workspace.cursor import sentence
from tabterm.workspace.document import Document
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, music, text
from tests.recording.solo import heard
from tests.sound.test_record import ticks, tone
from tests.workspace.test_transport import Slow, played

BEATS_S = [0.5 + 0.5 * n + 0.002 * n * n for n in range(25)]
"""Six measures that slow down, from 120 to about 100 beats a minute."""


WIDTH = 80
"""Cells of the smallest screen: a message is one line."""


@dataclass
class Host:
    """A host that works and answers at once, and remembers what it was told."""

    said: list[str] = field(default_factory=list)
    panels: list[str] = field(default_factory=list)
    choices: tuple[str, ...] = ()
    asked: str = ""

    def say(self, text, **_how):
        assert len(re.sub(r"/\S+/", "", text)) <= WIDTH, text  # whatever folder a file lies in
        self.said.append(text)

    def open_panel(self, name):
        self.panels.append(name)

    def ask(self, question, _suggestion, _answer, choices=()):
        self.asked, self.choices = question, tuple(choices)

    def soon(self, action):
        action()

    def work(self, job):
        self.say(job(lambda _: None))

    def redraw(self):
        pass


@pytest.fixture
def session(tmp_path):
    ticks(tmp_path / "kiln.wav", BEATS_S[:-1], BEATS_S[-1] + 1)
    path = tmp_path / "kiln.tabterm"
    document = Document.open(path, PLAYER, blank=lambda: music("1 | 1"))
    document.save()
    yield Session(document, Host(), Transport(playback=Slow(), practice=Practice()))
    document.close(keep_draft=False)


def run(session, *names):
    for name in names:
        command, _, word = name.partition(" ")
        session.run(REGISTRY[command], word if REGISTRY[command].takes_word else None)


def tie(session):
    run(session, "record kiln.wav", "find-beats 110", "accept-beats")


def again(session, name="kiln.tabterm"):
    document = Document.open(session.document.path.with_name(name), PLAYER, blank=lambda: None)
    return Session(document, Host(), Transport(playback=Slow()))


# Opened and tied


def test_a_recording_is_opened_and_kept_for_the_next_time(session):
    run(session, "record kiln.wav")
    assert session.host.panels == ["recording"]
    assert "Own use" in session.host.said[-1]
    other = again(session)
    assert other.recording.path == session.document.path.parent / "kiln.wav"
    other.document.close(keep_draft=False)


def test_nothing_is_heard_before_one_is_open(session):
    run(session, "hear-record")
    assert session.host.said[-1].startswith("no recording is open")
    run(session, "record kiln.wav", "hear-record")
    assert "not tied to it yet" in session.host.said[-1]
    run(session, "record nothing.wav")
    assert "nothing.wav" in session.host.said[-1]


def test_what_is_no_recording_is_refused_in_one_line(session):
    (session.document.path.parent / "text.wav").write_text("not sound")
    run(session, "record text.wav")
    assert "not an audio file" in session.host.said[-1]
    assert "\n" not in session.host.said[-1]
    assert session.recording.kept is None


def test_beats_that_were_found_tie_the_measures_and_add_those_that_lack(session):
    tie(session)
    assert len(session.score.measures) >= 6
    lines = [session.recording.line.at(Place(index)) for index in range(6)]
    assert lines == pytest.approx(BEATS_S[:-1:4], abs=0.02)
    assert session.score.tempos[0].per_minute == pytest.approx(110, abs=6)


def test_tapped_beats_are_taken_as_they_are(session):
    run(session, "record kiln.wav", "tap-beat")
    assert "not playing" in session.host.said[-1]
    run(session, "listen")
    for beat in BEATS_S[:9]:
        session.transport.playback.at_s = beat + 0.01
        run(session, "tap-beat")
    assert "9 beats tapped" in session.host.said[-1]
    run(session, "beats-as-tapped")
    line = session.recording.line
    assert [line.at(Place(index)) for index in range(3)] == pytest.approx([b + 0.01 for b in BEATS_S[:9:4]])


def test_taps_tell_the_finder_the_tempo_and_where_a_measure_begins(session):
    run(session, "record kiln.wav", "listen")
    for beat in BEATS_S[4:9]:
        session.transport.playback.at_s = beat + 0.02
        run(session, "tap-beat")
    run(session, "find-beats ", "accept-beats")
    line = session.recording.line
    assert line.at(Place(0)) == pytest.approx(BEATS_S[4], abs=0.03)


def test_a_recording_is_sent_ahead_when_it_is_opened_marked_and_tied(session):
    playback = session.transport.playback
    run(session, "record kiln.wav")
    path = session.document.path.with_name("kiln.wav")
    assert playback.ahead[:2] == (str(path), session.recording.kept.fingerprint)
    assert playback.ahead[2:] == (0.0, pytest.approx(BEATS_S[-1] + 1))
    session.recording.at_s = 5.5
    run(session, "solo-end")
    assert playback.ahead[2:] == (0.0, 5.5)
    session.recording.change(part=None)
    tie(session)
    assert playback.ahead[2] == pytest.approx(BEATS_S[0], abs=0.1)
    assert BEATS_S[-2] < playback.ahead[3] < BEATS_S[-1] + 4  # to the end of the last measure


def test_a_bar_line_is_pulled_and_put_back(session):
    tie(session)
    before = session.recording.line.at(Place(2))
    session.recording.at_s = before + 0.1
    run(session, "bar-here 3")
    assert session.recording.line.at(Place(2)) == pytest.approx(before + 0.1)
    other = recorded.read(session.document.path)
    assert any(anchor.held for anchor in other.time_map.anchors)
    run(session, "undo-bars")
    assert session.recording.line.at(Place(2)) == pytest.approx(before)
    run(session, "bar-here x")
    assert session.host.said[-1].startswith("not a measure")


def test_measures_put_in_and_taken_back_leave_the_map_as_it_was(session):
    tie(session)
    before = session.recording.time_map
    session.here.go(Place(1))
    run(session, "digit 3", "delete-measures")
    assert session.recording.time_map != before
    run(session, "undo")
    assert session.recording.time_map == before


def test_the_solo_is_marked(session):
    run(session, "record kiln.wav")
    session.recording.at_s = 2.0
    run(session, "solo-start")
    session.recording.at_s = 5.5
    run(session, "solo-end")
    assert session.recording.part == (2.0, 5.5)
    assert recorded.read(session.document.path).part == (2.0, 5.5)


# Heard


def test_the_record_of_the_measure_at_the_cursor_is_heard_at_the_practice_tempo(session):
    tie(session)
    session.here.go(Place(2))
    run(session, "hear-record", "speed 50", "play")
    performance = session.transport.playback.sounding
    (passage,) = performance.record.passages
    assert (passage.from_s, passage.to_s) == pytest.approx((BEATS_S[8], BEATS_S[12]), abs=0.02)
    assert performance.record.speed == 0.5
    assert performance.duration_s == pytest.approx(2 * (BEATS_S[12] - BEATS_S[8]), abs=0.08)
    assert not performance.plucks
    run(session, "click")
    assert len(session.transport.playback.sounding.plucks) == 4


def test_tab_record_and_both_are_gone_through(session):
    tie(session)
    run(session, "loop", "select-measure", "play", "hear-record", "hear-record")
    assert session.transport.playback.sounding.record.apart
    assert session.transport.playback.changes == 2
    run(session, "hear-record")
    assert session.transport.playback.sounding.record is None
    assert session.host.said[-1] == "hearing the tab"


def test_the_record_climbs_the_ladder_and_is_led_in_to(session):
    tie(session)
    session.here.go(Place(2))
    run(session, "hear-record", "ladder 50:100:25x2", "pre-roll 1m", "count-in", "select-measure", "play")
    playback, lead_in = session.transport.playback, session.transport.playback.sounding
    assert lead_in.record.speed == 0.5
    assert lead_in.record.passages[0].from_s == pytest.approx(BEATS_S[4], abs=0.02)
    clicks = [pluck.start_s for pluck in lead_in.plucks]
    assert len(clicks) == 4  # counted in at the tempo of the record
    assert clicks[1] == pytest.approx(2 * (BEATS_S[8] - BEATS_S[4]) / 4, abs=0.02)
    played(session.transport, 2)
    assert playback.sounding.record.speed == 0.75


def test_loops_of_the_record_go_into_the_log(session, monkeypatch):
    tie(session)
    run(session, "loop", "hear-record", "select-measure", "play")
    session.transport.playback.go_on(3)
    session.transport.look()
    session.transport.run.begun_s -= 60
    run(session, "stop")
    (entry,) = session.rehearsal.entries()
    assert (entry.turns, entry.first_measure) == (3, 1)


def test_a_record_that_is_tuned_high_is_heard_in_tune(session):
    tie(session)
    run(session, "record-tuning 30", "record-pitch -2", "hear-record", "play")
    assert session.transport.playback.sounding.record.semitones == pytest.approx(-2.3)
    assert recorded.read(session.document.path).tuning_cents == 30
    run(session, "record-tuning loud")
    assert session.host.said[-1].startswith("not a number")


def test_the_tuning_is_estimated_where_none_is_said(session):
    tone(session.document.path.parent / "high.wav", hz=440 * 2 ** (23 / 1200))
    run(session, "record high.wav", "record-tuning ")
    assert session.recording.kept.tuning_cents == pytest.approx(23, abs=2)
    run(session, "record-tuning 0")
    assert session.recording.kept.tuning_cents is None


def test_side_balance_and_register_are_changed_while_it_plays_and_kept(session):
    tie(session)
    run(session, "hear-record", "loop", "select-measure", "play", "record-side", "record-side", "record-side")
    playback = session.transport.playback
    assert playback.sounding.record.mix.side is Side.CENTRE
    assert session.host.said[-1] == "hearing the centre of the recording"
    run(session, "record-left", "record-left", "solo-register")
    assert playback.sounding.record.mix.balance == -40
    low, high = playback.sounding.record.mix.register
    assert low == 196  # G3, the open fourth course (equal temperament at A4 = 440 Hz)
    assert high > 2 * 1318  # E6, the twelfth fret of the first course, and the octave over it
    run(session, "stop", "listen")
    assert playback.sounding.record.mix.side is Side.CENTRE
    run(session, "stop", "record-mix sides 100-900", "play", "stop")
    other = again(session)
    run(other, "last-loop")
    assert str(other.transport.playback.sounding.record.mix) == "sides 100-900"
    run(other, "record-mix loud")
    assert other.host.said[-1].startswith("not a way to hear a recording")
    run(other, "record-mix ")
    assert str(other.transport.practice.mix) == "both"
    other.document.close(keep_draft=False)


def test_below_a_quarter_of_its_speed_only_the_tab_is_heard(session):
    tie(session)
    run(session, "hear-record", "speed 20", "play")
    assert "25 to 200" in session.host.said[-1]
    assert not session.transport.playing


def test_the_file_is_never_written_to(session):
    path = session.document.path.parent / "kiln.wav"
    path.chmod(0o400)
    before = path.read_bytes(), path.stat().st_mtime_ns
    tie(session)
    run(session, "hear-record", "play", "stop", "listen", "stop")
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


# Proposed


TUNE = [(0, 67), (1, 71), (2, 74), (2.5, 76), (3, 74), (4, 79), (6, 78), (7, 79)]
"""(quarters, pitch) of two measures."""


@pytest.fixture
def proposed(session, monkeypatch):
    """What an ear would tell of the tune: each note 10 ms late, the last one unsure."""
    tie(session)
    at = session.recording.line.at

    def heard_in(_path, start_s, end_s, progress=None, cents=None):
        ends = [quarters for quarters, _ in TUNE[1:]] + [8]
        found = []
        for (quarters, pitch), end in zip(TUNE, ends, strict=True):
            begin_s, end_s = (at(Place(int(q // 4), Fraction(q) % 4)) for q in (quarters, end))
            sure = 0.55 if quarters == 7 else 0.97
            found.append(HeardNote(begin_s + 0.01, end_s, pitch, sure, (pitch - 12, pitch + 12, pitch + 7)))
        return tuple(found)

    monkeypatch.setattr(proposing, "heard_in", heard_in)
    session.here.go(Place(0))
    run(session, "select-measure", "select-measure", "propose")
    session.here.anchor = None
    return session


def test_what_is_heard_is_proposed_and_nothing_is_set(proposed):
    score = proposed.score
    assert "8 notes proposed" in proposed.host.said[-1]
    assert [event.pitches for event in score.measures[0].source] == [(67,), (71,), (74,), (76,), (74,)]
    assert score.measures[1].source[-1].proposed[0].sure == 55
    assert all(event.is_rest for measure in score.measures for event in measure.events)


def test_one_key_takes_a_note_and_goes_on(proposed):
    run(proposed, "score-start", "drop", "next-heard")
    run(proposed, "score-start", "row source", "take-heard")
    assert heard(proposed.score) == [(0, 67)]
    assert proposed.here.cursor.row is SOURCE
    assert proposed.here.cursor.place == Place(0, Fraction(1))
    assert proposed.host.said[-1].startswith("B4, 97% sure")
    run(proposed, "undo")
    assert heard(proposed.score) == []
    assert proposed.score.measures[0].source[0].proposed


def test_a_measure_and_all_are_taken_as_one_change(proposed):
    run(proposed, "score-start", "take-heard-measure")
    assert heard(proposed.score) == [(Fraction(q), pitch) for q, pitch in TUNE[:5]]
    run(proposed, "take-all-heard")
    assert heard(proposed.score) == [(Fraction(q), pitch) for q, pitch in TUNE]
    assert not proposed.shown.proposals
    assert proposed.here.cursor.row is COURSE
    assert {note.finger for m in proposed.score.measures for e in m.events for note in e.notes} == {None}
    assert text(proposed.score).startswith("4 ")


def test_what_was_taken_note_by_note_is_what_was_taken_at_once(proposed):
    run(proposed, "score-start", "row source", *["take-heard"] * 8)
    one = heard(proposed.score)
    run(proposed, *["undo"] * 8, "take-all-heard")
    assert heard(proposed.score) == one == [(Fraction(q), pitch) for q, pitch in TUNE]


def test_an_unsure_note_lists_what_it_could_be_and_is_heard_against_the_record(proposed):
    proposed.here.go(Place(1, Fraction(3)))
    proposed.here.cursor = proposed.here.cursor.on(SOURCE)
    proposed.run(REGISTRY["other-heard"])
    assert [choice.split()[0] for choice in proposed.host.choices] == ["G5", "G4", "G6"]
    assert "fret 3 on E" in proposed.host.choices[0]
    assert "fret 5 on D" in proposed.host.choices[1]
    alone = proposed.transport.playback.sounding
    assert [pluck.pitch for pluck in alone.plucks] == [79, 67, 91]
    assert len(alone.record.passages) == 3
    run(proposed, f"other-heard {proposed.host.choices[1]}", "take-heard")
    assert (7, 67) in heard(proposed.score)


def test_a_bass_note_among_many_does_not_move_the_whole_by_an_octave(proposed):
    """The neck begins at G3; a D3 that was heard is played as D4, and everything else where it was heard."""
    run(proposed, "score-start", "row source", "other-heard D3", "take-all-heard")
    assert heard(proposed.score) == [(0, 62), *((Fraction(q), pitch) for q, pitch in TUNE[1:])]


def test_an_original_that_is_replaced_is_told_of(proposed):
    proposed.document.notices.clear()
    run(proposed, "score-start", "select-measure", "propose")
    assert "replaced the source row in 1 measures" in proposed.document.notices[-1]


def test_what_is_left_out_is_gone(proposed):
    run(proposed, "score-start", "row source", "drop-heard", "take-all-heard")
    assert heard(proposed.score) == [(Fraction(q), pitch) for q, pitch in TUNE[1:]]


def test_proposals_outlast_the_editor(proposed):
    proposed.document.save()
    shutil.copy(proposed.document.path, proposed.document.path.with_name("other.tabterm"))
    other = again(proposed, "other.tabterm")
    assert other.shown.proposals
    run(other, "take-all-heard")
    assert heard(other.score) == [(Fraction(q), pitch) for q, pitch in TUNE]
    other.document.close(keep_draft=False)


def test_the_source_row_is_passed_by_where_nothing_is_proposed(session):
    assert SOURCE not in session.shown.rows
    run(session, "take-heard")
    assert "nothing is proposed here" in session.host.said[-1]


def test_listening_can_be_stopped(proposed, monkeypatch):
    def stopping(_path, _start_s, _end_s, progress, cents=None):
        run(proposed, "stop-listening")
        assert not progress(0.5)
        return ()

    monkeypatch.setattr(proposing, "heard_in", stopping)
    before = proposed.score
    run(proposed, "propose")
    assert proposed.host.said[-1].startswith("stopped listening")
    assert proposed.score is before


def test_what_seems_slurred_or_bent_is_proposed_so(proposed, monkeypatch):
    """A note without an attack behind a lower one is a hammer-on; it stays a proposal until it is taken."""
    plain = proposing.heard_in

    def heard_in(*words, **more):
        ways = {74: {"way": Way.SLURRED}, 78: {"bend_cents": 50}}
        return tuple(note._replace(**ways.get(note.pitch, {})) for note in plain(*words, **more))

    monkeypatch.setattr(proposing, "heard_in", heard_in)
    run(proposed, "score-start", "select-measure", "select-measure", "propose")
    proposed.here.anchor = None
    first, second = (measure.source for measure in proposed.score.measures[:2])
    assert [first[index].marks.notes[0].reached for index in (2, 4)] == [Reached.HAMMER, Reached.PULL]
    assert second[1].marks.notes[0].bend.cents == 50
    assert all(event.is_rest for measure in proposed.score.measures for event in measure.events)
    run(proposed, "take-all-heard")
    assert heard(proposed.score) == [(Fraction(q), pitch) for q, pitch in TUNE]
    (third,) = proposed.score.measures[0].events[2].notes
    assert third.reached is Reached.HAMMER


def test_what_leads_into_the_first_bar_line_is_proposed_in_a_pickup(session, monkeypatch):
    """Two eighths before the first downbeat, which lies a beat into the solo; what comes long before is none."""
    run(session, "record kiln.wav", "find-beats 110")
    session.recording.at_s = BEATS_S[4]
    run(session, "first-beat", "accept-beats")
    line = session.recording.line
    moments = [(-4.5, 62), (-1, 71), (-0.5, 72), (0, 74), (1, 76), (2, 79), (4, 74)]
    at = [line.at(Place(0)) + quarters * line.quarter_s(Place(0)) for quarters, _ in moments]
    found = tuple(HeardNote(s, s + 0.2, pitch, 0.9, ()) for s, (_, pitch) in zip(at, moments, strict=True))
    monkeypatch.setattr(proposing, "heard_in", lambda *_, **__: found)
    before = [session.recording.line.at(Place(index)) for index in range(3)]
    run(session, "propose")
    first, second = session.score.measures[:2]
    assert (first.short, first.length) == (True, 1)
    assert [event.pitches for event in first.source] == [(71,), (72,)]
    assert second.source[0].pitches == (74,)
    assert [session.recording.line.at(Place(index + 1)) for index in range(3)] == pytest.approx(before)
    assert session.host.said[-1].startswith("6 notes proposed")
    run(session, "take-all-heard")
    assert session.host.said[-1] == "6 notes accepted"
    assert [pitch for _, pitch in heard(session.score)] == [71, 72, 74, 76, 79, 74]


def test_the_key_of_a_new_score_is_offered_by_its_notes(proposed):
    """All notes of the tune lie in G, and none in C alone: F sharp tells."""
    assert proposed.host.said[-1].endswith("likely key: G")
    assert str(proposed.score.head.key) == "C"
    run(proposed, "score-start")
    assert REGISTRY["key"].suggests(proposed) == "G"
    run(proposed, "key G")
    assert str(proposed.score.keys[0]) == "G"
    assert proposed.proposals.key is None
    run(proposed, "score-start", "key D", "select-measure", "select-measure", "propose")
    assert "offers" not in proposed.host.said[-1]


def test_as_many_are_taken_as_were_proposed_or_it_is_said_why(session, monkeypatch):
    """Of two notes that have only the lowest course the hand holds one."""
    tie(session)
    at = session.recording.line.at
    pairs = ((0, 67), (0, 71), (1, 55), (1, 57), (2, 74))
    found = tuple(
        HeardNote(at(Place(0, Fraction(q))), at(Place(0, Fraction(q))) + 0.3, p, 0.9, ()) for q, p in pairs
    )
    monkeypatch.setattr(proposing, "heard_in", lambda *_, **__: found)
    session.here.go(Place(0))
    run(session, "select-measure", "propose")
    session.here.anchor = None
    assert session.host.said[-1].startswith("5 notes proposed")
    run(session, "take-all-heard")
    count = len(heard(session.score))
    assert count == 4
    assert session.host.said[-1] == "4 notes accepted; 1 left out: one hand cannot hold them all"


@pytest.fixture
def chords(session, monkeypatch):
    """What an ear would tell of a band over three measures, in the first of which the player has put a chord."""
    tie(session)
    run(session, "score-start", "chord D")
    found = {Place(0): ("G", 91), Place(1): ("C", 64), Place(1, Fraction(2)): ("D7", 48), Place(2): ("G", 88)}
    monkeypatch.setattr(proposing, "chords_in", lambda *_, **__: found)
    run(session, "hear-chords")
    return session


def symbols(score):
    """The chords that are set, by measure."""
    return [[mark.symbol for mark in measure.chords] for measure in score.measures[:3]]


def test_chords_that_are_heard_are_proposed_where_none_stand_and_nothing_is_set(chords):
    assert symbols(chords.score) == [["D"], [], []]
    heard_there = [[(mark.symbol, mark.sure) for mark in m.heard_chords] for m in chords.score.measures[:3]]
    assert heard_there == [[], [("C", 64), ("D7", 48)], [("G", 88)]]
    assert "3 chords proposed" in chords.host.said[-1]
    chords.here.go(Place(1))
    assert "chord C proposed, 64% sure" in sentence(chords)
    run(chords, "undo")
    assert not any(measure.heard_chords for measure in chords.score.measures)


def test_one_key_takes_a_chord_and_goes_on_to_the_next(chords):
    run(chords, "row chord", "next-heard")
    assert (chords.here.cursor.place, chords.host.said[-1]) == (Place(1), "C, 64% sure")
    run(chords, "take-heard")
    assert (chords.here.cursor.place, chords.host.said[-1]) == (Place(1, Fraction(2)), "D7, 48% sure")
    assert chords.here.cursor.row is CHORD
    assert symbols(chords.score) == [["D"], ["C"], []]
    run(chords, "drop-heard", "take-all-heard")
    assert symbols(chords.score) == [["D"], ["C"], ["G"]]
    assert not any(measure.heard_chords for measure in chords.score.measures)
    run(chords, "undo", "undo", "undo")
    assert [len(measure.heard_chords) for measure in chords.score.measures[:3]] == [0, 2, 1]


def test_the_chords_of_a_measure_are_taken_and_another_is_typed_in_place_of_one(chords):
    chords.here.go(Place(1, Fraction(2)))
    run(chords, "row chord", "take-heard-measure")
    assert symbols(chords.score) == [["D"], ["C", "D7"], []]
    chords.here.go(Place(2))
    run(chords, "chord Em")
    assert symbols(chords.score)[2] == ["Em"]
    assert not chords.score.measures[2].heard_chords
    run(chords, "undo", "delete")
    assert not chords.score.measures[2].heard_chords
    assert symbols(chords.score)[2] == []


def test_enter_plays_on_from_the_chord_row_where_no_chord_is_proposed(session):
    tie(session)
    run(session, "score-start", "row chord", "take-heard")
    assert session.transport.playing
    run(session, "take-heard")
    assert not session.transport.playing
    run(session, "take-all-heard")
    assert session.host.said[-1].startswith("nothing is proposed here")


def test_chords_that_are_proposed_are_neither_played_nor_analysed_and_outlast_the_file(chords):
    run(chords, "select-measure", "parts")
    chords.here.go(Place(1))
    assert list(sounding_chords(chords.score))[-1].symbol == "D"
    chords.document.save()
    kept = native.read(native.write(chords.score))
    assert kept == chords.score
    assert b'"heard_chords"' not in native.write(do.drop_chords(kept, list(do.pending_chords(kept))))


def test_no_chord_is_proposed_where_no_band_is_heard_or_all_have_chords(session, monkeypatch):
    tie(session)
    monkeypatch.setattr(proposing, "chords_in", lambda *_, **__: {})
    run(session, "hear-chords")
    assert session.host.said[-1] == "no accompaniment heard there"
    run(session, "score-start", "chord D")
    monkeypatch.setattr(proposing, "chords_in", lambda *_, **__: {Place(0): ("G", 91)})
    run(session, "hear-chords")
    assert session.host.said[-1].startswith("these measures already have chords")
