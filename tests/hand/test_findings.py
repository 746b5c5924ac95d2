"""Reaches against the published millimetres, and every kind of finding with its remedies."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import groupby

import pytest
from hypothesis import given, settings

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.bands import BANDS, Verdict, judge
from tabterm.hand.difficulty import Playing
from tabterm.hand.finding import CODES
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of, widest_of
from tabterm.hand.review import Severity, findings
from tabterm.hand.state import hand_at
from tabterm.hand.stops import Stop
from tabterm.hand.strokes import with_proposals
from tabterm.hand.trial import offered
from tabterm.instrument import PRESETS, stretch_mm
from tabterm.score.kinds import Reached, Stroke
from tabterm.score.model import Event, Head, Note
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile
from tabterm.score.source import Bend
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, score
from tests.hand.passages import SEEDED, passages
from tests.thorough import many


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
    return [finding.code for finding in findings(built, PLAYER)]


def one(built):
    (finding,) = findings(built, PLAYER)
    return finding


def mended(finding, built, number=0):
    """The score after a remedy, one of those that help."""
    remedies = offered(built, PLAYER, finding)
    return remedies[number].operation(built, finding.place)


def chord(text, duration="1", **fields):
    return event(duration).with_(notes=notes(text), **fields)


# Reaches


NECK = neck_of(Head(), PLAYER)


def test_bands_rise_and_scale_with_the_span():
    for pair, band in BANDS.items():
        assert band.natural_mm < band.comfortable_mm < band.hard_mm < band.extreme_mm
        assert judge(pair, band.extreme_mm * 1.1, 143) is Verdict.IMPOSSIBLE
        assert judge(pair, band.extreme_mm * 1.1, 160) is not Verdict.IMPOSSIBLE


def test_the_widest_reach_of_a_grip():
    reach = widest_of(NECK, (Stop(1, 7, 4), Stop(3, 2, 1), Stop(2, 0, 0)))
    assert reach is not None
    assert (reach.fingers, reach.frets) == ((1, 4), (2, 7))
    assert widest_of(NECK, (Stop(1, 2, 1), Stop(2, 2, 1))) is None
    assert widest_of(NECK, (Stop(1, 0, 0), Stop(2, 5, 3))) is None


@pytest.mark.parametrize(
    ("text", "severity"),
    [("1.8.4 3.1.1", Severity.HARD), ("1.7.4 3.2.1", None), ("1.15.4 3.1.1", Severity.IMPOSSIBLE)],
)
def test_a_reach_of_one_moment(text, severity):
    found = findings(with_events(chord(text)), PLAYER)
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
    assert findings(mended(finding, with_events(chord("1.3.2 2.5.2"))), PLAYER) == ()
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
    ("text", "code", "way"),
    [
        ("2 1.5,2 h1.3", "hammer-on-downwards", Reached.PULL),
        ("2 1.5,2 h1.5", "hammer-on-downwards", Reached.STRUCK),
        ("2 1.3,2 p1.5", "pull-off-upwards", Reached.HAMMER),
        ("2 1.5,2 p1.5", "pull-off-upwards", Reached.STRUCK),
        ("2 1.0,2 p1.3", "pull-off-from-nothing", Reached.HAMMER),
        ("2 2.3,2 h1.3", "slur-across-courses", Reached.STRUCK),
        ("2 2.3,2 p1.0", "slur-across-courses", Reached.STRUCK),
        ("2 1.0,2 /1.3", "slide-open-course", Reached.HAMMER),
        ("2 1.3,2 /1.0", "slide-open-course", Reached.PULL),
    ],
)
def test_slurs_that_cannot_sound(text, code, way):
    built = score(text)
    finding = one(built)
    assert (finding.code, finding.severity) == (code, Severity.IMPOSSIBLE)
    after = mended(finding, built)
    assert after.measures[0].events[1].notes[0].reached is way
    assert findings(after, PLAYER) == ()


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
    assert [remedy.label for remedy in offered(built, PLAYER, finding)] == [
        *("course A, fret 7", "course D, fret 14", "leave the bend out"),
    ]
    assert findings(mended(finding, built), PLAYER) == ()


def test_a_fret_beyond_the_neck():
    built = score("1 2.25")
    finding = one(built)
    assert finding.code == "beyond-the-neck"
    assert "has 20" in finding.message
    assert findings(mended(finding, built), PLAYER) == ()


def test_two_frets_on_one_course():
    ringing = event("2").with_(notes=(Note(course=2, fret=3, ring=True),))
    built = with_events(ringing, event("2 2.7"))
    finding = one(built)
    assert finding.code == "two-frets-one-course"
    assert findings(mended(finding, built), PLAYER) == ()
    assert findings(mended(finding, built, -1), PLAYER) == ()


def test_a_stroke_on_a_slurred_note():
    built = with_events(event("2 1.3"), event("2 h1.5", stroke=Stroke.UP))
    assert one(built).code == "stroke-on-slur"
    assert findings(mended(one(built), built), PLAYER) == ()


def test_two_strokes_against_the_grid():
    turned = [event("4 1.3", stroke=Stroke.UP) for _ in range(2)]
    built = with_proposals(with_events(*turned, event("2 1.3")), PLAYER)
    assert (one(built).code, one(built).severity) == ("against-the-grid", Severity.REMARK)
    alone = with_proposals(with_events(turned[0], event("4 1.3"), event("2 1.3")), PLAYER)
    assert codes(alone) == []


# Time


def eighths(text, tempo=120.0, **head):
    """Notes in eighths, `course.fret.finger` (0: not set; h, p, / before a slurred one), then a rest."""
    how = {"h": Reached.HAMMER, "p": Reached.PULL, "/": Reached.SLIDE}
    made = []
    for word in text.split():
        reached = how.get(word[0], Reached.STRUCK)
        made.append(event("8").with_(notes=notes(word.lstrip("hp/"), reached=reached)))
    rest = 8 - len(made)
    return with_events(*made, *(event("8") for _ in range(rest)), tempo=Tempo(tempo), **head)


def found(built, code):
    return next(finding for finding in findings(built, PLAYER) if finding.code == code)


def test_a_shift_without_time():
    """7 frets and back in eighths at 200: 0.15 s each, half of it while a finger still sounds the note before."""
    quick = eighths("1.2.1 1.12.1 1.2.1 1.12.1", 200.0)
    finding = found(quick, "shift-no-time")
    assert finding.severity is Severity.HARD
    assert finding.numbers["free_ms"] == 75
    far = stretch_mm(352.425, finding.numbers["from_fret"], finding.numbers["to_fret"])
    assert finding.numbers["shift_mm"] == pytest.approx(abs(far), abs=0.01)
    assert abs(far) > 100
    assert "shift-no-time" not in codes(eighths("1.2.1 1.12.1 1.2.1 1.12.1", 60.0))
    over_open = eighths("1.2.1 2.0.0 1.5.1", 120.0)
    assert "shift-no-time" not in codes(over_open)
    assert found(eighths("1.2.1 1.12.1 1.2.1 1.12.1", 390.0), "shift-no-time").severity is Severity.IMPOSSIBLE
    assert [remedy.label for remedy in offered(quick, PLAYER, finding)] == [
        *("this measure at 1/4=63", "move the phrase an octave down"),
    ]


def test_notes_with_no_time_between_them_are_found_impossible():
    """The 256th of 105 in the time of 2 lasts 0.04 ms at this tempo: nothing may divide by it."""
    near, far = (event("256(105:2)").with_(notes=notes(each)) for each in ("1.2.1", "1.14.1"))
    built = score(measure("1").with_(events=(near, far), short=True), tempo=Tempo(400.0))
    finding = found(built, "shift-no-time")
    assert finding.severity is Severity.IMPOSSIBLE
    assert finding.numbers["free_ms"] == 0


def test_the_note_before_a_shift_is_cut_short():
    """With no good finger left the note before goes early (common practice, no source)."""
    built = eighths("1.3.1 1.8.1 1.10.2 1.8.1", 130.0)
    finding = found(built, "shift-no-time")
    (way,) = [
        remedy
        for remedy in offered(built, PLAYER, finding)
        if remedy.label == "shorten the note before (staccato)"
    ]
    after = way.operation(built, finding.place)
    assert after.measures[0].events[0].staccato
    assert "shift-no-time" not in codes(after)


def test_a_finger_that_takes_a_place_over():
    finding = found(eighths("1.3.1 1.3.3 1.0.0"), "finger-switch")
    assert finding.severity is Severity.AWKWARD
    assert findings(mended(finding, eighths("1.3.1 1.3.3 1.0.0")), PLAYER) == ()


def test_one_finger_in_quick_succession():
    """A held note keeps the hand in its place, so that one finger has to jump along its course."""

    def jumping(tempo):
        held = event("8").with_(notes=notes("3.2.1", ring=True))
        plain = [event("8").with_(notes=notes(text)) for text in ("1.3.2", "1.4.2", "1.3.2")]
        return with_events(held, *plain, event("2"), tempo=Tempo(tempo))

    jump = found(jumping(240.0), "finger-jump")
    assert (jump.numbers["from_fret"], jump.numbers["to_fret"], jump.numbers["gap_ms"]) == (3, 4, 125)
    assert "finger-jump" not in codes(jumping(120.0))
    roll = found(eighths("1.3.2 2.3.2 1.3.2", 300.0), "finger-roll")
    assert roll.message == "finger 2 has 100 ms to get from course E to course A"
    assert "finger-roll" not in codes(eighths("1.3.2 2.3.2 1.3.2", 120.0))


def test_a_slur_faster_than_the_fingers():
    """Fingers 2 and 3 of the default profile do 7.5 notes a second; eighths at 240 are 8."""
    quick = eighths("1.3.2 h1.5.3 p1.3.2 h1.5.3", 240.0)
    finding = found(quick, "slur-too-fast")
    assert finding.numbers["limit_per_s"] == 7.5
    assert finding.numbers["rate_per_s"] == pytest.approx(8.0, abs=0.01)
    assert "pick it instead of slurring" in [remedy.label for remedy in offered(quick, PLAYER, finding)]
    assert "slur-too-fast" not in codes(eighths("1.3.2 h1.5.3 p1.3.2 h1.5.3", 180.0))


def test_a_pull_off_whose_lower_finger_is_elsewhere():
    """Finger 1 plays fret 2 on the next course and has 100 ms to be under the note that is pulled off."""
    quick = eighths("2.2.1 1.5.4 p1.3.1", 300.0)
    finding = found(quick, "pull-off-unprepared")
    assert (finding.numbers["finger"], finding.numbers["fret"], finding.numbers["from_fret"]) == (1, 3, 2)
    assert "pull-off-unprepared" not in codes(eighths("2.2.1 1.5.4 p1.3.1", 120.0))


def test_set_fingers_that_cannot_be():
    """A hammer-on to a lower finger: the choice to give up is named."""
    built = eighths("1.3.2 h1.5.1")
    finding = found(built, "set-fingers")
    assert finding.severity is Severity.IMPOSSIBLE
    assert "finger 1 at fret 5" in finding.message
    after = mended(finding, built)
    assert findings(after, PLAYER) == ()


def test_a_set_finger_before_a_slur_that_leaves_none_for_it():
    """From the little finger no finger is left to hammer on with; the note slurred to has none set."""
    built = eighths("1.3.4 h1.5.0")
    finding = found(built, "set-fingers")
    assert finding.place == Place(0, Fraction(1, 2))
    assert "finger 4 at fret 3" in finding.message
    assert findings(mended(finding, built), PLAYER) == ()


def test_the_little_finger_can_have_too_much():
    heavy = eighths("1.7.4 1.6.4 1.7.4 1.6.4 1.7.4 1.6.4 1.7.4 1.6.4", 60.0)
    assert found(heavy, "little-finger-load").severity is Severity.REMARK
    assert "little-finger-load" not in codes(eighths("1.7.4 1.5.3 1.7.4 1.5.3 1.7.4 1.5.3 1.7.4 1.5.3", 60.0))


def test_what_no_finger_can_do():
    """No two fingers are as far apart as frets 1 and 12; a finger can slide there, or the note is picked."""
    built = score("2 1.1,2 h1.12")
    finding = one(built)
    assert (finding.code, finding.severity) == ("no-fingering", Severity.IMPOSSIBLE)
    assert [remedy.label for remedy in offered(built, PLAYER, finding)][:2] == [
        *("slide to it instead", "pick it instead of slurring"),
    ]


# What the difficulty puts above the limit


def test_two_fingers_that_take_turns_too_fast():
    """Fingers 3 and 4 of the default profile do 6 notes a second; sixteenths at 110 are 7.3."""
    built = with_proposals(score("16 2.4.3,16 2.5.4,16 2.4.3,16 2.5.4,4 2.4,2 1.0", tempo=Tempo(110.0)), PLAYER)
    finding = found(built, "fingers-too-fast")
    assert finding.numbers["asked"] == pytest.approx(110 * 4 / 60, abs=0.01)
    assert finding.numbers["limit"] == 6
    assert finding.message == "fingers 3 and 4 alternate at 7.3 notes a second; your limit is 6"
    assert "fingers-too-fast" not in codes(built.with_(head=built.head.with_(tempo=Tempo(80.0))))


def test_a_beat_that_asks_too_much_says_why():
    thirds = "8 1.2 2.5,8 1.3.1 2.7.4,8 1.2 2.5,8 1.3.1 2.7.4,2"
    finding = found(with_proposals(score(thirds, tempo=Tempo(160.0)), PLAYER), "too-much-in-a-beat")
    assert finding.message.startswith("this beat takes ")
    assert "% of your limit: one finger jumps along its course" in finding.message
    assert "too-much-in-a-beat" not in codes(score(thirds, tempo=Tempo(60.0)))


@settings(SEEDED, max_examples=many(20, 40))
@given(passages())
def test_whatever_is_above_the_limit_has_a_finding(built):
    """In each stretch that asks for more than the limit there is one that says why."""
    built = with_proposals(built, PLAYER)
    known = [each.place for each in findings(built, PLAYER) if each.severity is not Severity.REMARK]
    for solved in fingering(built, PLAYER).phrases:
        uses = Playing.of(built, solved).uses()
        for over, stretch in groupby(zip(uses, solved.phrase, strict=True), key=lambda each: each[0] > 1.005):
            places = [onset.place for _, onset in stretch]
            assert not over or any(places[0] <= each <= places[-1] for each in known), places


def test_every_code_is_tested():
    from pathlib import Path

    text = "".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    assert [code for code in CODES if f'"{code}"' not in text] == []


def test_the_hand_at_a_moment():
    built = with_events(chord("1.7.4 3.2.1"))
    state = hand_at(built, fingering(built, PLAYER), Place(0))
    assert state.notes == (Stop(1, 7, 4), Stop(3, 2, 1))
    assert state.frame == 2
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
    assert found["remedies"][0] == {"label": "make it a pull-off", "kind": "slur", "unasked": True}
    path.write_bytes(native.write(with_events(chord("1.8.4 3.1.1"))))
    assert main(["check", str(path)]) == 0
    assert "ask a teacher or doctor" in capsys.readouterr().out


@pytest.mark.parametrize("open_course", ["3.0.0", "3.2.1"])
def test_a_flat_finger_stops_what_it_lies_across(open_course):
    """Finger 3 flat from G 5 to A 5 lies on D as well, which then sounds at fret 5 (the neck's own law)."""
    finding = one(with_events(chord(f"2.5.3 {open_course} 4.5.3")))
    assert (finding.code, finding.severity) == ("set-fingers", Severity.IMPOSSIBLE)
    assert codes(with_events(chord("2.5.3 3.7.4 4.5.3"))) == []


def test_a_flat_finger_silences_a_course_that_rings():
    ringing = event("4").with_(notes=(Note(course=3, fret=0, ring=True),))
    flat = chord("2.5.3 4.5.3", "2.")
    assert codes(with_events(ringing, flat)) == ["set-fingers"]
    assert codes(with_events(event("4 3.0"), flat)) == []


def test_no_finger_is_proposed_flat_over_a_lower_fret():
    """G 5 D 2 A 3 E 5 on a long neck, where all four fingers are needed."""
    built = score("1 1.5 2.3 3.2 4.5", instrument=PRESETS["octave-mandolin"])
    (hold,) = fingering(built, PLAYER).holds()
    assert sorted(stop.finger for stop in hold.grip.notes) == [1, 2, 3, 4]


@pytest.mark.parametrize(("tempo", "found"), [(150.0, {"reach-next"}), (60.0, set())])
def test_fingers_that_alternate_fast_are_judged_as_held(tempo, found):
    """Frets 2 and 6 of a long neck, 103 mm: hard as a double stop, and as hard ten times a second."""
    long_neck = {"instrument": PRESETS["octave-mandolin"]}
    (held,) = findings(score("1 1.2 2.6", **long_neck), PLAYER)
    turns = findings(score("16 1.2,16 1.6,16 1.2,16 1.6,2.", tempo=Tempo(tempo), **long_neck), PLAYER)
    assert {finding.code for finding in turns} == found
    assert {finding.severity for finding in turns} <= {held.severity}


def test_a_tied_reach_is_found_once():
    built = score("2 1.2 3.7,2 (1.2 (3.7", instrument=PRESETS["octave-mandolin"])
    assert codes(built) == ["reach"]
