"""How far a course can be bent: string physics against tables and worked examples, and the finding."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.hand import bends
from tabterm.hand.bends import EASY_N, MOST_N, as_slur, bent, bounds, course_distance_mm, pushed
from tabterm.hand.review import Severity, findings
from tabterm.hand.trial import offered
from tabterm.instrument import PRESETS
from tabterm.instrument.strings import STEEL_KG_M3, String, hertz_of, strength_n_mm2, usual_string
from tabterm.score.kinds import BendShape
from tabterm.score.model import Note
from tabterm.score.source import Bend
from tests.build import PLAYER, event, measure, score

MANDOLIN = PRESETS["mandolin"]
N_PER_LB = 4.448222


def plain(inches):
    return String(inches * 25.4, inches * 25.4)


def test_tension_of_a_worked_example():
    """J. Delacour (PTG pianotech list, 10 May 2002): note 64 of a piano at A = 440, 18.1 cm of 0.925 mm wire of
    7.85 g/cc, comes to 170.2 lbf. Note 64 is 15 semitones above note 49, A4."""
    assert STEEL_KG_M3 == 7850
    wire = String(0.925, 0.925)
    assert wire.tension_n(hertz_of(69 + 15), 181.0) / N_PER_LB == pytest.approx(170.2, abs=0.3)


@pytest.mark.parametrize(
    ("inches", "lb_per_inch"),
    # Published unit weights of plain steel strings, in lb/in (from memory); 1 % is their rounding.
    [(0.010, 0.00002215), (0.014, 0.00004341), (0.016, 0.00005671)],
)
def test_weight_of_plain_strings(inches, lb_per_inch):
    kg_per_m = lb_per_inch * 0.45359237 / 0.0254
    assert plain(inches).kg_per_m == pytest.approx(kg_per_m, rel=0.01)


@pytest.mark.parametrize("thousandths", [8, 9, 10, 11, 13, 15, 16, 22, 30, 36, 40])
def test_strength_of_music_wire(thousandths):
    """Against the rule A / d^m that springs are reckoned by, d in mm: A = 2211 N/mm2 and m = 0.145 (Shigley,
    Mechanical Engineering Design, constants of music wire ASTM A228; from memory), and the lower A = 2060 and
    m = 0.163 (engineeringprep.com, problem 141)."""
    mm = thousandths * 0.0254
    strength = strength_n_mm2(mm)
    assert strength == pytest.approx(2211 / mm**0.145, rel=0.02)
    assert strength == pytest.approx(2060 / mm**0.163, rel=0.06)


@pytest.mark.parametrize(
    ("course", "low", "high"),
    # A light to medium set for a mandolin, in thousandths of an inch (from memory).
    [(1, 9, 11), (2, 13, 16), (3, 22, 26), (4, 32, 40)],
)
def test_usual_strings_of_a_mandolin(course, low, high):
    string = usual_string(MANDOLIN.courses[course - 1].pitch, MANDOLIN.scale_length_mm)
    assert low <= string.gauge_mm / 0.0254 <= high


@pytest.mark.parametrize("degrees", [0.3, 0.6, 1.0, 1.5])
@pytest.mark.parametrize(("course", "behind"), [(1, 0.0), (2, 0.0), (1, 0.3)])
def test_a_push_in_the_middle_is_that_of_the_published_formula(course, behind, degrees, monkeypatch):
    """D. R. Grimes 2014 (PLoS ONE 9(7): e102088), for a string that ends at nut and bridge and leaves both at an
    angle t: f = sqrt((E A + cos t (T - E A)) / m) / 2 L, and sideways, each end, (T + E A (1 / cos t - 1)) sin t.
    What lies behind nut and bridge makes the string as much softer as it makes it longer.
    """
    monkeypatch.setattr(bends, "BEHIND", behind)
    length_mm = MANDOLIN.scale_length_mm
    string = usual_string(MANDOLIN.courses[course - 1].pitch, length_mm)
    rest_n = string.tension_n(hertz_of(MANDOLIN.courses[course - 1].pitch), length_mm)
    theta, stiff_n = math.radians(degrees), 200_000 * math.pi * string.gauge_mm**2 / 4 / (1 + behind)
    ratio = math.sqrt((stiff_n + math.cos(theta) * (rest_n - stiff_n)) / rest_n)
    force_n = 2 * (rest_n + stiff_n * (1 / math.cos(theta) - 1)) * math.sin(theta)
    push = pushed(MANDOLIN, course, 12, length_mm / 2 * math.tan(theta))
    assert push.cents == pytest.approx(1200 * math.log2(ratio), abs=0.5)
    assert push.force_n == pytest.approx(2 * force_n, rel=1e-3)


@given(st.sampled_from(sorted(PRESETS)), st.integers(1, 4), st.integers(1, 15), st.floats(0.1, 10.0))
def test_the_further_the_higher_and_the_harder(name, course, fret, mm):
    instrument = PRESETS[name]
    one, other = pushed(instrument, course, fret, mm), pushed(instrument, course, fret, mm + 0.5)
    assert other.force_n > one.force_n > 0
    assert other.tension_n > one.tension_n
    if one.cents > 1:
        assert other.cents > one.cents
        assert bent(instrument, course, fret, one.cents).displacement_mm == pytest.approx(mm, rel=0.01)


@given(st.sampled_from(sorted(PRESETS)), st.integers(1, 4), st.integers(1, 15))
def test_bounds_hold_together(name, course, fret):
    instrument = PRESETS[name]
    limits = bounds(instrument, course, fret)
    assert 0 <= limits.comfortable_cents <= limits.possible_cents + 1e-6
    push = bent(instrument, course, fret, max(limits.possible_cents, 1.0))
    assert push.force_n <= MOST_N * 1.05 or limits.possible_cents < 1
    string = usual_string(instrument.courses[course - 1].pitch, instrument.scale_length_mm)
    assert push.tension_n <= string.breaking_n
    assert EASY_N < MOST_N


def test_courses_part_towards_the_bridge():
    assert course_distance_mm(MANDOLIN, 0) == pytest.approx(7.0)
    assert course_distance_mm(MANDOLIN, 12) == pytest.approx((7.0 + 10.5) / 2)


def with_bend(course, fret, cents):
    note = Note(course=course, fret=fret, bend=Bend(cents=cents))
    return score(measure("1").with_(events=(event("1").with_(notes=(note,)),)))


def test_small_bends_are_no_finding():
    """A quarter tone at fret 5 is what such an instrument allows (common practice, no source)."""
    assert findings(with_bend(2, 5, 50), PLAYER) == ()


def test_a_bend_too_far_and_its_remedies():
    built = with_bend(1, 2, 300)
    (finding,) = findings(built, PLAYER)
    assert (finding.code, finding.severity) == ("bend-too-far", Severity.IMPOSSIBLE)
    assert finding.numbers["cents"] == 300
    assert finding.numbers["possible_cents"] < 300
    first, *_ = offered(built, PLAYER, finding)
    assert first.label == "slide to the pitch of the bend"
    assert findings(first.operation(built, finding.place), PLAYER) == ()
    assert any(way.label.startswith("bend by ") for way in offered(built, PLAYER, finding))
    (hard,) = findings(with_bend(1, 2, 80), PLAYER)
    assert hard.severity is Severity.HARD
    assert " N at the finger" in hard.message


@pytest.mark.parametrize(
    ("bend", "slurred"),
    # What a player does instead: common practice, no source.
    [
        ("2 2.3b200", "2 [2.3] /2.5"),
        ("2 2.3b100", "2 [2.3] /2.4"),
        ("2 2.3b180", "2 [2.3] /2.5"),
        ("2 2.0b200", "2 [2.0] h2.2"),
        ("2 2.3.2b200", "2 [2.3.2] /2.5"),
        ("2 2.3b50", None),
        ("2 2.3b150", "2 [2.3] /2.4b50"),
        ("2 2.19b200", None),
        ("2 2.3", None),
        ("2 (2.3b200", None),
    ],
)
def test_a_bend_to_a_frets_pitch_is_a_slide_or_a_hammer_on(bend, slurred):
    before = event(bend)
    found = as_slur(MANDOLIN, before.notes[0])
    if slurred is None:
        assert found is None
    else:
        assert before.with_(grace=found[0], notes=(found[1],)) == event(slurred)


@pytest.mark.parametrize(
    ("shape", "slurred"),
    [(BendShape.FALL, "2 [2.5] /2.3"), (BendShape.RISE_AND_FALL, "2 [2.3] [/2.5] /2.3")],
)
def test_a_bend_that_is_let_down_slides_back(shape, slurred):
    note = Note(course=2, fret=3, bend=Bend(cents=200, shape=shape))
    graces, left = as_slur(MANDOLIN, note)
    assert event("2").with_(grace=graces, notes=(left,)) == event(slurred)
