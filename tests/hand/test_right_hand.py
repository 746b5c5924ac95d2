"""The right hand: the moving hand, changes of course, the way back, speed, and what is found about them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings

from tabterm.hand.review import findings
from tabterm.hand.right_hand import (
    course_change,
    course_of,
    leaves,
    movement,
    rate_limit,
    silent_strokes,
    strain,
    struck_moves,
    sweeps,
)
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.strokes import with_proposals
from tabterm.hand.trial import offered
from tabterm.score.kinds import Direction, Stroke, StrokeSchool
from tabterm.score.model import Note
from tabterm.score.profile import Speeds
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, score
from tests.strategies import scores
from tests.thorough import many

D, U = Stroke.DOWN, Stroke.UP


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
    return [finding.code for finding in findings(with_proposals(built, PLAYER), PLAYER)]


def found(built, code):
    return next(each for each in findings(with_proposals(built, PLAYER), PLAYER) if each.code == code)


def jig(tempo, **head):
    return score(",".join(["8 2.0"] * 6), metre="6/8", tempo=Tempo.parse(f"3/8={tempo}"), **head)


def test_the_two_downs_of_a_jig():
    """Down up down, down up down has two downs an eighth apart. One-handed rhythm ends at 5 to 7 Hz (Fujii et
    al. 2009), so that with 6.5 a second the limit is at 130 dotted quarters (6.5 * 60 / 3)."""
    assert "stroke-return" not in codes(jig(120))
    finding = found(jig(140), "stroke-return")
    assert finding.numbers["rate_per_s"] == pytest.approx(7.0, abs=0.01)
    assert finding.numbers["limit_per_s"] == 6.5
    labels = [remedy.label for remedy in offered(with_proposals(jig(140), PLAYER), PLAYER, finding)]
    assert "strokes in this measure: strict alternation" in labels
    assert "stroke-return" not in codes(jig(140, school=StrokeSchool.ALTERNATE))


def test_strokes_beyond_the_hand():
    """Sixteenths at 160 are 10.7 strokes a second, at 140 9.3; the profile does 10."""
    run = ",".join(["16 2.2,16 2.3"] * 8)
    finding = found(score(run, tempo=Tempo(160.0)), "strokes-too-fast")
    assert finding.numbers["rate_per_s"] == pytest.approx(160 * 4 / 60, abs=0.01)
    assert "strokes-too-fast" not in codes(score(run, tempo=Tempo(140.0)))
    labels = [
        remedy.label for remedy in offered(with_proposals(score(run, tempo=Tempo(160.0)), PLAYER), PLAYER, finding)
    ]
    assert labels == ["this measure at 1/4=120"]


def test_a_set_stroke_against_a_roll():
    rolled = event("1 1.2 2.2", roll=Direction.UP, stroke=U)
    finding = found(score(measure("1").with_(events=(rolled,))), "stroke-against-roll")
    assert "down-stroke" in finding.message


def test_where_a_stroke_begins_and_ends():
    """A down-stroke goes from the lowest-pitched course to the highest; what is not struck it does not meet."""
    stop = event("4 1.2 2.2 3.2")
    assert (course_of(stop, D), leaves(stop, D)) == (3, 1)
    assert (course_of(stop, U), leaves(stop, U)) == (1, 3)
    held = event("4 1.2 (3.2")
    assert course_of(held) == leaves(held, D) == 1
    dropped = event("4 h2.4", grace=(Note(course=2, fret=2),))
    assert course_of(dropped) == leaves(dropped, D) == 2


def test_a_double_stop_is_left_on_its_other_course():
    """Down over courses 3 and 2, up on 2 is no change of course; up on 3 is one. At 9 a second the hand of the
    default profile does the first (10), not the second (8)."""
    tempo = Tempo(135.0)  # sixteenths: 135 * 4 / 60 = 9 a second
    assert "strokes-too-fast" not in codes(score("16 2.0 3.0,16 2.0,8,4,2", tempo=tempo))
    assert "strokes-too-fast" in codes(score("16 2.0 3.0,16 3.0,8,4,2", tempo=tempo))


def test_a_continued_stroke_has_no_way_back():
    """Eighths at 210 are 7 a second, more than equal strokes do (6.5); over successive courses they are one."""
    glide = "8 4.0,8 3.0,8 2.0,4 1.0,8,4"
    assert "stroke-return" not in codes(score(glide, tempo=Tempo(210.0), school=StrokeSchool.GLIDE))
    same = with_proposals(score("8 2.0,8 2.2,4,2", tempo=Tempo(210.0)), PLAYER)
    both = same.measures[0].events
    down = same.measures[0].with_(events=(both[0], both[1].with_(stroke=D), *both[2:]))
    assert "stroke-return" in codes(same.with_(measures=(down,)))


def test_grace_notes_and_tremolos_are_not_timed_as_strokes():
    quick = Tempo(400.0)
    shaken = event("16 2.2", tremolo=True)
    graced = event("16 2.2", grace=(Note(course=2, fret=0),))
    rest = (event("8"), event("4"), event("2"))
    for quiet in (shaken, graced):
        assert codes(score(measure("1").with_(events=(event("16 2.2"), quiet, *rest)), tempo=quick)) == []


def test_the_moving_hand_in_silence():
    built = score("4 1.2,8 1.2,8 h1.4,2 1.2")
    assert [(str(offset), stroke) for offset, stroke in silent_strokes(built, 0)] == [
        ("1/2", Stroke.UP), ("3/2", Stroke.UP), ("5/2", Stroke.UP), ("3", Stroke.DOWN), ("7/2", Stroke.UP),
    ]  # fmt: skip


def test_a_cut_moves_the_hand_in_the_place_of_its_note():
    built = score("2.,32 1.0,16. 1.0,8")
    assert struck_moves(built, 0) == {Fraction(3): Stroke.DOWN, Fraction(25, 8): Stroke.UP}
    assert Fraction(25, 8) not in dict(movement(built, 0))


@settings(max_examples=many(20, 60), deadline=None)
@given(scores())
def test_every_struck_note_has_a_move_and_every_whole_beat_begins_with_a_down_stroke(built):
    for index, each in enumerate(built.measures):
        slots = dict(movement(built, index))
        assert list(slots) == sorted(slots)
        assert struck_moves(built, index).keys() == {at for at, event in each.timed() if event.takes_stroke}
        if SCHOOLS[built.schools[index]].restarts and not each.short:
            assert all(slots[beat] is Stroke.DOWN for beat in built.metres[index].beats)
