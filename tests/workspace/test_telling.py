"""Every command that changes more than a note says in one line what it did, and lights where."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.formats import native
from tabterm.hand.proposals import with_hands
from tabterm.page.rows import COURSE
from tabterm.score import operations as do
from tabterm.score.key import Key
from tabterm.score.place import Span
from tests.build import PLAYER, music, place
from tests.typist import Typist

TUNE = "4 2.3, 4 2.5, 4 2.7, 4 2.8 | 1 1.0 | 1"


@pytest.mark.parametrize(
    ("keys", "said", "lit"),
    [
        (["y", "insert"], "insert 1/16 in m1", (place(1), place(2))),
        (["q", "insert"], "insert 1/4 in m1; 1 note gone", (place(1), place(2))),
        (["q", "right", "ctrl+d"], "remove 1/4 in m1; 1 note gone", (place(1, 1), place(2))),
        (["q", "right", "M", "insert"], "insert 1/4 in m1; 1 note gone", (place(1), place(2))),
        (["i", "l"], "length 1/2 in m1; 1 note gone", (place(1), place(1, 2))),
        (["q", "right", "k"], "split in m1", (place(1, 1), place(1, 2))),
        (["j"], "join in m1; 1 note gone", (place(1), place(1, 2))),
        (["M", "ctrl+x"], "cut in m1; 4 notes gone", (place(1), place(2))),
        (["M", "ctrl+c", "tab", "ctrl+v"], "paste in m2", (place(2), place(3))),
        (["M", "delete"], "erase in m1; 4 notes gone", (place(1), place(2))),
        (["M", "*"], "duplicate in m2", (place(2), place(3))),
        (["M", "("], None, None),
        (["I"], "insert measure in m1", (place(1), place(2))),
        (["X"], "delete measures in m1; 4 notes gone", (place(1), place(1))),
        (["}"], "repeat end in m1", (place(1), place(2))),
    ],
)
def test_what_was_done_is_said_and_lit_until_the_next_key(keys, said, lit):
    typist = Typist(music(TUNE)).press(*keys)
    if said is not None:
        assert typist.said[-1] == said
    assert typist.session.shown.lit == (None if lit is None else Span(*lit))
    typist.press("left")
    assert typist.session.shown.lit is None


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("push-all", "push all later music in m1-4"),
        ("pull-all", "pull all later music in m1-3; 1 note gone"),
        ("swap-measures", "swap in m1-2"),
    ],
)
def test_commands_without_a_key_say_what_they_did(name, said):
    typist = Typist(music("4 2.3, 4 2.5, 4 2.7, 4 2.8 | 2 1.0, 2 1.1 | 1 1.2")).press("q").run(name)
    assert typist.said == [said]


def test_a_slur_that_cannot_be_kept_on_one_course_is_told():
    typist = Typist(music("4 2.7, 4 p2.5, 2")).press("s", "(")
    assert typist.text == "4 1.0, 4 p2.5, 2"
    assert typist.said == ["other course in m1; 1 slur split over two courses"]
    typist = Typist(music("2 1.0, 2 h1.20")).run("transpose-to", "Bb")
    assert typist.said[-1] == "transpose to Bb, a tone down in m1; 1 slur split over two courses"


@pytest.mark.parametrize(
    ("key", "answer", "said"),
    [
        ("A mixolydian", "D", "D mixolydian, a fifth down"),
        ("A mixolydian", "D major", "D, a fifth down"),
        ("Am", "B", "Bm, a tone up"),
        ("A", "Em", "Em, a fifth up"),
    ],
)
def test_transposing_to_a_key_keeps_the_mode_and_says_the_way(key, answer, said):
    """From open A to D the same frets lie a course lower; from open G to D a course higher."""
    before = "4 2.0, 4 2.2, 4 1.0, 4 1.3" if answer != "Em" else "4 4.0, 4 4.2, 4 3.0, 4 3.3"
    typist = Typist(music(before, key=Key.parse(key))).run("transpose-to", answer)
    assert typist.said == [f"transpose to {said} in m1"]
    assert str(typist.score.head.key) == said.split(",")[0]


def test_a_fifth_down_leaves_the_frets_where_they_were():
    typist = Typist(music("4 2.0, 4 2.2, 4 1.0, 4 1.3", key=Key.parse("A mixolydian"))).run("transpose-to", "D")
    assert typist.text == "4 3.0, 4 3.2, 4 2.0, 4 2.3"


def pickup_and(tune):
    return do.set_pickup(music("2., 4 2.5 | " + tune), Fraction(1))


def test_no_measure_is_inserted_before_a_pickup():
    typist = Typist(pickup_and(TUNE))
    before = typist.text
    typist.press("I")
    assert typist.troubles == ["cannot insert a measure before the pickup (insert it before measure 1)"]
    assert typist.text == before
    assert typist.press("tab", "I").said[-1] == "insert measure in m1"
    assert typist.text == before.replace(" | ", " | 1 | ", 1)


@pytest.mark.parametrize(
    ("keys", "measures"),
    [
        ("X", "m0"),
        (["tab", "X"], "m1"),
        (["tab", "tab", ";", "tab", "X"], "m2-3"),
        ([";", "tab", "tab", "tab", "tab", "X"], "m0-4"),
        (["tab", ";", "tab", "tab", "tab", "X"], "m1-4"),
    ],
)
def test_deleted_measures_are_named_as_they_were(keys, measures):
    typist = Typist(pickup_and("1 2.2 | 1 2.3 | 1 2.5 | 1 1.0")).press(*keys)
    assert typist.said[-1].startswith(f"delete measures in {measures};")
    typist.press("u")
    assert typist.said[-1] == f"undone: delete measures in {measures}"
    if measures != "m0-4":
        typist.press("ctrl+y")
        assert typist.said[-1] == f"redone: delete measures in {measures}"


def test_of_two_measures_that_are_the_same_the_deleted_one_is_named():
    assert Typist(music("1 2.2 | 1 2.2 | 1 2.3")).press("X").said == ["delete measures in m1; 1 note gone"]


def test_undo_and_redo_say_what_they_did_and_go_there():
    typist = Typist(music(TUNE)).press(*"y", "tab", "s", *"57", "home", "insert", "ctrl+home", "a")
    before = typist.text
    typist.press("u")
    assert (typist.said[-1], typist.place) == ("undone: insert 1/16 in m2", place(2))
    typist.press("ctrl+home", "a", "u")
    assert (typist.said[-1], typist.place) == ("undone: fret 7 in m2", place(2, "1/4"))
    assert (typist.session.here.cursor.row, typist.session.here.cursor.course) == (COURSE, 2)
    typist.press("ctrl+home", "ctrl+y")
    assert (typist.said[-1], typist.place) == ("redone: fret 7 in m2", place(2, "1/4"))
    assert typist.press("ctrl+y").text == before
    assert typist.press("ctrl+y").said[-1] == "nothing to redo"


def test_what_was_done_is_known_by_name_after_a_crash(tmp_path):
    from tabterm.workspace.document import Document
    from tabterm.workspace.session import Session
    from tabterm.workspace.transport import Transport

    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: music(TUNE))
    document.apply(do.split(document.score, place(1)), "split")
    document.close(keep_draft=True)
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: music(TUNE))
    typist = Typist(music("1"))
    typist.session = Session(document, typist, Transport())
    assert typist.press("u").said == ["undone: split in m1"]
    document.close(keep_draft=False)


def test_redo_gives_the_very_bytes_back_that_undo_took_with_what_was_proposed():
    """Fingers worked out after a change are no part of it, and yet are there again after undo and redo."""
    typist = Typist(music(TUNE)).press(*"e57")
    document = typist.session.document
    document.annotate(document.score, with_hands(document.score, PLAYER))
    written = native.write(document.score)
    typist.press("u", "u")
    document.annotate(document.score, with_hands(document.score, PLAYER))
    assert native.write(typist.press("ctrl+y", "ctrl+y").score) == written


def test_what_changes_nothing_says_so():
    assert Typist(music("1")).press("delete").said == ["nothing here to delete"]
    assert Typist(music("1")).press("M", "delete").said == ["erase: nothing changed"]
