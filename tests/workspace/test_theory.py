"""Commands on what the music is made of."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tabterm.errors import ScoreError
from tabterm.score.key import Key
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tabterm.workspace.commands import theory
from tabterm.workspace.cursor import Cursor
from tabterm.workspace.document import Document
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, measure, music, score, text

LINE = "4 3.5,4 2.2,4 2.5,4 2.2 | 4 2.0,4 3.4,4 2.0,4 2.3 | 2 2.2,2 3.5"


@pytest.fixture
def session_on(tmp_path):
    """Opens a session on a score; closed at the end."""
    opened = []

    def open_one(score):
        opened.append(Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: score))
        said = []
        host = SimpleNamespace(say=lambda words, **_: said.append(words), said=said)
        session = Session(opened[-1], host=host, transport=Transport())
        session.here.cursor = Cursor(place=Place(0))
        return session

    yield open_one
    for document in opened:
        document.close(keep_draft=False)


def test_a_phrase_is_explained_in_a_remark_behind_what_it_says_already(session_on):
    score = music(LINE, key=Key.parse("G"))
    first = score.measures[0].with_(remark="Slowly")
    session = session_on(score.with_(measures=(first, *score.measures[1:])))
    theory.explain(session)
    words = session.score.measures[0].remark
    assert words.startswith("Slowly. The notes are from G major")
    assert words.endswith("The rhythm is quarters.")
    assert len(words) <= 500
    with pytest.raises(ScoreError, match="the remarks already explain this"):
        theory.explain(session)


def test_a_remark_that_is_full_stays_as_it_is(session_on):
    score = music(LINE, key=Key.parse("G"))
    full = score.measures[0].with_(remark="x" * 500)
    session = session_on(score.with_(measures=(full, *score.measures[1:])))
    with pytest.raises(ScoreError, match="or are full"):
        theory.explain(session)
    assert session.score.measures[0].remark == "x" * 500


def test_what_a_phrase_cannot_be_found_for_is_said(session_on):
    session = session_on(music("1 | 1"))
    with pytest.raises(ScoreError, match=r"^no notes in this phrase"):
        theory.explain(session)
    session.here.cursor = Cursor(place=Place(2))
    with pytest.raises(ScoreError, match="past the last measure"):
        theory.explain(session)


def test_a_chord_is_chosen_from_those_that_fit(session_on):
    session = session_on(music(LINE, key=Key.parse("G")))
    session.here.cursor = Cursor(place=Place(1))
    first, *_ = REGISTRY["propose-chord"].choices(session)
    assert first == "D7  V7: has F# A C: 100% of the measure, leads to G"
    theory.propose_chord(session, first)
    assert [mark.symbol for mark in session.score.measures[1].chords] == ["D7"]


def test_chords_are_written_over_measures_that_have_none(session_on):
    session = session_on(music(f"{LINE} | 1 3.5 | 1", key=Key.parse("G")))
    session.here.cursor = Cursor(place=Place(1))
    theory.propose_chord(session, "D")
    theory.propose_chords(session)
    symbols = [[mark.symbol for mark in measure.chords] for measure in session.score.measures]
    assert symbols == [["G"], ["D"], ["G"], [], []]
    with pytest.raises(ScoreError, match="every measure here has a chord"):
        theory.propose_chords(session)


def test_a_melody_is_harmonised_here_and_in_the_selection(session_on):
    session = session_on(music("4 2.2,4 2.3,4 4.0,4 2.5", key=Key.parse("G")))
    theory.harmonise(session, "thirds below")
    assert text(session.score) == "4 2.2 3.5, 4 2.3, 4 4.0, 4 2.5"
    session.here.anchor, session.here.cursor = Place(0), Cursor(place=Place(0, 3))
    theory.harmonise(session, "sixths")
    assert text(session.score) == "4 2.2 3.5, 4 2.3 3.2, 4 4.0, 4 2.5 3.4"
    assert session.host.said[-1].endswith("; 1 note left alone")
    with pytest.raises(ScoreError, match="cannot harmonise with 'tenths'"):
        theory.harmonise(session, "tenths")
    session.here.anchor, session.here.cursor = None, Cursor(place=Place(0, 2))
    with pytest.raises(ScoreError, match="no second note is within reach here"):
        theory.harmonise(session, "thirds below")


def test_a_double_stop_moves_along_the_scale_and_by_frets(session_on):
    """Common practice, no source: the sixth of D two frets down over D7 is that of C, second and seventh."""
    chords = (ChordMark(offset="0", symbol="D7"),)
    session = session_on(score(measure("2 1.10.2 2.9.1,2 2.0", chords=chords), key=Key.parse("G")))
    theory.dyad_frets(session, "-2")
    assert text(session.score) == "2 1.8 2.7, 2 2.0"
    assert session.host.said[-1].endswith("; 2-b7 of D7 now, as of C7")
    theory.dyad_along(session, "1")
    assert text(session.score) == "2 1.10 2.9, 2 2.0"
    for word, trouble in (("x", "not a number: 'x'"), ("-12", "leave the neck")):
        with pytest.raises(ScoreError, match=trouble):
            theory.dyad_frets(session, word)
    session.here.cursor = Cursor(place=Place(0, 2))
    with pytest.raises(ScoreError, match="not a double stop"):
        theory.dyad_along(session, "1")
