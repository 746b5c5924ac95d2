"""Commands on a note under the cursor: to another course, and mended by the first remedy."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.score.place import Place
from tabterm.workspace.commands import files, rhythm, selecting, trouble
from tabterm.workspace.cursor import Cursor
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score, text


@pytest.fixture
def session_on(tmp_path):
    """Opens a session on measures, the cursor on a course of the first event; closed at the end."""
    opened, said = [], []

    def open_one(*measures, course):
        opened.append(Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: score(*measures)))
        session = Session(opened[-1], host=SimpleNamespace(say=said.append), transport=Transport())
        session.here.cursor = Cursor(place=Place(0)).on(COURSE, course)
        return session

    yield open_one
    for document in opened:
        document.close(keep_draft=False)


def notes(session):
    return [
        (note.course, note.fret, note.reached.value)
        for event in session.score.measures[0].events
        for note in event.notes
    ]


def test_a_note_goes_one_course_up_and_down_at_the_same_pitch_and_the_cursor_with_it(session_on):
    session = session_on("1 3.9", course=3)
    selecting.to_higher_course(session)
    assert (notes(session), session.here.cursor.course) == ([(2, 2, "struck")], 2)
    selecting.to_lower_course(session)
    assert (notes(session), session.here.cursor.course) == ([(3, 9, "struck")], 3)


def test_the_first_remedy_is_the_one_that_mends(session_on):
    """A hammer-on downwards is made a pull-off; to strike it would be the second remedy."""
    session = session_on("2 1.5,2 h1.3", course=1)
    session.here.cursor = session.here.cursor.at(session.hand.findings()[0].place)
    trouble.remedy(session)
    assert notes(session) == [(1, 5, "struck"), (1, 3, "pull")]


def test_what_changes_the_music_is_not_done_by_a_key(session_on):
    """Strokes too fast for any hand: another tempo, or fewer strokes, are for the player to choose."""
    session = session_on("32 1.5 down,32 1.5 up,16 1.5,8 1.3,4 1.2,2 1.0", course=1)
    session.here.cursor = session.here.cursor.at(session.hand.findings()[0].place)
    before = session.score
    with pytest.raises(ScoreError, match="only a change to the music helps: this measure at"):
        trouble.remedy(session)
    assert session.score is before


def test_the_values_of_a_measure_are_corrected_at_once_and_undone_at_once(session_on):
    session = session_on("4 1.0,4 1.2,2 1.3", "1 1.5", course=1)
    rhythm.values(session, "2 4 4")
    assert text(session.score) == "2 1.0, 4 1.2, 4 1.3 | 1 1.5"
    files.undo(session)
    assert text(session.score) == "4 1.0, 4 1.2, 2 1.3 | 1 1.5"
