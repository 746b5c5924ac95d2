"""What is played, and when; exact to the message."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings

from tabterm.errors import ScoreError
from tabterm.instrument import PRESETS
from tabterm.performance import Attack, Click, Options, Part, perform, playing_order
from tabterm.performance.perform import MOST_MEASURES
from tabterm.performance.shading import Curve, shade
from tabterm.performance.timing import swung_offset
from tabterm.score.click_rests import ClickRests
from tabterm.score.duration import Duration
from tabterm.score.kinds import BendShape, Direction, Reached, Stroke
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import Event, Note, Swing
from tabterm.score.place import Place, Span
from tabterm.score.source import Bend
from tabterm.score.tempo import Tempo
from tests.build import event, measure, score
from tests.strategies import scores
from tests.thorough import many


def notes(performance):
    """(seconds, channel, pitch, velocity) of every note-on but the click's."""
    return [
        (round(m.time_s, 4), m.data[0] & 15, m.data[1], m.data[2])
        for m in performance.messages
        if m.data[0] & 0xF0 == 0x90 and m.data[0] & 15 != 9
    ]


def times(performance):
    return [note[0] for note in notes(performance)]


def offs(performance):
    return [
        (round(m.time_s, 4), m.data[0] & 15, m.data[1]) for m in performance.messages if m.data[0] & 0xF0 == 0x80
    ]


def bends(performance, channel):
    """(seconds, cents) of a channel while the music lasts; 12 semitones are 8192 steps."""
    return [
        (m.time_s, ((m.data[1] | m.data[2] << 7) - 8192) * 1200 / 8192)
        for m in performance.messages
        if m.data[0] == 0xE0 | channel and m.time_s < performance.duration_s
    ]


def clicks(performance):
    return [(round(m.time_s, 4), m.data[1]) for m in performance.messages if m.data[0] == 0x99]


def at(bpm):
    return {"tempo": Tempo(float(bpm))}


def test_quarters_at_60_last_a_second_each_on_a_channel_for_each_course():
    played = perform(score("4 1.0,4 2.0,4 3.0,4 4.0", **at(60)))
    assert [(t, c, p) for t, c, p, _ in notes(played)] == [(0, 0, 76), (1, 1, 69), (2, 2, 62), (3, 3, 55)]
    assert offs(played) == [(1, 0, 76), (2, 1, 69), (3, 2, 62), (4, 3, 55)]
    assert played.duration_s == 4


def test_the_bend_range_is_set_by_rpn_and_deselected():
    """MIDI 1.0: RPN 0 by controllers 101, 100; data entry 6 (semitones), 38 (cents); null is 127/127."""
    setup = [m for m in perform(score("1 1.0")).setup if m[0] == 0xB0]
    assert [(m[1], m[2]) for m in setup] == [(101, 0), (100, 0), (6, 12), (38, 0), (101, 127), (100, 127)]


def test_tempo_percent_scales_every_time():
    played = perform(score("4 1.0,4 1.2,2 1.3", **at(60)), options=Options(tempo_percent=50))
    assert times(played) == [0, 2, 4]
    with pytest.raises(ScoreError):
        perform(score("1 1.0"), options=Options(tempo_percent=10))


def test_a_tempo_counted_in_dotted_quarters():
    played = perform(score("4. 1.0,4. 1.2", metre="6/8", tempo=Tempo.parse("3/8=60")))
    assert times(played) == [0, 1]


def test_ties_sound_on():
    played = perform(score("1 1.3", "2 (1.3,2 1.0", **at(60)))
    assert times(played) == [0, 6]
    assert offs(played)[0] == (6, 0, 79)


def test_a_slurred_note_is_softer_and_follows_without_a_gap():
    played = perform(score("4 1.2,4 h1.3,2 2.0", **at(60)))
    first, second, *_ = notes(played)
    assert second[3] < first[3]
    assert offs(played)[0][0] == second[0] == 1


def test_a_slide_is_a_bend_of_one_sound():
    played = perform(score("4 1.2,4 /1.5,2 2.0", **at(60)))
    assert times(played) == [0, 2]
    curve = bends(played, 0)
    assert all(b >= a for (_, a), (_, b) in pairwise(curve))
    arrived = next(t for t, cents in curve if round(cents) == 300)
    assert 0.85 < arrived <= 1.0001


def test_a_slide_beyond_the_bend_range_is_struck_anew():
    assert times(perform(score("4 1.0,4 /1.14,2 2.0", **at(60)))) == [0, 1, 2]


