"""What is written as MusicXML is valid, and reads back equal."""

from __future__ import annotations

import re
import zipfile
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tabterm import formats
from tabterm.errors import FormatError
from tabterm.formats import musicxml, native, text
from tabterm.formats.musicxml import VIEWS
from tabterm.formats.musicxml.harmony import TEXTS
from tabterm.formats.musicxml.tree import parse
from tabterm.hand.proposals import with_hands
from tabterm.harmony.chords import QUALITIES, parse_chord
from tabterm.instrument import Course, Instrument
from tabterm.score.duration import Duration
from tabterm.score.kinds import Barline
from tabterm.score.model import ChordMark, Event, Note, Score
from tabterm.score.report import NOTHING
from tabterm.score.source import SourceEvent
from tests.build import PLAYER, measure, score
from tests.formats.musicxml_schema import faults
from tests.strategies import scores

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))
quickly = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


def carried(given_score: Score) -> Score:
    """The score as a file holds it.

    What begins with the first measure stands in the head, what changes nothing is not said again, and proposals
    that a choice of the player covers are left out. What else is left out must be remarked.
    """

    def plain(note: Note) -> Note:
        return note if note.finger is None else note.with_(proposed_finger=None)

    def uncovered(each: Event) -> Event:
        stroke = {"proposed_stroke": None} if each.stroke else {}
        tremolo = {"proposed_tremolo": False} if each.tremolo else {}
        notes, grace = tuple(map(plain, each.notes)), tuple(map(plain, each.grace))
        return each.with_(notes=notes, grace=grace, **stroke, **tremolo)

    first, held, measures = given_score.measures[0], {}, []
    last = len(given_score.measures) - 1
    for index, each in enumerate(given_score.measures):
        changes = {}
        for name in ("key", "metre", "tempo"):
            value = getattr(given_score, f"{name}s")[index]
            changes[name] = value if held.get(name, value) != value else None
            held[name] = value
        barline = each.barline
        if each.repeat_times:
            barline = Barline.FINAL if index == last else Barline.SINGLE
        events = tuple(map(uncovered, each.events))
        measures.append(each.with_(events=events, source=(), heard_chords=(), barline=barline, **changes))
    opening = {name: getattr(first, name) or getattr(given_score.head, name) for name in ("key", "metre", "tempo")}
    return Score(head=given_score.head.with_(**opening), measures=tuple(measures))


def remarked(given_score: Score) -> set[str]:
    """The beginnings of the remarks that must be made on a score."""
    wanted = set()
    last = len(given_score.measures) - 1
    for index, each in enumerate(given_score.measures):
        if each.source:
            wanted.add("the original line")
        if each.heard_chords:
            wanted.add("proposed chords")
        if each.repeat_times and each.barline is not (Barline.FINAL if index == last else Barline.SINGLE):
            wanted.add(f"a {each.barline} bar line")
    return wanted


@pytest.mark.parametrize("view", VIEWS)
@quickly
@given(scores(max_measures=4))
def test_round_trip_is_exact_and_valid(view, drawn):
    written = musicxml.write(drawn, view=view)
    assert faults(written.data) == []
    reading = musicxml.read(written.data)
    wanted = carried(drawn)
    assert reading.music.head == wanted.head
    assert reading.music == wanted
    assert reading.report.remarks == ()
    beginnings = remarked(drawn)
    assert len(written.report.remarks) == len(beginnings)
    assert all(any(each.message.startswith(words) for words in beginnings) for each in written.report.remarks)


letters = st.characters(exclude_categories=["Cs", "Cc", "Cn"], min_codepoint=32) | st.sampled_from("\n\t\r&<>\"']")
words = st.text(letters, max_size=30)
instruments = st.builds(
    Instrument,
    name=st.text(letters, min_size=1, max_size=20),
    courses=st.lists(
        st.builds(
            lambda pitch, strings: Course(pitch=pitch, **dict.fromkeys(strings, True)),
            st.integers(0, 90),
            st.sampled_from([(), ("octave",), ("single",)]),
        ),
        min_size=4,
        max_size=8,
    ).map(tuple),
    frets=st.integers(1, 36),
    scale_length_mm=st.floats(101, 1999),
    program=st.integers(0, 127),
)


@quickly
@given(scores(max_measures=1), instruments, words, words.filter(bool), words)
def test_any_words_and_instruments_survive(drawn, instrument, title, credit, remark):
    head = drawn.head.with_(instrument=instrument, title=title, credits=(credit, credit[::-1]), foreword=remark)
    symbol = "".join(credit.split())[:24] or "x"
    only = (
        carried(drawn)
        .measures[0]
        .with_(section=title, remark=remark, chords=(ChordMark(offset=Fraction(0), symbol=symbol),))
    )
    built = Score(head=head, measures=(only,))
    written = musicxml.write(built)
    assert faults(written.data) == []
    assert musicxml.read(written.data).music == carried(built)


