"""Conventions of notation and tablature against published standards and what textbooks say.

* MusicXML 4.0 (W3C Music Notation Community Group 2021): every sign that the format has for what a score holds is
  drawn; the names of its elements come from the official schema that the package musicxml carries.
* SMuFL 1.4 (W3C Music Notation Community Group 2021): names and code points of the signs, as the engraving library
  verovio has them in its own table.
* Gould 2011, "Behind Bars", from memory: stems, dots, rests, the order of a key's signs.
"""

from __future__ import annotations

from fractions import Fraction
from importlib.resources import files
from xml.etree import ElementTree as ET

import pytest

from tabterm.formats import musicxml
from tabterm.score.key import Key
from tabterm.score.kinds import Barline, BendShape, Direction, Stroke
from tabterm.score.model import ChordMark, Head, Measure, Score, Swing
from tabterm.score.source import Bend
from tabterm.sheet import fonts
from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tests.build import event, measure, music, note
from tests.sheet.drawn import lines, shown

DRAWN = {
    "fret": "digit",
    "fingering": "finger",
    "down-bow": "stroke",
    "up-bow": "stroke",
    "hammer-on": "letter",
    "pull-off": "letter",
    "bend": "bend",
    "bend-alter": "bend-amount",
    "slur": "slur",
    "slide": "slide",
    "scoop": "slide",
    "falloff": "slide",
    "tied": "tie",
    "tuplet": "tuplet",
    "tremolo": "tremolo",
    "wavy-line": "vibrato",
    "arpeggiate": "roll",
    "accent": "accent",
    "staccato": "staccato",
    "grace": "grace",
    "dot": "dot",
    "beam": "beam",
    "rest": "rest",
    "accidental": "accidental",
    "key": "key",
    "time": "metre",
    "clef": "clef",
    "repeat": "repeat-dot",
    "ending": "ending",
    "harmony": "chord",
    "metronome": "tempo",
    "swing": "swing",
    "rehearsal": "section",
    "words": "remark",
    "movement-title": "title",
    "work-title": "title",
    "creator": "credit",
}
"""Elements of MusicXML, and the kind of sign that a sheet has for each."""


def everything():
    """A score with all that can be written."""
    down = {"stroke": Stroke.DOWN}
    return Score(
        head=Head(title="All of It", credits=("nobody",), key=Key.parse("Bb"), swing=Swing()),
        measures=(
            Measure(short=True, events=(event("8 3.0", stroke=Stroke.UP),)),
            Measure(
                section="A",
                remark="slowly",
                repeat_start=True,
                endings=(1,),
                repeat_times=2,
                chords=(ChordMark(offset=Fraction(0), symbol="Bb"),),
                events=(
                    event("8. 2.1.1b50", **down),
                    event("16 h2.3.3"),
                    event("8 p2.1.1"),
                    event("8 /2.5.3"),
                    event("8(3:2) 2.0 3.4", roll=Direction.UP),
                    event("8(3:2) 2.0"),
                    event("8(3:2) [3.2] 3.3", accent=True),
                    event("4 (3.3"),
                ),
            ),
            Measure(
                key=Key.parse("D"),
                events=(
                    event("4 2.4", tremolo=True, staccato=True),
                    event("4"),
                    event("2").with_(
                        notes=(
                            note("1.5").with_(
                                slide_in=Direction.UP,
                                vibrato=True,
                                bend=Bend(cents=100, shape=BendShape.RISE_AND_FALL),
                            ),
                            note("2.3").with_(slide_out=Direction.DOWN),
                        )
                    ),
                ),
                barline=Barline.FINAL,
            ),
        ),
    )


def elements(score):
    """The names of the elements that our MusicXML of a score has."""
    return {node.tag for node in ET.fromstring(musicxml.write(score, view="notes").data.decode()).iter()}


def test_every_sign_of_musicxml_that_a_score_has_is_drawn():
    score = everything()
    written = elements(score) & set(DRAWN)
    kinds = {sign.kind for page in engrave(score).pages for sign in page.signs}
    assert set(DRAWN) - written <= {"work-title", "movement-title"}
    assert {DRAWN[name] for name in written} <= kinds


def test_the_names_of_these_signs_are_those_of_the_official_schema():
    pytest.importorskip("musicxml", reason="the package musicxml carries the schema")
    schema = files("musicxml") / "generate_classes" / "musicxml_4_0.xsd"
    known = {
        node.get("name") for node in ET.fromstring(schema.read_bytes()).iter() if node.tag.endswith("}element")
    }
    assert set(DRAWN) <= known


