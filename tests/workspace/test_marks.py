"""Commands that mark a note or an event go through their values, and the journal names them."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

import pytest

import tabterm.workspace.commands  # noqa: F401 - fills the registry
from tabterm.page.rows import COURSE
from tabterm.score.kinds import Break, Direction, Reached, Stroke
from tabterm.score.place import Place
from tabterm.workspace.commands.left_hand import BENDS
from tabterm.workspace.cursor import Cursor
from tabterm.workspace.document import Document
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, music, place, score, text
from tests.typist import Typist


@pytest.fixture
def session(tmp_path):
    """On the second note of two, with a rest behind them."""
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: score("4 1.2,4 1.5,2"))
    session = Session(document, host=SimpleNamespace(say=lambda _: None), transport=Transport())
    session.here.cursor = Cursor(place=Place(0, Fraction(1))).on(COURSE, 1)
    yield session
    document.close(keep_draft=False)


def run(session, name, word=""):
    REGISTRY[name].run(session, word)
    event = session.score.measures[0].events[1]
    return event, event.notes[0]


@pytest.mark.parametrize(
    ("name", "field", "values"),
    [
        ("hammer-on", "reached", [Reached.HAMMER, Reached.STRUCK]),
        ("pull-off", "reached", [Reached.PULL, Reached.STRUCK]),
        ("slide", "reached", [Reached.SLIDE, Reached.STRUCK]),
        ("mute", "muted", [True, False]),
        ("bend", "bend", [*BENDS[1:], None]),
        ("slide-out", "slide_out", [Direction.DOWN, Direction.UP, None]),
        ("vibrato", "vibrato", [True, False]),
        ("let-ring", "ring", [True, False]),
    ],
)
def test_a_note_goes_through_the_values_of_a_mark(session, name, field, values):
    assert [getattr(run(session, name)[1], field) for _ in range(2 * len(values))] == values * 2


def test_a_measure_goes_through_the_breaks_of_the_sheet(session):
    found = []
    for _ in range(6):
        run(session, "break")
        found.append(session.score.measures[0].break_before)
    assert found == [Break.SYSTEM, Break.PAGE, None] * 2


@pytest.mark.parametrize(
    ("name", "field", "values"),
    [
        ("accent", "accent", [True, False]),
        ("staccato", "staccato", [True, False]),
        ("tremolo", "tremolo", [True, False]),
        ("stroke-down", "stroke", [Stroke.DOWN]),
        ("stroke-up", "stroke", [Stroke.UP]),
        ("stroke-none", "stroke", [Stroke.NONE]),
    ],
)
def test_an_event_goes_through_the_values_of_a_mark(session, name, field, values):
    assert [getattr(run(session, name)[0], field) for _ in range(2 * len(values))] == values * 2


def test_one_slur_becomes_another_and_strike_ends_any(session):
    found = [run(session, name)[1].reached for name in ("hammer-on", "pull-off", "strike", "strike")]
    assert found == [Reached.HAMMER, Reached.PULL, Reached.STRUCK, Reached.STRUCK]


def test_a_bend_of_another_size_gives_way_to_none(session):
    assert run(session, "bend-by", "30")[1].bend.cents == 30
    assert run(session, "bend")[1].bend is None


def test_on_an_empty_step_the_next_note_is_marked_and_the_mark_can_be_taken_back(session):
    session.here.cursor = session.here.cursor.at(Place(0, Fraction(2)))
    for name, field, values in (
        ("hammer-on", "reached", [Reached.HAMMER, Reached.STRUCK]),
        ("mute", "muted", [True, False]),
    ):
        said = []
        for _ in values:
            run(session, name)
            said.append(getattr(session.next_note.pending, field))
        assert said == values


@pytest.mark.parametrize(
    ("name", "label"),
    [("hammer-on", "hammer"), ("mute", "dead note"), ("let-ring", "let ring"), ("slide-out", "slide off")],
)
def test_the_journal_names_the_mark(session, name, label, monkeypatch):
    said, apply = [], Document.apply
    monkeypatch.setattr(Document, "apply", lambda *words: said.append(words[2]) or apply(*words))
    run(session, name)
    assert said == [label]


@pytest.mark.parametrize(
    ("key", "field", "label"),
    [
        ("~", "vibrato", "vibrato"),
        ("b", "bend", "bend"),
        ("o", "ring", "let ring"),
        ("_", "slide_out", "slide off"),
        ("H", "course_set", "the note stays on its course"),
    ],
)
def test_a_mark_from_another_course_is_set_on_the_only_note_of_the_moment(key, field, label):
    typist = Typist(music("2. 2.5, 4 3.4 | 1 2.5"), at=place(2)).press(key)
    marked = [getattr(event.notes[0], field) for measure in typist.score.measures for event in measure.events]
    assert [bool(value) for value in marked] == [False, False, True]
    assert typist.said == [f"{label} (A course, measure 2, beat 1)"]


@pytest.mark.parametrize("key", ["O", "W"])
def test_other_finger_and_why_name_the_note_they_speak_of(key):
    typist = Typist(music("2. 2.5, 4 3.4 | 1 2.5"), at=place(2)).press(key)
    assert typist.said[-1].endswith(" (A course, measure 2, beat 1)")
    assert text(typist.score).startswith("2. 2.5, 4 3.4 |")


@pytest.mark.parametrize("key", ["~", "b", "o", "_", "O", "W", "H"])
def test_a_mark_never_goes_to_another_moment_unless_it_was_just_written(key):
    typist = Typist(music("4 2.5, 4, 2 2.3 3.4"), at=place(1, 1)).press(key)
    assert typist.troubles == ["no note here (go to a note first)"]
    typist.session.here.go(place(1, 2))
    typist.press(key)
    assert typist.troubles[1:] == ["no note on course E here; A and D have one"]
    assert typist.text == "4 2.5, 4, 2 2.3 3.4"


@pytest.mark.parametrize("key", [">", ":", "%"])
def test_a_mark_of_an_event_stays_at_its_moment(key):
    typist = Typist(music("4 2.5, 4, 2 2.3"), at=place(1, 1)).press(key)
    assert typist.troubles == ["no note here (go to a note first)"]


def test_what_is_held_through_the_cursor_is_marked_with_its_place():
    typist = Typist(music("4, 2 2.5, 4"), at=place(1, 2)).press(">", ">")
    assert typist.said == ["accent (measure 1, beat 2)", "no accent (measure 1, beat 2)"]
