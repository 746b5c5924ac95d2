"""Difficulty: rates, speeds that are used up, the limit and its tempo, the curve."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tabterm.hand.difficulty import (
    BURST,
    Load,
    Playing,
    beats_s,
    curve,
    difficulty,
    limit_rate,
    plain_scale,
    rates,
    uses,
)
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.proposals import accept_fingers, with_hands
from tabterm.score.duration import EIGHTH
from tabterm.score.kinds import Stroke
from tabterm.score.model import Note
from tabterm.score.operations import put_note
from tabterm.score.place import Place, Span
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, score
from tests.hand.passages import SHORT_NECK, one_line, passages

PLAIN = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"
LEAP = "16 3.0,16 3.2,16 1.12,16 1.14,16 1.2,16 1.3,8 1.0,8 2.0,8 2.2,8 2.3,8 2.5"
REPEATED = ",".join(["16 2.0"] * 16)
TRILL = ",".join(["16 2.5,16 2.7"] * 8)


def line(*events, tempo):
    return one_line([event(each) for each in events], SHORT_NECK, tempo)


def playing(built):
    built = with_hands(built, PLAYER)
    (solved,) = fingering(built, PLAYER).phrases
    return Playing.of(built, solved)


def used(built):
    """The most that is asked of each speed: (asked, limit) by name."""
    found: dict[str, tuple[float, float]] = {}
    for load in playing(built).loads():
        for each in load.used:
            found[each.speed] = max(found.get(each.speed, (0.0, 1.0)), (each.asked, each.limit))
    return found


# Rates


def test_rates_by_hand():
    """Onsets of 0.3 s with 1, 2 and 3 points, beats of 0.6 s: (1+2)/0.6 = 5, (2+3)/0.6, and 3 in a whole beat."""
    loads = [Load(Place(0), float(points), 0.3) for points in (1, 2, 3)]
    found = rates(loads, [0.6] * 3)
    assert [rate.per_s for rate in found] == pytest.approx([5.0, 25 / 3, 5.0])
    assert [(rate.first, rate.last) for rate in found] == [(0, 1), (1, 2), (2, 2)]


def test_a_long_note_does_not_thin_out_what_comes_before_it():
    """6 points in 0.3 s are 6 in a beat of 0.6 s, however long the next note takes."""
    loads = [Load(Place(0), 6.0, 0.3), Load(Place(0), 1.0, 3.0)]
    assert rates(loads, [0.6] * 2)[0].per_s == pytest.approx(10.0)


def test_beats_are_those_of_the_metre():
    """Quarters at 120 are 0.5 s, dotted quarters at 120 quarters 0.75 s; a pickup lies where it leads to."""
    (solved,) = fingering(score("4 2.0,4 2.2,4 2.3,4 2.5", tempo=Tempo(120.0)), PLAYER).phrases
    assert beats_s(score(PLAIN, tempo=Tempo(120.0)), solved.phrase) == (0.5,) * 4
    jig = score("8 2.0,8 2.2,8 2.3,8 2.5,8 2.3,8 2.2", metre="6/8", tempo=Tempo(120.0))
    assert beats_s(jig, fingering(jig, PLAYER).phrases[0].phrase) == (0.75,) * 6
    odd = score(
        measure("8 2.0", short=True), "8 2.0,8 2.2,8 2.3,8 2.5,8 2.3", metre="5/8(2+3)", tempo=Tempo(120.0)
    )
    assert beats_s(odd, fingering(odd, PLAYER).phrases[0].phrase) == (0.75, 0.5, 0.5, 0.75, 0.75, 0.75)


# Speeds


@pytest.mark.parametrize("tempo", [75.0, 120.0, 150.0])
def test_sixteenths_at_three_tempos(tempo):
    """4 x 75 / 60 = 5, 8 and 10 strokes a second, of the 10 that the profile does."""
    asked, limit = used(score(REPEATED, tempo=Tempo(tempo)))["strokes"]
    assert asked == pytest.approx(4 * tempo / 60, rel=1e-3)
    assert limit == 10.0


def test_each_speed_has_its_limit():
    """Sixteenths at 120 are 8 a second: fingers in turn, strokes on two courses; eighths 4, struck down only."""
    at_120 = {"tempo": Tempo(120.0)}
    fingers = next(name for name in used(score(TRILL, **at_120)) if name.startswith("fingers"))
    assert used(score(TRILL, **at_120))[fingers][0] == pytest.approx(8.0, rel=1e-3)
    assert used(score("16 2.0,16 3.0,16 2.0,16 3.0,2.", **at_120))["course_change"] == pytest.approx(
        (8.0, 8.0), rel=1e-3
    )
    downs = measure("8 2.0,8 2.0,8 2.0,8 2.0,2").events
    struck = measure("1").with_(
        events=tuple(each.with_(stroke=Stroke.DOWN) if each.notes else each for each in downs)
    )
    assert used(score(struck, **at_120))["repeated"] == pytest.approx((4.0, 6.5), rel=1e-3)


def test_a_scale_uses_no_two_fingers_in_turn():
    """Up a course each pair of fingers follows once; in turn means to and fro."""
    assert not any(name.startswith("fingers") for name in used(score(PLAIN, tempo=Tempo(200.0))))


def test_a_tremolo_is_no_row_of_strokes():
    fast = [event("32 2.0", tremolo=True) for _ in range(32)]
    assert "strokes" not in used(score(measure("1").with_(events=tuple(fast)), tempo=Tempo(200.0)))


def test_a_shift_needs_its_time():
    """Frets 2 to 7 on the mandolin are 78.8 mm, 60 ms + 0.8 ms a mm = 123 ms; half an eighth at 104 is 144 ms."""
    hand = [(1, 2, 1), (1, 3, 2), (1, 7, 1), (1, 8, 2)]
    events = tuple(
        event("8 1.0").with_(notes=(Note(course=course, fret=fret, finger=finger),))
        for course, fret, finger in hand * 2
    )
    asked, limit = used(score(measure("1").with_(events=events), tempo=Tempo(104.0)))["shift"]
    assert asked == pytest.approx(60 + 0.8 * (352.425 / 2 ** (2 / 12) - 352.425 / 2 ** (7 / 12)), abs=1.0)
    assert limit == pytest.approx(60_000 / 104 / 4, rel=1e-2)


# The limit


def test_the_limit_is_so_many_plain_scales():
    """A plain scale at the fastest strokes takes 1/BURST of it; the player's strokes scale it."""
    heads = [score(PLAIN, hand=HandProfile(speeds=Speeds(strokes=rate))).head for rate in (6.0, 12.0)]
    slow, quick = (limit_rate(neck_of(head, PLAYER)) for head in heads)
    assert quick == pytest.approx(2 * slow)
    loads = plain_scale(neck_of(heads[0], PLAYER)).loads()
    assert slow == pytest.approx(BURST * 6.0 * sum(load.points for load in loads) / 8)


