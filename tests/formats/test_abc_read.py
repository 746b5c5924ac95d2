"""Reading ABC, by the abc standard 2.1 (December 2011); sections are named beside the checks."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import FormatError
from tabterm.formats import abc, text
from tabterm.formats.abc.fields import parse_key, parse_metre, parse_tempo, usual_length
from tabterm.hand.adapt import adapt
from tabterm.page.cells import View, source_cells
from tabterm.performance import playing_order
from tabterm.score.comparison import differences
from tabterm.score.kinds import Barline, Direction, Reached, Stroke
from tabterm.score.line import silent
from tabterm.score.metre import Metre
from tabterm.score.tempo import Tempo
from tests.build import PLAYER


def tune(body, key="C", metre="4/4", unit="1/8", **more):
    head = "".join(f"{letter}:{text}\n" for letter, text in {"M": metre, "L": unit, **more}.items())
    return f"X:1\nT:Test\n{head}K:{key}\n{body}\n".encode()


def read(body, **head):
    return abc.read(tune(body, **head))


def pitches(reading):
    return [pitch for measure in reading.music.measures for event in measure.source for pitch in event.pitches]


def lengths(reading):
    return [str(event.duration) for measure in reading.music.measures for event in measure.events]


def remarks(reading):
    return [remark.message for remark in reading.report.remarks]


# Pitch: sections 4.1 and 4.2 of the standard


def test_letters_are_octaves_from_middle_c():
    assert pitches(read("C,, C, C c c' c''")) == [36, 48, 60, 72, 84, 96]


def test_an_accidental_reaches_over_its_bar_and_all_octaves():
    assert pitches(read("^F F f | F")) == [66, 66, 78, 65]
    assert pitches(read("^^F __B =F | _e =e")) == [67, 69, 65, 75, 76]


def test_how_far_an_accidental_reaches_can_be_said():  # 11.3
    assert pitches(read("%%propagate-accidentals octave\n^F F f |")) == [66, 66, 77]
    assert pitches(read("I:propagate-accidentals not\n^F F f |")) == [66, 65, 77]


def test_the_key_alters_letters_and_a_change_holds_from_there():
    assert pitches(read("F B | [K:Bb] F B |", key="D")) == [66, 71, 65, 70]


@pytest.mark.parametrize(
    ("text", "sharps"),
    [
        ("G", "F"),
        ("Em", "F"),
        ("A dor", "F"),
        ("D mixolydian", "F"),
        ("C lydian", "F"),
        ("F#locrian", "F"),
        ("B Phrygian", "F"),
        ("Gmaj", "F"),
        ("D", "FC"),
        ("Amix", "FC"),
        ("E minor", "F"),
    ],
)
def test_modes_have_their_signatures(text, sharps):  # the table of 3.1.14
    assert parse_key(text).signature == dict.fromkeys(sharps, 1)


def test_accidentals_change_a_signature_one_by_one():
    assert parse_key("D Phr ^f").signature == {"B": -1, "E": -1, "F": 1}
    assert parse_key("D exp _b _e ^f").signature == {"B": -1, "E": -1, "F": 1}
    assert parse_key("Dmix=c").signature == {"F": 1, "C": 0}
    assert parse_key("Hp").signature == {"F": 1, "C": 1}
    assert parse_key("HP").signature == parse_key("none").signature == {}
    assert "the key signature" in remarks(read("F", key="Dphr^f"))[0]


def test_clefs_and_transposition_move_what_sounds():  # 4.6
    assert pitches(read("C", key="C treble-8")) == [48]
    assert pitches(read("C", key="C octave=1")) == [72]
    assert pitches(read("C", key="C transpose=-2")) == [58]


def test_a_clef_holds_until_another_one():  # 4.6
    """A change of key says nothing of the clef, a change of clef nothing of the key."""
    assert pitches(read("C | [K:G] F | [K:treble] F", key="C treble-8")) == [48, 54, 66]
    assert pitches(read("F | [K:clef=treble-8] F |", key="G")) == [66, 54]
    assert [str(measure.key) for measure in read("F | [K:treble-8] F |", key="G").music.measures] == ["None"] * 2


def test_a_voice_has_a_clef_of_its_own():  # 4.6, 7
    body = "V:1\nC8 |\nV:2 octave=-1\nC8 |"
    assert pitches(abc.read(tune(body, V="1 clef=treble-8 name=Low"))) == [48]
    assert pitches(abc.read(tune(body, V="1 clef=treble-8 name=Low"), part="2")) == [48]
    assert pitches(abc.read(tune(body), part="1")) == [60]
    assert pitches(read("C8 |", V="1 clef=treble-8")) == [48]
    assert pitches(read('V:bass name="a tenor"\nC8 |', key="C treble-8")) == [48]


# Rhythm: sections 4.3 to 4.5 and 4.13


def test_lengths_are_multiples_of_the_unit():
    assert lengths(read("C C2 C3 C/ C/4 C3/2 C//z")) == ["8", "4", "4.", "16", "32", "8.", "32", "8"]


@pytest.mark.parametrize(("metre", "unit"), [("2/4", 1), ("6/8", 2), ("3/4", 2), ("4/4", 2), ("3/8", 1)])
def test_the_unit_follows_from_the_metre_where_none_is_given(metre, unit):  # 3.1.7
    assert usual_length(Metre.parse(metre)) == Fraction(unit, 4)


def test_broken_rhythm_dots_one_and_cuts_the_other():
    assert lengths(read("A>B c<d")) == ["8.", "16", "16", "8."]
    assert lengths(read("e>>f g<<a")) == ["8..", "32", "32", "8.."]
    assert lengths(read("A>{g}B A2>B2")) == ["8.", "16", "4.", "8"]


def test_tuplets_go_in_the_time_of_the_table():
    assert lengths(read("(3ABc (2AB (4ABcd", metre="6/8"))[:3] == ["8(3:2)"] * 3
    assert lengths(read("(2AB d3", metre="6/8"))[:2] == ["8(2:3)"] * 2
    assert lengths(read("(5ABcde e", metre="6/8"))[:5] == ["8(5:3)"] * 5
    assert lengths(read("(5ABcde e6", metre="4/4"))[:5] == ["8(5:2)"] * 5
    assert lengths(read("(3:2:2G4c2", metre="4/4")) == ["2(3:2)", "4(3:2)"]
    assert lengths(read("(3::4 A/B/cd A")) == ["16(3:2)", "16(3:2)", "8(3:2)", "8(3:2)", "8"]


def test_rests_of_whole_measures_are_measures():
    measures = read("ABcd efga | Z2 | x8 |").music.measures
    assert [measure.events[0].is_rest for measure in measures] == [False, True, True, True]


def test_a_length_that_no_note_has_is_told_where_it_stands():
    reading = read("A A1000/7 A")
    assert (reading.report.remarks[0].line, reading.report.remarks[0].column) == (6, 3)
    assert lengths(reading) == ["8", "8", "8"]


# Bars: sections 4.8 and 4.9


def test_pickups_and_halves_of_measures_are_short():
    measures = read("E | ABcd e4 :|: c2 | dcBA c3 :|").music.measures
    assert [measure.short for measure in measures] == [True, False, True, True]
    assert [measure.repeat_times for measure in measures] == [0, 2, 0, 2]
    assert measures[2].repeat_start


@pytest.mark.parametrize("line", ["::", ":|:", ":||:", ":| |:", ":|\n|:"])
def test_both_ends_of_a_repeat_in_one_line(line):
    first, second = read(f"A8 {line} B8 |").music.measures
    assert (first.repeat_times, second.repeat_start) == (2, True)


REPEATED = {
    # from the double bar line, of any kind
    "|A8|B8||c8|d8:|": [0, 1, 2, 3, 2, 3],
    "A8|B8|]c8|d8:|": [0, 1, 2, 3, 2, 3],
    "A8|B8||\n[|c8|d8:|": [0, 1, 2, 3, 2, 3],
    "A8||B8||c8:|": [0, 1, 2, 2],
    "A8||B8|1c8:|2d8|]": [0, 1, 2, 1, 3],
    # from the end of the repeat before, and from the beginning of the tune
    "A8|B8:|c8|d8:|": [0, 1, 0, 1, 2, 3, 2, 3],
    "A8|B8:|c8||d8:|": [0, 1, 0, 1, 2, 3, 3],
    "A8|B8:||c8|d8:|": [0, 1, 0, 1, 2, 3, 2, 3],
    # from the start that is written, over a double bar line
    "|:A8|B8||c8:|": [0, 1, 2, 0, 1, 2],
    "A8||B8|:c8||d8:|": [0, 1, 2, 3, 2, 3],
    # a double bar line that ends the first ending is no beginning
    "|:A8|1B8:|2c8||d8|e8:|": [0, 1, 0, 2, 3, 4, 3, 4],
}
"""Where a repeat without a start goes back to: the abc standard 2.1 (December 2011), section 4.8, says from the
beginning of the tune, or from the latest double bar line or end of a repeated section."""


@pytest.mark.parametrize(("text", "order"), REPEATED.items())
def test_a_repeat_goes_back_to_the_latest_double_bar_or_repeat_or_to_the_beginning(text, order):
    assert list(playing_order(silent(read(text).music))) == order


def test_lines_at_the_end_of_a_measure():
    measures = read("A8 | A8 || A8 |] A8 .| A8").music.measures
    assert [measure.barline for measure in measures] == [
        Barline.SINGLE,
        Barline.DOUBLE,
        Barline.FINAL,
        Barline.SINGLE,
        Barline.SINGLE,
    ]


@pytest.mark.parametrize(
    "text", ["A8 |1 B8 :|2 c8 | d8 ||", "A8 | [1 B8 :| [2 c8 | d8 ||", "A8 |[1 B8 :|[2c8|d8||"]
)
def test_endings(text):
    measures = read(f"{text} e8 |").music.measures
    assert [measure.endings for measure in measures] == [(), (1,), (2,), (2,), ()]
    assert measures[1].repeat_times == 2


def test_endings_for_several_passes():
    measures = read("A8 |[1,3 B8 :|[2-4 c8 ::").music.measures
    assert [measure.endings for measure in measures] == [(), (1, 3), (2, 3, 4)]


def test_a_bar_that_is_too_long_gets_a_metre_of_its_own_and_the_next_has_the_old_one():
    reading = read("ABcd efga b | A8 |")
    assert [str(measure.metre) for measure in reading.music.measures] == ["None", "4/4"]
    assert str(reading.music.head.metre) == "9/8"
    assert "a bar of 9/8 in 4/4" in remarks(reading)[0]


def test_free_metre_and_music_without_bar_lines():
    measures = silent(read("ABc | ABcde |", metre="none").music).measures
    assert [measure.length for measure in measures] == [Fraction(3, 2), Fraction(5, 2)]
    long = read("ABcd efga " * 20)
    assert [measure.length for measure in silent(long.music).measures] == [4] * 20


# What joins notes: section 4.11


def test_a_tie_holds_its_accidental_over_the_bar_line():
    reading = read("^c8- | c4 c4 |")
    assert pitches(reading) == [73, 73, 72]
    assert [event.notes[0].tied for measure in reading.music.measures for event in measure.events] == [
        False,
        True,
        False,
    ]


def test_ties_in_a_double_stop_go_one_by_one():
    (measure,) = read("[EA-]2 [FA]2 [ce]2-[ce]2").music.measures
    assert [[note.tied for note in event.notes] for event in measure.events] == [
        [False, False],
        [True, False],
        [False, False],
        [True, True],
    ]


def test_slurs_are_hammered_on_and_pulled_off_on_one_course():
    (measure,) = read('(FGF)e (B"^S"c)').music.measures
    reached = [event.notes[0].reached for event in measure.events]
    assert reached == [
        Reached.STRUCK,
        Reached.HAMMER,
        Reached.PULL,
        Reached.STRUCK,
        Reached.STRUCK,
        Reached.SLIDE,
    ]


def test_a_slur_over_courses_is_left_to_the_fitting():
    reading = read("(de)(ed)")
    reached = [event.notes[0].reached for event in reading.music.measures[0].events]
    assert reached == [Reached.STRUCK, Reached.HAMMER, Reached.STRUCK, Reached.PULL]
    assert remarks(reading) == []
    fitted = adapt(reading.music, PLAYER).score
    assert [event.notes[0].reached for event in fitted.measures[0].events] == reached
    assert {event.notes[0].course for event in fitted.measures[0].events} == {2}


def test_a_slur_over_many_notes_is_a_phrase_unless_it_says_how_it_is_played():
    reading = read('(ABcde) f2|(A"^H"B"^H"c"^P"B"^P"A) f3')
    phrase, ours = reading.music.measures
    assert all(event.notes[0].is_struck for event in phrase.events)
    assert [event.notes[0].slurred for event in ours.events] == [False, True, True, True, True, False]
    assert remarks(reading) == ["slurs over more than 4 notes are read as phrase marks and left out"]


def test_slurs_that_join_nothing_are_said_with_their_place():
    reading = read("(dd) A) (z2e) (f")
    assert all(not note.slurred for event in reading.music.measures[0].events for note in event.notes)
    assert [(remark.column, remark.message) for remark in reading.report.remarks] == [
        (1, "slurred notes with no note to slur from are picked (2 times)"),
        (7, "a slur that ends here has no beginning"),
        (15, "a slur that begins here has no end"),
    ]


def test_a_tie_to_another_pitch_is_no_tie():
    reading = read("A-B A-A d-d")
    assert [event.notes[0].tied for event in reading.music.measures[0].events] == [0, 0, 0, 1, 0, 1]
    assert remarks(reading) == ["ties with no next note of the same pitch are left out"]


# Chords, grace notes and marks: sections 4.12 to 4.19


def test_double_stops_with_lengths_inside_and_outside():
    reading = read("[EA]2 [E2A2] [E/A/]4 +EA+2")
    assert lengths(reading) == ["4", "4", "4", "4"]
    assert [len(event.notes) for event in reading.music.measures[0].events] == [2, 2, 2, 2]


def test_grace_notes_stand_before_their_note():
    event = read("{/gf}e4").music.measures[0].events[0]
    assert [note.pitch for note in event.grace] == [79, 77]


def test_a_grace_note_far_from_its_note_is_fitted_where_it_is_written():
    """An octave nearer to its note it would be another ornament."""
    fitted = adapt(read("{a}d4").music, PLAYER).score
    (grace,) = fitted.measures[0].events[0].grace
    assert fitted.head.instrument.pitch(grace.course, grace.fret) == 81


def test_bows_are_strokes_and_digits_fingers():
    events = read('vAuB !downbow!A !upbow!B !3!G "2"F "^1"E !open!e .A LA !///!A8 !arpeggio![EA]').music.measures
    flat = [event for measure in events for event in measure.events]
    assert [event.stroke for event in flat[:4]] == [Stroke.DOWN, Stroke.UP, Stroke.DOWN, Stroke.UP]
    assert [event.notes[0].finger for event in flat[4:8]] == [3, 2, 1, 0]
    assert flat[8].staccato
    assert flat[9].accent
    assert flat[10].tremolo
    assert flat[-1].roll is Direction.UP


def test_a_finger_over_the_pitch_of_an_open_course_tells_the_course_below():
    first, second = adapt(read('"4"e e').music, PLAYER).score.measures[0].events
    assert (first.notes[0].course, first.notes[0].fret) == (2, 7)
    assert (second.notes[0].course, second.notes[0].fret) == (1, 0)


def test_letters_can_be_redefined():  # 4.16
    event = read("TA", U="T = !accent!").music.measures[0].events[0]
    assert event.accent


def test_chord_symbols_and_words_are_told_apart():
    (measure,) = read('"Am7"A4 "^slowly""G/B"B2 "_not a chord"c2').music.measures
    assert [(str(mark.offset), mark.symbol) for mark in measure.chords] == [("0", "Am7"), ("2", "G/B")]
    assert measure.remark == "slowly; not a chord"


def test_decorations_that_are_not_carried_are_counted():
    reading = read("TA !trill!A HA")
    assert remarks(reading) == [
        "the decoration 'trill' is left out (2 times)",
        "the decoration 'fermata' is left out",
    ]


# Fields


def test_head():
    head = read("A", C="Nobody", R="reel", Q="1/4=96", O="Nowhere").music.head
    assert (head.title, head.credits, head.tempo) == ("Test", ("Nobody", "reel", "Nowhere"), Tempo(96.0))


@pytest.mark.parametrize(
    ("text", "tempo"),
    [("1/4=120", "1/4=120"), ("3/8=60", "3/8=60"), ('"Allegro" 1/2=80', "1/2=80"), ("120", "1/8=120"),
     ("C3=40", "3/8=40"), ("5/8 3/8=40", "1/1=40"), ("7/16=90", "7/16=90")],
)  # fmt: skip
def test_tempos_new_and_old(text, tempo):  # 3.1.8 and 10.1
    assert str(parse_tempo(text, Fraction(1, 2))[0]) == tempo


def test_additive_metres():  # 3.1.6
    assert str(parse_metre("(2+3+2)/8")) == "7/8(2+3+2)"
    assert parse_metre("none") is None


def test_changes_inside_a_tune():
    measures = read("A8 | [M:3/4][Q:1/4=60]A6 | [L:1/4]A3 |\nP:B\nM:2/4\nA2 |").music.measures
    assert [str(measure.metre) for measure in measures] == ["None", "3/4", "None", "2/4"]
    assert measures[1].tempo == Tempo(60.0)
    assert measures[3].section == "B"


def test_the_words_of_a_tempo_are_a_remark_and_one_that_is_none_is_told():
    reading = read("A8 | [Q:1/8=900]A8 |", Q='"Lively" 1/4=120')
    assert (reading.music.head.tempo, reading.music.measures[0].remark) == (Tempo(120.0), "Lively")
    assert [measure.tempo for measure in reading.music.measures] == [None, None]
    assert remarks(reading) == ["not a tempo: '1/8=900'"]
    assert remarks(read("A8 |", Q="1/8=900")) == ["not a tempo: '1/8=900'"]
    assert not remarks(read("A8 |", Q='"Slow"'))


@pytest.mark.parametrize(
    ("text", "is_chord"),
    [(text, True) for text in ("A", "Bb", "F\u266fm7", "(Em)", "Cmaj7", "Gsus4", "A7(b9)", "Co7", "Ebmin", "N.C.")]
    + [(text, False) for text in ("Fine", "D.C.", "D.S.", "Bridge", "Coda", "Chorus", "Emotion", "A B")],
)
def test_quoted_words_that_name_no_chord_are_words(text, is_chord):
    measure = read(f'"{text}"A8 |').music.measures[0]
    assert (bool(measure.chords), bool(measure.remark)) == (is_chord, not is_chord)


def test_words_that_are_too_long_are_cut_and_said_to_be():
    reading = read(f'"^{"slow " * 120}"A8 | "^short"A8 |')
    assert [len(measure.remark) for measure in reading.music.measures] == [500, 5]
    assert remarks(reading) == ["text over a measure is cut after 500 characters"]


@pytest.mark.parametrize(
    ("body", "metre", "length"),
    [
        ("A8 A8 A4 A", "21/8", Fraction(21, 2)),
        ("A8 A8 A8 A4 A/4", "57/16", Fraction(113, 8)),
        ("A8 A8 A8 A8 A8 A4 A/16", "89/16", Fraction(705, 32)),
        ("A/3 " * 25, "67/64", Fraction(25, 6)),
    ],
)
def test_a_bar_that_is_too_long_gets_a_metre_that_holds_it(body, metre, length):
    """Its own where there is one; else the shortest that is long enough, of which it is a part."""
    (measure,) = silent(read(body + " |").music).measures
    assert measure.length == length
    shown = read(body + " |").music.head.metre
    assert (str(shown), measure.short) == (metre, shown.length > length)


def test_words_with_mnemonics():  # 8.2
    data = tune("A").replace(b"T:Test", rb"T:Caf\'e \"Ubung &amp; B\u00e9 50\% % comment")
    assert abc.read(data).music.head.title == "Café Übung & Bé 50%"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, newline):
    text = tune("A8 |").decode().replace("Test", "Müller").replace("\n", newline)
    reading = abc.read(text.encode(encoding))
    assert reading.music.head.title == "Müller"
    assert not reading.report.remarks


def test_continued_lines_and_comments():  # 2.2.5, 2.2.6, 3.3
    data = tune("ABcd \\\nefga | % the end\n%%staffwidth 15cm\nA8 |").replace(b"T:Test\n", b"T:One\n+:and two\n")
    score = abc.read(data).music
    assert score.head.title == "One and two"
    assert [len(measure.events) for measure in score.measures] == [8, 1]


# Which tune, which voice


def test_one_of_several_tunes():
    data = tune("A8") + b"\nfree words\n\n" + tune("B8").replace(b"T:Test", b"T:Second")
    first = abc.read(data)
    assert "the first of 2 tunes" in remarks(first)[0]
    assert pitches(abc.read(data, tune=2)) == [71]
    with pytest.raises(FormatError, match="no tune 3"):
        abc.read(data, tune=3)


def test_the_head_of_the_file_holds_for_every_tune():  # 2.2.2
    data = b"M:3/4\nC:All\n\n" + b"X:1\nT:One\nL:1/4\nK:D\nABc|\n"
    head = abc.read(data).music.head
    assert (str(head.metre), head.credits) == ("3/4", ("All",))


def test_one_of_several_voices():  # 7
    body = "V:high\nc8 | d8 |\nV:low\nC8 | D8 |\n[V:high] e8 | [V:low] E8 |"
    assert pitches(read(body)) == [72, 74, 76]
    assert pitches(abc.read(tune(body), part="low")) == [60, 62, 64]
    assert "only voice high is read; --part reads another: low" in remarks(read(body))[0]
    with pytest.raises(FormatError, match="no voice 'bass'"):
        abc.read(tune(body), part="bass")


def test_fields_belong_to_the_voice_that_they_stand_in():
    """Behind `V:` and before its first note as well; what another voice changes is no business of this one."""
    body = "V:high\nK:D\nQ:1/4=60\nP:A\nF4 F4|\nV:low\nK:Bb\nL:1/4\nM:3/4\nB,3 |\nV:high\nF8 |"
    score = read(body).music
    assert pitches(read(body)) == [66, 66, 66]
    assert (str(score.measures[0].key), score.head.tempo, score.measures[0].section) == ("D", Tempo(60.0), "A")
    assert [str(event.duration) for event in score.measures[1].events] == ["1"]
    low = abc.read(tune(body), part="low")
    assert (pitches(low), lengths(low), str(low.music.head.metre)) == ([58], ["2."], "3/4")


def test_a_heading_among_the_music_is_left_out_and_said_to_be():
    assert remarks(read("A8 |\nT:Second part\nC:Someone\nA8 |")) == [
        "field T: a title inside the music left out",
        "field C: left out",
    ]


def test_a_voice_in_a_comment_is_none():
    assert pitches(read("c8 | % [V:low] follows below\nd8 |")) == [72, 74]


def test_a_voice_inside_a_bar_is_left_out():
    reading = read("A8 & C8 | B8 |")
    assert pitches(reading) == [69, 71]
    assert "(&)" in remarks(reading)[0]


@pytest.mark.parametrize("data", [b"", b"hello\n", b"X:1\nT:No music\nK:C\n", bytes(range(256))])
def test_what_is_no_tune_is_said_in_a_line(data):
    with pytest.raises(FormatError) as caught:
        abc.read(data)
    assert "\n" not in str(caught.value)


def test_what_is_not_understood_is_told_with_line_and_column():
    reading = read("AB ? c |\nd # e")
    assert [(remark.line, remark.column, remark.message) for remark in reading.report.remarks] == [
        (6, 4, "'?' is not understood"),
        (7, 3, "'#' is not understood"),
    ]


def test_a_note_that_is_held_into_a_chord_is_held_in_the_source_line():
    """`C-[CE]`: the C is tied, the E is struck (standard 4.11, ties)."""
    score = read("C-[CE] G2|", unit="1/4").music
    assert [(event.pitches, event.held) for event in score.measures[0].source] == [
        ((60,), ()), ((64, 60), (60,)), ((67,), ()),
    ]  # fmt: skip
    fitted = adapt(score, PLAYER).score
    assert fitted.measures[0].source[1].held == (60,)
    assert not differences(fitted)
    again = text.read(text.write(fitted)).music
    assert again.measures[0].source == fitted.measures[0].source
    assert source_cells(View(fitted), 0)[Fraction(1)][0].text == "E4/(C4)"
