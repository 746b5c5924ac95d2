"""What a teacher would hand out for three solos, written down before the rules were: ladders, days, words.

* The waltz uses a third of the player's limits: nothing is hard, begin at 80% at once, two phrases a day, the
  whole at all tempos on the third day, and talk about tone. Its double stops in measure 10 are one grip.
* The jig goes at nine tenths of the limit, by its equal strokes in a row: a phrase a day from 60 or 70%, the
  sections joined as soon as both halves are known, then the whole, two tempos a day. Its fourth phrase has
  measures of the first section: they are known. On the seventh day something else.
* The breakdown is at the limit where the hand goes from fret 2 to fret 9: that phrase twice, its drill first while
  the hand is fresh, and no further than 90%. The wide reach of measure 11 has a way round it: one note after
  the other.
  Two days for that phrase as well, and a week and a half until the whole goes at 90%.

All of it is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import tabterm
from tabterm.piece.handout import counsel
from tabterm.piece.handout.lesson import SECTIONS, Lesson
from tabterm.piece.handout.plan import ladder
from tabterm.piece.piece import Piece, span_of
from tabterm.score.operations import set_remark
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, measure, score

SAMPLES = Path(__file__).parents[3] / "samples"
TEMPOS = (60, 70, 80, 90, 100)


@pytest.fixture(scope="module")
def lessons():
    def lesson(name):
        piece = tabterm.open(SAMPLES / f"{name}.tabterm", player=PLAYER)
        return Lesson(piece.fingered().stroked(), TEMPOS)

    return {name: lesson(name) for name in ("lantern-waltz", "ferrymans-jig", "quarry-road-breakdown")}


def titles(lesson):
    return [day.title for day in lesson.days]


def test_the_waltz_is_easy_and_soon_learnt(lessons):
    lesson = lessons["lantern-waltz"]
    assert [lesson.tempo_range(phrase) for phrase in lesson.phrases] == ["80 to 100%"] * 4
    assert titles(lesson) == ["Phrases 1 and 2", "Phrases 3 and 4", "The whole piece at 80%, 90% and 100%"]
    assert not any("drill" in task.what for day in lesson.days for task in day.tasks)
    assert [len(lesson.hard(phrase)) for phrase in lesson.phrases] == [0, 0, 1, 0]
    ((where, words),) = lesson.hard(lesson.phrases[2])
    assert where.startswith("Measure 10, beat 1")
    assert "as one grip" in words


def test_the_jig_takes_a_phrase_a_day(lessons):
    lesson = lessons["ferrymans-jig"]
    assert lesson.phrases[0].measures(lesson.score) == "pickup to measure 4"
    assert titles(lesson) == [
        *("Phrase 1", "Phrase 2", "Phrase 3", "Phrase 4"),
        *("The whole piece at 60% and 70%", "The whole piece at 80% and 90%"),
        *("Rest: leave this piece alone today", "The whole piece at 100%"),
    ]
    joined = [[task.what for task in day.tasks if task.what.startswith("Join")] for day in lesson.days[:4]]
    assert [len(each) for each in joined] == [0, 1, 0, 1]
    assert "phrases 3 and 4" in joined[3][0]
    one, _, _, four = lesson.phrases
    assert lesson.known(four) == [
        "Measure 14 is the same as measure 10: you know it already.",
        "Measure 17 is the same as measure 8: you know it already.",
    ]
    assert any("let the pick swing back" in words for _, words in lesson.hard(one))
    assert any("as in phrase 1" in words for _, words in lesson.hard(four))


def test_the_breakdown_is_at_the_limit_in_one_phrase(lessons):
    lesson = lessons["quarry-road-breakdown"]
    _, two, three, _ = lesson.phrases
    assert lesson.tempo_range(two) == "60 to 90%"
    assert "Stop at 90%" in lesson.climbing(two)
    assert lesson.hard(two)[0][0] == "Measure 6, beat 4, to measure 7, beat 2"
    assert "from fret 2 to fret 9 in 144 ms: there is no time to spare" in lesson.hard(two)[0][1]
    where, words = lesson.hard(three)[0]
    assert (where, "A way round it: the low note first, then the high one" in words) == (
        "Measure 11, beat 2&",
        True,
    )
    assert "Never hold a wide reach." in words
    assert titles(lesson)[:6] == [
        "Phrase 1",
        "Phrase 2",
        "Phrase 2 again",
        "Phrase 3",
        "Phrase 3 again",
        "Phrase 4",
    ]
    assert titles(lesson)[6].startswith("Rest")
    assert titles(lesson)[7:] == [f"The whole piece at {tempo}%" for tempo in (60, 70, 80, 90)]
    assert all("drill" in day.tasks[1].what for day in lesson.days[1:] if day.tasks)
    assert max(day.minutes for day in lesson.days) <= 30
    drill = lesson.drill(two)
    assert "Begin at quarter = 62 (60%)" in lesson.drill_words(drill)
    assert lesson.chords(two) == "G (1), D7 (5)"
    assert [remark.where for remark in lesson.remarks(three)] == ["measure 11"]


def hopping(bpm=120.0):
    """One phrase of eighths that hop from course to course, with a reach, a chord and a remark."""
    first = measure("8 3.0,8 2.2,8 1.3,8 2.2,8 3.0,8 2.2,4 1.3", chords=[{"offset": "0", "symbol": "G"}])
    reach = measure("4 1.8 3.2,4 2.0,2 2.2", remark="let go at once")
    return score(first, first, reach, tempo=Tempo(bpm))


def test_a_slower_player_climbs_lower_and_takes_longer():
    slow = tabterm.Player(hand=HandProfile(speeds=Speeds(strokes=6, course_change=5, repeated=4)))
    quick, slowed = (Lesson(Piece(hopping(), player).fingered().stroked(), TEMPOS) for player in (PLAYER, slow))
    assert slowed.phrases[0].limit_percent < quick.phrases[0].limit_percent
    assert slowed.tempo_range(slowed.phrases[0]) == "60%"
    assert quick.tempo_range(quick.phrases[0]) == "70 to 100%"


@pytest.mark.parametrize(
    ("limit", "rungs", "safe"),
    [
        (300, (80, 90, 100), True),
        (112, (60, 70, 80, 90, 100), True),
        (100, (60, 70, 80, 90), False),
        (80, (60, 70), False),
        (60, (), False),
    ],
)
def test_a_ladder_begins_where_it_is_easy_and_leaves_room_below_the_limit(limit, rungs, safe):
    assert ladder(limit, TEMPOS) == (rungs, safe)


def test_a_phrase_too_fast_for_every_file_is_said_so():
    tune = score("16 4.2,16 3.5,16 4.2,16 3.5," * 3 + "4 4.2", tempo=Tempo(280.0))
    lesson = Lesson(Piece(tune, PLAYER).fingered().stroked(), (90, 100))
    (phrase,) = lesson.phrases
    assert lesson.tempo_range(phrase) == "slower than the files"
    assert "slowest file (90%) is too close to your limit" in lesson.climbing(phrase)
    assert "without the files" in lesson.days[0].tasks[-1].what


def test_a_chord_from_before_a_phrase_is_named():
    chords = [{"offset": "0", "symbol": "D7"}]
    tune = score(
        measure("1 2.0", chords=chords, barline="double"),
        "1 2.2",
        measure("1 2.0", chords=[{"offset": "2", "symbol": "N.C."}]),
    )
    lesson = Lesson(Piece(tune, PLAYER).fingered(), (100,))
    assert counsel.chords(tune, lesson.phrases[1]) == "D7 (2), N.C."


def test_every_section_can_be_left_out():
    piece = Piece(hopping(), PLAYER).fingered().stroked()
    for section in SECTIONS:
        lesson = Lesson(piece, TEMPOS, frozenset(SECTIONS) - {section})
        (phrase,) = lesson.phrases
        said = {
            "remarks": lesson.remarks(phrase) or "remark" in lesson.rows,
            "harmony": lesson.chords(phrase) or "degree" in lesson.rows,
            "theory": lesson.explained(phrase) and lesson.neck(phrase),
            "hard": lesson.hard(phrase),
            "drills": lesson.drill(phrase),
            "plan": lesson.days,
        }
        assert [name for name, words in said.items() if not words] == [name for name in said if name == section]


def test_some_measures_have_their_own_phrases_and_plan(lessons):
    whole = lessons["quarry-road-breakdown"]
    lesson = Lesson(whole.piece, TEMPOS, span=span_of(whole.score, 9, 12))
    assert [phrase.measures(lesson.score) for phrase in lesson.phrases] == ["measures 9 to 12"]
    assert titles(lesson)[:2] == ["Phrase 1", "Phrase 1 again"]


def test_a_scale_is_shown_on_the_neck_once_and_what_a_remark_says_is_not_said_again(lessons):
    """All four phrases of the breakdown are in G major; common practice, no source."""
    lesson = lessons["quarry-road-breakdown"]
    shown = [lesson.neck(phrase) for phrase in lesson.phrases]
    assert [each.title if each else None for each in shown] == ["G major", None, None, None]
    sentences = lesson.explained(lesson.phrases[1])
    assert "The double stops are minor sixths: 3-1 and 2-b7 of D7, moved 2 frets down and 2 frets up." in sentences
    words = " ".join(sentences[:2])
    remarked = set_remark(lesson.score, lesson.phrases[1].first, words)
    other = Lesson(Piece(remarked, PLAYER).fingered().stroked(), TEMPOS)
    assert other.explained(other.phrases[1]) == sentences[2:]