@pytest.mark.parametrize(
    ("music", "speeds", "tempo"),
    [
        (REPEATED, Speeds(), 150.0),
        (REPEATED, Speeds(strokes=6.0), 90.0),
        (TRILL, Speeds(fingers_12=5.0, fingers_13=5.0), 75.0),
    ],
)
def test_the_tempo_at_the_limit_by_hand(music, speeds, tempo):
    """Sixteenths at 10 strokes a second are 10 x 60 / 4 = 150 quarters a minute, at 6 90; 5 in a trill are 75."""
    found = playing(score(music, tempo=Tempo(60.0), hand=HandProfile(speeds=speeds)))
    assert found.limit_tempo(60.0) == pytest.approx(tempo, rel=2e-3)


def test_the_player_is_used_up_at_that_tempo():
    play = playing(score(LEAP, PLAIN))
    tempo = play.limit_tempo(100.0)
    assert max(play.uses(100.0 / tempo)) == pytest.approx(1.0, abs=0.01)
    assert max(play.uses(100.0 / (1.1 * tempo))) > 1.0
    quick = HandProfile(speeds=Speeds(strokes=15.0, course_change=14.0, repeated=10.0))
    assert playing(score(LEAP, PLAIN, hand=quick)).limit_tempo(100.0) >= tempo


def test_the_tempo_at_the_limit_is_that_of_the_music():
    """With the same fingers, and the hand in the same places, it does not depend on the tempo that is written."""
    whole = Span.of_measures(0, 1)
    fingered = accept_fingers(with_hands(score(LEAP, PLAIN), PLAYER), whole)
    found, frames = [], []
    for tempo in (90.0, 110.0, 160.0):
        built = fingered.with_(head=fingered.head.with_(tempo=Tempo(tempo)))
        (solved,) = fingering(built, PLAYER).phrases
        frames.append([hold.frame for hold in solved.holds])
        found.append(Playing.of(built, solved).limit_tempo(tempo))
    assert frames[0] == frames[1] == frames[2]
    assert found == pytest.approx([found[0]] * 3, rel=0.01)


