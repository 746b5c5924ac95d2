"""Reaches against the published millimetres, and every kind of finding with its remedies."""

from __future__ import annotations

import json

import pytest

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.bands import BANDS, Verdict, judge
from tabterm.hand.finding import CODES
from tabterm.hand.findings import Severity, findings
from tabterm.hand.reach import widest
from tabterm.hand.state import hand_at
from tabterm.hand.strokes import with_proposals
from tabterm.instrument import PRESETS, stretch_mm
from tabterm.score.kinds import Reached, Stroke
from tabterm.score.model import Bend, Event, Head, Note
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile
from tabterm.score.tempo import Tempo
from tests.build import event, measure, score


def notes(text, **fields):
    """Notes from `course.fret.finger` words; a finger of 0 is none."""
    made = []
    for word in text.split():
        course, fret, finger = map(int, word.split("."))
        made.append(Note(course=course, fret=fret, finger=finger or None, **fields))
    return tuple(made)


def with_events(*events, **head):
    return score(measure("1").with_(events=events), **head)


def codes(built):
    return [finding.code for finding in findings(built)]


def one(built):
    (finding,) = findings(built)
    return finding


def chord(text, duration="1", **fields):
    return event(duration).with_(notes=notes(text), **fields)


# Reaches


@pytest.mark.parametrize(
    ("low", "high", "fingers", "mm", "verdict"),
    [
        # mm: equal temperament on 352.425 mm. Comfortable: the 95th percentile of ten professional violinists
        # (Jen et al. 2021), rounded up so that first position, frets 2 to 4 and 2 to 7, lies inside.
        (2, 4, (1, 2), 34.26, Verdict.COMFORTABLE),
        (2, 7, (1, 4), 78.76, Verdict.COMFORTABLE),
        # Frets 1 to 7: a stretch that lessons call trainable in months.
        (1, 7, (1, 4), 97.43, Verdict.HARD),
        # Double stops of a third, a fourth apart in shape: 64.77 mm is just beyond the ring finger's comfort.
        (2, 6, (1, 4), 64.77, Verdict.COMFORTABLE),
        (2, 6, (1, 3), 64.77, Verdict.HARD),
        (2, 5, (1, 3), 49.95, Verdict.COMFORTABLE),
    ],
)
def test_reaches_on_the_mandolin(low, high, fingers, mm, verdict):
    reach = stretch_mm(352.425, low, high)
    assert reach == pytest.approx(mm, abs=0.01)
    assert judge(fingers, reach, 143) is verdict


@pytest.mark.parametrize(("scale", "mm"), [(558.8, 124.88), (584.2, 130.56)])
def test_the_same_frame_on_a_long_neck_is_beyond_hard(scale, mm):
    reach = stretch_mm(scale, 2, 7)
    assert reach == pytest.approx(mm, abs=0.01)
    assert judge((1, 4), reach, 143) is Verdict.EXTREME


def test_bands_rise_and_scale_with_the_span():
    for pair, band in BANDS.items():
        assert band.natural_mm < band.comfortable_mm < band.hard_mm < band.extreme_mm
        assert judge(pair, band.extreme_mm * 1.1, 143) is Verdict.IMPOSSIBLE
        assert judge(pair, band.extreme_mm * 1.1, 160) is not Verdict.IMPOSSIBLE


def test_fingers_that_are_not_set_are_taken_as_they_serve_best():
    reach = widest(Head(), notes("1.7.0 3.2.0"))
    assert reach is not None
    assert reach.fingers == (1, 4)
    assert widest(Head(), notes("1.2.0 2.2.0")) is None
    assert widest(Head(), notes("1.0.0 2.5.0")) is None


