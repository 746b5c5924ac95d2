"""The goals for the fingers, and the page that shows the table (`python -m tests.hand.judgement`)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tabterm.hand.fingering import fingering
from tabterm.harmony.chords import parse_chord
from tabterm.instrument import PRESETS
from tabterm.score.operations import set_finger
from tabterm.score.place import Place
from tests.build import PLAYER, music
from tests.hand import judgement, taught
from tests.hand.chord_shapes import SHAPES

PAGE = Path(__file__).parents[2] / "docs" / "judgement.md"

# What takes long to set up is set up in one worker only.
pytestmark = pytest.mark.xdist_group("judgement")


@pytest.fixture(scope="module")
def lines():
    return list(judgement.table())


def test_every_goal_is_reached(lines):
    assert sum(line.goal is not None for line in lines) >= 4
    for line in lines:
        assert line.goal is None or line.percent >= line.goal, line


def test_nothing_is_worse_than_before(lines):
    for line in lines:
        assert line.goal is not None or line.percent > judgement.BEFORE[line.what], line


def test_the_page_has_the_table(lines):
    page = PAGE.read_text(encoding="utf-8").splitlines()
    for line in lines:
        assert judgement.row(line) in page


@pytest.mark.parametrize("told", taught.PHRASES, ids=lambda told: told.stops)
@pytest.mark.parametrize("tempo", [60.0, 140.0])
def test_a_student_is_told(told, tempo):
    wanted = [set(map(int, word.split("/"))) for word in told.fingers.split()]
    given = judgement.answers(taught.eighths(taught.stops_of(told.stops), tempo, told.value))
    assert [finger in right for finger, right in zip(given, wanted, strict=True)] == [True] * len(wanted), given


def test_the_shapes_are_as_many_and_as_named():
    """36 base frets on 3 pairs of courses; the first of them is D major from fret 7 (music.zanshin.net, 2019)."""
    cases = {case.name: case for case in taught.closed_shapes()}
    assert len(cases) == 36 * 3
    frets = [
        note.fret for m in cases["finger 1, fret 7, course 4"].score.measures for e in m.events for note in e.notes
    ]
    assert frets == [7, 9, 11, 12, 7, 9, 11, 12]
    wanted = [finger for (finger,) in cases["finger 3, fret 5, course 4"].wanted]
    assert wanted == [3, 4, 1, 2, 3, 4]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: f"{shape.instrument} {shape.name}")
def test_a_shape_has_the_notes_of_its_chord(shape):
    instrument = PRESETS[shape.instrument]
    chord = parse_chord(shape.name.split()[0])
    places = [(course, fret) for course, fret in zip((4, 3, 2, 1), shape.frets, strict=True) if fret is not None]
    sounding = {instrument.pitch(*place) % 12 for place in places}
    assert sounding <= {chord.tone(interval) for interval in chord.intervals}
    for way in shape.fingers:
        assert [fret == 0 for _, fret in places] == [finger == 0 for finger in way]


def test_the_hand_is_never_behind_the_nut():
    """Open chords are held from fret 1 on, and a high finger set on a low fret does not take the hand lower."""
    for text in ("1 1.2 4.2", "1 1.2 2.3 4.2", "4 2.1, 4 2.2, 2 2.1"):
        assert all(hold.frame >= 1 for hold in fingering(music(text), PLAYER).holds())
    pinned = set_finger(music("1 2.1"), Place(0), 2, 4)
    (hold,) = fingering(pinned, PLAYER).holds()
    assert (hold.frame, hold.grip.notes[0].finger) == (1, 4)


def test_a_set_finger_takes_its_neighbours_along():
    """The index finger set on E 5 puts the scale around it into third position; unset it stays lower."""
    text = "8 1.5, 8 1.7, 8 1.5, 8 1.3, 8 1.5, 8 1.7, 8 1.9, 8 1.10"
    built = music(text)
    pinned = set_finger(built, Place(0), 1, 1)
    assert judgement.answers(pinned)[:3] == [1, 2, 1]
    assert judgement.answers(built)[:3] != [1, 2, 1]
