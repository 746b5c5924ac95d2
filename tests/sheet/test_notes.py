"""Notes of many scores, read back from the SVG of their pages, against the score and against independent readers.

The notation is read by its shapes alone (`pages`), and its pitches are compared with those that verovio and
music21 read from the MusicXML of the same score. By default fourteen of the sixty scores are read.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from xml.etree import ElementTree as ET

import pytest

import tabterm
from tabterm.formats import abc, musicxml
from tabterm.piece.intake import fitted_to
from tabterm.score.kinds import Reached, Stroke
from tabterm.sheet import fonts
from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tests.sheet.drawn import NATIVE, SAMPLES, digits_of, digits_on, lines, opened, shown
from tests.sheet.generated import score as made
from tests.sheet.pages import measures_on
from tests.thorough import many

CHANCE = [f"chance-{seed}" for seed in range(many(6, 44))]
TUNES = [f"Ryan-{number}" for number in (200, 400, 20, 40, 60, 80, 100, 120, 140, 700)[: many(2, 10)]]
READ = [path.name for path in NATIVE] + ["boil-them-cabbage-down.abc", "weir-street-low-line.musicxml"]
NAMES = [*READ, *CHANCE, *TUNES]
assert many(60, len(NAMES)) >= 60


def named(name):
    """A score of those tried: a sample, one of chance, or a tune of Ryan's Mammoth Collection (Boston 1883)."""
    kind, _, number = name.partition("-")
    if kind == "chance":
        return made(int(number), 8)
    if kind == "Ryan":
        return _tune(int(number))
    return opened(SAMPLES / name)


def _tune(number):
    music21 = pytest.importorskip("music21", reason="the collection is in the package music21")
    folder = music21.common.getCorpusFilePath() / "ryansMammoth"
    text = sorted(folder.glob("*.abc"))[number].read_bytes()
    player = tabterm.Player()
    return tabterm.Piece(fitted_to(abc.read(text).music, player).score, player).fingered().score


@pytest.fixture(scope="module", params=NAMES)
def drawn(request):
    """A score and its pages with notation and tablature."""
    score = named(request.param)
    return score, engrave(score).pages


def pitches_of(score):
    """For each measure that sounds, the pitches of each moment, grace notes as moments of their own."""
    pitch = score.head.instrument.pitch
    measures = []
    for measure in score.measures:
        moments = []
        for event in measure.events:
            moments += [[pitch(note.course, note.fret)] for note in event.grace]
            moments += [sorted(pitch(note.course, note.fret) for note in event.notes)] if event.notes else []
        measures.append(moments)
    return [measure for measure in measures if measure]


def test_every_digit_stands_on_its_course_in_order(drawn):
    score, pages = drawn
    found = digits_on(pages)
    for chord in digits_of(score):
        here, found = found[: len(chord)], found[len(chord) :]
        assert sorted(here) == sorted(chord)
    assert found == []


def test_the_notation_reads_as_the_pitches_of_the_score(drawn):
    score, pages = drawn
    assert measures_on(pages) == pitches_of(score)


def test_every_note_has_its_signs(drawn):
    score, pages = drawn
    there = defaultdict(list)
    for page in pages:
        here = Counter(sign.kind for sign in page.signs)
        for sign in page.signs:
            there[sign.kind, sign.measure].append((sign.onset, sign.course, sign.text))
        classes = Counter(re.findall(r'class="([^"]+)"', page.svg))
        assert all(classes[kind] >= count for kind, count in here.items())
    for key, count in wanted(score).items():
        assert sum(_fits(sign, key[2:]) for sign in there[key[:2]]) >= count, key


BOWS = {Stroke.DOWN: "stringsDownBow", Stroke.UP: "stringsUpBow"}
"""SMuFL's names (U+E610, U+E612); MusicXML 4.0 has the same signs for strokes of a pick (`down-bow`, `up-bow`)."""


