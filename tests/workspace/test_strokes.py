"""Commands on the strokes: schools for the score, a section, a measure; what is accepted."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.hand.strokes import with_proposals
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.operations import set_section
from tabterm.score.place import Place
from tabterm.workspace.commands import strokes, whole
from tabterm.workspace.cursor import Cursor
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score
from tests.typist import Listening

B, G, T = StrokeSchool.BEAT, StrokeSchool.GLIDE, StrokeSchool.TREMOLO
ARPEGGIO = "8 4.2,8 3.2,8 2.2,8 1.2,2 1.2"


def tune():
    return set_section(set_section(score(*[ARPEGGIO] * 5), 1, "A"), 3, "B")


@pytest.fixture
def session(tmp_path):
    document = Document.open(tmp_path / "a.tabterm", PLAYER, propose=with_proposals, blank=tune)
    yield Session(document, host=Listening(), transport=Transport())
    document.close(keep_draft=False)


def proposed(session, index):
    return [event.proposed_stroke for event in session.score.measures[index].events[:4]]


def test_a_school_for_the_measure_at_the_cursor_the_selection_and_the_section(session):
    session.here.cursor = Cursor(place=Place(1))
    strokes.school_here(session, "glide")
    assert session.score.schools == (B, G, B, B, B)
    assert [proposed(session, index) == [Stroke.DOWN] * 4 for index in range(3)] == [False, True, False]
    session.here.anchor, session.here.cursor = Place(2), Cursor(place=Place(4))
    strokes.school_here(session, "tremolo")
    assert session.score.schools == (B, G, T, T, T)
    session.here.anchor, session.here.cursor = None, Cursor(place=Place(2))
    strokes.school_of_section(session, "glide")
    assert session.score.schools == (B, G, G, T, T)
    whole.school(session, "tremolo")
    assert session.score.schools == (T,) * 5
    assert all(measure.school is None for measure in session.score.measures)
    session.document.undo()
    session.document.undo()
    assert session.score.schools == (B, G, T, T, T)


@pytest.mark.parametrize("ask", [strokes.school_here, strokes.school_of_section, whole.school])
def test_a_school_that_there_is_not_is_refused(session, ask):
    with pytest.raises(ScoreError, match="no picking school 'bow'") as refusal:
        ask(session, "bow")
    assert all(name in refusal.value.hint for name in StrokeSchool)
    assert session.score.schools == (B,) * 5


def test_a_confirmed_tremolo_outlasts_its_school(session):
    whole.school(session, "tremolo")
    session.here.cursor = Cursor(place=Place(0, session.score.measures[0].onsets[4]))
    assert session.score.measures[0].events[4].proposed_tremolo
    strokes.confirm(session)
    whole.school(session, "beat")
    confirmed, other = session.score.measures[0].events[4], session.score.measures[1].events[4]
    assert (confirmed.stroke, confirmed.tremolo) == (Stroke.DOWN, True)
    assert not other.tremolo_shown
