"""Reading MusicXML as other programs write it: each thing by example, as MusicXML 4.0 defines it."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.errors import FormatError
from tabterm.formats import musicxml
from tabterm.hand.adapt import adapt
from tabterm.instrument import PRESETS
from tabterm.score.kinds import Barline, BendShape, Break, Direction, Reached, Stroke
from tabterm.score.line import silent
from tabterm.score.model import Swing
from tests.build import PLAYER, measure
from tests.build import score as build_score
from tests.formats.musicxml_build import attributes, bars, document, note, read, remarks, sounded, technical

FULL = note("D5", 16)
BACK = "<backup><duration>16</duration></backup>"
BACK_HALF = "<backup><duration>8</duration></backup>"
CHORD = "<chord/>"


def durations(score, index=0):
    return [str(event.duration) for event in score.measures[index].events]


# Time


def test_a_plain_line_and_its_source():
    score = read(note("G4") + note("A4", 2) + note("B4", 2) + note("r") + note("D5"), note("E5", 12) + note("r"))
    assert durations(score) == ["4", "8", "8", "4", "4"]
    assert [event.pitches for event in score.measures[0].source] == [(67,), (69,), (71,), (), (74,)]
    assert [str(event.duration) for event in score.measures[0].source] == durations(score)
    assert score.measures[1].events[0].duration.dots == 1


def test_divisions_change():
    again = "<attributes><divisions>1</divisions></attributes>"
    score = read(note("G4", 16), again + note("G4", 1, type="quarter") * 4)
    assert durations(score, 1) == ["4"] * 4


def test_tuplets():
    """`time-modification`: three in the time of two; nested ones are one ratio."""
    triplet = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    three = (
        attributes(divisions=12)
        + note("D5", 4, type="eighth", after=triplet) * 3
        + note("D5", 36, type="half") * 1
    )
    assert durations(read(three))[:3] == ["8(3:2)"] * 3
    nested = "<time-modification><actual-notes>9</actual-notes><normal-notes>4</normal-notes></time-modification>"
    nine = attributes(time=(2, 4), divisions=36) + note("D5", 8, type="eighth", after=nested) * 9
    assert durations(read(nine)) == ["8(9:4)"] * 9


def test_rounded_durations_follow_the_written_values():
    """A triplet in divisions that three does not go into: the sum is right, the parts are not."""
    triplet = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    beat = "".join(note("D5", length, type="eighth", after=triplet) for length in (1, 1, 2))
    assert durations(read(attributes(time=(1, 4)) + beat)) == ["8(3:2)"] * 3


def test_time_too_fine_to_write_is_rounded():
    odd = attributes(divisions=9973) + note("D5", 1, type="") + note("E5", 39891, type="")
    assert silent(read(odd)).measures[0].length == 4
    long = attributes(divisions=999999999) + note("D5", 999999998, type="")
    assert durations(read(long)) == ["4"]


@pytest.mark.parametrize(
    ("time", "metre", "length"),
    [
        ((6, 8), "6/8", 12),
        (("3+2+2", 8), "7/8(3+2+2)", 14),
        ((5, 4), "5/4", 20),
    ],
)
def test_time_signatures(time, metre, length):
    score = read(attributes(time=time) + note("D5", length, type=""))
    assert str(score.head.metre) == metre
    assert not score.measures[0].short


def test_time_signs_and_composite_signatures():
    sign = "<time symbol='{}'><beats>{}</beats><beat-type>{}</beat-type></time>"
    common = f"<attributes><divisions>4</divisions>{sign}</attributes>"
    assert str(read(common.format("common", 4, 4) + FULL).head.metre) == "C"
    assert str(read(common.format("cut", 2, 2) + FULL).head.metre) == "C|"
    both = "<beats>3</beats><beat-type>8</beat-type><beats>2</beats><beat-type>4</beat-type>"
    composite = f"<attributes><divisions>4</divisions><time>{both}</time></attributes>"
    assert str(read(composite + note("D5", 14, type="")).head.metre) == "7/8(3+4)"


def test_music_without_metre_is_as_long_as_its_measures():
    free = "<attributes><divisions>4</divisions><time><senza-misura/></time></attributes>"
    contents = (free + note("D5") * 7, note("D5") * 3)
    score = read(*contents)
    assert [measure.length for measure in silent(score).measures] == [7, 3]
    assert any("without a metre" in message for message in remarks(*contents))


def test_pickups_and_short_measures():
    score = read(note("A4"), FULL, note("A4", 12))
    assert [measure.short for measure in score.measures] == [True, False, True]
    assert remarks(FULL, note("A4", 12), FULL) == ["incomplete measures stay short"]
    assert remarks(note("A4"), FULL, note("A4", 12), note("A4"), FULL) == []


def test_a_measure_longer_than_its_metre_gets_its_own():
    score = read(FULL, note("D5") * 5, FULL)
    assert [str(metre) for metre in silent(score).metres] == ["4/4", "5/4", "4/4"]


def without_voice(text: str) -> str:
    return re.sub("<voice>.</voice>", "", text)


def test_a_chord_note_without_a_voice_is_of_the_voice_of_its_chord():
    """Two quarters E5 D5 in the first voice; A4 with G4, then B4, in the second."""
    second = note("A4", voice="2") + without_voice(note("G4", before="<chord/>")) + note("B4", voice="2")
    score = read(attributes(time=(2, 4)) + note("E5") + note("D5") + BACK_HALF + second)
    assert [pitches for _, _, pitches in sounded(score)] == [(76, 69, 67), (74, 71)]


def test_without_any_voice_a_step_back_begins_another():
    notes = without_voice(note("E5") + note("D5") + BACK_HALF + note("A4", 8))
    half = attributes(time=(2, 4))
    assert [pitches for _, _, pitches in sounded(read(half + notes))] == [(76, 69), (74,)]
    assert remarks(half + notes) == ["notes of voice 2 take the lengths of the first voice"]


def test_what_sounds_over_its_own_voice_is_kept_or_told():
    """The file says that all of it is one voice; E5 and C5 begin together, B4 begins between two notes."""
    first = note("E5", 4) + note("D5", 4) + note("r", 8)
    score = first + BACK + note("C5", 4) + note("r", 6) + note("B4", 4) + note("r", 2)
    assert [(at, pitches) for at, _, pitches in sounded(read(score))] == [
        (0, (76, 72)),
        (1, (74,)),
        (Fraction(5, 2), (71,)),
    ]
    between = first + BACK + note("r", 2) + note("B4", 4)
    assert remarks(between) == ["notes of another voice between the first voice's notes are left out"]


def test_grace_notes_of_two_voices_on_one_note_are_told():
    grace = note("F5", before='<grace slash="yes"/>'), note("B4", before='<grace slash="yes"/>', voice="2")
    text = grace[0] + note("E5", 16) + BACK + grace[1] + note("A4", 16, voice="2")
    assert remarks(text) == ["grace notes of voice 2 are left out"]


def test_voices_are_one_line_where_they_fit():
    """The second voice: one note with the first, one alone in a rest, one in between."""
    first = note("D5", 8) + note("r", 4) + note("E5", 4)
    second = (
        note("B4", 8, voice="2") + note("G4", 4, voice="2") + note("r", 2, voice="2") + note("A4", 2, voice="2")
    )
    score = read(first + BACK + second)
    assert [pitches for _, _, pitches in sounded(score)] == [(74, 71), (67,), (76,)]
    assert remarks(first + BACK + second) == ["notes of voice 2 between the first voice's notes are left out"]


def test_every_note_of_another_voice_that_is_left_out_is_counted_with_its_voice():
    """A double stop of the third voice begins between two notes of the first."""
    third = note("G4", 2, voice="3") + note("E4", 2, voice="3", before=CHORD)
    assert remarks(FULL + BACK + note("r", 2, voice="3") + third + note("r", 12, voice="3")) == [
        "notes of voice 3 between the first voice's notes are left out (2 times)"
    ]


def test_one_voice_is_read_alone(tmp_path, capsys):
    """The note that lies between those of the first voice is there, in time, and nothing of the first is."""
    second = note("B4", 6, voice="2") + note("A4", 10, voice="2")
    text = note("D5", 4) + note("E5", 12) + BACK + second
    data = document(text)
    alone = musicxml.read(data, voice=2)
    assert [(at, pitches) for at, _, pitches in sounded(alone.music)] == [(0, (71,)), (Fraction(3, 2), (69,))]
    assert alone.report.remarks == ()
    assert [pitches for _, _, pitches in sounded(musicxml.read(data, voice="1").music)] == [(74,), (76,)]
    with pytest.raises(FormatError, match="no notes in voice '7'") as caught:
        musicxml.read(data, voice=7)
    assert caught.value.hint == "one of: 1, 2"
    file = tmp_path / "duet.musicxml"
    file.write_bytes(data)
    assert main(["finger", str(file), "--voice", "2", "--json"]) == 0
    assert '"fret": 2' in capsys.readouterr().out


def test_of_a_tie_that_is_struck_the_reason_is_told():
    """A tie inside a chord is kept: whether a course has it is for the fitting to say."""
    go, stop = '<tied type="start"/>', '<tied type="stop"/>'
    over = note("E5", 16, notations=stop) + note("B5", 16, before="<chord/>")
    assert remarks(note("E5", 16, notations=go), over) == []
    both = note("A3", 16, notations=go) + note("B3", 16, before="<chord/>", notations=go)
    assert remarks(both, note("A3", 16, notations=stop)) == []
    other = attributes(tuned("G3", "D4", "A4", "E5")) + on_string("E5", 1, 0, notations=go)
    assert remarks(other, on_string("E5", 2, 7, notations=stop)) == [
        "ties to another course or fret, or to dead notes, are picked instead"
    ]


def test_backup_and_forward():
    second = "<forward><duration>8</duration></forward>" + note("G4", 8, voice="2")
    score = read(note("D5", 8) + "<forward><duration>8</duration></forward>" + BACK + second)
    assert sounded(score) == [(0, 2, (74,)), (2, 2, (67,))]
    assert "a step back past the start of the measure stops there" in remarks(BACK + FULL)


def test_chords_become_double_stops():
    score = read(note("G4", 16) + note("B4", 16, before=CHORD))
    assert score.measures[0].source[0].pitches == (71, 67)


def test_ties_go_over_bar_lines():
    tied = note("D5", 16, notations='<tied type="start"/>'), note("D5", 16, notations='<tied type="stop"/>')
    score = read(*tied)
    assert sounded(score) == [(0, 8, (74,))]
    assert score.measures[1].source[0].tied
    assert remarks(note("D5", 16), note("E5", 16, notations='<tied type="stop"/>')) == [
        "ties and slurs with no note before them are picked instead"
    ]


def test_a_tie_from_another_pitch_is_none_in_the_source_line():
    score = read(note("D5", 16), note("E5", 16, notations='<tied type="stop"/>'))
    assert [(event.pitches, event.tied) for event in score.measures[1].source] == [((76,), False)]


def test_a_dead_note_that_is_written_in_parts_is_struck_once():
    dead = note("D5", 10, type="", after="<notehead>x</notehead>") + note("E5", 6, type="quarter")
    events = adapt(read(dead), PLAYER).score.measures[0].events
    assert [[note.muted for note in event.notes] for event in events] == [[True], [], [False]]


def test_grace_notes():
    grace = note("C5", before='<grace slash="yes"/>', type="eighth")
    score = read(grace + FULL)
    assert [each.pitch for each in score.measures[0].events[0].grace] == [72]
    assert remarks(FULL + grace) == ["grace notes with no note after them are left out"]
    assert read(FULL + grace, FULL).measures[1].events[0].grace
    assert remarks(grace + note("r", 16)) == ["grace notes before rests are left out"]


def test_breves_and_whole_measure_rests():
    score = read(attributes(time=(4, 2)) + note("D5", 32, type="breve"), note("r", 32, type="whole"))
    assert sounded(score) == [(0, 8, (74,))]
    assert sum(event.length for event in score.measures[1].events) == 8


def test_signs_for_repeated_measures_are_written_out():
    """`measure-repeat`: the number of measures in the pattern."""
    start = (
        '<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes>'
    )
    stop = '<attributes><measure-style><measure-repeat type="stop"/></measure-style></attributes>'
    score = read(note("D5", 8) + note("E5", 8), start + note("r", 16), stop + FULL)
    assert sounded(score) == [(0, 2, (74,)), (2, 2, (76,)), (4, 2, (74,)), (6, 2, (76,)), (8, 4, (74,))]


# Head and bar lines


def test_head():
    head = (
        "<work><work-title>Kiln\n Lane</work-title></work><identification>"
        '<creator type="composer">Old</creator><creator type="arranger">M. N.</creator><rights>free</rights>'
        "</identification>"
    )
    score = read(FULL, head=head)
    assert score.head.title == "Kiln Lane"
    assert score.head.credits == ("Old", "arr. M. N.", "free")
    printed = "<credit><credit-type>title</credit-type><credit-words>Printed</credit-words></credit>"
    assert read(FULL, head=printed).head.title == "Printed"
    assert read(FULL, head="<movement-title>Moved</movement-title>").head.title == "Moved"


@pytest.mark.parametrize(
    ("fifths", "mode", "key"),
    [
        (1, "", "G"),
        (-3, "minor", "Cm"),
        (2, "mixolydian", "A mixolydian"),
        (0, "aeolian", "Am"),
        (-7, "major", "Cb"),
    ],
)
def test_keys(fifths, mode, key):
    sign = f"<key><fifths>{fifths}</fifths>{f'<mode>{mode}</mode>' if mode else ''}</key>"
    assert str(read(attributes(sign) + FULL).head.key) == key


def test_keys_and_metres_change():
    time = "<time><beats>3</beats><beat-type>4</beat-type></time>"
    change = f"<attributes><key><fifths>2</fifths></key>{time}</attributes>"
    score = read(FULL, change + note("D5", 12), change + note("D5", 12))
    assert [str(key) for key in silent(score).keys] == ["C", "D", "D"]
    assert [measure.metre is not None for measure in score.measures] == [False, True, False]


def test_tempo_with_a_dotted_beat():
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        '<per-minute>ca. 112</per-minute></metronome></direction-type><sound tempo="168"/></direction>'
    )
    assert str(read(mark + FULL).head.tempo) == "3/8=112"
    assert str(read('<sound tempo="90"/>' + FULL).head.tempo) == "1/4=90"
    later = read(FULL, note("D5", 8) + '<sound tempo="90"/>' + note("D5", 8), FULL)
    assert [str(tempo) for tempo in silent(later).tempos] == ["1/4=100", "1/4=100", "1/4=90"]


def test_swing():
    """MusicXML 4.0, `swing`: first and second of a pair of eighths or sixteenths."""
    told = "<sound><swing><first>3</first><second>2</second><swing-type>16th</swing-type></swing></sound>"
    assert read(told + FULL).head.swing == Swing(unit=16, long=3, short=2)
    assert read("<sound><swing><straight/></swing></sound>" + FULL).head.swing is None


def test_words_and_rehearsal_marks():
    def over(what):
        return f"<direction><direction-type>{what}</direction-type></direction>"

    score = read(over("<rehearsal>B part</rehearsal>") + over("<words>slow\n here</words>") + FULL)
    assert (score.measures[0].section, score.measures[0].remark) == ("B part", "slow here")
    jump = (
        '<direction><direction-type><words>D.C. al Fine</words></direction-type><sound dacapo="yes"/></direction>'
    )
    assert remarks(FULL + jump) == [
        "jumps (da capo, dal segno, coda, fine) are left out; their words become remarks"
    ]


def barline(where, style="", repeat="", ending=""):
    inside = (f"<bar-style>{style}</bar-style>" if style else "") + ending + repeat
    return f'<barline location="{where}">{inside}</barline>'


def test_repeats_and_endings():
    forward, backward = '<repeat direction="forward"/>', '<repeat direction="backward"/>'
    first, last = '<ending number="1" type="{}"/>', '<ending number="2,3" type="{}"/>'
    score = read(
        barline("left", "heavy-light", forward) + FULL,
        barline("left", ending=first.format("start")) + FULL,
        FULL + barline("right", "light-heavy", '<repeat direction="backward" times="3"/>', first.format("stop")),
        barline("left", ending=last.format("start")) + FULL + barline("right", ending=last.format("discontinue")),
        FULL + barline("right", "light-light"),
        FULL + barline("right", "light-heavy", backward),
    )
    found = [(each.repeat_start, each.repeat_times, each.endings, each.barline.value) for each in score.measures]
    assert found == [
        (True, 0, (), "single"),
        (False, 0, (1,), "single"),
        (False, 3, (1,), "single"),
        (False, 0, (2, 3), "single"),
        (False, 0, (), "double"),
        (False, 2, (), "final"),
    ]


def test_a_repeat_that_begins_on_the_right_of_a_measure_begins_the_next():
    forward = barline("right", "heavy-light", '<repeat direction="forward"/>')
    score = read(FULL + forward, FULL + barline("right", "", '<repeat direction="backward"/>'))
    assert [each.repeat_start for each in score.measures] == [False, True]


def test_words_that_are_too_long_are_cut_and_said_to_be():
    kinds = "<words>{}</words>", "<rehearsal>{}</rehearsal>"
    words, mark = (f"<direction><direction-type>{kind}</direction-type></direction>" for kind in kinds)
    contents = words.format("slow " * 120) + mark.format("Part " * 10) + FULL
    assert remarks(contents) == [
        "text over a measure is cut after 40 characters",
        "text over a measure is cut after 500 characters",
    ]
    assert len(read(contents).measures[0].remark) == 500


# Chord symbols


def harmony(root, kind, text=None, bass="", *degrees):
    said = "" if text is None else f' text="{text}"'
    alter = {"b": "<root-alter>-1</root-alter>", "#": "<root-alter>1</root-alter>"}.get(root[1:], "")
    under = f"<bass><bass-step>{bass}</bass-step></bass>" if bass else ""
    more = "".join(
        f"<degree><degree-value>{value}</degree-value><degree-alter>{by}</degree-alter>"
        f"<degree-type>{how}</degree-type></degree>"
        for value, by, how in degrees
    )
    on = f"<root><root-step>{root[0]}</root-step>{alter}</root>"
    return f"<harmony>{on}<kind{said}>{kind}</kind>{under}{more}</harmony>"


@pytest.mark.parametrize(
    ("symbol", "written"),
    [
        ("G", harmony("G", "major")),
        ("Bbm7b5", harmony("Bb", "half-diminished")),
        ("F#ø", harmony("F#", "half-diminished", "ø")),
        ("D/F", harmony("D", "major", "", "F")),
        ("A7b9", harmony("A", "dominant", None, "", (9, -1, "add"))),
        ("A7b9", harmony("A", "dominant", "7", "", (9, -1, "add"))),
        ("A7(b9)", harmony("A", "dominant", "7(♭9)", "", (9, -1, "add"))),
        ("A7sus4", harmony("A", "suspended-fourth", None, "", (7, 0, "add"))),
        ("CMajor7", harmony("C", "major-seventh", "Major 7")),
        ("CM7", harmony("C", "major-seventh", "M7")),
        ("Cno3", harmony("C", "major", None, "", (3, 0, "subtract"))),
        ("Galt", harmony("G", "other", "alt")),
        ("N.C.", harmony("C", "none", "no chord")),
        ("N.C.", harmony("C", "none")),
    ],
)
def test_chord_symbols(symbol, written):
    assert read(written + FULL).measures[0].chords[0].symbol == symbol


def test_chord_symbols_stand_at_their_moments():
    offset = harmony("C", "major").replace("</harmony>", "<offset>2</offset></harmony>")
    score = read(harmony("G", "major") + note("D5", 8) + offset + note("D5", 8))
    assert [(mark.offset, mark.symbol) for mark in score.measures[0].chords] == [(0, "G"), (Fraction(5, 2), "C")]


# Strings and marks


def on_string(pitch, string, fret, *marks, length=16, notations=""):
    return note(pitch, length, notations=technical(string, fret, *marks) + notations)


def first(contents, **more):
    return read(contents, **more).measures[0].events[0]


def test_strings_frets_and_fingers_of_four_courses():
    score = read(on_string("D5", 2, 5, "<fingering>3</fingering>"))
    event = score.measures[0].events[0]
    assert (event.notes[0].course, event.notes[0].fret, event.notes[0].finger) == (2, 5, 3)
    assert score.head.instrument == PRESETS["mandolin"]
    assert score.measures[0].source == ()


@pytest.mark.parametrize(
    ("element", "mark"),
    [
        ("<technical><down-bow/></technical>", {"stroke": Stroke.DOWN}),
        ("<technical><up-bow/></technical>", {"stroke": Stroke.UP}),
        ("<articulations><accent/></articulations>", {"accent": True}),
        ("<articulations><strong-accent/></articulations>", {"accent": True}),
        ("<articulations><staccato/></articulations>", {"staccato": True}),
        ('<ornaments><tremolo type="single">3</tremolo></ornaments>', {"tremolo": True}),
        ('<ornaments><tremolo type="unmeasured">0</tremolo></ornaments>', {"tremolo": True}),
        ("<arpeggiate/>", {"roll": Direction.UP}),
        ('<arpeggiate direction="down"/>', {"roll": Direction.DOWN}),
    ],
)
def test_marks_of_events(element, mark):
    event = first(note("D5", 16, notations=element))
    assert {name: getattr(event, name) for name in mark} == mark


@pytest.mark.parametrize(
    ("element", "mark"),
    [
        ("<articulations><scoop/></articulations>", {"slide_in": Direction.UP}),
        ("<articulations><plop/></articulations>", {"slide_in": Direction.DOWN}),
        ("<articulations><doit/></articulations>", {"slide_out": Direction.UP}),
        ("<articulations><falloff/></articulations>", {"slide_out": Direction.DOWN}),
        ('<tied type="let-ring"/>', {"ring": True}),
        ('<ornaments><wavy-line type="start"/></ornaments>', {"vibrato": True}),
        ("<ornaments><trill-mark/><wavy-line type='start'/></ornaments>", {"vibrato": False}),
    ],
)
def test_marks_of_notes(element, mark):
    found = first(note("D5", 16, notations=element)).notes[0]
    assert {name: getattr(found, name) for name in mark} == mark


def test_dead_notes():
    assert first(note("D5", 16, after="<notehead>x</notehead>")).notes[0].muted


def test_a_wave_goes_over_several_notes():
    wave = '<ornaments><wavy-line type="{}"/></ornaments>'
    score = read(
        note("D5", notations=wave.format("start"))
        + note("E5")
        + note("F5", notations=wave.format("stop"))
        + note("G5")
    )
    assert [event.notes[0].vibrato for event in score.measures[0].events] == [True, True, True, False]


@pytest.mark.parametrize(
    ("bends", "cents", "shape"),
    [
        ("<bend><bend-alter>1</bend-alter></bend>", 100, BendShape.RISE),
        (
            "<bend><bend-alter>0.5</bend-alter></bend><bend><bend-alter>-0.5</bend-alter><release/></bend>",
            50,
            BendShape.RISE_AND_FALL,
        ),
        (
            "<bend><bend-alter>2</bend-alter><pre-bend/></bend><bend><bend-alter>-2</bend-alter><release/></bend>",
            200,
            BendShape.FALL,
        ),
    ],
)
def test_bends(bends, cents, shape):
    bend = first(on_string("D5", 2, 5, bends)).notes[0].bend
    assert (bend.cents, bend.shape) == (cents, shape)


def test_hammer_ons_pull_offs_and_slides():
    """Each has a start and a stop; a note in the middle of a chain has both."""

    def pair(tag, kind):
        return f'<{tag} type="{kind}" number="1">{"H" if kind == "start" else ""}</{tag}>'

    slide = '<slide type="{}" number="1"/>'
    score = read(
        on_string("D4", 3, 0, pair("hammer-on", "start"), length=4)
        + on_string("E4", 3, 2, pair("hammer-on", "stop"), pair("pull-off", "start"), length=4)
        + on_string("D4", 3, 0, pair("pull-off", "stop"), length=4, notations=slide.format("start"))
        + on_string("F4", 3, 3, length=4, notations=slide.format("stop"))
    )
    assert [event.notes[0].reached for event in score.measures[0].events] == [
        *(Reached.STRUCK, Reached.HAMMER, Reached.PULL, Reached.SLIDE)
    ]


def test_short_slurs_are_hammer_ons_and_pull_offs_and_long_ones_phrases():
    def slurred(*pitches):
        ends = {0: "start", len(pitches) - 1: "stop"}
        return "".join(
            note(pitch, 2, notations=f'<slur type="{ends[at]}" number="1"/>' if at in ends else "")
            for at, pitch in enumerate(pitches)
        )

    score = read(slurred("D5", "E5", "C5") + note("r", 10, type=""))
    reached = [event.notes[0].reached.value for event in score.measures[0].events if event.notes]
    assert reached == ["struck", "hammer", "pull"]
    phrase = slurred("D5", "E5", "F5", "G5", "A5") + note("r", 6)
    assert all(
        event.notes[0].reached is Reached.STRUCK for event in read(phrase).measures[0].events if event.notes
    )
    assert remarks(phrase) == ["slurs over more than 4 notes are read as phrase marks and left out"]


# Instruments


def tuned(*pitches, capo=0):
    """A tablature staff whose lines are tuned so, the lowest first."""
    inside = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{pitch[0]}</tuning-step>'
        f"<tuning-octave>{pitch[1]}</tuning-octave></staff-tuning>"
        for line, pitch in enumerate(pitches, 1)
    )
    held = f"<capo>{capo}</capo>" if capo else ""
    count = f"<staff-lines>{len(pitches)}</staff-lines>"
    return f"<clef><sign>TAB</sign></clef><staff-details>{count}{inside}{held}</staff-details>"


@pytest.mark.parametrize(
    ("pitches", "name", "word"),
    [
        (("G3", "D4", "A4", "E5"), "Fiddle", "mandolin"),
        (("G2", "D3", "A3", "E4"), "Octave mandolin", "octave-mandolin"),
        (("C3", "G3", "D4", "A4"), "Tenor banjo", "tenor-banjo"),
        (("C3", "G3", "D4", "A4"), "Anything", "mandola"),
    ],
)
def test_a_tuning_tells_the_instrument(pitches, name, word):
    assert read(attributes(tuned(*pitches)) + on_string("D5", 1, 5), name=name).head.instrument == PRESETS[word]


def test_an_unknown_tuning_of_four_makes_an_instrument():
    score = read(attributes(tuned("D3", "A3", "D4", "A4")) + on_string("B4", 1, 2), name="Cellar")
    assert score.head.instrument.name == "Cellar"
    assert [course.pitch for course in score.head.instrument.courses] == [69, 62, 57, 50]
    assert score.measures[0].source == ()


def test_a_capo_tunes_the_instrument_higher():
    """`capo` changes the open tuning by so many semitones (MusicXML 4.0)."""
    score = read(attributes(tuned("G3", "D4", "A4", "E5", capo=2)) + on_string("F#5", 1, 0))
    instrument = score.head.instrument
    assert [course.pitch for course in instrument.courses] == [78, 71, 64, 57]
    assert instrument.frets == 18
    assert instrument.scale_length_mm == pytest.approx(352.425 * 2 ** (-2 / 12))


@pytest.mark.parametrize("capo", [-30, -3, 0])
def test_a_capo_below_the_nut_is_none(capo):
    score = read(attributes(tuned("G3", "D4", "A4", "E5", capo=capo)) + on_string("E5", 1, 0))
    assert score.head.instrument == PRESETS["mandolin"]


def test_six_strings_are_read_as_pitches():
    contents = attributes(tuned("E2", "A2", "D3", "G3", "B3", "E4")) + on_string(
        "G3", 3, 0, "<fingering>0</fingering>"
    )
    score = read(contents)
    assert score.head.instrument == PRESETS["mandolin"]
    assert [event.pitches for event in score.measures[0].source] == [(55,)]
    assert [(each.pitch, each.finger) for each in score.measures[0].events[0].notes] == [(55, None)]
    assert any("for 6 strings" in message for message in remarks(contents))


def test_transposing_instruments_sound_elsewhere():
    """`transpose`: semitones from what is written to what sounds, and octaves beside."""
    down = (
        "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change></transpose>"
    )
    score = read(attributes(down) + note("D6", 16))
    assert score.measures[0].source[0].pitches == (72,)


def test_key_and_chord_symbols_of_a_transposing_instrument_sound_elsewhere_too():
    """A part in D for an instrument in B flat sounds in C, its chord symbols as well (the editor of the standard
    in discussion 474 of its repository: "the chords are transposed as well")."""
    down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    written = "<harmony><root><root-step>{}</root-step></root><kind>{}</kind>{}</harmony>"
    first = written.format("D", "major", "") + note("D5", 8) + written.format("A", "dominant", "") + note("A4", 8)
    over = written.format("B", "minor", "<bass><bass-step>F</bass-step><bass-alter>1</bass-alter></bass>")
    signs = attributes(down).replace("<time>", "<key><fifths>2</fifths></key><time>")
    flats = "<attributes><key><fifths>0</fifths><mode>minor</mode></key></attributes>"
    score = read(signs + first, over + note("B4", 16), flats + over + note("B4", 16))
    assert str(score.head.key) == "C"
    assert [mark.symbol for mark in score.measures[0].chords] == ["C", "G7"]
    assert score.measures[1].chords[0].symbol == "Am/E"
    assert str(score.measures[2].key) == "Gm"


def test_octaves_of_an_instrument_leave_its_key_alone():
    down = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    signs = attributes(down).replace("<time>", "<key><fifths>-5</fifths></key><time>")
    assert str(read(signs + note("D5", 16)).head.key) == "Db"


def test_a_tablature_staff_is_folded_onto_the_notation():
    """Two staves of one part say the same: notes once, with strings from one and words from the other."""
    staves = "<staves>2</staves><clef number='1'><sign>G</sign></clef>" + tuned("G3", "D4", "A4", "E5").replace(
        "<clef>", "<clef number='2'>"
    ).replace("<staff-details>", "<staff-details number='2'>")
    bow = "<technical><down-bow/></technical>"
    above = note("D5", 8, staff="1", notations=bow) + note("E5", 8, staff="1")
    below = note("D5", 8, staff="2", voice="5", notations=technical(2, 5)) + note(
        "E5", 8, staff="2", voice="5", notations=technical(2, 7)
    )
    contents = attributes(staves) + above + BACK + below
    score = read(contents)
    assert [(each.notes[0].course, each.notes[0].fret) for each in score.measures[0].events] == [(2, 5), (2, 7)]
    assert score.measures[0].events[0].stroke is Stroke.DOWN
    assert remarks(contents) == []
    wrong = attributes(staves) + above + BACK + below.replace("<step>E</step>", "<step>F</step>")
    assert "notes that are only in the tablature are left out" in remarks(wrong)


def test_grace_notes_at_the_end_of_a_measure_ornament_the_next_note_of_their_voice():
    late = note("E5", before="<grace/>")
    score = read(note("D5", 16) + late + BACK + note("G4", 16, voice="2"), note("F5", 16))
    graces = [len(event.grace) for measure in score.measures for event in measure.events]
    assert graces == [0, 1]


@pytest.mark.parametrize(
    ("length", "metre"), [("29.2", "59/32"), ("56.25", "57/16"), ("100", "25/4"), ("1582.1", "99/1")]
)
def test_a_measure_that_is_too_long_gets_a_metre_that_holds_it(length, metre):
    """Quarters are 4 divisions; of as many units as a metre can have at most."""
    long = f"<note><pitch><step>D</step><octave>5</octave></pitch><duration>{length}</duration></note>"
    score = read(FULL, long, FULL)
    assert str(score.measures[1].metre) == metre
    assert "measures longer than their time signature get their own" in remarks(FULL, long, FULL)
    assert str(score.measures[2].metre) == "4/4"


def test_a_voice_is_followed_over_to_another_staff():
    """A chord goes where its first note goes; the left hand beside it stays left out."""
    chord = note("F4", 4, staff="2", before="<chord/>")
    right = note("D5", staff="1") * 2 + note("A4", staff="2") + chord + note("D5", staff="1")
    left = note("D3", 16, staff="2", voice="5")
    contents = attributes("<staves>2</staves>") + right + BACK + left
    assert [event.pitches for event in read(contents).measures[0].source] == [(74,), (74,), (69, 65), (74,)]
    assert remarks(contents) == ["notes of staff 2 are left out: only staff 1 is read"]


def test_voices_that_both_staves_count_from_one_are_two():
    right = note("D5", 8, staff="1") + note("r", 8, staff="1")
    contents = attributes("<staves>2</staves>") + right + BACK + note("D3", 16, staff="2")
    assert [event.pitches for event in read(contents, note("C5", 8, staff="1")).measures[0].source] == [(74,), ()]
    later = note("D3", 8, staff="1") + note("D3", 8, staff="2")
    assert [event.pitches for event in read(contents, later).measures[1].source] == [(50,), ()]


def test_the_left_hand_of_a_piano_is_left_out():
    contents = (
        attributes("<staves>2</staves>") + note("D5", 16, staff="1") + BACK + note("D3", 16, staff="2", voice="5")
    )
    assert sounded(read(contents)) == [(0, 4, (74,))]
    assert remarks(contents) == ["notes of staff 2 are left out: only staff 1 is read"]


# Parts


def several(*parts, root="score-partwise"):
    """Parts as (id, name, measures)."""
    listed = "".join(
        f'<score-part id="{key}"><part-name>{name}</part-name></score-part>' for key, name, _ in parts
    )
    music = "".join(f'<part id="{key}">{bars(*contents)}</part>' for key, _, contents in parts)
    return f"<{root}><part-list>{listed}</part-list>{music}</{root}>".encode()


BAND = (
    ("P1", "Drums", ["<note><unpitched/><duration>16</duration></note>"]),
    ("P2", "Flute", [note("C6", 16)]),
    ("P3", "Mandolin", [on_string("D5", 2, 5)]),
    ("P4", "Flute 2", [note("C5", 16)]),
)


def test_the_likeliest_part_is_read():
    reading = musicxml.read(several(*BAND))
    assert sounded(reading.music) == [(0, 4, (74,))]
    assert reading.report.remarks[0].message == (
        "only part 3 'Mandolin' (P3) is read; the others: 1 'Drums' (P1), 2 'Flute' (P2), 4 'Flute 2' (P4)"
    )
    assert sounded(musicxml.read(several(*BAND[:2])).music) == [(0, 4, (84,))]


@pytest.mark.parametrize(
    ("wanted", "pitch"), [(4, 72), ("4", 72), ("P2", 84), ("flute 2", 72), ("flute", 84), ("man", 74)]
)
def test_parts_are_chosen_by_number_id_or_name(wanted, pitch):
    assert sounded(musicxml.read(several(*BAND), part=wanted).music) == [(0, 4, (pitch,))]


@pytest.mark.parametrize(
    ("wanted", "message"), [("Horn", "no part 'Horn'"), ("9", "no part '9'"), ("drums", "is percussion")]
)
def test_parts_that_cannot_be_read(wanted, message):
    with pytest.raises(FormatError, match=message) as caught:
        musicxml.read(several(*BAND), part=wanted)
    assert "2 'Flute' (P2)" in caught.value.hint


def test_four_strings_in_fifths_go_before_a_bass():
    bass = ("P1", "Bass", [attributes(tuned("E1", "A1", "D2", "G2")) + on_string("G2", 1, 0)])
    mandola = ("P2", "Mandola", [attributes(tuned("C3", "G3", "D4", "A4")) + on_string("A4", 1, 0)])
    assert musicxml.read(several(bass, mandola)).music.head.instrument == PRESETS["mandola"]
    assert musicxml.read(several(("P0", "Voice", [FULL]), bass)).music.head.instrument.name == "Bass"


def test_timewise_files_are_read():
    contents = [attributes() + note("D5", 16), note("E5", 16)]
    timewise = "".join(
        f'<measure number="{number}"><part id="P1">{each}</part></measure>' for number, each in enumerate(contents)
    )
    listed = '<part-list><score-part id="P1"><part-name>Fiddle</part-name></score-part></part-list>'
    score = musicxml.read(f"<score-timewise>{listed}{timewise}</score-timewise>".encode()).music
    assert sounded(score) == [(0, 4, (74,)), (4, 4, (76,))]


# What is left out is said


def test_what_is_left_out_is_said_once_with_its_line():
    lyric = note("D5", 8).replace("</note>", "\n<lyric><text>la</text></lyric></note>")
    reading = musicxml.read(document(lyric * 2, "<zither-mark/>" + FULL))
    assert [(remark.line, remark.message) for remark in reading.report.remarks] == [
        (4, "lyrics are left out (2 times)"),
        (5, "<zither-mark> is not understood and left out"),
    ]


def test_the_breaks_of_another_page_are_left_out_and_our_own_are_kept():
    """Most programs write those of their own page; `print` as in MusicXML 4.0."""
    ours = measure("1 1.0", break_before=Break.PAGE), measure("1 1.0", break_before=Break.SYSTEM)
    written = musicxml.write(build_score("1 1.0", *ours)).data
    assert b'<print new-page="yes"/>' in written
    assert [each.break_before for each in musicxml.read(written).music.measures] == [
        None,
        Break.PAGE,
        Break.SYSTEM,
    ]
    foreign = written.replace(b'name="tabterm"', b'name="other"')
    assert [each.break_before for each in musicxml.read(foreign).music.measures] == [None] * 3


def test_layout_is_no_loss():
    dressed = note("D5", 16, after="<stem>up</stem>") + "<print new-system='yes'/>"
    assert remarks(dressed) == []


# Through the program


def test_the_commands_take_the_files(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    path = tmp_path / "Kiln Lane für zwei.musicxml"
    path.write_bytes(document(note("D5", 8) + note("E5", 8), FULL))
    assert main(["show", str(path)]) == 0
    assert main(["convert", str(path), str(tmp_path / "line.mxl")]) == 0
    assert sounded(formats.read(tmp_path / "line.mxl").music) == [(0, 2, (74,)), (2, 2, (76,)), (4, 4, (74,))]
    path.write_bytes(b"<html/>")
    assert main(["show", str(path)]) == 2
    error = capsys.readouterr().err.strip().splitlines()[-1]
    assert error.endswith("not a MusicXML score: the outermost element is <html> (check the file's extension)")


def test_final_bar_lines():
    assert read(FULL + barline("right", "light-heavy")).measures[0].barline is Barline.FINAL


def test_a_note_that_is_held_into_a_chord_is_held_in_the_source_line():
    start, stop = '<tied type="start"/>', '<tied type="stop"/>'
    chord = note("E5", 8) + note("C5", 8, before=CHORD, notations=stop)
    score = read(note("C5", 8, notations=start) + chord)
    assert [(event.pitches, event.held) for event in score.measures[0].source] == [((72,), ()), ((76, 72), (72,))]