def test_a_source_line_is_told_once_of_the_whole():
    sounding = SourceEvent(duration=Duration.parse("1"), pitches=(62,))
    bar = measure("1 2.0", source=(sounding,))
    [remark] = musicxml.write(score(bar, bar)).report.remarks
    assert (remark.message, remark.place) == ("the original line is left out", None)


def test_control_characters_are_remarked():
    """XML 1.0 (fifth edition), section 2.2: the characters of a document."""
    written = musicxml.write(score(measure("1 2.3", remark="slow\x07 here")))
    assert [remark.message for remark in written.report.remarks] == [
        "control characters in words are left out: XML does not allow them"
    ]
    assert musicxml.read(written.data).music.measures[0].remark == "slow here"


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_read_back_equal(path, view):
    sample = with_hands(native.read(path.read_bytes()), PLAYER)
    written = musicxml.write(sample, view=view)
    assert written.report.remarks == ()
    reading = musicxml.read(written.data)
    assert reading.music == sample
    assert reading.report.remarks == ()


def test_the_schema_refuses_a_broken_file():
    """The validation has teeth: elements unknown or out of order, and values that are none."""
    good = musicxml.write(score("4 2.3,4 h2.5,2 1.0")).data.decode()
    assert faults(good.encode()) == []
    for was, instead in (
        ("<voice>", "<voyce>"),
        ("<step>C", "<step>H"),
        ('type="start" number="2"', 'type="begin" number="2"'),
        ("<fret>3</fret>", "<fret>open</fret>"),
        ("<divisions>", "<staves>1</staves><divisions>"),
    ):
        broken = good.replace(was, instead).replace("</voice>", "</voyce>" if "voyce" in instead else "</voice>")
        assert broken != good
        assert faults(broken.encode()), instead


def test_there_are_three_views():
    with pytest.raises(FormatError, match="no view 'page'"):
        musicxml.write(score("1 2.3"), view="page")
    built = score("4 2.3,4 h2.5,2 1.0")
    counts = {view: musicxml.write(built, view=view).data.count(b"<note>") for view in VIEWS}
    assert counts == {"notes": 3, "tab": 3, "both": 6}


def test_the_tablature_has_the_tuning():
    """MusicXML 4.0, `staff-tuning`: the line of the lowest string is 1."""
    root = parse(musicxml.write(score("1 2.3"), view="tab").data)
    details = root.at("part", "measure", "attributes", "staff-details")
    tuning = [(each.get("line"), each.word("tuning-step"), each.word("tuning-octave")) for each in details][1:]
    assert tuning == [("1", "G", "3"), ("2", "D", "4"), ("3", "A", "4"), ("4", "E", "5")]


def notes_of(view, *measures, **head):
    return parse(musicxml.write(score(*measures, **head), view=view).data).at("part")


def test_beams_join_the_notes_of_a_beat():
    """Beams end at the beat and at rests (common practice); the second beam of a dotted figure is a hook."""
    part = notes_of("notes", "8 2.0,8 2.2,8. 2.3,16 2.5,8 2.0,8,8 2.0,8 2.2")
    beams = [[beam.text for beam in note.all("beam")] for note in part.child("measure").all("note")]
    assert beams == [["begin"], ["end"], ["begin"], ["end", "backward hook"], [], [], ["begin"], ["end"]]


def test_accidentals_hold_to_the_end_of_the_measure():
    """A: F natural, again, F sharp; the next measure begins anew with the key (common practice, no source)."""
    part = notes_of("notes", "4 1.1,4 1.1,4 1.2,4 1.2", "4 1.2,4 1.1,2 1.0", key="A")
    shown = [note.word("accidental") for bar in part.all("measure") for note in bar.all("note")]
    assert shown == ["natural", "", "sharp", "", "", "natural", ""]


def test_a_note_that_is_back_in_the_key_shows_it_as_a_courtesy():
    """A: F natural at the end of a measure, F sharp in the next, once (common practice, no source)."""
    part = notes_of("notes", "2. 1.2,4 1.1", "4 1.2,4 1.2,2 1.0", "1 1.2", key="A")
    shown = [bar.all("note") for bar in part.all("measure")]
    assert [[note.word("accidental") for note in notes] for notes in shown] == [
        ["", "natural"],
        ["sharp", "", ""],
        [""],
    ]
    assert shown[1][0].child("accidental").get("cautionary") == "yes"


