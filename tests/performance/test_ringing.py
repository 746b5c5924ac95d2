"""What rings past its written end (common practice, no source): written down before it was coded."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.performance import Part, perform
from tabterm.score import operations as do
from tabterm.score.place import Place
from tests.build import score


def ends(built, **options):
    """(pitch, quarters at which it ends) of each attack, at a quarter a second."""
    second = perform(built, **options)
    quarter_s = 60.0 / built.head.tempo.quarters_per_minute
    return [
        (pluck.pitch, round((pluck.end_s - second.lead_s) / quarter_s, 2))
        for pluck in second.plucks
        if pluck.part is Part.SOLO
    ]


@pytest.mark.parametrize(
    ("music", "until"),
    [
        # an open course: to its next attack, a rest, or the end
        ("4 2.0,4 1.0,4 2.2.1,4 1.3.2", [2, 3, 4, 4]),
        ("4 3.0,4 2.0,4 1.0,4", [3, 3, 3]),
        ("4 3.0,4,4 1.0,4", [1, 3]),
        ("1 3.0|1 2.0", [8, 8]),
        # cross-picking: a stopped note stays under its finger
        ("8 3.2.1,8 2.3.2,8 1.0,8 3.2.1,8 2.3.2,8 1.0,4", [1.5, 2, 2.5, 3, 3, 3]),
        # the finger is needed elsewhere
        ("4 3.2.1,4 2.4.3,4 2.3.1,4", [2, 2, 3]),
        # a finger laid flat over two courses stays
        ("4 2.2.1,4 1.2.1,4,4", [2, 2]),
        # the hand shifts
        ("4 3.2.1,4 1.9.3,4 1.7.1,4", [1, 2, 3]),
        # a lower finger above a higher one: the hand has moved
        ("4 3.5.3,4 2.7.1,4,4", [1, 2]),
        # nobody knows which finger: as written
        ("4 3.2,4 2.3,4 1.0,4", [1, 2, 3]),
        # a dead note stops where it is
        ("4 3.0,4 x3.0,4,4", [1, None]),
    ],
)
def test_a_player_would_let_it_ring_until(music, until):
    """A finger that is needed elsewhere is on its way 30 ms before, 0.06 of these quarters."""
    for (_, end), expected in zip(ends(score(*music.split("|"))), until, strict=True):
        assert expected is None or end == pytest.approx(expected, abs=0.07)


@pytest.mark.parametrize(
    ("music", "does"),
    [
        # needed on another fret: it leaves its course
        ("4 3.2.1,4 2.4.3,4 2.3.1,4", ["leaves", "none", "damps"]),
        # the hand shifts
        ("4 3.2.1,4 2.0,4 1.9.3,4", ["leaves", "none", "damps"]),
        # a rest: it lets go and lies on the course
        ("4 3.2.1,4,4 1.0,4", ["damps", "none"]),
        # the next stroke on the course, a pull-off, a slide: nothing of its own
        ("4 3.2.1,4 3.4.3,4 p3.0,4 2.0", ["none", "none", "none", "none"]),
        # it stays down to the end
        ("4 3.2.1,4 2.0,2 1.0", ["none", "none", "none"]),
        # nobody knows which finger
        ("4 3.2,4 2.0,2 1.0", ["damps", "none", "none"]),
        # open courses and dead notes have no finger to be lifted
        ("4 3.0,4,4 x2.2.1,4", ["none", "none"]),
    ],
)
def test_a_finger_leaves_its_course_or_lets_go_of_it(music, does):
    assert [pluck.release for pluck in perform(score(*music.split("|"))).plucks] == does


def test_a_note_of_an_unknown_finger_ends_where_it_is_written_though_no_finger_is_needed_for_long():
    assert ends(score("4 3.2,4 2.0,4 1.0,4 2.2"))[0][1] == pytest.approx(1.0)


def test_a_staccato_lets_go_of_its_fret():
    short = do.set_staccato(score("4 3.2.1,4 2.0,2 1.0"), Place(0), True)  # noqa: FBT003 - positional only
    assert perform(short).plucks[0].release == "damps"


def test_staccato_and_tremolo_end_where_they_are_written():
    plain = score("4 3.0,4 2.0,4 1.0,4")
    short = do.set_staccato(plain, Place(0), True)  # noqa: FBT003 - positional only
    assert ends(short)[0][1] == pytest.approx(0.5)
    shaken = do.set_tremolo(plain, Place(0), True)  # noqa: FBT003 - positional only
    assert max(end for pitch, end in ends(shaken) if pitch == 62) == pytest.approx(1.0)


def test_a_damp_mark_silences_all_and_let_ring_rings_on():
    plain = score("4 3.0,4 2.0,4 1.0,4 1.2.1")
    damped = do.set_damp(plain, Place(0, Fraction(1)), True)  # noqa: FBT003 - positional only
    assert [end for _, end in ends(damped)] == [2, 2, 3, 4]
    rung = do.set_ring(score("4 3.2.1,4 2.4.1,4,4"), Place(0), 3, True)  # noqa: FBT003 - positional only
    assert ends(rung)[0][1] == 4


def test_midi_keeps_the_written_ends():
    """Another program may read notes from it."""
    from tabterm.performance import Options

    performance = perform(score("4 3.0,4 2.0,4 1.0,4"), options=Options())
    offs = [message.time_s for message in performance.messages if message.data[0] & 0xF0 == 0x80]
    quarter_s = performance.duration_s / 4
    assert [round(off / quarter_s, 1) for off in offs] == [1.0, 2.0, 3.0]
