"""What printed sources and measured players say of the left hand, against the model and the search."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.hand.alternatives import choices
from tabterm.hand.bands import BANDS, Verdict, judge
from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import findings
from tabterm.instrument import PRESETS, stretch_mm
from tabterm.score.kinds import Stroke
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, score

MANDOLIN = PRESETS["mandolin"]


def fingers(text, **head):
    """The finger proposed for each note of eighths `course.fret`."""
    built = score(*_measures(text), **head)
    return [
        note.proposed_finger or 0
        for measure in with_hands(built, PLAYER).measures
        for event in measure.events
        for note in event.notes
    ]


def _measures(text):
    words = text.split()
    whole = [words[start : start + 8] for start in range(0, len(words), 8)]
    return [",".join([*(f"8 {word}" for word in each), *["8"] * (8 - len(each))]) for each in whole]


@pytest.mark.parametrize("course", [1, 2, 3, 4])
@pytest.mark.parametrize(
    ("scale", "expected"),
    [
        # D. Grisman, "Position Studies" (mandozine.com): in first position finger 1 has frets 1 and 2, finger 2
        # frets 3 and 4, finger 3 frets 5 and 6, finger 4 frets 7 and 8. Ten violinists, the same semitones over
        # the open string: 99.6, 96.1, 93.8, 89.7, 98.6, 73.0, 99.0 and 92.8 % (TNUA data set, Jen et al. 2021).
        ("0 2 4 5 7 5 4 2", [0, 1, 2, 3, 4, 3, 2, 1]),
        ("0 1 3 5 7 5 3 1", [0, 1, 2, 3, 4, 3, 2, 1]),
        ("0 2 3 5 7 5 3 2", [0, 1, 2, 3, 4, 3, 2, 1]),
        ("0 2 4 6 8 6 4 2", [0, 1, 2, 3, 4, 3, 2, 1]),
        ("0 2 4 6 7 6 4 2", [0, 1, 2, 3, 4, 3, 2, 1]),
    ],
)
def test_first_position(course, scale, expected):
    assert fingers(" ".join(f"{course}.{fret}" for fret in scale.split())) == expected


@pytest.mark.parametrize(
    ("frets", "tempo"),
    [
        *((scale, tempo) for scale in ("0 2 4 5 7 5 4 2", "0 2 3 5 7 5 3 2") for tempo in (60.0, 90.0, 140.0)),
        *((frets, tempo) for frets in ("2 4 5 7", "2 3 5 7") for tempo in (60.0, 90.0, 140.0)),
    ],
)
def test_first_position_at_any_tempo(frets, tempo):
    """The same table in quarters: what finger has a fret is no matter of tempo where no shift is called for."""
    stops = [f"4 2.{fret}" for fret in frets.split()]
    built = with_hands(
        score(*(",".join(stops[start : start + 4]) for start in range(0, len(stops), 4)), tempo=Tempo(tempo)),
        PLAYER,
    )
    given = [n.proposed_finger or 0 for m in built.measures for event in m.events for n in event.notes]
    table = {0: 0, 2: 1, 3: 2, 4: 2, 5: 3, 7: 4}
    assert given == [table[int(fret)] for fret in frets.split()]


def test_the_one_real_second_choice_in_first_position():
    """Fret 6 is played by finger 4 in 26.6 % (else by 3), every other fret by a second finger in 10 % at most: own
    count of the TNUA data set; so there the second choice is 4, and takes the least more of all frets."""
    built = score(*_measures("3.0 3.2 3.4 3.6 3.7 3.6 3.4 3.2"))
    second = {}
    for number, fret in ((1, 2), (2, 4), (3, 6)):
        offered = choices(built, PLAYER, Place(0, Fraction(number, 2)), 3)
        first, other = [choice for choice in offered if choice.stop.course == 3][:2]
        assert first.stop.finger == fret // 2
        second[fret] = (other.extra - first.extra, other.stop.finger)
    assert second[6][1] == 4
    assert min(second, key=second.get) == 6


@pytest.mark.parametrize("start", [5, 7, 9])
def test_the_closed_shape_moves(start):
    """Whole, whole, half, and the same frets on the next course, with fingers 1 to 4 (music.zanshin.net 2019)."""
    frets = [start, start + 2, start + 4, start + 5]
    up = [f"{course}.{fret}" for course in (4, 3) for fret in frets]
    assert fingers(" ".join(up)) == [1, 2, 3, 4, 1, 2, 3, 4]


# Forms of a double stop on neighbouring courses as johntreacy.com names them, by their frets: short 2, a fourth;
# medium 3, a major third; long 4, a minor third.
FORMS = {2: "P4", 3: "M3", 4: "m3"}


@pytest.mark.parametrize(("frets", "interval"), FORMS.items())
@pytest.mark.parametrize("course", [2, 3, 4])
def test_forms_sound_the_intervals_that_are_printed(frets, interval, course):
    """The pitches of our neck, named by music21."""
    intervals = pytest.importorskip("music21.interval")
    for fret in (2, 5, 9):
        low, high = MANDOLIN.pitch(course, fret + frets), MANDOLIN.pitch(course - 1, fret)
        assert intervals.Interval(high - low).simpleName == interval


@pytest.mark.parametrize(("frets", "finger"), [(2, 2), (3, 3), (4, 3)])
def test_fingers_of_the_forms(frets, finger):
    """The finger that ten violinists use most for the lower note in first position, where the higher one is at
    fret 2 under the index finger: 4 semitones over the open string 89.7 % middle, 5 98.6 % and 6 73.0 % ring (TNUA
    data set, own count)."""
    assert fingers_of_chord(2 + frets, 2) == (finger, 1)


def fingers_of_chord(lower, upper, instrument=MANDOLIN):
    (hold,) = fingering(score(f"1 2.{upper} 3.{lower}", instrument=instrument), PLAYER).holds()
    by_course = {stop.course: stop.finger for stop in hold.grip.notes}
    return by_course[3], by_course[2]


def test_the_same_forms_on_a_long_neck():
    """On 584 mm they are 57, 83 and 107 mm: the little finger has to help where the ring finger did."""
    banjo = PRESETS["tenor-banjo"]
    assert fingers_of_chord(4, 2, banjo) == (3, 1)
    assert fingers_of_chord(5, 2, banjo) == (4, 1)
    assert [finding.code for finding in findings(score("1 2.2 3.6", instrument=banjo), PLAYER)] == ["reach"]


@pytest.mark.parametrize(
    ("names", "interval", "places"),
    [
        # Course and fret of the lower and the higher note (mandozine.com, double stops: thirds and sixths).
        ("C E", "M3", [((3, 10), (2, 7)), ((4, 5), (3, 2)), ((2, 3), (1, 0))]),
        ("C A", "M6", [((4, 5), (3, 7)), ((3, 10), (2, 12)), ((2, 3), (1, 5))]),
    ],
)
def test_thirds_and_sixths_where_they_are_printed(names, interval, places):
    """The names of the notes, and what music21 calls the step between them."""
    pitches = pytest.importorskip("music21.pitch")
    intervals = pytest.importorskip("music21.interval")
    for place in places:
        low, high = (pitches.Pitch(midi=MANDOLIN.pitch(*each)) for each in place)
        assert f"{low.name} {high.name}" == names
        assert intervals.Interval(low, high).name == interval


def test_the_index_and_middle_finger_take_the_small_sixth():
    """The index finger has the third, the middle one the root a fret higher (common practice, no source)."""
    for fret in (2, 4, 7):
        assert fingers_of_chord(fret, fret + 1) == (1, 2)


@pytest.mark.parametrize("fret", [2, 4, 5, 7, 9])
def test_a_fifth_takes_one_finger(fret):
    """Two strings at once under one finger: L. A. Berman (theconservatoryofmusic.org), and in a row 92.3 % of ten
    violinists (TNUA data set)."""
    given = fingers_of_chord(fret, fret)
    assert given[0] == given[1]


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        # Frets 2 to 7 are first position (D. Grisman, "Position Studies", mandozine.com); frets 1 to 7 a lesson
        # sets with the warning that they may take months (chrishopgoodmusic.teachable.com).
        (2, 7, Verdict.COMFORTABLE),
        (1, 7, Verdict.HARD),
    ],
)
def test_index_to_little_finger(low, high, verdict):
    assert judge((1, 4), stretch_mm(MANDOLIN.scale_length_mm, low, high), 143) is verdict


def test_no_reach_goes_beyond_a_small_hand_of_pianists():
    """Index to little finger, flat and spread: under 6 in is a small hand (Boyle, Boyle and Booker 2015, "Pianist
    Hand Spans", 473 adults). The reference hand reaches a little less at most: nobody is sent beyond."""
    border_mm = 6 * 25.4
    assert 0.9 * border_mm < BANDS[1, 4].extreme_mm < border_mm
    assert all(band.extreme_mm < border_mm for band in BANDS.values())


def test_two_frets_a_finger_or_one_by_the_length_of_the_neck():
    """One model in mm gives both ways; nothing else tells the instruments apart."""
    scale = "4.0 4.2 4.4 4.5 3.0 3.2 3.4 3.5"
    assert fingers(scale) == [0, 1, 2, 3, 0, 1, 2, 3]
    assert fingers(scale, instrument=PRESETS["tenor-banjo"]) == [0, 1, 3, 4, 0, 1, 3, 4]
    assert fingers("2.2 2.3 2.4 2.5", instrument=PRESETS["tenor-banjo"]) == [1, 2, 3, 4]
    short_necked = PRESETS["tenor-banjo"].with_(scale_length_mm=MANDOLIN.scale_length_mm)
    assert fingers(scale, instrument=short_necked) == [0, 1, 2, 3, 0, 1, 2, 3]


# Rules of thumb of the trade (common practice, no source)


def test_a_slurred_off_beat_takes_no_stroke_and_the_next_that_of_its_place():
    built = with_hands(score("8 2.2,8 h2.3,8 2.5,8 2.3,2 2.2"), PLAYER)
    strokes = [event.proposed_stroke for event in built.measures[0].events]
    assert strokes[:4] == [Stroke.DOWN, None, Stroke.DOWN, Stroke.UP]


def test_a_slide_frees_the_hand_for_the_higher_position():
    """Sliding into a note by one finger carries the hand along: what follows lies under the other fingers."""
    built = score("8 1.5,8 /1.9,8 1.10,8 1.7,8 1.9,8 1.5,4")
    holds = list(fingering(built, PLAYER).holds())
    slid, into = holds[0], holds[1]
    assert slid.grip.notes[0].finger == into.grip.notes[0].finger
    assert into.frame > slid.frame
    assert len({hold.frame for hold in holds[1:4]}) == 1


def test_a_slide_by_the_little_finger_leaves_a_finger_for_each_note_below():
    """Set to slide, the little finger takes the hand to fret 12, and the scale down lies under the others."""
    built = score("8 1.2,8 1.3,8 1.5,8 1.7,8 /1.12,8 1.11,8 1.9,8 1.7")
    events = list(built.measures[0].events)
    events[3] = events[3].with_(notes=(events[3].notes[0].with_(finger=4),))
    solved = with_hands(built.with_(measures=(built.measures[0].with_(events=tuple(events)),)), PLAYER)
    shown = [note.finger_shown for event in solved.measures[0].events for note in event.notes]
    assert shown == [1, 2, 3, 4, 4, 3, 2, 1]


def test_few_shifts():
    """Make as few position shifts as possible (D. Grisman, "Position Studies"): a scale of two octaves takes one
    frame, and one within a closed position another."""
    for text in (
        "4.0 4.2 4.4 4.5 3.0 3.2 3.4 3.5 2.0 2.2 2.3 2.5 1.0 1.2 1.3 1.2",
        "4.7 4.9 4.11 4.12 3.7 3.9 3.11 3.12",
    ):
        frames = {hold.frame for hold in fingering(score(*_measures(text)), PLAYER).holds()}
        assert len(frames) == 1