def test_a_courtesy_follows_a_note_that_was_altered_before_a_tie():
    part = notes_of("notes", "2. 1.0,4 1.1", "2 (1.1,2 1.2", "1 1.2", key="A")
    assert [note.word("accidental") for bar in part.all("measure") for note in bar.all("note")] == [
        *("", "natural", "", "sharp", "")
    ]


def test_tuplets_are_bracketed_when_they_are_full():
    part = notes_of("notes", "8(3:2) 2.0,8(3:2) 2.2,8(3:2) 2.3,4(3:2) 2.5,8(3:2) 2.3,2")
    marks = [
        [mark.get("type") for notations in note.all("notations") for mark in notations.all("tuplet")]
        for note in part.child("measure").all("note")
    ]
    assert marks == [["start"], [], ["stop"], ["start"], ["stop"], []]


def meant(symbol):
    chord = parse_chord(symbol)
    return chord.root, chord.bass, set(chord.intervals)


ALTERED = [
    "7sus4",
    "7sus",
    "7sus2",
    "9sus4",
    "m7b5",
    "7b5",
    "7b9",
    "7#9",
    "7#11",
    "9b13",
    "7#5b9",
    "add9",
    "madd9",
]


@pytest.mark.parametrize("quality", [*(spelling for names in QUALITIES for spelling in names), *ALTERED])
def test_every_chord_is_written_as_its_kind(quality):
    """Kinds of MusicXML 4.0 (`kind-value`): without our text, kind and degrees still mean the chord."""
    symbol = f"Bb{quality}/F"
    data = musicxml.write(score(measure("1 2.3", chords=(ChordMark(offset=Fraction(0), symbol=symbol),)))).data
    assert musicxml.read(data).music.measures[0].chords[0].symbol == symbol
    foreign = data.replace(f' text="{quality}"'.encode(), b"").replace(b'name="tabterm"', b'name="other"')
    assert b"<kind text" not in foreign
    assert meant(musicxml.read(foreign).music.measures[0].chords[0].symbol) == meant(symbol)


def test_all_kinds_are_in_the_table():
    """The list of the schema itself, by the package `musicxml`."""
    from tests.formats.musicxml_schema import kinds

    assert set(TEXTS) == set(kinds())


# Read by an independent library


def by_music21(data, folder):
    from music21 import converter

    path = folder / "score.musicxml"
    path.write_bytes(data)
    return converter.parse(path, forceSource=True, storePickle=False)


def heard(parsed):
    """(measure, offset, length, pitches, strings and frets) of all in the first part that is no grace note."""
    from music21 import articulations, harmony

    found = []
    for index, bar in enumerate(parsed.parts[0].getElementsByClass("Measure")):
        for element in bar.notes:
            if isinstance(element, harmony.Harmony) or element.duration.isGrace:
                continue
            kinds = (articulations.StringIndication, articulations.FretIndication)
            strings, frets = (
                [each.number for each in element.articulations if type(each) is kind] for kind in kinds
            )
            pitches = sorted(pitch.midi for pitch in element.pitches)
            at, length = Fraction(element.offset), Fraction(element.quarterLength)
            found.append((index, at, length, pitches, sorted(zip(strings, frets, strict=True))))
    return found


def told(built):
    """The same, of a score."""
    return [
        (
            *(index, at, event.length),
            sorted(built.head.instrument.pitch(note.course, note.fret) for note in event.notes),
            [(note.course, note.fret) for note in event.notes],
        )
        for index, bar in enumerate(built.measures)
        for at, event in bar.timed()
        if event.notes
    ]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("view", ["notes", "tab"])
def test_music21_reads_the_same(path, view, tmp_path):
    """Onset, length, pitches, strings and frets of everything, by an independent reader."""
    pytest.importorskip("music21")
    sample = native.read(path.read_bytes())
    assert heard(by_music21(musicxml.write(sample, view=view).data, tmp_path)) == told(sample)


@settings(quickly, max_examples=12, phases=(Phase.explicit, Phase.generate))
@given(scores(max_measures=3))
def test_music21_reads_the_same_of_any_score(tmp_path_factory, drawn):
    """Without bends: it makes no interval of one that goes back by less than a semitone."""
    pytest.importorskip("music21")

    def straight(event):
        return event.with_(
            **{name: tuple(n.with_(bend=None) for n in getattr(event, name)) for name in ("notes", "grace")}
        )

    plain = drawn.with_(
        measures=tuple(bar.with_(events=tuple(map(straight, bar.events))) for bar in drawn.measures)
    )
    parsed = by_music21(musicxml.write(plain).data, tmp_path_factory.mktemp("xml"))
    assert heard(parsed) == told(plain)