@pytest.mark.parametrize(("shape", "top_at_start"), [(BendShape.RISE, False), (BendShape.FALL, True)])
def test_bends_go_as_far_as_they_say(shape, top_at_start):
    bent = event("1").with_(notes=(Note(course=1, fret=5, bend=Bend(cents=100, shape=shape)),))
    curve = bends(perform(score(measure("1 1.0").with_(events=(bent,)), **at(60))), 0)
    assert max(round(cents) for _, cents in curve) == 100
    assert (round(curve[0][1]) == 100) is top_at_start
    assert (round(curve[-1][1]) == 100) is not top_at_start


def test_a_double_stop_is_staggered_by_the_direction_of_the_stroke():
    for stroke, first in ((Stroke.DOWN, 2), (Stroke.UP, 1)):
        played = perform(score(measure("1 2.0 3.0").with_(events=(event("1 2.0 3.0", stroke=stroke),)), **at(60)))
        assert notes(played)[0][1] == first
        assert 0 < times(played)[1] < 0.02


def test_a_roll_is_slower_than_a_stroke_and_goes_its_way():
    rolled = measure("1 1.0").with_(events=(event("1 1.0 2.0 3.0", roll=Direction.UP),))
    assert [note[1] for note in notes(perform(score(rolled, **at(60))))] == [2, 1, 0]


def test_tremolo_repeats_the_note_to_its_end():
    played = perform(score(measure("1 1.0").with_(events=(event("1 1.0", tremolo=True),)), **at(60)))
    count = len(notes(played))
    assert 8 <= count / 4 <= 14
    assert offs(played)[-1][0] == pytest.approx(4.0)
    assert times(played)[1:] != pytest.approx([number * 4.0 / count for number in range(1, count)], abs=0.001)