def test_the_range_of_tempos_is_kept():
    easy = playing(score("1 2.0", "1 2.0"))
    assert easy.limit_tempo(100.0) == 400.0
    weak = HandProfile(speeds=Speeds(strokes=1.0))
    stiff = playing(score(",".join(["64 2.0"] * 64), hand=weak))
    assert stiff.limit_tempo(100.0) == 10.0


@settings(max_examples=40, deadline=None)
@given(passages(), st.floats(1.05, 3.0))
@example(line("16 1.4", "8 /1.1", "4 1.4", tempo=60.0), 1.5)
@example(line("16 3.1", "8 /3.4", "4 /3.7", tempo=160.0), 1.05)
def test_slower_is_never_harder(built, slower):
    """Nor is any single onset, though the hardest stretch that it lies in may be another at another tempo."""
    built = with_hands(built, PLAYER)
    for solved in fingering(built, PLAYER).phrases:
        play = Playing.of(built, solved)
        for fast, slow in zip(play.uses(), play.uses(slower), strict=True):
            assert slow <= fast + 1e-9


@settings(max_examples=30, deadline=None)
@given(passages())
def test_what_was_solved_is_what_is_worked_out_anew(built):
    """The points of the search are those that the terms give at (nearly) the written tempo."""
    built = with_hands(built, PLAYER)
    for solved in fingering(built, PLAYER).phrases:
        play = Playing.of(built, solved)
        for one, other in zip(play.loads(), play.loads(1.0 + 1e-12), strict=True):
            assert one.points == pytest.approx(other.points, abs=1e-3)
        assert sum(play.terms().values()) == pytest.approx(
            sum(hold.points for hold in solved.holds)
            + sum(each.share for load in play.loads() for each in load.used if each.speed == "repeated")
        )


def test_an_onset_is_used_up_by_every_stretch_that_it_lies_in():
    """Twelve points a second in the first half second, eight and four later; eight all along a whole second."""
    loads = [Load(Place(0), points, 0.25) for points in (3.0, 3.0, 1.0, 1.0)]
    assert uses(loads, [0.5, 0.5, 0.5, 0.5], 12.0) == pytest.approx([1.0, 1.0, 8 / 12, 4 / 12])
    assert uses(loads, [1.0, 0.5, 0.5, 0.5], 12.0) == pytest.approx([8 / 12, 8 / 12, 8 / 12, 8 / 12])


# Phrases and the curve


def test_a_phrase_in_numbers():
    built = with_hands(score(PLAIN, LEAP), PLAYER)
    (solved,) = fingering(built, PLAYER).phrases
    found = difficulty(built, solved)
    values = sorted(rate.per_s for rate in Playing.of(built, solved).rates())
    assert found.peak == values[-1]
    assert found.ninetieth == values[17]  # of 19 onsets the 18th: 0.9 x 19 = 17.1, rounded up
    assert found.first == Place(0)
    assert (found.limit_tempo > 100.0) == (found.use < 1.0)


def test_equal_music_is_equally_hard_wherever_it_stands():
    built = with_hands(score(LEAP, "1", PLAIN, "1", LEAP, "1", PLAIN), PLAYER)
    one, plain, other, last = (difficulty(built, solved) for solved in fingering(built, PLAYER).phrases)
    assert (one.peak, one.use, one.limit_tempo) == (other.peak, other.use, other.limit_tempo)
    assert (plain.peak, plain.use) == (last.peak, last.use)
    assert one.use > plain.use
    assert one.limit_tempo < plain.limit_tempo


def test_the_curve_covers_every_event_and_rises_to_the_use():
    built = with_hands(score(PLAIN, "1", LEAP), PLAYER)
    hand = fingering(built, PLAYER)
    levels = curve(built, hand)
    sounding = {i: {o for o, e in m.timed() if e.notes} for i, m in enumerate(built.measures)}
    assert {index: set(found) for index, found in levels.items()} == {0: sounding[0], 2: sounding[2]}
    for index, solved in zip((0, 2), hand.phrases, strict=True):
        assert max(levels[index].values()) == difficulty(built, solved).use
    assert max(levels[2].values()) == levels[2][Fraction(1, 2)] > 2 * max(levels[0].values())


def test_the_curve_of_a_phrase_that_stays_is_kept():
    built = with_hands(score(PLAIN, "1", PLAIN), PLAYER)
    before = curve(built, fingering(built, PLAYER))
    edited = put_note(built, Place(2, Fraction(1)), Note(course=1, fret=9), EIGHTH)
    after = curve(edited, fingering(edited, PLAYER))
    assert after[0] is before[0]
    assert max(after[2].values()) > max(before[2].values())