@pytest.mark.parametrize(
    ("text", "severity"),
    [("1.8.4 3.1.1", Severity.HARD), ("1.7.4 3.2.1", None), ("1.15.4 3.1.1", Severity.IMPOSSIBLE)],
)
def test_a_reach_of_one_moment(text, severity):
    found = findings(with_events(chord(text)))
    assert [finding.severity for finding in found] == ([severity] if severity else [])
    if severity is Severity.HARD:
        assert "reach 1-4, frets 1 to 8, is 111 mm (comfortable up to 79 mm)" in found[0].message
        assert found[0].numbers["reach_mm"] == pytest.approx(110.63, abs=0.01)


def test_a_reach_scales_with_instrument_and_hand():
    text = "1.7.4 3.2.1"
    assert codes(with_events(chord(text), instrument=PRESETS["tenor-banjo"])) == ["reach"]
    assert codes(with_events(chord(text), hand=HandProfile(span_mm=120))) == ["reach"]
    assert codes(with_events(chord("1.8.4 3.1.1"), hand=HandProfile(span_mm=205))) == []


def test_a_ringing_note_keeps_its_finger():
    ringing = event("2").with_(notes=notes("3.1.1", ring=True))
    assert codes(with_events(ringing, chord("1.9.4", "2"))) == ["reach"]


def test_neighbours_count_only_when_held_or_too_fast():
    wide = (chord("1.1.1", "8"), chord("2.8.4", "8"), event("2."))
    assert codes(with_events(*wide, tempo=Tempo(60.0))) == []
    fast = one(with_events(*wide, tempo=Tempo(200.0)))
    assert (fast.code, fast.severity) == ("reach-next", Severity.AWKWARD)
    slurred = chord("1.9.4", "8").with_(notes=notes("1.9.4", reached=Reached.HAMMER))
    legato = with_events(chord("1.1.1", "8"), slurred, event("2."), tempo=Tempo(60.0))
    assert one(legato).severity is Severity.HARD


# Fingers


def test_one_finger_on_two_frets():
    finding = one(with_events(chord("1.3.2 2.5.2")))
    assert (finding.code, finding.severity) == ("one-finger-two-frets", Severity.IMPOSSIBLE)
    assert findings(finding.mend(with_events(chord("1.3.2 2.5.2")))) == ()
    assert codes(with_events(chord("1.3.2 2.3.2"))) == []


def test_more_notes_than_fingers():
    ringing = tuple(
        event("4").with_(notes=(Note(course=course, fret=course + 1, ring=True),)) for course in (2, 3)
    )
    assert "too-few-fingers" not in codes(with_events(*ringing, event("2")))
    five = Head().instrument.with_(courses=(*Head().instrument.courses, *Head().instrument.courses[3:]))
    held = Event(duration=event("1").duration, notes=tuple(Note(course=c, fret=c + 1) for c in range(1, 6)))
    assert "too-few-fingers" in codes(with_events(held, instrument=five))


# Slurs, slides, bends, the neck, strokes


@pytest.mark.parametrize(
    ("text", "code", "mended"),
    [
        ("2 1.5,2 h1.3", "hammer-on-downwards", Reached.PULL),
        ("2 1.5,2 h1.5", "hammer-on-downwards", Reached.STRUCK),
        ("2 1.3,2 p1.5", "pull-off-upwards", Reached.HAMMER),
        ("2 1.0,2 p1.3", "pull-off-from-nothing", Reached.HAMMER),
        ("2 2.3,2 h1.3", "slur-across-courses", Reached.STRUCK),
        ("2 2.3,2 p1.0", "slur-across-courses", Reached.STRUCK),
        ("2 1.0,2 /1.3", "slide-open-course", Reached.HAMMER),
        ("2 1.3,2 /1.0", "slide-open-course", Reached.PULL),
    ],
)
def test_slurs_that_cannot_sound(text, code, mended):
    built = score(text)
    finding = one(built)
    assert (finding.code, finding.severity) == (code, Severity.IMPOSSIBLE)
    after = finding.mend(built)
    assert after.measures[0].events[1].notes[0].reached is mended
    assert findings(after) == ()


