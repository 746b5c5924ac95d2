"""The adviser: newest score only, never an old answer on a new score, and no fault gets out."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from tabterm.hand.player import Player
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.operations import put_note
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile
from tabterm.workspace.adviser import Adviser, advise
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score
from tests.typist import Listening

TUNE = score("8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5")


class Listener:
    def __init__(self):
        self.answers, self.offers, self.faults, self.came = [], [], 0, threading.Condition()

    def answer(self, advice):
        with self.came:
            self.answers.append(advice)
            self.came.notify_all()

    def offer(self, built, finding, remedies):
        with self.came:
            self.offers.append((built, finding, remedies))
            self.came.notify_all()

    def failed(self):
        with self.came:
            self.faults += 1
            self.came.notify_all()

    def wait_for(self, holds):
        with self.came:
            assert self.came.wait_for(holds, timeout=20)


@pytest.fixture
def listening():
    listener = Listener()
    adviser = Adviser(listener.answer, listener.offer, listener.failed)
    yield adviser, listener
    adviser.close()


def test_the_fingering_comes_first_and_then_the_findings(listening):
    adviser, listener = listening
    adviser.ask(TUNE, PLAYER)
    listener.wait_for(lambda: len(listener.answers) == 2)
    first, second = listener.answers
    assert first.asked is TUNE
    assert first.findings is None
    assert [e.notes[0].proposed_finger for e in first.score.measures[0].events][1:4] == [1, 2, 3]
    assert second.asked is first.score
    assert second.findings == ()
    for each in (first, second):
        assert set(each.levels[0]) == set(TUNE.measures[0].onsets)


def test_what_is_under_way_waits_while_a_key_is_carried_out(listening, monkeypatch):
    adviser, listener = listening
    monkeypatch.setattr("tabterm.workspace.adviser.HELD_S", 1.0)
    adviser.hold()
    before = time.monotonic()
    adviser.ask(score("4 1.2,4 1.3,2", "1 1.5"), PLAYER)
    listener.wait_for(lambda: listener.answers)
    assert time.monotonic() - before > 0.9


def test_only_the_newest_score_is_answered_in_the_end(listening):
    adviser, listener = listening
    built = TUNE
    for fret in range(1, 12):
        built = put_note(built, Place(0), Note(course=3, fret=fret), EIGHTH)
        adviser.ask(built, PLAYER)
    listener.wait_for(lambda: listener.answers and listener.answers[-1].findings is not None)
    time.sleep(0.1)
    assert listener.answers[-1].score.measures[0].events[0].notes[0].fret == 11


def test_an_old_answer_never_gets_on_a_new_score(tmp_path):
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: TUNE)
    try:
        old = advise(document.score, PLAYER)
        document.apply(put_note(document.score, Place(0), Note(course=3, fret=7), EIGHTH), "write")
        edited = document.score
        assert document.annotate(old.asked, old.score) is None
        assert document.score is edited
        new = advise(edited, PLAYER)
        assert document.annotate(new.asked, new.score) is not None
        assert document.score is new.score
        assert document.unsaved
        document.undo()
        assert document.score.measures[0].events[0].notes[0].fret == 0
    finally:
        document.close(keep_draft=False)


def test_proposals_are_no_change_of_the_player_s(tmp_path):
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: TUNE)
    try:
        advice = advise(document.score, PLAYER)
        document.annotate(advice.asked, advice.score)
        assert not document.unsaved
        assert document.undo() is None
    finally:
        document.close(keep_draft=False)


def test_levels_of_a_measure_that_has_changed_are_not_shown():
    built = score("4 3.0,4 3.2,2 3.4", "4 2.0,4 2.2,2 2.3")
    document = Document(Path("a.tabterm"), built, PLAYER)
    session = Session(document, Listening(), Transport())
    assert session.hand.levels(0) == {}
    session.take_advice(advise(session.score, PLAYER))
    assert set(session.hand.levels(0)) == set(session.hand.levels(1)) == {0, 1, 2}
    session.edit(put_note(session.score, Place(0), Note(course=3, fret=7), EIGHTH), "write")
    assert session.hand.levels(0) == {}
    assert set(session.hand.levels(1)) == {0, 1, 2}
    session.take_advice(advise(session.score, PLAYER))
    assert max(session.hand.levels(0).values()) > max(session.hand.levels(1).values())


def test_what_was_found_for_a_player_is_not_told_of_another(tmp_path):
    """The editor's player changes when it has learnt."""
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: score("2 1.7 3.2,2 2.3"))
    try:
        session = Session(document, Listening(), Transport())
        old = advise(session.score, PLAYER)
        session.take_advice(old)
        assert session.hand.findings() == ()
        document.player = Player(hand=HandProfile(span_mm=120))
        assert session.hand.needs_advice
        assert session.hand.levels(0) == {}
        assert not session.take_advice(replace(old, asked=session.score))
        assert [finding.code for finding in session.hand.findings()] == ["reach"]
        assert session.hand.fingering().phrases[0].neck.hand.span_mm == 120
        document.player = PLAYER
        assert session.hand.findings() == ()
        assert not session.hand.needs_advice
    finally:
        document.close(keep_draft=False)


def test_remedies_are_tried_when_asked(listening):
    from tabterm.hand.review import findings

    adviser, listener = listening
    wrong = score("2 1.5,2 h1.3")
    (finding,) = findings(wrong, PLAYER)
    adviser.ask_remedies(wrong, PLAYER, finding)
    listener.wait_for(lambda: bool(listener.offers))
    _, of, remedies = listener.offers[0]
    assert of is finding
    assert remedies[0].label == "make it a pull-off"


def test_a_fault_stays_inside(listening, monkeypatch):
    adviser, listener = listening

    def broken(*_):
        raise RuntimeError("out of luck")

    monkeypatch.setattr("tabterm.workspace.adviser.advise", broken)
    adviser.ask(TUNE, PLAYER)
    listener.wait_for(lambda: listener.faults == 1)
    assert isinstance(adviser.take_fault(), RuntimeError)
    assert adviser.take_fault() is None
    monkeypatch.undo()
    adviser.ask(TUNE, PLAYER)
    listener.wait_for(lambda: bool(listener.answers))