def test_signs_have_the_code_points_and_boxes_that_smufl_and_verovio_give_them():
    verovio = pytest.importorskip("verovio", reason="the independent table is verovio's")
    table = ET.parse(files(verovio) / "data" / "Bravura.xml").getroot()
    known = {node.get("n"): node for node in table}
    compared = set(fonts.SIGNS) & set(known)
    assert len(compared) > 60
    for name in compared:
        node = known[name]
        assert int(node.get("c"), 16) == ord(fonts.SIGNS[name]), name
        left, top, right, bottom = fonts.sign_box(name)
        box = [float(node.get(key)) / 250 for key in ("x", "y", "w", "h")]
        assert (left, -bottom, right - left, bottom - top) == pytest.approx(box, abs=0.06), name


def drawn(text, **told):
    """The signs of a line of music by kind, with the height of the staff's lines."""
    page = engrave(music(text), Layout(parts="notation", **told)).pages[0]
    return [sign for sign in page.signs if sign.measure is not None], lines(page.svg, "staff")[0]


SPACE = 1.6


def stems(text):
    """For each note: how far its stem goes up and down from its middle, in spaces, and where it stands."""
    signs, _ = drawn(text)
    heads = [sign.box for sign in signs if sign.kind == "notehead"]
    found = [sign.box for sign in signs if sign.kind == "stem"]
    for (x, y, width, height), (u, v, _, high) in zip(heads, found, strict=True):
        middle = y + height / 2
        yield (middle - v) / SPACE, (v + high - middle) / SPACE, (u - x) / width


def test_stems_go_down_from_the_middle_line_on_and_are_an_octave_long():
    a, b, c = stems("4 2.0, 4 2.2, 4 2.3, 4")
    assert a[0] == pytest.approx(3.5, abs=0.1)
    assert b[1] == c[1] == pytest.approx(3.5, abs=0.1)
    assert a[2] > 0.8
    assert b[2] < 0.2


def test_stems_from_far_outside_reach_the_middle_line():
    signs, staff = drawn("4 4.0, 4 1.12, 2")
    low, high = (sign.box for sign in signs if sign.kind == "stem")
    assert low[1] <= staff[2] + 0.1
    assert high[1] + high[3] >= staff[2] - 0.1


def test_dots_stand_in_spaces_and_a_whole_rest_hangs_from_the_second_line():
    signs, staff = drawn("4. 2.2, 8 2.0, 4. 2.0, 8 2.2 | 1")
    for sign in signs:
        if sign.kind == "dot":
            middle = (sign.box[1] + sign.box[3] / 2 - staff[0]) / SPACE
            assert middle % 1 == pytest.approx(0.5, abs=0.05)
    rest = next(sign for sign in signs if sign.kind == "rest")
    assert rest.box[1] == pytest.approx(staff[1], abs=0.12)


SHARPS = ("F5", "C5", "G5", "D5", "A4", "E5", "B4")
FLATS = ("B4", "E5", "A4", "D5", "G4", "C5", "F4")


@pytest.mark.parametrize(("key", "order"), [("C#", SHARPS), ("Cb", FLATS), ("A", SHARPS[:3]), ("F", FLATS[:1])])
def test_the_signs_of_a_key_stand_in_their_order(key, order):
    score = Score(head=Head(key=Key.parse(key)), measures=(measure("1 2.0"),))
    svg = engrave(score).pages[0].svg
    staff = lines(svg, "staff")[0]
    heights = [round((staff[-1] - each.y) / (SPACE / 2)) for each in shown(svg) if each.kind == "key"]
    assert heights == [("CDEFGAB".index(name[0]) + 7 * int(name[1])) - 30 for name in order]


def test_eighths_are_beamed_by_half_measures_and_sixteenths_by_beats():
    beams = [sign for sign in drawn(", ".join(["8 2.0"] * 8))[0] if sign.kind == "beam"]
    assert [beam.onset for beam in beams] == [0, 2]
    beams = [sign for sign in drawn(", ".join(["16 2.0"] * 8 + ["2 2.0"]))[0] if sign.kind == "beam"]
    assert sorted({beam.onset for beam in beams}) == [0, 1]


def test_reached_notes_have_one_slur_over_the_chain_and_an_arc_each_on_the_courses():
    page = engrave(music("8 2.0, 8 h2.2, 8 h2.3, 8 p2.2, 2 2.0")).pages[0]
    kinds = [sign.kind for sign in page.signs]
    assert (kinds.count("slur"), kinds.count("arc"), kinds.count("letter")) == (1, 3, 3)
    assert [sign.text for sign in page.signs if sign.kind == "letter"] == ["H", "H", "P"]
