"""What keys write on the courses: time that is replaced, notes that are added, grace notes in their order."""

from __future__ import annotations

import pytest

from tests.build import music, place
from tests.typist import Typist


def typed(before, keys, at=None):
    return Typist(music(before), at=at).press(*keys)


def test_a_note_over_the_bar_line_is_behind_the_cursor_as_a_whole():
    """A quarter on 4&: the next fret stands behind all of it, and what is added is added to both its pieces."""
    typist = typed("1 | 1", "q3e5", at=place(1, "7/2"))
    assert typist.text == "2., 8, 8 1.3 | 8 (1.3, 8 1.5, 2."
    typist = typed("1 | 1", "q3+s0", at=place(1, "7/2"))
    assert typist.text == "2., 8, 8 1.3 2.0 | 8 (1.3 (2.0, 8, 2."
    assert typist.place == place(2, "1/2")


@pytest.mark.parametrize(
    ("keys", "after"),
    [
        pytest.param([*"q3", "backspace"], "1 | 1", id="taken back as a whole"),
        pytest.param([*"q3."], "2., 8, 8 1.3 | 4 (1.3, 2.", id="dotted as a whole"),
        pytest.param([*"q3e-"], "2., 8, 8 1.3 | 4 (1.3, 2.", id="held on"),
        pytest.param([*"q3-+s0"], "2., 8, 8 1.3 2.0 | 4. (1.3 (2.0, 8, 2", id="held, then added to"),
    ],
)
def test_a_note_over_the_bar_line_is_one_note(keys, after):
    assert typed("1 | 1", keys, at=place(1, "7/2")).text == after


@pytest.mark.parametrize(
    ("before", "keys", "after"),
    [
        pytest.param("4 1.5 2.3, 2.", "e3", "8 1.3, 8, 2.", id="on all courses, with the value of the step"),
        pytest.param("2 1.5, 2", "s3", "8 2.3, 8, 2.", id="what is left of a longer event is silent"),
        pytest.param("8 1.5, 8 1.7, 2.", "q3", "4 1.3, 2.", id="all that the step covers"),
        pytest.param("4 2.3, 2.", "+5", "4 1.5 2.3, 2.", id="one key adds to the event here"),
        pytest.param("4 1.5 2.3, 2.", "+7", "4 1.7 2.3, 2.", id="or changes the fret alone"),
        pytest.param("4 2.3, 4 2.5, 2", "q3+s0", "4 1.3 2.0, 4 2.5, 2", id="it adds to what was just written"),
        pytest.param(
            "4 2.3, 4 2.5, 2",
            ["q", "3", "right", "left", "+", "0"],
            "4 1.3, 4 1.0 2.5, 2",
            id="once the cursor has moved, to what stands here",
        ),
        pytest.param("4 2.3, 4 2.5, 2", "+3+s5d0", "4 1.3 2.5, 8 3.0, 8, 2", id="two notes, and on"),
    ],
)
def test_typing_over_music_replaces_it(before, keys, after):
    assert typed(before, keys).text == after


@pytest.mark.parametrize(
    ("keys", "after"),
    [
        ("2h4", "8 1.2, 8 h1.4, 4 1.9, 2 1.9"),
        ("2x4", "8 1.2, 8 x1.4, 4 1.9, 2 1.9"),
        ("2b4", "8 1.2b50, 8 1.4, 4 1.9, 2 1.9"),
        ("2=", "8 1.2, 8 (1.2, 4 1.9, 2 1.9"),
    ],
)
def test_a_mark_typed_between_two_notes_says_nothing_of_what_stands_there(keys, after):
    """Over older music as over silence, `h` is about the fret typed next, and `b` about the one just written."""
    typist = typed("8 1.7, 8 1.9, 4 1.9, 2 1.9", keys)
    assert typist.text == after
    assert [event.notes[0].bend is not None for event in typist.score.measures[0].events[:2]] == [
        "b" in keys,
        False,
    ]


@pytest.mark.parametrize(("key", "note"), [("h", "h1.5"), ("x", "x1.5"), ("p", "p1.5"), ("/", "/1.5")])
def test_a_mark_that_acted_on_a_note_says_nothing_of_what_is_typed_next(key, note):
    typist = typed("4 1.3, 4 1.5, 2", ["q", key, "`", "2"], at=place(1, 1))
    assert typist.text == f"4 1.3, 4 [1.2] {note}, 2"
    assert typed("4 1.2, 4 1.3, 2", ["q", key, "4"], at=place(1, 1)).text == "4 1.2, 4 1.4, 2"


@pytest.mark.parametrize("key", ["h", "x", "`", "+", "'"])
def test_undo_first_drops_what_is_pending(key):
    typist = typed("1 | 1", ["q", "3", "tab", key, "u"])
    assert typist.text == "4 1.3, 2. | 1"
    assert typist.said == ["cleared the settings for the next note"]
    assert typist.press("u").text == "1 | 1"


def graces(typist):
    return [
        (place_, [note.fret for note in event.grace], [note.fret for note in event.notes])
        for place_, event in typist.score.measures[0].timed()
        if event.grace
    ]


def test_grace_notes_are_typed_before_their_note():
    assert graces(typed("1", "`5`57")) == [(0, [5, 5], [7])]
    assert graces(typed("4 1.3, 2.", "q2`57")) == [(1, [5], [7])]
    assert graces(typed("1", "2`5h7")) == [(0.5, [5], [7])]
    assert graces(typed("1", ["`", "5", "escape", "7"])) == []


def test_a_grace_note_on_a_note_is_its_own():
    typist = typed("4 1.7, 2.", "`5")
    assert graces(typist) == [(0, [5], [7])]
    assert graces(typist.press("7")) == [(0, [5], [7])]


@pytest.mark.parametrize(("keys", "value"), [(".", "4."), ("il", "2")])
def test_a_longer_note_stops_before_notes_behind_the_bar_line(keys, value):
    """Longer inside the measure takes what stands there; other measures are left as they are."""
    typist = typed("2., 4 1.3 | 1 1.5", keys, at=place(1, 3))
    assert typist.text == "2., 4 1.3 | 1 1.5"
    told = f"measure 2, beat 1: {value} would run over the bar line into the notes there"
    assert typist.said == [f"{told} (hold the note to overwrite them)"]


@pytest.mark.parametrize(
    ("row", "keys", "said"),
    [
        ("v", "5", "the stroke row takes no numbers (go to a course first)"),
        ("c", "5", "the chord row takes no numbers (go to a course first)"),
        ("v", "r", "the stroke row takes no notes (go to a course first)"),
        ("g", "-", "the finger row takes no notes (go to a course first)"),
        ("g", "+", "the finger row takes no notes (go to a course first)"),
        ("c", "b", "the chord row takes no note marks (go to a course first)"),
        ("c", "U", "the chord row takes no note marks (go to a course first)"),
        ("c", ".", "the chord row takes no note marks (go to a course first)"),
    ],
)
def test_a_row_that_takes_no_such_key_writes_nothing(row, keys, said):
    typist = typed("4 1.2, 4 1.3, 2", row + keys, at=place(1, 1))
    assert (typist.text, typist.said) == ("4 1.2, 4 1.3, 2", [said])


@pytest.mark.parametrize(("row", "key"), [("v", "U"), ("g", "b")])
def test_on_the_rows_below_a_key_never_reaches_back_to_the_note_before(row, key):
    typist = typed("4 1.2, 4, 2", row + key, at=place(1, 1))
    assert (
        typist.score.measures[0].events[0].with_(proposed_stroke=None) == music("4 1.2, 2.").measures[0].events[0]
    )
