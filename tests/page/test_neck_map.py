"""Maps of the neck: what is marked, and that frets and courses are to scale."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from tabterm.errors import ScoreError
from tabterm.hand.neck import neck_of
from tabterm.harmony.pools import pool_named
from tabterm.instrument import PRESETS, fret_distance_mm
from tabterm.page.neck_map import in_words, map_of_pool, svg_of, text_of, wires
from tabterm.page.neck_views import maps_of, views
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, Head
from tabterm.score.place import Place
from tests.build import PLAYER, measure, score

MANDOLIN = PRESETS["mandolin"]
NECK = neck_of(Head(), PLAYER)
NS = {"svg": "http://www.w3.org/2000/svg"}


def test_a_scale_on_the_neck_in_lines():
    """First position of G major, written down from the notes of the neck."""
    drawn = text_of(map_of_pool(pool_named("G major"), MANDOLIN, highest=5), 60)
    told = [re.sub(r"[-|]+", " ", line).split() for line in drawn]
    assert told == [
        ["1", "2", "3", "4", "5"],
        ["E", "6", "7", "1", "2"],
        ["A", "2", "3", "4", "5"],
        ["D", "5", "6", "7", "1"],
        ["G", "1", "2", "3", "4"],
    ]
    assert {len(line) for line in drawn[1:]} == {60}


def test_frets_are_to_scale_in_lines_and_in_the_drawing():
    """Fret n lies at S - S / 2^(n/12) from the nut."""
    at = wires(MANDOLIN, 12, 121)
    assert (at[0], at[12]) == (0, 120)
    drawing = ET.fromstring(svg_of(map_of_pool(pool_named("D7"), MANDOLIN)))
    lines = drawing.findall("svg:line", NS)
    xs = [float(each.get("x1")) for each in lines if each.get("class") in {"nut", "wire"}]
    for fret in range(13):
        part = fret_distance_mm(MANDOLIN.scale_length_mm, fret) / fret_distance_mm(MANDOLIN.scale_length_mm, 12)
        assert at[fret] == pytest.approx(120 * part, abs=0.5)
        assert xs[fret] - xs[0] == pytest.approx(part * (xs[12] - xs[0]), abs=0.1)
    courses = [each for each in lines if each.get("class") == "course"]
    at_nut, at_twelve = ([float(each.get(end)) for each in courses] for end in ("y1", "y2"))
    assert at_twelve[-1] - at_twelve[0] > at_nut[-1] - at_nut[0]


def test_what_has_no_room_is_a_sign_and_names_can_stand_for_degrees():
    narrow = text_of(map_of_pool(pool_named("Bb minor blues"), MANDOLIN, highest=20), 60)
    assert any("o" in line[5:] for line in narrow[1:])
    named = in_words(map_of_pool(pool_named("Eb major"), MANDOLIN, highest=3, names=True))
    assert named == [
        "E: F at fret 1, G at fret 3",
        "A: Bb at fret 1, C at fret 3",
        "D: D open, Eb at fret 1, F at fret 3",
        "G: G open, Ab at fret 1, Bb at fret 3",
    ]


def test_double_stops_are_joined_and_roots_stand_out():
    (shown,) = maps_of(NECK, pool_named("G"), 12, dyads="3-1")
    assert [[shown.marks[end][:3] for end in pair] for pair in shown.pairs] == [
        [(4, 4, "3"), (3, 5, "1")],
        [(3, 9, "3"), (2, 10, "1")],
        [(2, 2, "3"), (1, 3, "1")],
    ]
    drawn = svg_of(shown)
    assert drawn.count('class="pair"') == 3
    assert drawn.count('class="note root"') == 3


def test_positions_have_fingers_and_what_is_not_there_is_said():
    first, *_ = maps_of(NECK, pool_named("A major"), 12, by_position=True)
    assert first.title == "A major, frets 2 to 7, from 1 under finger 1"
    assert {mark.text for mark in first.marks} == {"1", "2", "3", "4"}
    with pytest.raises(ScoreError, match="no double stop 2-4 in G"):
        maps_of(NECK, pool_named("G"), 12, dyads="2-4")
    with pytest.raises(ScoreError, match="no closed position of A major for this hand"):
        maps_of(
            neck_of(Head(instrument=PRESETS["octave-mandolin"]), PLAYER),
            pool_named("A major"),
            12,
            by_position=True,
        )


def test_what_there_is_to_see_at_a_place():
    chords = (ChordMark(offset="0", symbol="D7"),)
    built = score(measure("8 3.0,8 3.4,8 2.0,8 2.3,8 2.2,8 2.0,4 3.4", chords=chords), key=Key.parse("G"))
    titles = [each.title for each in views(built, PLAYER, Place(0))]
    assert titles[:2] == ["D7", "G major"]
    assert "3-b7 of D7" in titles
    assert titles[-1].startswith("G major, frets ")
    silent = score("1", key=Key.parse("A dorian"))
    assert views(silent, PLAYER, Place(0))[0].title == "A dorian"