@pytest.mark.parametrize("text", ["2 1.3,2 h1.5", "2 1.5,2 p1.0", "2 1.3,2 /1.5", "4 1.2,4 h1.3,4 p1.2,4 p1.0"])
def test_slurs_that_sound(text):
    assert codes(score(text)) == []


def test_a_slur_from_a_dead_note():
    dead = event("2").with_(notes=(Note(course=1, fret=3, muted=True),))
    built = with_events(dead, event("2 h1.5"))
    assert codes(built) == ["slur-from-nothing"]
    assert codes(with_events(dead, event("2 p1.0"))) == ["pull-off-from-nothing"]


def test_a_grace_note_is_what_its_note_is_slurred_from():
    graced = event("2 h1.5", grace=(Note(course=1, fret=3),))
    assert codes(with_events(event("2 2.0"), graced)) == []


def test_a_bend_of_an_open_course():
    built = with_events(event("1").with_(notes=(Note(course=1, fret=0, bend=Bend()),)))
    finding = one(built)
    assert finding.code == "bend-open-course"
    assert [remedy.label for remedy in finding.remedies][:2] == ["leave the bend out", "course A, fret 7"]
    assert findings(finding.mend(built, 1)) == ()


def test_a_fret_beyond_the_neck():
    built = score("1 2.25")
    finding = one(built)
    assert finding.code == "beyond-the-neck"
    assert "has 20" in finding.message
    assert findings(finding.mend(built)) == ()


def test_two_frets_on_one_course():
    ringing = event("2").with_(notes=(Note(course=2, fret=3, ring=True),))
    built = with_events(ringing, event("2 2.7"))
    finding = one(built)
    assert finding.code == "two-frets-one-course"
    assert findings(finding.mend(built)) == ()
    assert findings(finding.mend(built, len(finding.remedies) - 1)) == ()


def test_a_stroke_on_a_slurred_note():
    built = with_events(event("2 1.3"), event("2 h1.5", stroke=Stroke.UP))
    assert one(built).code == "stroke-on-slur"
    assert findings(one(built).mend(built)) == ()


def test_two_strokes_against_the_grid():
    turned = [event("4 1.3", stroke=Stroke.UP) for _ in range(2)]
    built = with_proposals(with_events(*turned, event("2 1.3")))
    assert (one(built).code, one(built).severity) == ("against-the-grid", Severity.REMARK)
    alone = with_proposals(with_events(turned[0], event("4 1.3"), event("2 1.3")))
    assert codes(alone) == []


def test_every_code_is_tested_here():
    from pathlib import Path

    text = Path(__file__).read_text(encoding="utf-8")
    assert [code for code in CODES if f'"{code}"' not in text] == []


def test_the_hand_at_a_moment():
    built = with_events(chord("1.7.4 3.2.1"))
    state = hand_at(built, Place(0))
    assert state.fingers == ((4, 1, 7), (1, 3, 2))
    assert state.reach_mm == pytest.approx(78.76, abs=0.01)
    assert (state.limit_mm, state.verdict) == (79, "comfortable")


# The command


def test_check_prints_and_exits(tmp_path, capsys):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score("2 1.5,2 h1.3")))
    assert main(["check", str(path)]) == 1
    out = capsys.readouterr().out
    assert "measure 1, beat 3, course E: impossible: a hammer-on from fret 5 to fret 3" in out
    assert "try: make it a pull-off" in out
    assert main(["check", str(path), "--json"]) == 1
    (found,) = json.loads(capsys.readouterr().out)
    assert found["code"] == "hammer-on-downwards"
    assert (found["measure"], found["beat"], found["course"]) == (1, "3", 1)
    assert found["remedies"][0] == "make it a pull-off"
    path.write_bytes(native.write(with_events(chord("1.8.4 3.1.1"))))
    assert main(["check", str(path)]) == 0
    assert "ask a teacher or physician" in capsys.readouterr().out
