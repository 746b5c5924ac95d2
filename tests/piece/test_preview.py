"""What a remedy changes, before it is applied: lines of tab, and a tempo in words."""

from __future__ import annotations

import pytest

from tabterm.hand.finding import Kind
from tabterm.hand.review import findings
from tabterm.hand.trial import offered
from tabterm.piece.preview import changes, preview
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, music, place


@pytest.fixture
def tried():
    """A score, its first finding, and the first remedy of a kind."""

    def first(kind, text, **head):
        built = music(text, **head)
        finding = findings(built, PLAYER)[0]
        return built, finding, next(way for way in offered(built, PLAYER, finding) if way.kind is kind)

    return first


def test_a_slower_measure_is_shown_by_its_tempo(tried):
    built, finding, remedy = tried(Kind.MEASURE, "8 1.2, 8 1.13, 8 1.2, 8 1.13, 2 1.0 | 1 1.0", tempo=Tempo(220.0))
    slower = remedy.label.removeprefix("this measure at ")
    after = remedy.operation(built, finding.place)
    assert changes(built, after, PLAYER) == [(place(1), "1/4=220", slower)]
    assert preview(built, PLAYER, finding, remedy) == ["- 1/4=220", f"+ {slower}"]


def test_a_slide_for_a_bend_is_shown_in_tab_and_in_words(tried):
    built, finding, remedy = tried(Kind.SLUR, "2 2.3b200, 2 2.2")
    after = remedy.operation(built, finding.place)
    (change,) = changes(built, after, PLAYER)
    assert change.before.startswith("A 3 bent 200 cents")
    assert change.after.startswith("[A 3")
    assert "/A 5" in change.after
    assert [line[0] for line in preview(built, PLAYER, finding, remedy) if line[2:].startswith("A")] == ["-", "+"]
