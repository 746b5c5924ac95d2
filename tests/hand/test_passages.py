"""The hardest passages: which, why, and their drills."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.hand.difficulty import CAUSES, Playing, difficulty
from tabterm.hand.fingering import fingering
from tabterm.hand.passages import START, Drill, cut, hardest, like
from tabterm.hand.proposals import with_hands
from tabterm.performance import perform
from tabterm.score.duration import Duration
from tabterm.score.kinds import Stroke
from tabterm.score.place import Place, Span, lead_in
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.query import events_in
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, measure, score

PLAIN = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"
LEAP = "16 3.0,16 3.2,16 1.12,16 1.14,16 1.2,16 1.3,8 1.0,8 2.0,8 2.2,8 2.3,8 2.5"


@st.composite
def tunes(draw):
    """Four to eight measures of notes and rests that wander over two courses and ten frets."""
    event = st.tuples(st.sampled_from(["8", "8", "16,16", "4"]), st.integers(1, 2), st.integers(0, 10))
    measures = []
    for _ in range(draw(st.integers(4, 8))):
        parts, eighths = [], 0
        while eighths < 8:
            rhythm, course, fret = draw(event)
            rhythm = "8" if rhythm == "4" and eighths == 7 else rhythm
            parts += [f"{value} {course}.{fret}" for value in rhythm.split(",")]
            eighths += 2 if rhythm == "4" else 1
        measures.append(",".join(parts) if draw(st.integers(0, 4)) else "1")
    return with_hands(score(*measures, tempo=Tempo(draw(st.sampled_from([50.0, 104.0, 190.0])))), PLAYER)


def fingered(event, finger):
    return event.with_(notes=tuple(note.with_(finger=finger) for note in event.notes))


def overlap(one, other):
    return one.start < other.end and other.start < one.end


# Which


def test_a_leap_in_sixteenths_among_open_scales_is_the_hardest():
    """From first position up ten frets and back again."""
    built = with_hands(score(PLAIN, PLAIN, LEAP, PLAIN, PLAIN), PLAYER)
    first, *_ = hardest(built, PLAYER)
    assert first.span == Span(Place(2), Place(2, 2))
    assert first.use > 1.0


def test_a_shift_of_eight_frets_among_open_scales_is_the_hardest():
    """The hand goes from fret 2 to fret 10: 352.425 / 2^(2/12) - 352.425 / 2^(10/12) = 116.2 mm."""
    shift = measure("8 3.0,8 3.2,16 3.4,16 1.10,16 1.12,16 1.13,8 2.0,8 2.2,8 2.3,8 2.5")
    fingers = (None, 1, 2, 1, 2, 3, None, 1, 2, 3)
    shift = shift.with_(events=tuple(map(fingered, shift.events, fingers)))
    built = with_hands(score(PLAIN, PLAIN, PLAIN, shift, PLAIN), PLAYER)
    first, *others = hardest(built, PLAYER)
    assert first.span.start.measure == 3
    assert (first.shifts[0].from_fret, first.shifts[0].to_fret) == (2, 10)
    assert first.shifts[0].mm == pytest.approx(116.2, abs=0.1)
    assert all(other.use < first.use for other in others)


@pytest.mark.parametrize(
    "harder",
    [
        "16 3.0,16 3.2,16 3.4,16 3.5,16 2.0,16 2.2,16 2.3,16 2.5,2",  # twice as fast
        "8 3.0,8 3.2,8 3.4,8 1.14,8 2.0,8 2.2,8 2.3,8 2.5",  # a leap
        "8 3.0,8 3.2,8 3.2 4.9,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5",  # a wide double stop
    ],
)
def test_what_is_made_harder_ranks_first(harder):
    built = with_hands(score(PLAIN, "1", harder, "1", PLAIN), PLAYER)
    assert hardest(built, PLAYER)[0].span.start.measure == 2
    plain, changed, _ = (difficulty(built, solved) for solved in fingering(built, PLAYER).phrases)
    assert changed.use > plain.use
    assert changed.limit_tempo < plain.limit_tempo


def test_music_that_comes_again_is_one_passage():
    built = with_hands(score(LEAP, "1", PLAIN, "1", LEAP, "1", PLAIN), PLAYER)
    first, *others = hardest(built, PLAYER)
    assert first.span == Span(Place(0), Place(0, 2))
    assert first.again == (Span(Place(4), Place(4, 2)),)
    assert all(not other.again or other.span.start.measure in {0, 2} for other in others)
    assert not any(overlap(other.span, first.again[0]) for other in others)


def test_the_hardest_passage_is_as_hard_as_its_phrase():
    built = with_hands(score(PLAIN, LEAP, PLAIN), PLAYER)
    (solved,) = fingering(built, PLAYER).phrases
    (first,) = hardest(built, PLAYER, 1)
    whole = difficulty(built, solved)
    assert first.use == whole.use
    assert first.rate == pytest.approx(whole.peak)
    assert first.limit_tempo == pytest.approx(whole.limit_tempo, rel=1e-3)


@settings(max_examples=30, deadline=None)
@given(tunes(), st.integers(1, 6))
def test_passages_stand_on_beats_and_apart_hardest_first(built, count):
    found = hardest(built, PLAYER, count)
    assert len(found) <= count
    assert bool(found) == any(event.notes for each in built.measures for event in each.events)
    everywhere = [span for hard in found for span in (hard.span, *hard.again)]
    assert not any(overlap(*pair) for pair in combinations(everywhere, 2))
    assert all(span.start.offset.denominator == span.end.offset.denominator == 1 for span in everywhere)
    uses = [round(hard.use, 5) for hard in found]
    assert uses == sorted(uses, reverse=True)
    most = max((max(Playing.of(built, each).uses()) for each in fingering(built, PLAYER).phrases), default=0.0)
    assert not found or found[0].use == pytest.approx(most)


def test_a_piece_without_notes_has_none():
    assert hardest(score("1", "1"), PLAYER) == ()


# Why


def test_reasons_are_what_a_plain_scale_has_not():
    built = with_hands(score(PLAIN, LEAP, PLAIN), PLAYER)
    (first,) = hardest(built, PLAYER, 1)
    assert {"shift", "travel", "hurry"} & {reason.term for reason in first.reasons}
    assert all(reason.words == CAUSES[reason.term].words for reason in first.reasons)
    assert [reason.points for reason in first.reasons] == sorted(
        (reason.points for reason in first.reasons), reverse=True
    )
    easy = with_hands(score("8 4.0,8 4.2,8 4.4,8 4.5,8 3.0,8 3.2,8 3.4,8 3.5"), PLAYER)
    assert all(reason.points < 0.5 for reason in hardest(easy, PLAYER, 1)[0].reasons)


def test_a_speed_that_is_used_up_is_named_in_words():
    """Sixteenths at 160 are 160 x 4 / 60 = 10.7 strokes a second."""
    (first,) = hardest(with_hands(score(",".join(["16 2.0"] * 16), tempo=Tempo(160.0)), PLAYER), PLAYER, 1)
    (used,) = first.speeds
    assert used.words == "down and up in turn on one course: 10.7 a second; your limit is 10"
    assert first.use == pytest.approx(10.667 / 10, rel=1e-3)


def test_equal_strokes_are_a_reason():
    """In a jig the strokes go down, up, down, down."""
    jig = with_hands(score(*["8 2.0,8 2.2,8 2.3,8 2.5,8 2.3,8 2.2"] * 2, metre="6/8", tempo=Tempo(180.0)), PLAYER)
    assert [event.stroke_shown for event in jig.measures[0].events[2:4]] == [Stroke.DOWN, Stroke.DOWN]
    (first,) = hardest(jig, PLAYER, 1)
    assert first.reasons[0].term == "return"
    assert first.speeds[0].speed == "repeated"


def test_a_wide_reach_is_named_in_mm():
    """Frets 2 and 9 on the mandolin: 352.425 / 2^(2/12) - 352.425 / 2^(9/12) = 104.4 mm."""
    (first,) = hardest(with_hands(score(PLAIN, "2 3.2 4.9,2 3.2 4.9", PLAIN), PLAYER), PLAYER, 1)
    assert first.reach.reach_mm == pytest.approx(352.425 * (2 ** (-2 / 12) - 2 ** (-9 / 12)), abs=0.01)
    assert first.reach.reach_mm > first.reach.comfortable_mm
    assert any(reason.term == "reach" for reason in first.reasons)


# Drills


def test_a_drill_has_a_note_on_each_side():
    built = with_hands(score(PLAIN, LEAP, PLAIN, LEAP, PLAIN), PLAYER)
    for hard in hardest(built, PLAYER, 3):
        inside = [place for place, event in events_in(built, hard.span) if event.notes]
        drilled = [place for place, event in events_in(built, hard.drill.span) if event.notes]
        assert drilled[1:-1] == inside
        assert drilled[0] < hard.span.start
        assert drilled[-1] == hard.span.end


def test_over_a_rest_or_an_end_a_drill_does_not_go():
    (first,) = hardest(with_hands(score("1", LEAP, "1"), PLAYER), PLAYER, 1)
    assert first.drill.span.start == first.span.start == Place(1)
    (last,) = hardest(
        with_hands(score(PLAIN, "2 2.0,8 2.2,8 2.3,16 1.12,16 3.1,16 1.12,16 3.1"), PLAYER), PLAYER, 1
    )
    assert last.drill.span.end == last.span.end == Place(2)


def test_a_note_held_over_the_end_of_a_passage_is_followed_by_the_next():
    """The passage ends on the third beat, in a dotted half note; the drill goes on to the note after that."""
    built = with_hands(score("16 3.0,16 1.12,16 3.0,16 1.12,2. 3.0", PLAIN), PLAYER)
    (first,) = hardest(built, PLAYER, 1)
    assert first.span.end <= Place(0, 2)
    assert first.drill.span.end == (
        Place(1, Duration.parse("8").length) if first.span.end == Place(0, 2) else Place(1)
    )


def test_a_drill_starts_well_below_the_limit():
    built = with_hands(score(PLAIN, LEAP, PLAIN), PLAYER)
    (first,) = hardest(built, PLAYER, 1)
    assert first.limit_tempo < 100
    assert first.drill.tempo.quarters_per_minute == pytest.approx(START * first.limit_tempo, abs=0.1)
    (easy,) = hardest(with_hands(score(PLAIN), PLAYER), PLAYER, 1)
    assert easy.limit_tempo > 100
    assert easy.drill.tempo.quarters_per_minute == pytest.approx(START * 100, abs=0.1)


def test_tempos_keep_the_note_value_and_the_range():
    dotted = Tempo.parse("3/8=112")
    assert str(like(dotted, 90.0)) == "3/8=60"
    assert like(dotted, 1.0).per_minute == 10.0
    slow = HandProfile(speeds=Speeds(strokes=1.0, course_change=1.0, repeated=1.0))
    (first,) = hardest(with_hands(score(",".join(["32 2.0"] * 32), hand=slow), PLAYER), PLAYER, 1)
    assert first.drill.tempo.per_minute == 10.0


@settings(max_examples=30, deadline=None)
@given(tunes())
def test_a_drill_is_a_score_of_its_own_on_the_same_beats(built):
    for hard in hardest(built, PLAYER, 3):
        piece = cut(built, hard.drill)
        assert all(each.length == metre.length for each, metre in zip(piece.measures, piece.metres, strict=True))
        assert sounding(piece, Span(Place(0), Place(len(piece.measures)))) == sounding(built, hard.drill.span)
        assert piece.head.tempo == hard.drill.tempo
        assert perform(piece).messages


def sounding(built, span):
    """Notes, fingers, strokes and the beat of each struck event of a span."""
    return [
        (
            place.offset + lead_in(built, place.measure),
            event.stroke_shown,
            *((n.course, n.fret, n.finger_shown) for n in event.notes),
        )
        for place, event in events_in(built, span)
        if event.notes and not all(note.tied for note in event.notes)
    ]


def test_a_drill_from_a_pickup_stands_before_the_bar_line():
    built = with_hands(score(measure("16 1.12,16 3.0,16 1.12,16 3.0", short=True), PLAIN), PLAYER)
    (first,) = hardest(built, PLAYER, 1)
    piece = cut(built, Drill(first.drill.span, Tempo(60.0)))
    assert not piece.measures[0].short
    assert piece.measures[0].onsets[-4:] == (3, 3.25, 3.5, 3.75)
