"""The schools of picking against what the printed methods say, and the right hand in time."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.findings import findings
from tabterm.hand.right_hand import course_change, rate_limit, strain, sweeps
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.strokes import grace_strokes, with_proposals
from tabterm.hand.trial import offered
from tabterm.score.kinds import Direction, Stroke, StrokeSchool
from tabterm.score.model import Note
from tabterm.score.operations import section_round, set_school_of, set_section
from tabterm.score.place import Place
from tabterm.score.profile import Speeds
from tabterm.score.tempo import Tempo
from tests.build import event, measure, score
from tests.strategies import operations, scores

D, U = Stroke.DOWN, Stroke.UP
LETTERS = {D: "D", U: "U", None: "."}


def strokes(text, school, metre="4/4"):
    built = with_proposals(score(text, metre=metre, school=StrokeSchool(school)))
    return "".join(LETTERS[each.proposed_stroke] for each in built.measures[0].events)


def eighths(courses):
    return ",".join(f"8 {course}.2" for course in courses)


def test_every_school_is_described_and_sourced():
    assert set(SCHOOLS) == set(StrokeSchool)
    for school in SCHOOLS.values():
        assert school.title
        assert school.words.endswith(".")
        assert school.source


@pytest.mark.parametrize(
    ("text", "metre", "expected"),
    [
        # Bickford 1920 p. 44: (1) down begins all measures and groups, extended to all beats and even half
        # beats (eighths in 2/4); (2) only notes too fast for that alternate; (3) down on a new course.
        ("8 2.2,8 2.3,8 2.5,8 2.3", "2/4", "DDDD"),
        ("16 2.2,16 2.3,16 2.5,16 2.3,4 2.2", "2/4", "DUDUD"),
        ("16 2.2,16 1.3,16 1.5,16 2.3,4 2.2", "2/4", "DDDDD"),
        ("16 3.2,16 3.3,16 2.2,16 2.3,16 1.2,16 1.3,8 1.5", "2/4", "DUDUDUD"),
        ("8 2.2,8 2.3,8 2.5,8 1.0,8 1.2,8 1.3", "6/8", "DUDDUD"),
    ],
)
def test_down_on_a_new_course(text, metre, expected):
    assert strokes(text, "course-change", metre) == expected


def test_a_new_course_over_the_bar_line():
    built = with_proposals(
        score(
            "16 2.2,16 2.3,16 2.5,16 2.3,4 2.2",
            "16,16 1.2,8 1.3,4 1.2",
            metre="2/4",
            school=StrokeSchool.COURSE_CHANGE,
        )
    )
    assert built.measures[1].events[1].proposed_stroke is D
    same = with_proposals(
        score(
            "16 2.2,16 2.3,16 2.5,16 2.3,4 2.2",
            "16,16 2.2,8 2.3,4 2.2",
            metre="2/4",
            school=StrokeSchool.COURSE_CHANGE,
        )
    )
    assert same.measures[1].events[1].proposed_stroke is U


@pytest.mark.parametrize(
    ("courses", "expected"),
    [
        # Bickford 1920 p. 32: one continued down-stroke over successive courses. A down-stroke goes from the
        # lowest-pitched course to the highest; that an up-stroke glides the other way: common practice, no source.
        ((4, 3, 2, 1, 1, 1, 1, 1), "DDDDDUDU"),
        ((1, 2, 3, 3, 3, 3, 3, 3), "UUUUDUDU"),
        ((2, 1, 2, 1, 2, 1, 2, 1), "DUDUDUDU"),
        ((4, 3, 2, 3, 4, 3, 2, 1), "DDDUDDDD"),
    ],
)
def test_glides(courses, expected):
    assert strokes(eighths(courses), "glide") == expected


ROLL = (3, 2, 1, 3, 2, 1, 3, 2)


@pytest.mark.parametrize(
    ("school", "expected"),
    [
        # Three published patterns for 3+3+2 eighths over three courses (English Wikipedia, as in SCHOOLS).
        ("roll-down-up-up", "DUUDUUDU"),
        ("roll-down-down-up", "DDUDDUDU"),
        ("roll-alternate", "DUDUDUDU"),
    ],
)
def test_rolls_over_three_courses(school, expected):
    assert strokes(eighths(ROLL), school) == expected
    # where the passage is no roll, the beat rules
    assert strokes(eighths((3, 3, 1, 3, 2, 1, 3, 2)), school) == "DUDUDUDU"
    assert strokes("4 3.2,4 2.2,4 1.2,4 3.2", school) == "DDDD"


def test_long_notes_are_a_tremolo():
    """Bickford 1920 p. 42: whole and half notes always, shorter ones often."""
    built = with_proposals(score("2 2.2,4 2.3,4 2.5", "1 1.0", school=StrokeSchool.TREMOLO))
    flags = [each.proposed_tremolo for m in built.measures for each in m.events]
    assert flags == [True, False, False, True]
    assert with_proposals(score("2 2.2,2 2.3")).measures[0].events[0].proposed_tremolo is False
    own = score(measure("1").with_(events=(event("1 1.0", tremolo=True),)), school=StrokeSchool.TREMOLO)
    assert with_proposals(own).measures[0].events[0].proposed_tremolo is False


def test_a_proposed_tremolo_is_heard():
    from tabterm.performance import perform

    plain = perform(with_proposals(score("1 1.0")))
    shaken = perform(with_proposals(score("1 1.0", school=StrokeSchool.TREMOLO)))
    assert len(shaken.messages) > 4 * len(plain.messages)


def test_rolls_of_double_stops_have_their_direction():
    """Towards the higher courses is down, whatever the beat says; towards the lower ones up."""
    up = event("4 1.2 2.2", roll=Direction.UP)
    down = event("4 1.2 2.2", roll=Direction.DOWN)
    built = with_proposals(
        score(measure("1").with_(events=(down, event("8 1.2"), event("8 1.2"), up, event("4"))))
    )
    assert [LETTERS[each.proposed_stroke] for each in built.measures[0].events] == ["U", "D", "U", "D", "."]


def test_grace_notes_take_a_stroke():
    """Bickford 1920 p. 66: the grace note is struck, then the finger drops without a new stroke."""
    dropped = event("4 h2.4", grace=(Note(course=2, fret=2),))
    built = with_proposals(score(measure("1").with_(events=(event("4 2.0"), dropped, event("2 2.0")))))
    assert built.measures[0].events[1].proposed_stroke is D
    at = Place(0, built.measures[0].onsets[1])
    assert grace_strokes(built, at) == (D,)
    struck = event("4 2.4", grace=(Note(course=2, fret=2), Note(course=2, fret=3)))
    both = with_proposals(score(measure("1").with_(events=(event("4 2.0"), struck, event("2 2.0")))))
    assert grace_strokes(both, at) == (D, U)
    assert both.measures[0].events[1].proposed_stroke is D


def test_a_school_for_some_measures():
    plain = score(*[eighths((2,) * 8)] * 4)
    built = set_school_of(plain, 1, 2, StrokeSchool.COURSE_CHANGE)
    beat, old = StrokeSchool.BEAT, StrokeSchool.COURSE_CHANGE
    assert built.schools == (beat, old, old, beat)
    assert set_school_of(built, 1, 2, beat) == plain
    marked = set_section(set_section(plain, 1, "A"), 3, "B")
    assert [section_round(marked, index) for index in range(4)] == [(0, 0), (1, 2), (1, 2), (3, 3)]


@settings(max_examples=150, deadline=None)
@given(scores(), st.data())
def test_after_a_change_as_from_scratch(built, data):
    """Only the measures round a change are looked at, with the answer of looking at all."""
    from tabterm.score.change import Change

    before = with_proposals(built)
    after = data.draw(operations(before))
    change = Change.between(before, after)
    assert with_proposals(after, change) == with_proposals(after)


@settings(max_examples=80, deadline=None)
@given(scores())
def test_every_struck_event_has_a_stroke_and_no_other(built):
    for each in (each for m in with_proposals(built).measures for each in m.events):
        assert (each.proposed_stroke is not None) == each.takes_stroke
        assert each.takes_stroke or not each.proposed_tremolo


# The right hand in time


def test_outside_and_inside_changes():
    """Outside: down on the lower course, up on the higher, or up on the higher, down on the lower."""
    assert course_change(3, D, 3, U) == 0
    assert course_change(3, D, 2, U) == course_change(2, U, 3, D) == 0.5
    assert course_change(3, U, 2, D) == course_change(2, D, 3, U) == 1.0
    assert course_change(4, D, 2, U) == 1.0
    assert course_change(3, None, 2, U) == 0.75


def test_a_stroke_that_goes_on_needs_no_way_back():
    assert sweeps(3, 2, D)
    assert not sweeps(2, 3, D)
    speeds = Speeds()
    assert rate_limit(speeds, (3, D), (2, D)) == float("inf")
    assert rate_limit(speeds, (2, D), (2, D)) == speeds.repeated
    assert rate_limit(speeds, (2, D), (2, U)) == speeds.strokes
    assert strain(speeds, (2, D), (2, U), 1 / speeds.strokes) == pytest.approx(1.0)


def codes(built):
    return [finding.code for finding in findings(with_proposals(built))]


def found(built, code):
    return next(each for each in findings(with_proposals(built)) if each.code == code)


def jig(tempo, **head):
    return score(",".join(["8 2.0"] * 6), metre="6/8", tempo=Tempo.parse(f"4.={tempo}"), **head)


def test_the_two_downs_of_a_jig():
    """Down up down, down up down has two downs an eighth apart. One-handed rhythm ends at 5 to 7 Hz (Fujii et
    al. 2009), so that with 6.5 a second the limit is at 130 dotted quarters (6.5 * 60 / 3)."""
    assert "stroke-return" not in codes(jig(120))
    finding = found(jig(140), "stroke-return")
    assert finding.numbers["rate_per_s"] == pytest.approx(7.0, abs=0.01)
    assert finding.numbers["limit_per_s"] == 6.5
    labels = [remedy.label for remedy in offered(with_proposals(jig(140)), finding)]
    assert "strokes strict alternation in this measure" in labels
    assert "stroke-return" not in codes(jig(140, school=StrokeSchool.ALTERNATE))


def test_strokes_beyond_the_hand():
    """Sixteenths at 160 are 10.7 strokes a second, at 140 9.3; the profile does 10."""
    run = ",".join(["16 2.2,16 2.3"] * 8)
    finding = found(score(run, tempo=Tempo(160.0)), "strokes-too-fast")
    assert finding.numbers["rate_per_s"] == pytest.approx(160 * 4 / 60, abs=0.01)
    assert "strokes-too-fast" not in codes(score(run, tempo=Tempo(140.0)))
    labels = [remedy.label for remedy in offered(with_proposals(score(run, tempo=Tempo(160.0))), finding)]
    assert any("instead of picking" in label or label.startswith("slower") for label in labels)


def test_a_set_stroke_against_a_roll():
    rolled = event("1 1.2 2.2", roll=Direction.UP, stroke=U)
    finding = found(score(measure("1").with_(events=(rolled,))), "stroke-against-roll")
    assert "down-stroke" in finding.message


# The command


def test_the_command(tmp_path, capsys):
    path, out = tmp_path / "a.tabterm", tmp_path / "b.tabterm"
    path.write_bytes(native.write(score(eighths((4, 3, 2, 1, 1, 1, 1, 1)))))
    assert main(["strokes", str(path), "--school", "glide", "-o", str(out)]) == 0
    written = native.read(out.read_bytes())
    assert written.head.school is StrokeSchool.GLIDE
    assert [each.proposed_stroke for each in written.measures[0].events][:4] == [D] * 4
    assert main(["strokes", str(path)]) == 0
    assert "stroke" in capsys.readouterr().out
    assert main(["strokes", str(path), "--school", "bow"]) == 2
    error = capsys.readouterr().err
    assert "no school 'bow'" in error
    assert "glide" in error
    assert main(["strokes", "--schools"]) == 0
    assert "Bickford" in capsys.readouterr().out