def test_the_strokes_of_a_tremolo_are_a_hand_s():
    """The first is in time, the others 3 to 4 ms off on average; it speaks, swells and fades; ups are softer."""
    played = perform(score(measure("1 1.0").with_(events=(event("1 1.0", tremolo=True),)), **at(60)))
    count = len(notes(played))
    off_ms = [1000 * abs(time_s - number * 4.0 / count) for number, time_s in enumerate(times(played))]
    assert off_ms[0] == 0
    assert 2.5 < sum(off_ms) / (count - 1) < 4
    assert max(off_ms) <= 6.01
    assert len({round(each, 1) for each in off_ms}) > count // 2
    downs, ups = ([note[3] for note in notes(played)][first::2] for first in (0, 1))
    assert downs[0] == max(downs)
    assert downs[1] < downs[len(downs) // 2] > downs[-1]
    assert sum(ups) < sum(downs)


def test_accent_staccato_and_dead_notes():
    events = (event("4 1.0", accent=True), event("4 1.0", staccato=True), event("2 1.0"))
    dead = events[2].with_(notes=(Note(course=1, fret=0, muted=True),))
    played = perform(score(measure("1 1.0").with_(events=(*events[:2], dead)), **at(60)))
    assert notes(played)[0][3] > notes(played)[1][3]
    assert [t for t, *_ in offs(played)] == [1, 1.5, 2.05]


def test_grace_notes_take_their_time_from_their_note():
    graced = event("4 1.5", grace=(Note(course=1, fret=3),)).with_()
    slurred = graced.with_(notes=(Note(course=1, fret=5, reached=Reached.HAMMER),))
    played = perform(score(measure("4 1.0,2. 2.0").with_(events=(slurred, event("2. 2.0"))), **at(60)))
    assert [(c, p) for _, c, p, _ in notes(played)] == [(0, 79), (0, 81), (1, 69)]
    assert 0.03 < times(played)[1] < 0.2


def test_let_ring_lasts_until_the_next_note_of_its_course():
    ringing = event("4").with_(notes=(Note(course=1, fret=0, ring=True),))
    played = perform(score(measure("1").with_(events=(ringing, event("4 2.0"), event("2 1.2"))), **at(60)))
    assert (2, 0, 76) in offs(played)


def test_octave_courses_sound_both_strings():
    played = perform(score("1 4.0", instrument=PRESETS["octave-mandolin-octave-strung"]))
    assert [note[2] for note in notes(played)] == [43, 55]


def test_swing_of_two_to_one_is_exact():
    swing = Swing(unit=8, long=2, short=1)
    assert swung_offset(Fraction(1, 2), COMMON_TIME, swing) == Fraction(2, 3)
    assert swung_offset(Fraction(3, 2), COMMON_TIME, swing) == Fraction(5, 3)
    assert swung_offset(Fraction(2), COMMON_TIME, swing) == 2
    played = perform(score("8 1.0,8 1.2,8 1.3,8 1.5,2 1.0", swing=swing, **at(60)))
    assert times(played) == [0, 0.6667, 1, 1.6667, 2]


def test_repeats_and_endings():
    parts = (
        measure("1 1.0", repeat_start=True),
        measure("1 1.1", endings=(1,), repeat_times=2),
        measure("1 1.2", endings=(2,)),
        measure("1 1.3"),
    )
    assert playing_order(score(*parts)) == (0, 1, 0, 2, 3)


def test_three_times_and_a_repeat_from_the_start():
    parts = (
        measure("1 1.0"),
        measure("1 1.1", repeat_times=3),
        measure("1 1.2", repeat_times=2),
        measure("1 1.3"),
    )
    assert playing_order(score(*parts)) == (0, 1, 0, 1, 0, 1, 2, 2, 3)


def test_a_selection_is_played_as_written():
    parts = score(measure("1 1.0", repeat_times=2), "4 1.1,4 1.2,2 1.3", **at(60))
    played = perform(parts, span=Span(Place(1, Fraction(1)), Place(2)))
    assert [note[2] for note in notes(played)] == [78, 79]
    assert played.duration_s == 3
    with pytest.raises(ScoreError):
        perform(parts, span=Span(Place(1), Place(1)))


def test_click_and_count_in():
    """General MIDI 1 percussion map, channel 10: 76 high, 77 low wood block."""
    played = perform(score("4 1.0,4 1.0,2 1.0", **at(60)), options=Options(count_in=1, click=Click.BEATS))
    assert clicks(played) == [(t, 76 if t % 4 == 0 else 77) for t in range(8)]
    assert times(played)[0] == played.lead_s == 4


def test_a_count_in_leads_into_the_pickup():
    pickup = score(measure("4 1.0", short=True), "1 1.0", **at(60))
    played = perform(pickup, options=Options(count_in=1))
    assert played.lead_s == 3
    assert clicks(played) == [(0, 76), (1, 77), (2, 77)]


def test_marks_follow_events_and_beats():
    marks = perform(score("8 1.0,8 1.0,4 1.0,2 1.0", **at(60))).marks
    assert [(mark.time_s, mark.place.offset) for mark in marks] == [
        (0, 0), (0.5, Fraction(1, 2)), (1, 1), (2, 2), (3, 3),
    ]  # fmt: skip


def test_nothing_sounds_on_and_notes_of_a_course_never_overlap():
    played = perform(score("4 1.0,4 1.0,4 2.2,4 2.2", "1 1.5 2.5", **at(120)))
    on: set[tuple[int, int]] = set()
    for message in played.messages:
        kind, channel = message.data[0] & 0xF0, message.data[0] & 15
        if kind == 0x90:
            assert not [each for each in on if each[0] == channel]
            on.add((channel, message.data[1]))
        elif kind == 0x80:
            on.discard((channel, message.data[1]))
    assert not on


def test_a_tie_over_a_repeat_to_another_note_is_struck():
    """The second time the tied note comes from the end of the passage, which is not its partner."""
    parts = (measure("1 1.3"), measure("2 (1.3,2 1.5", repeat_start=True, repeat_times=2))
    assert [(t, p) for t, _, p, _ in notes(perform(score(*parts, **at(60))))] == [
        (0, 79),
        (6, 81),
        (8, 79),
        (10, 81),
    ]


def test_a_selection_that_begins_with_a_tied_or_slurred_note_strikes_it():
    built = score("2 1.3,2 (1.3", "2 1.3,2 h1.5", "2 1.3,2 /1.5", **at(60))
    for index in range(3):
        played = perform(built, span=Span(Place(index, Fraction(2)), Place(index + 1)))
        assert [note[3] for note in notes(played)] == [notes(perform(built))[0][3]]


def test_a_slide_and_what_goes_on_from_it():
    """Slid up two frets, tied, slid back: one sound, ending where it began."""
    played = perform(score("4 1.2,4 /1.4,4 (1.4,4 /1.2", **at(60)))
    assert times(played) == [0]
    curve = dict(bends(played, 0))
    assert [round(curve[t]) for t in (1.0, 3.0)] == [200, 0]


def test_a_chain_of_slides_is_struck_anew_when_the_bend_range_is_used_up():
    assert times(perform(score("4 1.0,4 /1.7,4 /1.14,4 /1.12", **at(60)))) == [0, 2]


def test_a_slide_from_a_grace_note_glides_after_the_beat():
    slid = Event(
        duration=Duration.parse("2"), notes=(Note(course=1, fret=5, reached=Reached.SLIDE),),
        grace=(Note(course=1, fret=3),),
    )  # fmt: skip
    played = perform(score(measure("2 2.0").with_(events=(event("2 2.0"), slid)), **at(60)))
    assert [(t, p) for t, _, p, _ in notes(played)] == [(0, 69), (2, 79)]
    curve = bends(played, 0)
    assert curve[0][0] > 2
    assert curve[-1][0] == pytest.approx(2.065)
    assert round(curve[-1][1]) == 200


def test_a_tremolo_fits_the_beat_and_keeps_its_rate_when_the_tempo_is_slower():
    trembling = score(
        measure("2 1.0,2 2.0").with_(events=(event("2 1.0", tremolo=True), event("2 2.0"))), **at(90)
    )
    for percent, strokes in ((100, 8), (50, 16)):
        played = perform(trembling, options=Options(tempo_percent=percent))
        assert len(notes(played)) == 2 * strokes + 1
        assert notes(played)[-1][1] == 1


def test_the_stagger_of_a_stroke_does_not_depend_on_the_tempo():
    double = score("1 1.0 2.0", **at(100))
    assert {times(perform(double, options=Options(tempo_percent=p)))[1] for p in (20, 100, 200)} == {0.008}


def test_slides_in_and_off_and_vibrato_return_to_the_pitch():
    """200 cents from below, 200 cents off upwards; a shake lies on both sides of the pitch."""
    way = Note(course=1, fret=5, slide_in=Direction.UP, slide_out=Direction.UP)
    curve = bends(perform(score(measure("1 1.0").with_(events=(event("1").with_(notes=(way,)),)), **at(60))), 0)
    assert round(curve[0][1]) == -200
    assert round(curve[-1][1]) == 200
    assert 0 in {round(cents) for _, cents in curve}
    shaken = Note(course=1, fret=5, vibrato=True)
    curve = bends(perform(score(measure("1 1.0").with_(events=(event("1").with_(notes=(shaken,)),)), **at(60))), 0)
    assert {round(min(c for _, c in curve)), round(max(c for _, c in curve))} == {-14, 14}
    assert curve[-1][1] == 0


def test_a_bend_that_rises_and_falls_comes_back():
    bent = Note(course=1, fret=5, bend=Bend(cents=200, shape=BendShape.RISE_AND_FALL))
    curve = bends(perform(score(measure("1 1.0").with_(events=(event("1").with_(notes=(bent,)),)), **at(60))), 0)
    assert max(round(cents) for _, cents in curve) == 200
    assert round(curve[-1][1]) == 0


def test_the_swung_eighth_of_a_pickup_follows_the_count():
    pickup = score(measure("8 1.0", short=True), "1 1.0", swing=Swing(unit=8, long=2, short=1), **at(60))
    played = perform(pickup, options=Options(count_in=1))
    assert [t for t, _ in clicks(played)] == [0, 1, 2, 3]
    assert times(played) == [pytest.approx(3.6667), 4]


def test_a_long_pickup_is_counted_in_by_a_measure_more():
    pickup = score(measure("2. 1.0", short=True), "1 1.0", **at(60))
    assert [t for t, _ in clicks(perform(pickup, options=Options(count_in=1)))] == [0, 1, 2, 3, 4]


def test_compound_metres_click_on_dotted_quarters():
    jig = score("4. 1.0,4. 1.2", metre="6/8", tempo=Tempo.parse("3/8=60"))
    assert clicks(perform(jig, options=Options(count_in=1, click=Click.BEATS))) == [
        (0, 76),
        (1, 77),
        (2, 76),
        (3, 77),
    ]


def test_tempo_and_metre_changes():
    changed = score(
        measure("1 1.0"), measure("2. 1.0", metre=Metre.parse("3/4"), tempo=Tempo(120.0)), "2. 1.2", **at(60)
    )
    assert times(perform(changed)) == [0, 4, 5.5]


def test_a_struck_note_without_a_stroke_sounds_like_a_down_stroke():
    down, none = (
        perform(score(measure("1 1.0").with_(events=(event("1 1.0 2.0", stroke=stroke),))))
        for stroke in (Stroke.DOWN, None)
    )
    assert down.messages == none.messages


def test_bad_options_are_refused_in_words():
    for options in (Options(count_in=3), Options(tempo_percent=201)):
        with pytest.raises(ScoreError, match="cannot"):
            perform(score("1 1.0"), options=options)


def test_plucks_say_what_set_each_string_off():
    music = score("8 1.0,8 h1.2,8 p1.0,8 2.3,2 3.0 4.0")
    plucks = perform(music, options=Options(click=Click.BEATS)).plucks
    solo = [each for each in plucks if each.part is Part.SOLO]
    assert [(each.course, each.pitch, each.attack) for each in solo] == [
        (1, 76, Attack.DOWN),
        (1, 78, Attack.HAMMER),
        (1, 76, Attack.PULL),
        (2, 72, Attack.DOWN),
        (4, 55, Attack.DOWN),
        (3, 62, Attack.DOWN),
    ]
    assert [each.pitch for each in plucks if each.part is Part.CLICK] == [76, 77, 77, 77]


def test_a_slide_is_a_curve_of_the_pluck_it_goes_on_from():
    (pluck,) = perform(score("2 1.2,2 /1.4")).plucks
    assert (pluck.start_s, pluck.pitch) == (0.0, 78)
    assert pluck.curve[-1] == (pytest.approx(1.2), 200.0)


def test_the_click_between_the_beats_swings_and_falls_on_the_upbeat_of_a_jig():
    """A swung pair of 2:1 divides the beat at two thirds; the upbeat of a jig is its third eighth (common
    practice, no source)."""
    between = Options(click=Click.OFFBEATS)
    assert clicks(perform(score("2 1.0,2 1.0", **at(60)), options=between)) == [(n + 0.5, 77) for n in range(4)]
    swung = perform(score("2 1.0,2 1.0", swing=Swing(), **at(60)), options=between)
    assert [t for t, _ in clicks(swung)] == [0.6667, 1.6667, 2.6667, 3.6667]
    jig = perform(score("2. 1.0", metre="6/8", tempo=Tempo.parse("3/8=60")), options=between)
    assert [t for t, _ in clicks(jig)] == [0.6667, 1.6667]
    seven = perform(score("2. 1.0,8 1.0", metre="7/8(3+2+2)", tempo=Tempo(30.0)), options=between)
    assert [t for t, _ in clicks(seven)] == [2, 4, 6]


def test_the_click_drops_out_for_measures_in_turn_and_a_pickup_does_not_count():
    music = score(measure("4 1.0", short=True), *["1 1.0"] * 5, **at(240))
    played = perform(music, options=Options(click=Click.BEATS, click_rests=ClickRests((2, 1))))
    assert [t for t, p in clicks(played) if p == 76] == [0.25, 1.25, 3.25, 4.25]
    assert len(clicks(played)) == 1 + 4 * 4


def test_the_click_drops_out_for_chosen_measures_by_the_players_numbers():
    music = score(measure("4 1.0", short=True), *["1 1.0"] * 5, **at(240))
    rests = ClickRests.parse("m0, m2-3 m5")
    played = perform(music, options=Options(click=Click.BEATS, click_rests=rests))
    assert [t for t, p in clicks(played) if p == 76] == [0.25, 3.25]
    counted = Options(count_in=1, click=Click.BEATS, click_rests=rests)
    inside = perform(music, span=Span.of_measures(2, 4), options=counted)
    assert [t for t, p in clicks(inside) if p == 76] == [0.0, 3.0]


def test_another_swing_than_the_written_one():
    """Triplet eighths and straight ones, whatever the score says; the count-in goes with it."""
    line, swing = "8 1.0,8 1.2,8 1.3,8 1.5,2 1.0", Swing()
    straight, swung = score(line, **at(60)), score(line, swing=swing, **at(60))
    assert perform(straight, options=Options(swing=swing)).plucks == perform(swung).plucks
    assert perform(swung, options=Options(swing=None)).plucks == perform(straight).plucks
    upbeat = Span(Place(0, Fraction(1, 2)), Place(1))
    assert perform(straight, span=upbeat, options=Options(swing=swing, count_in=1)).lead_s == pytest.approx(14 / 3)


def test_the_solo_can_be_left_out():
    played = perform(score("1 1.0"), options=Options(parts=frozenset(), click=Click.BEATS))
    assert {pluck.part for pluck in played.plucks} == {Part.CLICK}
    assert notes(played) == []
    assert played.marks == perform(score("1 1.0")).marks


def test_a_slide_off_the_shortest_note_goes_forward_in_time():
    bend = Bend(cents=20, shape=BendShape.RISE)
    off = event("128(3:2)").with_(
        notes=(Note(course=1, fret=5, bend=bend, slide_out=Direction.UP),), staccato=True
    )
    rests = [event(text) for text in ("128(3:2)", "128(3:2)", "2.", "8", "16", "32", "64")]
    built = score(measure("1 1.0").with_(events=(off, *rests)), tempo=Tempo(200.0))
    (pluck,) = perform(built).plucks
    assert len(pluck.curve) > 0
    assert list(pluck.curve) == sorted(pluck.curve, key=lambda point: point[0])


def order_of(*marks: dict[str, object]) -> str:
    """The playing order of measures A, B, C ... with these marks."""
    built = score(*(measure("1 1.0", **mark) for mark in marks))
    return "".join("ABCDEFGH"[index] for index in playing_order(built))


PLAIN, START, END = {}, {"repeat_start": True}, {"repeat_times": 2}
FIRST_END, SECOND = {"endings": (1,), "repeat_times": 2}, {"endings": (2,)}


@pytest.mark.parametrize(
    ("marks", "order"),
    [
        ([PLAIN, PLAIN], "AB"),
        ([PLAIN, END, PLAIN], "ABABC"),
        ([PLAIN, START, END, PLAIN], "ABCBCD"),
        ([START | END, START | END], "AABB"),
        ([PLAIN, {"repeat_times": 3}, END, PLAIN], "ABABABCCD"),
        ([START, FIRST_END, SECOND, PLAIN], "ABACD"),
        # the endings of a second passage count anew
        ([START, FIRST_END, SECOND, START, FIRST_END, SECOND], "ABACDEDF"),
        # endings of two measures
        ([START, {"endings": (1,)}, FIRST_END, SECOND, SECOND, PLAIN], "ABCADEF"),
        # first and second time the same, the third another
        ([START, {"endings": (1, 2), "repeat_times": 3}, {"endings": (3,)}, PLAIN], "ABABACD"),
        # each ending closed by a repeat sign, as it is often written
        ([START, FIRST_END, {"endings": (2,), "repeat_times": 3}, PLAIN], "ABACAD"),
        # endings without a sign of repeat, or the first without a second
        ([PLAIN, {"endings": (1,)}, SECOND, PLAIN], "ABACD"),
        ([PLAIN, FIRST_END, PLAIN], "ABAC"),
        # an ending whose turn seems never to come is still played
        ([SECOND, PLAIN], "AB"),
        # repeats are not nested: the inner start closes the outer passage
        ([START, START, END, END], "ABCBCDD"),
    ],
)
def test_playing_order(marks, order):
    assert order_of(*marks) == order


def test_a_pickup_is_repeated_with_its_passage():
    pickup = score(measure("4 1.0", short=True), measure("2. 1.0", short=True, repeat_times=2))
    assert playing_order(pickup) == (0, 1, 0, 1)


def test_repeats_beyond_reason_are_cut():
    assert (
        len(playing_order(score(*[measure("1 1.0", repeat_start=True, repeat_times=99)] * 300))) == MOST_MEASURES
    )


@settings(max_examples=many(15, 40), deadline=None)
@given(scores(max_measures=8))
def test_every_measure_is_played_and_in_its_order(built):
    order = playing_order(built)
    assert set(order) == set(range(len(built.measures)))
    firsts = [order.index(index) for index in range(len(built.measures)) if not built.measures[index].endings]
    assert firsts == sorted(firsts)


def test_a_curve_never_goes_back_by_rounding():
    """A note so short that slide, bend and slide off meet in one moment, wherever it stands."""
    note = Note(course=1, fret=0, slide_in=Direction.UP, slide_out=Direction.UP, bend=Bend(cents=5))
    for number in range(3000):
        curve, start_s = Curve(), number * 0.00013
        shade(curve, note, start_s, start_s + 0.013 * (1 + number % 9), fresh=True)
        moments = [time_s for time_s, _ in curve]
        assert moments == sorted(moments), start_s
