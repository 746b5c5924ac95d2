"""Commands on the whole score: whose hand plays it."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.hand.player import Player
from tabterm.score.profile import HandProfile, Speeds
from tabterm.workspace.commands import whole
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import score
from tests.typist import Listening

MINE = HandProfile(span_mm=151, speeds=Speeds(strokes=9))


@pytest.fixture
def session(tmp_path):
    document = Document.open(tmp_path / "a.tabterm", Player(hand=MINE), blank=lambda: score("1 1.2"))
    yield Session(document, host=Listening(), transport=Transport())
    document.close(keep_draft=False)


def test_a_score_is_given_a_span_of_its_own_and_loses_it_again(session):
    whole.hand_span(session, "130")
    assert session.score.head.hand == MINE.with_(span_mm=130)
    whole.hand_span(session, "140")
    assert session.score.head.hand == MINE.with_(span_mm=140)
    whole.hand_span(session, "mine")
    assert session.score.head.hand is None


@pytest.mark.parametrize("text", ["59", "221", "nan", "", "wide"])
def test_a_span_of_no_hand_is_refused(session, text):
    with pytest.raises(ScoreError, match="60 to 220 mm"):
        whole.hand_span(session, text)
    assert session.score.head.hand is None
