"""Strokes by the grid rule, against worked examples of published teachers."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.hand.schools import by_school
from tabterm.hand.strokes import with_proposals
from tabterm.score.change import Change
from tabterm.score.kinds import Barline, Stroke, StrokeSchool
from tabterm.score.metre import Metre
from tests.build import PLAYER, measure, score
from tests.strategies import operations, scores
from tests.thorough import many

LETTERS = {Stroke.DOWN: "D", Stroke.UP: "U", None: "."}
FRET = "1.2"


def proposed(events: str, metre: str = "4/4", school=StrokeSchool.BEAT) -> str:
    """Letters of the proposals; events as note values, `r` for rests, `h` for hammer-ons, `t` for ties."""
    words = []
    for number, word in enumerate(events.split()):
        value = word.rstrip("rht")
        note = {"r": "", "h": f" h1.{number + 3}", "t": " (1.2"}.get(word[len(value) :], " 1.2")
        words.append(value + note)
    built = with_proposals(score(", ".join(words).replace(", ", ","), metre=metre, school=school), PLAYER)
    return "".join(LETTERS[event.proposed_stroke] for event in built.measures[0].events)


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        # N. Gatherer, "Pick direction" 1: quarters all down; eighths in turn; a long note turns nothing.
        ("4 4 4 4", "DDDD"),
        ("8 8 8 8 8 8 8 8", "DUDUDUDU"),
        ("4 8 8 4 8 8", "DDUDDU"),
        # The same, "alternate each beat, not each note": a birthday song's dotted upbeat, then quarters.
        ("8 8 4 4 4", "DUDDD"),
        # N. Gatherer, "Pick direction" 5: a slurred note takes none and the hand goes on; off-beats are both up.
        ("8 8h 8 8 8 8h 8 8", "D.DUD.DU"),
        ("8 4 4 4 8", "DUUUU"),
        ("8 8 8h 8 2", "DU.UD"),
        # Sixteenths move the grid: the off-beat eighth comes down (teaching practice, no source).
        ("16 16 16 16 8 16 16 4 8 8", "DUDUDDUDDU"),
        ("8. 16 8. 16 2", "DUDUD"),
        ("8r 8 4r 8 8 8r 8", ".U.DU.U"),
        ("4 4t 4 4", "D.DD"),
    ],
)
def test_simple_metres(events, expected):
    assert proposed(events) == expected


@pytest.mark.parametrize(
    ("events", "metre", "by_beat", "alternating"),
    [
        # N. Gatherer, "Pick direction" 9: jigs down up down; a second school alternates.
        ("8 8 8 8 8 8", "6/8", "DUDDUD", "DUDUDU"),
        ("4 8 8 8 8", "6/8", "DDDUD", "DUDUD"),
        ("8 8 8 8 8 8 8 8 8", "9/8", "DUDDUDDUD", "DUDUDUDUD"),
        ("4. 4.", "6/8", "DD", "DU"),
        # Triplets in simple time: both schools (common practice, no source).
        ("8(3:2) 8(3:2) 8(3:2) 8(3:2) 8(3:2) 8(3:2) 2", "4/4", "DUDDUDD", "DUDUDUD"),
        ("8 8 8 8 8 8 8", "7/8", "DUDUDUD", "DUDUDUD"),
        ("8 8 8 8 8 8 8", "7/8(3+2+2)", "DUDDUDU", "DUDUDUD"),
        ("4 4 4 4", "C|", "DUDU", "DUDU"),
    ],
)
def test_both_schools(events, metre, by_beat, alternating):
    assert proposed(events, metre) == by_beat
    assert proposed(events, metre, StrokeSchool.ALTERNATE) == alternating


@pytest.mark.parametrize(
    ("signs_before", "signs_behind", "expected"),
    [
        ({}, {}, "DDDD DUD"),
        ({"repeat_times": 2}, {}, "DUDU DUD"),
        ({"barline": Barline.DOUBLE}, {}, "DUDU DUD"),
        ({}, {"section": "B"}, "DUDU DUD"),
        ({}, {"repeat_start": True}, "DUDU DUD"),
        ({}, {"metre": Metre.parse("4/4")}, "DUDU DUD"),
        ({"repeat_times": 2, "endings": (1,)}, {"endings": (2,)}, "DDDD DUD"),
    ],
)
def test_in_cut_time_the_hand_keeps_its_clock_through_a_part(signs_before, signs_behind, expected):
    """Quarters in turn where the part has nothing quicker (common practice, no source); a part ends at a section,
    a repeat, a double bar line or another metre, not between its endings."""
    bars = measure("4 1.2,4 1.2,4 1.2,4 1.2", **signs_before), measure("8 1.2,8 1.2,2. 1.2", **signs_behind)
    built = with_proposals(score(*bars, metre="C|"), PLAYER)
    assert " ".join("".join(LETTERS[e.proposed_stroke] for e in m.events) for m in built.measures) == expected


PARTS = ("4 1.2,4 1.2,4 1.2,4 1.2", "4 1.2,8 1.2,8 1.2,2 1.2", "2 1.2,4 1.2,4 1.2")


@settings(max_examples=many(40, 100), deadline=None)
@given(st.data())
def test_cut_time_has_the_same_strokes_after_a_change_as_from_the_beginning(data):
    def bar():
        signs = data.draw(st.sampled_from([{}, {}, {}, {"section": "B"}, {"repeat_times": 2}]))
        return measure(data.draw(st.sampled_from(PARTS)), **signs)

    first = with_proposals(score(*[bar() for _ in range(data.draw(st.integers(2, 7)))], metre="C|"), PLAYER)
    low = data.draw(st.integers(0, len(first.measures) - 1))
    high = data.draw(st.integers(low, min(low + 2, len(first.measures))))
    put_in = [bar() for _ in range(data.draw(st.integers(high - low == len(first.measures), 2)))]
    changed = first.with_(measures=(*first.measures[:low], *put_in, *first.measures[high:]))
    change = Change.between(first, changed)
    if change is not None:
        assert with_proposals(changed, PLAYER, change) == with_proposals(changed, PLAYER)


def test_a_pickup_is_counted_from_its_end():
    built = with_proposals(score(measure("8 1.2,8 1.2,8 1.2", short=True), "1 1.0"), PLAYER)
    assert [LETTERS[e.proposed_stroke] for e in built.measures[0].events] == ["U", "D", "U"]


@pytest.mark.parametrize(
    ("pickup", "expected"), [("4 1.2", "U"), ("8 1.2,8 1.2", "DU"), ("8 1.2,8 1.2,8 1.2", "UDU")]
)
def test_strict_alternation_leads_from_a_pickup_to_a_down_stroke(pickup, expected):
    bars = measure(pickup, short=True), "2 1.0,2 1.0"
    built = with_proposals(score(*bars, school=StrokeSchool.ALTERNATE), PLAYER)
    strokes = ["".join(LETTERS[e.proposed_stroke] for e in m.events) for m in built.measures]
    assert strokes == [expected, "DU"]


def test_a_hammer_on_over_the_bar_line():
    """N. Gatherer, "Pick direction" 5: the lead-in is down, the first note hammered without one, the next up."""
    built = with_proposals(score(measure("4 1.2", short=True), "8 h1.3,8 1.5,4 1.3,2 1.2"), PLAYER)
    assert [LETTERS[e.proposed_stroke] for m in built.measures for e in m.events] == ["D", ".", "U", "D", "D"]


schools = st.none() | st.sampled_from(StrokeSchool)


@settings(max_examples=many(50, 150), deadline=None, suppress_health_check=list(HealthCheck))
@given(scores(max_measures=4), schools, st.data())
def test_proposals_hold_for_every_score(built, school, data):
    """By one school or a mixture: all that is struck has a stroke and nothing else, set ones stay, and after a
    change the measures looked at give the answer of looking at all."""
    if school is not None:
        built = by_school(built, school)
    first = with_proposals(built, PLAYER)
    assert with_proposals(first, PLAYER) is first
    assert strokes_set(first) == strokes_set(built)
    for each in events(first):
        assert (each.proposed_stroke is not None) == each.takes_stroke
        assert not (each.tremolo and each.proposed_tremolo)
    changed = data.draw(operations(first))
    change = Change.between(first, changed)
    if change is not None:
        after = with_proposals(changed, PLAYER, change)
        assert after == with_proposals(changed, PLAYER)
        assert strokes_set(after) == strokes_set(changed)


ROLLING = ("321321", "3213", "32132132", "2132", "321", "3321", "22")


@settings(max_examples=many(50, 150), deadline=None)
@given(st.data(), st.sampled_from(["2/4", "3/4", "4/4", "6/8", "5/4"]), st.sampled_from(list(StrokeSchool)))
def test_rolls_are_the_same_after_a_change_as_from_the_beginning(data, metre, school):
    """Measures that are rolls, or parts of some, or neither; any one of them is put in place of another."""

    def bar():
        whole = int(Metre.parse(metre).length * 2)
        courses = (data.draw(st.sampled_from(ROLLING)) * 5)[:whole]
        return measure(",".join(f"8 {course}.2" for course in courses))

    bars = [bar() for _ in range(data.draw(st.integers(2, 6)))]
    first = with_proposals(score(*bars, metre=metre, school=school), PLAYER)
    number = data.draw(st.integers(0, len(bars) - 1))
    changed = first.with_(measures=(*first.measures[:number], bar(), *first.measures[number + 1 :]))
    change = Change.between(first, changed)
    if change is not None:
        assert with_proposals(changed, PLAYER, change) == with_proposals(changed, PLAYER)


def events(built):
    return [event for each in built.measures for event in each.events]


def strokes_set(built):
    return [(event.stroke, event.tremolo) for event in events(built)]