# Files


def test_the_compressed_file_is_an_archive_with_a_container(tmp_path):
    """MusicXML 4.0, "Compressed .mxl files": mimetype first and stored, container.xml, the score."""
    built = score("4 2.3,4 h2.5,2 1.0")
    path = tmp_path / "Kiln Lane, für zwei.mxl"
    assert formats.write(path, built, view="both") == NOTHING
    with zipfile.ZipFile(BytesIO(path.read_bytes())) as archive:
        names = archive.namelist()
        assert names == ["mimetype", "META-INF/container.xml", "score.musicxml"]
        assert archive.read("mimetype") == b"application/vnd.recordare.musicxml"
        assert faults(archive.read("score.musicxml")) == []
    assert formats.read(path).music == built
    assert formats.read(path, part="Mandolin").music == built
    again = tmp_path / "again.mxl"
    formats.write(again, built, view="both")
    assert again.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("ending", [".xml", ".musicxml"])
def test_both_endings_are_the_plain_file(ending, tmp_path):
    built = score("4 2.3,4 h2.5,2 1.0")
    path = tmp_path / f"a{ending}"
    formats.write(path, built)
    assert path.read_bytes().startswith(b"<?xml")
    assert formats.read(path).music == built


@pytest.mark.parametrize(
    ("symbols", "steps"),
    [
        (("B♭7", "F♯m/C♯"), [("B", "-1"), ("F", "1"), ("C", "1")]),
        (("Hm7", "B/H"), [("B", ""), ("B", "-1"), ("B", "")]),
        (("C△7", "n.c."), [("C", "")]),
    ],
)
def test_chords_are_kept_as_the_player_wrote_them(symbols, steps):
    """Steps and alterations of MusicXML 4.0 (`root-step`, `root-alter`), whatever their text."""
    marks = tuple(ChordMark(offset=Fraction(2 * at), symbol=each) for at, each in enumerate(symbols))
    data = musicxml.write(score(measure("2 2.3,2 2.3", chords=marks))).data
    assert [mark.symbol for mark in musicxml.read(data).music.measures[0].chords] == list(symbols)
    written = re.findall(
        rb"<(?:root|bass)-step(?: [^>]*)?>(.)<[^>]*>\s*(?:<(?:root|bass)-alter[^>]*>(-?1))?", data
    )
    assert [(step.decode(), alter.decode()) for step, alter in written][: len(steps)] == steps


EVERY_MARK = r"""
title: Every Mark
credit: "Nobody"
instrument: mandolin
key: A mixolydian
metre: 4/4
tempo: 1/4=96
swing: 8 2:1
hand: 150.0 mm

= 1 short yes
rhythm  4
E      |0---|
A      |----|
D      |----|
G      |----|

= 2 section "A" remark "slow here" strokes glide
chord    G7/B
rhythm   8    8    8    8    8t  8t  8t      8    8
E      |:0----h2---p0---/3---5%--5[--{2}5>---5';--5~---|
A      |:-----------------------------------------------|
D      |:-----------------------------------------------|
G      |:-----------------------------------------------|
finger   0    1
stroke   D    N    n    n    d%  d   d       U    u

= 3 ending 1,2 times 3
rhythm  4    4    8   8   8   8
E      |^5---_5---5/--5\--5b--5r--:|
A      |--------------------------:|
D      |--------------------------:|
G      |--------------------------:|

= 4 break system ending 3 metre 7/8(3+2+2)
rhythm  8    8    8   4   4
E      |5br--(5)--x5--5=--5---||
A      |----------------------||
D      |----------------------||
G      |----------------------||

= 5 metre C break page
rhythm  1
E      |5-----|
A      |------|
D      |------|
G      |------|
"""


def test_every_element_that_the_page_names_is_written():
    page = (Path(__file__).parents[2] / "docs" / "musicxml.md").read_text(encoding="utf-8")
    table = page.partition("| in tabterm | in MusicXML |")[2].partition("\n\n")[0].splitlines()[2:]
    named = {word for row in table for word in re.findall(r"`([^`]+)`", row.split(" | ")[1])}
    reading = text.read(EVERY_MARK.encode())
    assert reading.report.remarks == ()
    written = musicxml.write(reading.music).data.decode()
    assert len(named) > 45
    missing = {name for name in named if not re.search(rf'[<" >]{re.escape(name)}[ =">/<]', written)}
    assert missing == set()