def in_rows(pages, kind):
    """Names of the signs of a kind in the order they are read: lines downward, columns, each downward."""
    found = []
    for number, page in enumerate(pages):
        staves = lines(page.svg, "courses")
        for each in shown(page.svg):
            if each.kind == kind:
                left, _, right, _ = fonts.sign_box(each.text)
                row = max(at for at, staff in enumerate(staves) if staff[0] < each.y)
                found.append(((number, row, each.x + (left + right) / 2 * each.scale), each.y, each.text))
    found.sort()
    columns = []
    for (number, row, x), y, name in found:
        before = columns[-1][0] if columns else None
        if before is None or before[:2] != (number, row) or x - before[2] > 0.3:
            columns.append(((number, row, x), []))
        columns[-1][1].append((y, name))
    return [name for _, column in columns for _, name in sorted(column)]


def test_strokes_and_fingers_stand_under_the_courses_in_order(drawn):
    score, _ = drawn
    pages = engrave(score, Layout(parts="tab")).pages
    events = [event for measure in score.measures for event in measure.events]
    strokes = [event.stroke_shown for event in events if event.takes_stroke]
    assert in_rows(pages, "stroke") == [BOWS[stroke] for stroke in strokes if stroke in BOWS]
    notes = [note for event in events for note in (*event.grace, *event.notes)]
    fingers = [f"fingering{note.finger_shown}" for note in notes if note.finger_shown is not None]
    assert in_rows(pages, "finger") == fingers


def test_fingers_stand_once_beside_the_strokes_or_where_they_are_wanted():
    """Common practice, no source: what both hands do of a note is read at one place."""
    whole = opened(SAMPLES / "lantern-waltz.tabterm")
    score = whole.with_(measures=whole.measures[:4])
    events = [event for measure in score.measures for event in measure.events]
    notes = [note for event in events for note in (*event.grace, *event.notes)]
    once = sum(note.finger_shown is not None for note in notes)
    told = {fingers: fingers_by_staff(score, fingers) for fingers in ("tab", "notation", "both")}
    assert told == {"tab": (0, once), "notation": (once, 0), "both": (once, once)}
    only = Layout(parts="notation", fingers="tab")
    assert sum(sign.kind == "finger" for page in engrave(score, only).pages for sign in page.signs) == once


def fingers_by_staff(score, fingers):
    """How many fingers stand over the lines of the courses, and under them."""
    counts = [0, 0]
    for page in engrave(score, Layout(fingers=fingers)).pages:
        tab = {sign[2:4]: sign.box[1] for sign in page.signs if sign.kind in {"digit", "grace-digit"}}
        for sign in (each for each in page.signs if each.kind == "finger"):
            counts[sign.box[1] > tab[sign[2:4]]] += 1
    return tuple(counts)


def _fits(sign, key):
    return all(want is None or have == want for have, want in zip(sign, key, strict=True))


def wanted(score):
    """Signs that have to stand on the pages: kind, measure, onset, course, text; None where any will do."""
    signs = Counter()
    for index, measure in enumerate(score.measures):
        signs.update(("chord", index, mark.offset, None, mark.symbol) for mark in measure.chords)
        signs.update((kind, index, None, None, text) for kind, text in _of_measure(measure) if text)
        for onset, event in measure.timed():
            stroke = event.stroke_shown
            if stroke in {Stroke.DOWN, Stroke.UP} and event.takes_stroke:
                signs["stroke", index, onset, None, stroke.value] += 1
            marks = {"tremolo": event.tremolo_shown, "accent": event.accent, "staccato": event.staccato}
            signs.update(
                (kind, index, onset, None, None) for kind, has in marks.items() if has and event.duration.value > 1
            )
            signs.update(("roll", index, onset, None, None) for _ in "12" if event.roll)
            for note in event.notes:
                signs.update((kind, index, onset, note.course, text) for kind, text in _of_note(note))
            signs.update(("grace-digit", index, onset, note.course, None) for note in event.grace)
    return signs


