"""Writing ABC, and reading back what was written."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings

from tabterm import formats
from tabterm.formats import abc
from tabterm.hand.proposals import with_hands
from tabterm.instrument import PRESETS
from tabterm.performance import playing_order
from tabterm.score.duration import Tuplet
from tabterm.score.key import Key
from tabterm.score.kinds import Barline, Stroke, StrokeSchool
from tabterm.score.line import silent
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Note, Swing
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile
from tabterm.score.query import after_double_bar, passages
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, score
from tests.strategies import scores

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))


def written(music):
    return abc.write(music).data.decode().split("\nK:", 1)[1].split("\n", 1)[1]


def sounding(music):
    """Duration, pitches, whether it is tied, and the chords of every event."""
    instrument = music.head.instrument
    return [
        [
            (each.duration, sorted(instrument.pitch(note.course, note.fret) for note in each.notes))
            for each in bar.events
        ]
        for bar in music.measures
    ]


def test_a_measure_as_a_person_would_write_it():
    music = score(
        measure("8 2.0,8 2.2,8 1.0,8 h1.2,4 1.3 2.2,4"), key=Key.parse("G"), tempo=Tempo(96.0), title="Five & one"
    )
    assert abc.write(music).data.decode() == (
        '%abc-2.1\nX:1\nT:Five & one\nM:4/4\nL:1/8\nQ:1/4=96\nK:G\nAB (e"^H"f) [gB]2 z2 |\n'
    )


def test_an_accidental_is_written_wherever_a_reader_could_take_it_otherwise():
    music = score("4 1.1,4 3.3,4 3.4,4 1.2", key=Key.parse("C"))
    assert written(music) == "f2 F2 ^F2 ^f2 |\n"
    music = score("4 3.4,4 1.1,4 3.3,4 1.2", key=Key.parse("C"))
    assert written(music) == "^F2 =f2 =F2 ^f2 |\n"


def test_strokes_and_fingers():
    down = event("4 2.2", stroke=Stroke.DOWN)
    up = event("4 1.3", stroke=Stroke.UP)
    fingered = down.with_(notes=(down.notes[0].with_(finger=1),))
    assert written(score(measure("2").with_(events=(fingered, up, event("2"))))) == "v!1!B2 ug2 z4 |\n"


def test_what_is_not_carried_is_said_with_its_measure():
    bent = event("1 2.2").notes[0].with_(vibrato=True)
    shaken = measure("1").with_(events=(event("1 2.2").with_(notes=(bent,)),))
    music = score("1 2.2", shaken, shaken)
    assert [(remark.message, remark.place) for remark in abc.write(music).report.remarks] == [
        ("courses and frets are lost: ABC has only pitches", None),
        ("vibrato is lost (2 times)", Place(1)),
    ]


def test_of_the_head_it_is_said_what_is_not_carried():
    music = score(
        "1 2.2",
        instrument=PRESETS["tenor-banjo"],
        hand=HandProfile(span_mm=150.0),
        school=next(each for each in StrokeSchool if each is not StrokeSchool.BEAT),
        swing=Swing(),
    )
    said = [remark.message for remark in abc.write(music).report.remarks]
    assert said == [
        "courses and frets are lost: ABC has only pitches",
        "the instrument, Tenor banjo, is lost",
        "the hand of the score is lost",
        "swing 2:1 is lost",
        "picking schools are lost; the strokes stay",
    ]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_come_back_with_all_that_sounds(path):
    music = with_hands(formats.read(path).music, PLAYER)
    back = abc.read(abc.write(music).data).music
    assert [[(each.duration, sorted(each.pitches)) for each in bar.source] for bar in back.measures] == sounding(
        music
    )
    assert [bar.chords for bar in back.measures] == [bar.chords for bar in music.measures]
    assert (back.head.title, back.head.key, back.head.tempo) == (
        music.head.title,
        music.head.key,
        music.head.tempo,
    )
    shown = [each.stroke_shown for bar in music.measures for each in bar.events if each.takes_stroke]
    assert [each.stroke for bar in back.measures for each in bar.events if _struck(each)] == shown


def _struck(moment):
    return any(note.is_struck for note in (*moment.notes, *moment.grace))


def repeats(music):
    return [(bar.repeat_start, bar.repeat_times, bar.endings) for bar in music.measures]


@given(scores(max_measures=4))
@settings(max_examples=40, deadline=None)
def test_any_score_comes_back_with_the_same_lengths_and_pitches(music):
    back = silent(abc.read(abc.write(music).data).music)
    assert [bar.length for bar in back.measures] == [bar.length for bar in music.measures]
    in_tuplets = {each.duration.tuplet for bar in music.measures for each in bar.events}
    if all(tuplet is None or max(tuplet.actual, tuplet.normal) <= 9 for tuplet in in_tuplets - {Tuplet(1, 1)}):
        read_back = [[(each.duration, sorted(each.pitches)) for each in bar.source] for bar in back.measures]
        assert read_back == [
            [(length, sorted(set(pitches))) for length, pitches in bar] for bar in sounding(music)
        ]
    assert [str(metre) for metre in back.metres] == [str(metre) for metre in music.metres]
    assert back.keys == music.keys
    assert [bar.repeat_times for bar in back.measures] == [bar.repeat_times for bar in music.measures]
    assert playing_order(back) == playing_order(music)
    written = {index for index, bar in enumerate(music.measures) if bar.repeat_start}
    read_back = {index for index, bar in enumerate(back.measures) if bar.repeat_start}
    doubled = {
        each.start for each in passages(music.measures) if after_double_bar(music.measures, each) is not None
    }
    assert read_back == written | doubled


@pytest.mark.parametrize(
    ("bars", "starts"),
    [
        ("a a|| a a:|", [0]),
        ("a a a:|", []),
        ("a|| |:a a:| a", [1]),
        ("|:a a|| a:|", [0]),
        ("a:| a|| a:|", [1]),
        ("a|| a a", []),
    ],
)
def test_a_repeat_over_a_double_bar_has_its_start_written(bars, starts):
    """Read by the standard (2.1, section 4.8), the repeat would go back to the double bar line alone."""
    music = score(
        *(
            measure("1 1.0").with_(
                repeat_start=word.startswith("|:"),
                repeat_times=2 * word.endswith(":|"),
                barline=Barline.DOUBLE if word.endswith("||") else Barline.SINGLE,
            )
            for word in bars.split()
        )
    )
    back = silent(abc.read(abc.write(music).data).music)
    assert [index for index, bar in enumerate(back.measures) if bar.repeat_start] == starts
    assert playing_order(back) == playing_order(music)
    assert [bar.barline for bar in back.measures] == [bar.barline for bar in music.measures]


def test_endings_come_back():
    first = measure("1 1.0")
    ends = (
        first.with_(endings=(1,), repeat_times=2),
        first.with_(endings=(2,)),
        first,
        first.with_(repeat_start=True),
    )
    music = score(first.with_(repeat_start=True), *ends, metre="4/4")
    assert repeats(abc.read(abc.write(music).data).music) == repeats(music)
    assert "the ending is closed by a double bar" in abc.write(music).report.remarks[-1].message


def test_a_double_bar_inside_an_ending_does_not_end_it():
    bar = measure("1 1.0")
    first = bar.with_(endings=(1,), barline=Barline.DOUBLE)
    music = score(first, bar.with_(endings=(1,), repeat_times=2), bar.with_(endings=(2,)))
    assert repeats(abc.read(abc.write(music).data).music) == repeats(music)


@pytest.mark.parametrize("words", ["2", "12", "H", "^up", "<hold>", "@home", "a &amp; b", "50 % \\ more"])
def test_words_come_back_as_words(words):
    music = score(measure("1 1.3").with_(remark=words, section=words))
    back = abc.read(abc.write(music).data).music.measures[0]
    assert (back.remark, back.section) == (words, words)
    assert all(note.finger is None for note in back.events[0].notes)


def test_a_chord_symbol_without_a_root_is_written_as_words():
    music = score(measure("1 1.3").with_(chords=(ChordMark(offset=Fraction(0), symbol="2"),)))
    back = abc.read(abc.write(music).data).music.measures[0]
    assert (back.remark, back.chords) == ("2", ())
    assert "a chord symbol without a root is written as words" in abc.write(music).report.remarks[-1].message


def test_metres_of_every_kind_come_back():
    for text in ("4/4", "C", "C|", "6/8", "7/8(3+2+2)"):
        metre = Metre.parse(text)
        music = score(
            *silent(
                abc.read(
                    b"X:1\nL:1/8\nM:%b\nK:C\nz%d|\n"
                    % (
                        (f"({'+'.join(map(str, metre.groups))})/8" if metre.groups else text).encode(),
                        int(metre.length * 2),
                    )
                ).music
            ).measures,
            metre=text,
        )
        assert abc.read(abc.write(music).data).music.head.metre == metre


def test_a_slur_from_a_grace_note_is_told():
    slurred = event("4 p1.2").with_(grace=(Note(course=1, fret=4),))
    plain = score("4 1.0,4 1.2,2 1.0")
    first, _, last = plain.measures[0].events
    writing = abc.write(plain.with_(measures=(plain.measures[0].with_(events=(first, slurred, last)),)))
    assert "(" not in writing.data.decode().splitlines()[-1]
    said = "slurs from grace notes are lost", Place(0)
    assert said in [(remark.message, remark.place) for remark in writing.report.remarks]
