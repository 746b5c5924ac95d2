"""Writing, holding and taking away notes, rests and time."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.kinds import Stroke
from tabterm.score.model import Note
from tabterm.score.place import Span
from tests.build import duration, music, note, place, text
from tests.score.test_marks import chords

EMPTY = music("1")


@pytest.mark.parametrize(
    ("before", "at", "length", "after"),
    [
        pytest.param("1", place(1, 1), "4", "4, 4 2.3, 2", id="rests around it show the beats"),
        pytest.param("1", place(1, "1/2"), "4", "8, 4 2.3, 8, 2", id="its own value is kept off the beat"),
        pytest.param("1", place(1, 3), "2", "2., 4 2.3 | 4 (2.3, 2.", id="over the bar line with a tie"),
        pytest.param("1", place(2), "8", "1 | 8 2.3, 8, 2.", id="past the end a measure is added"),
        pytest.param("1 1.5", place(1, "3/2"), "8", "4. 1.5, 8 2.3, 2", id="what began before is cut short"),
        pytest.param("1 1.5", place(1, "5/2"), "8", "2 1.5, 8 (1.5, 8 2.3, 4", id="a cut note may need a tie"),
        pytest.param("1 x1.5", place(1, "5/2"), "8", "2 x1.5, 8, 8 2.3, 4", id="a dead note is not tied on"),
        pytest.param("4 1.5, 2. 1.7", place(1), "2", "2 2.3, 2", id="a note it covers in part is silent after it"),
        pytest.param("2 1.5, 2 (1.5", place(1), "2", "2 2.3, 2 1.5", id="a tie that lost its partner is struck"),
        pytest.param("4 1.5, 4 h1.7, 2", place(1), "4", "4 2.3, 4 h1.7, 2", id="a slur keeps a note before it"),
        pytest.param("1", place(1), "8(3:2)", "8(3:2) 2.3, 4(3:2), 2.", id="a tuplet's rest stays in its beat"),
        pytest.param("< 4 | 1", place(1), "2", "< 4 2.3 | 4 (2.3, 2.", id="a pickup does not grow"),
    ],
)
def test_a_note_replaces_time(before, at, length, after):
    assert text(do.write(music(before), at, duration(length), (note("2.3"),))) == after


def test_a_rest_joins_the_rests_beside_it():
    score = music("4 2.3, 4, 4 2.3, 4")
    assert text(do.write(score, place(1, 2), duration("4"))) == "4 2.3, 2."


def test_rests_that_are_not_touched_keep_their_spelling():
    score = music("8, 8, 4 2.3, 4, 4 2.5")
    assert text(do.write(score, place(1, 3), duration("8"), (note("1.0"),))) == "8, 8, 4 2.3, 4, 8 1.0, 8"


def test_a_rest_of_a_tuplet_is_written_as_it_is():
    score = do.write(EMPTY, place(1), duration("8(3:2)"), (note("2.3"),))
    for offset in ("1/3", "2/3"):
        score = do.write(score, place(1, offset), duration("8(3:2)"))
    assert text(score) == "8(3:2) 2.3, 8(3:2), 8(3:2), 2."


def test_writing_silence_over_silence_is_the_same_score():
    assert do.write(EMPTY, place(1, 1), duration("4")) is EMPTY


@pytest.mark.parametrize("operation", [do.write, do.put_note])
def test_a_fret_beyond_the_neck_is_refused(operation):
    arguments = (duration("4"), (note("2.21"),)) if operation is do.write else (note("2.21"), duration("4"))
    with pytest.raises(ScoreError) as refusal:
        operation(EMPTY, place(1, 1), *arguments)
    assert str(refusal.value) == (
        "measure 1, beat 2: fret 21 is beyond the neck: this Mandolin has 20 frets (use a higher course)"
    )


def test_a_course_that_is_not_there_is_refused():
    with pytest.raises(ScoreError, match="this Mandolin has no course 5"):
        do.write(EMPTY, place(2), duration("4"), (note("5.0"),))


def test_a_note_joins_the_event_that_begins_there():
    score = do.set_stroke(music("2 2.3, 2"), place(1), Stroke.UP)
    score = do.put_note(score, place(1), note("1.0"), duration("8"))
    assert text(score) == "2 1.0 2.3 up, 2"


def test_a_note_replaces_the_one_on_its_course_and_its_finger():
    score = do.set_finger(music("2 1.0 2.3, 2"), place(1), 2, 4)
    score = do.put_note(score, place(1), note("2.5"), duration("8"))
    assert text(score) == "2 1.0 2.5, 2"
    assert score.measures[0].events[0].on_course(2).finger is None


def test_what_is_proposed_for_a_note_stands_until_another_proposal_comes():
    def rewritten(fret):
        before = Note(course=2, fret=3, proposed_finger=2)
        written = do.write(EMPTY, place(1), duration("4"), (before,))
        return do.put_note(written, place(1), Note(course=2, fret=fret), duration("4")), written

    same, written = rewritten(3)
    assert same is written
    assert [rewritten(fret)[0].measures[0].events[0].notes[0].proposed_finger for fret in (5, 0)] == [2, None]


def test_a_replaced_note_is_replaced_in_all_that_is_tied_to_it():
    score = music("2., 4 1.0 2.3 | 2 (1.0 (2.3, 2 (2.3")
    assert text(do.put_note(score, place(1, 3), note("2.4"), duration("8"))) == (
        "2., 4 1.0 2.4 | 2 (1.0 (2.4, 2 (2.4"
    )


def test_inside_an_event_a_note_is_written_anew():
    assert text(do.put_note(music("2 2.3, 2"), place(1, 1), note("1.0"), duration("8"))) == ("4 2.3, 8 1.0, 8, 2")


def test_a_slur_needs_a_note_before():
    with pytest.raises(ScoreError) as refusal:
        do.put_note(music("1"), place(1, 1), note("h2.3"), duration("4"))
    assert str(refusal.value) == ("measure 1, beat 2: no note to slur from (write the note before it first)")
    assert text(do.put_note(music("4 2.2, 2."), place(1, 1), note("h2.3"), duration("4"))) == ("4 2.2, 4 h2.3, 2")


@pytest.mark.parametrize(
    ("before", "at", "length", "after"),
    [
        pytest.param("4 2.3, 2.", place(1, 1), "4", "2 2.3, 2", id="up to the end of the step"),
        pytest.param("4 2.3, 4, 2", place(1, 2), "8", "2 2.3, 8 (2.3, 8, 4", id="over rests, with a tie"),
        pytest.param("4 2.3, 2. | 4 1.0, 2.", place(2), "4", "1 2.3 | 4 (2.3, 2.", id="over the bar line"),
        pytest.param("1 2.3", place(2), "2", "1 2.3 | 2 (2.3, 2", id="past the end"),
        pytest.param("2 2.3, 2", place(1, 1), "2", "2. 2.3, 4", id="from inside the note"),
        pytest.param("8(3:2) 2.3, 4(3:2), 2.", place(1, "1/3"), "4(3:2)", "4 2.3, 2.", id="out of a tuplet"),
    ],
)
def test_hold_lengthens_the_note_before(before, at, length, after):
    assert text(do.hold(music(before), at, duration(length))) == after


def test_hold_never_shortens():
    score = music("1 2.3")
    assert do.hold(score, place(1, 1), duration("4")) is score


def test_hold_needs_a_note_before():
    with pytest.raises(ScoreError, match=r"^measure 1, beat 3: no note before this one to hold"):
        do.hold(music("2, 2 2.3"), place(1, 2), duration("4"))


@pytest.mark.parametrize(
    ("before", "at", "course", "after"),
    [
        ("2 1.0 2.3, 2", place(1), 2, "2 1.0, 2"),
        ("4, 4 2.3, 2", place(1, "3/2"), 2, "1"),
        ("1 2.3 | 4 (2.3, 2.", place(1), 2, "1 | 1"),
        ("1 1.0 2.3 | 4 (1.0 (2.3, 2.", place(1), 2, "1 1.0 | 4 (1.0, 2."),
        ("4(3:2) 2.3, 4(3:2) 2.5, 4(3:2) 2.7, 2", place(1, "2/3"), 2, "4(3:2) 2.3, 4(3:2), 4(3:2) 2.7, 2"),
        ("4 1.0, 4 h2.3, 2", place(1), 1, "4, 4 2.3, 2"),
    ],
)
def test_a_note_is_taken_away_with_what_is_tied_to_it(before, at, course, after):
    assert text(do.remove_note(music(before), at, course)) == after


def test_the_last_member_of_a_tuplet_takes_its_rests_along():
    score = music("8(3:2) 2.3, 8(3:2) 2.5, 8(3:2) 2.7, 2.")
    for offset in (0, "1/3", "2/3"):
        score = do.remove_note(score, place(1, offset), 2)
    assert text(score) == "1"


def test_only_a_note_can_be_taken_away():
    with pytest.raises(ScoreError, match=r"^measure 1, beat 1: no note on course 1"):
        do.remove_note(music("1 2.3"), place(1), 1)


def test_erasing_cuts_what_begins_before_and_what_reaches_past():
    score = music("2 2.3, 2 2.5 | 1 2.7")
    assert text(do.erase(score, Span(place(1, 1), place(2, 1)))) == "4 2.3, 2. | 1"
    assert do.erase(score, Span(place(1, 1), place(1, 1))) is score


def test_a_span_may_reach_past_the_end():
    beyond = Span(place(1, 2), place(2, 1))
    assert text(do.erase(music("1 2.3"), beyond)) == "2 2.3, 2"
    assert text(do.pull_all(music("1 2.3"), beyond)) == "2 2.3, 2"


@pytest.mark.parametrize(
    ("operation", "span", "end", "after"),
    [
        pytest.param(do.insert_time, (1, 2), place(2), "4 2.3, 4, 4 2.5, 4 2.7 | 1 1.0", id="inside the measure"),
        pytest.param(
            do.insert_time, (1, 2), place(1, 3), "4 2.3, 4, 4 2.5, 4 2.8 | 1 1.0", id="inside a selection"
        ),
        pytest.param(
            do.insert_time, ("3/2", 2), place(2), "4 2.3, 8 2.5, 8, 8, 4 2.7, 8 2.8 | 1 1.0", id="cutting"
        ),
        pytest.param(do.delete_time, (1, 2), place(2), "4 2.3, 4 2.7, 4 2.8, 4 | 1 1.0", id="taken out of it"),
        pytest.param(do.delete_time, (0, 1), place(1, 2), "4 2.5, 4, 4 2.7, 4 2.8 | 1 1.0", id="of a selection"),
    ],
)
def test_time_goes_in_and_out_without_moving_other_measures(operation, span, end, after):
    score = music("4 2.3, 4 2.5, 4 2.7, 4 2.8 | 1 1.0")
    assert text(operation(score, Span(place(1, span[0]), place(1, span[1])), end)) == after
    assert text(operation(score, Span(place(1, 1), place(2, 3)), place(2))) == "4 2.3, 2. | 1 1.0"


def test_all_later_music_is_pushed_and_pulled():
    score = music("4 2.3, 4 2.5, 4 2.7, 4 2.8 | 2 1.0, 2")
    step = Span(place(1, 1), place(1, 2))
    pushed = do.push_all(score, step)
    assert text(pushed) == "4 2.3, 4, 4 2.5, 4 2.7 | 4 2.8, 2 1.0, 4"
    assert text(do.pull_all(pushed, step)) == text(score)
    assert text(do.push_all(pushed, Span(place(1), place(1, 2)))) == (
        "2, 4 2.3, 4 | 4 2.5, 4 2.7, 4 2.8, 4 1.0 | 4 (1.0, 2."
    )


def test_chords_move_with_all_later_music():
    score = music("4 2.3, 4 2.5, 2 2.7 | 1 1.0 | 1")
    for at, symbol in ((place(1), "G"), (place(1, 1), "C"), (place(1, 2), "D"), (place(2), "Em")):
        score = do.set_chord(score, at, symbol)
    step = Span(place(1, 1), place(1, 2))
    pushed = do.push_all(score, step)
    assert chords(pushed) == [(1, "0", "G"), (1, "2", "C"), (1, "3", "D"), (2, "1", "Em")]
    assert do.pull_all(pushed, step) == score
    assert chords(do.pull_all(score, step)) == [(1, "0", "G"), (1, "1", "D"), (1, "3", "Em")]
    assert chords(do.pull_all(score, Span(place(1), place(1, "3/2")))) == [
        (1, "0", "C"),
        (1, "1/2", "D"),
        (1, "5/2", "Em"),
    ]


@pytest.mark.parametrize("mark", ["start", "end", "ending"])
def test_all_later_music_is_not_moved_where_that_would_tear_a_repeat(mark):
    score = music("1 2.3 | 1 2.5 | 1 2.7")
    score = {
        "start": lambda: do.set_repeat_start(score, 1, value=True),
        "end": lambda: do.set_repeat_times(score, 1, 2),
        "ending": lambda: do.set_endings(score, 1, 1, (1,)),
    }[mark]()
    for operation in (do.push_all, do.pull_all):
        with pytest.raises(
            ScoreError, match=r"^measure 2, beat 1: moving all later music would break the repeat there"
        ):
            operation(score, Span(place(1), place(1, 1)))
        operation(score, Span(place(3), place(3, 1)))