def _of_measure(measure):
    yield "section", measure.section
    yield "remark", " ".join(measure.remark.split())
    yield "tempo", str(measure.tempo or "")
    yield "metre", str(measure.metre or "")
    yield "ending", ", ".join(f"{number}." for number in measure.endings) and None


SLURS = {Reached.HAMMER: ("arc", "H"), Reached.PULL: ("arc", "P"), Reached.SLIDE: ("slide", "S")}


def _of_note(note):
    yield "digit", None
    yield "notehead", None
    if note.finger_shown is not None:
        yield "finger", str(note.finger_shown)
    if note.reached in SLURS:
        yield SLURS[note.reached]
    if note.bend is not None:
        yield "bend", None
        yield "bend-amount", None
    for kind, has in (
        ("slide", note.slide_in),
        ("ring", note.ring),
        ("held", note.tied),
        ("vibrato", note.vibrato),
    ):
        if has:
            yield kind, None


def test_notation_is_the_same_that_an_independent_reader_finds_in_musicxml(drawn):
    verovio = pytest.importorskip("verovio", reason="the independent reader verovio is not installed")
    score, pages = drawn
    assert measures_on(pages) == _read_by_verovio(verovio, score)


MEI = "{http://www.music-encoding.org/ns/mei}"
SEMITONES = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}
ALTERS = {"s": 1, "f": -1, "n": 0, "ss": 2, "x": 2, "ff": -2}


def _read_by_verovio(verovio, score):
    """Pitches by measure and moment in the MEI that verovio makes of our MusicXML."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.loadData(musicxml.write(score, view="notes").data.decode())
    measures = []
    for measure in ET.fromstring(toolkit.getMEI()).iter(f"{MEI}measure"):
        moments = []
        inside = {id(note) for chord in measure.iter(f"{MEI}chord") for note in chord.iter(f"{MEI}note")}
        for node in measure.iter():
            if node.tag == f"{MEI}chord":
                moments.append(sorted(map(_pitch, node.iter(f"{MEI}note"))))
            elif node.tag == f"{MEI}note" and id(node) not in inside:
                moments.append([_pitch(node)])
        measures += [moments] if moments else []
    return measures


def _pitch(note):
    accid = next((each for each in note.iter(f"{MEI}accid")), note)
    sign = accid.get("accid.ges") or accid.get("accid") or "n"
    return 12 * (int(note.get("oct")) + 1) + SEMITONES[note.get("pname")] + ALTERS[sign]


@pytest.mark.parametrize("name", READ[: many(2, len(READ))])
def test_a_second_reader_agrees(name):
    """music21 reads the same pitches from the same MusicXML; it keeps grace notes among the others."""
    music21 = pytest.importorskip("music21", reason="the independent reader music21 is not installed")
    score = named(name)
    parsed = music21.converter.parseData(musicxml.write(score, view="notes").data.decode(), format="musicxml")
    measures = [
        [
            sorted(pitch.midi for pitch in each.pitches)
            for each in measure.recurse().notes
            if each.pitches and not isinstance(each, music21.harmony.ChordSymbol)
        ]
        for measure in parsed.parts[0].getElementsByClass("Measure")
    ]
    pages = engrave(score, Layout(parts="notation")).pages
    assert measures_on(pages) == [measure for measure in measures if measure]


def test_a_lead_sheet_has_the_highest_notes_and_the_chords():
    score = opened(NATIVE[-1])
    pages = engrave(score, Layout(parts="lead")).pages
    highest = [[moment[-1:] for moment in measure] for measure in pitches_of(score)]
    assert measures_on(pages) == highest
    kinds = Counter(sign.kind for page in pages for sign in page.signs)
    assert kinds["chord"] == sum(len(measure.chords) for measure in score.measures)
    assert not kinds["digit"] + kinds["stroke"] + kinds["finger"]
    assert shown(pages[0].svg)
