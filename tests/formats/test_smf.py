"""MIDI files, read back by two libraries that are not ours: symusic for the music, mido for the events."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings

from tabterm import formats
from tabterm.formats.smf import TICKS_PER_QUARTER, ascii_of, write
from tabterm.hand.proposals import with_hands
from tabterm.instrument import PRESETS
from tabterm.performance import ALL_PARTS, Click, Options, Part, perform
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.kinds import Break, Stroke, StrokeSchool
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Note, Swing
from tabterm.score.operations import set_finger, set_stroke
from tabterm.score.place import Place, Span
from tabterm.score.profile import HandProfile
from tabterm.score.source import Bend
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, score
from tests.strategies import scores

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))


@pytest.fixture
def symusic():
    return pytest.importorskip("symusic", reason="symusic has no wheel for this Python")


def data_of(built, **options):
    return write(built, **options).data


def seconds_of(file, ticks):
    """The tempo map of a file read back, summed up by ourselves in quarters (MIDI 1.0: FF 51)."""
    at, tempo, total = 0, 500_000, 0.0
    for change in [*file.tempos]:
        if change.time >= ticks:
            break
        total += (change.time - at) / TICKS_PER_QUARTER * tempo / 1e6
        at, tempo = change.time, change.mspq
    return total + (ticks - at) / TICKS_PER_QUARTER * tempo / 1e6


def assert_same_music(symusic, built):
    """Note by note and bend by bend: pitch, velocity, onset and end in seconds, within a tick and a half."""
    performance = perform(built)
    file = symusic.Score.from_midi(data_of(built))
    tick_s = max(m.quarter_s for m in performance.measures) / TICKS_PER_QUARTER
    margin = 1.5 * tick_s + performance.duration_s * 1e-6
    letters = built.head.instrument.course_letters()
    tracks = {track.name: track for track in file.tracks}
    for course, letter in enumerate(letters, 1):
        status = course - 1
        ours = [m for m in performance.messages if m.data[0] & 15 == status]
        track = tracks.get(f"{built.head.instrument.name}, {letter} course")
        on = [m for m in ours if m.data[0] & 0xF0 == 0x90]
        if track is None:
            assert not on
            continue
        assert track.program == built.head.instrument.program
        theirs = sorted(track.notes, key=lambda note: (note.time, note.pitch))
        assert [(n.pitch, n.velocity) for n in theirs] == [(m.data[1], m.data[2]) for m in on]
        assert [seconds_of(file, n.time) for n in theirs] == pytest.approx([m.time_s for m in on], abs=margin)
        off = sorted(m.time_s for m in ours if m.data[0] & 0xF0 == 0x80)
        ends = sorted(seconds_of(file, n.time + n.duration) for n in theirs)
        assert ends == pytest.approx(off, abs=margin)
        bends = [m for m in ours if m.data[0] & 0xF0 == 0xE0]
        read = track.pitch_bends[1:]  # the first one is the setting of the channel at the start
        assert [b.value for b in read] == [(m.data[1] | m.data[2] << 7) - 8192 for m in bends]
        assert [seconds_of(file, b.time) for b in read] == pytest.approx([m.time_s for m in bends], abs=margin)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_samples_come_back_note_by_note(symusic, path):
    assert_same_music(symusic, formats.read(path).music)


def test_tempo_changes_repeats_slides_and_swing_come_back(symusic):
    bent = event("4").with_(notes=(Note(course=2, fret=5, bend=Bend(cents=100)),))
    parts = (
        measure("4 1.0,4 1.2,4 h1.3,4 /1.7", repeat_start=True),
        measure("8(3:2) 2.0,8(3:2) 2.2,8(3:2) 2.3,4 2.5,2 (2.5", tempo=Tempo(77.0), endings=(1,), repeat_times=2),
        measure("2. 3.0", metre=Metre.parse("3/4"), tempo=Tempo.parse("3/8=50"), endings=(2,)),
        measure("2. 3.0").with_(events=(bent, event("8 4.0"), event("8 4.2"), event("4 4.3"))),
    )
    assert_same_music(symusic, score(*parts, swing=Swing(), tempo=Tempo(133.0)))


@settings(max_examples=25, deadline=None)
@given(scores(max_measures=3))
def test_any_score_can_be_written_and_is_read_by_mido(built):
    performance = perform(built)
    file = mido.MidiFile(file=io.BytesIO(data_of(built)), charset="ascii")
    played = [m.bytes() for track in file.tracks[1:] for m in track if m.type in {"note_on", "note_off"}]
    expected = [list(m.data) for m in performance.messages if m.data[0] & 0xF0 in {0x80, 0x90}]
    assert sorted(played) == sorted(expected)
    lengths = {sum(m.time for m in track) for track in file.tracks}
    assert len(lengths) == 1


def metas(data, kind):
    """(tick, event) of the conductor track, by mido."""
    at, found = 0, []
    for message in mido.MidiFile(file=io.BytesIO(data), charset="ascii").tracks[0]:
        at += message.time
        if message.type == kind:
            found.append((at, message))
    return found


def test_the_file_is_type_1_with_the_conductor_first():
    file = mido.MidiFile(file=io.BytesIO(data_of(score("1 1.0", title="Kiln Lane"))))
    assert (file.type, file.ticks_per_beat) == (1, 480)
    assert [track.name for track in file.tracks] == [
        "Kiln Lane", "Mandolin, E course", "Mandolin, A course", "Mandolin, D course", "Mandolin, G course",
    ]  # fmt: skip
    assert {m.type for m in file.tracks[0] if not m.is_meta} == set()


def test_a_tempo_in_dotted_quarters_is_written_in_quarters():
    """90 dotted quarters are 135 quarters, so a quarter lasts 444 444 microseconds."""
    [(_, tempo)] = metas(data_of(score("2. 1.0", metre="6/8", tempo=Tempo.parse("3/8=90"))), "set_tempo")
    assert tempo.tempo == 444_444


def test_a_tempo_slower_than_the_file_can_hold_is_written_as_slow_as_it_can():
    [(_, tempo)] = metas(data_of(score("1 1.0", tempo=Tempo.parse("1/64=10"))), "set_tempo")
    assert tempo.tempo == 0xFFFFFF


def test_bar_lines_fall_right_behind_a_pickup():
    data = data_of(score(measure("4 1.0", short=True), "2. 1.0", "2. 1.0", metre="3/4"))
    assert [(at, m.numerator, m.denominator) for at, m in metas(data, "time_signature")] == [
        (0, 1, 4), (480, 3, 4),
    ]  # fmt: skip


def test_the_metronome_of_a_compound_metre_clicks_on_dotted_quarters():
    """24 MIDI clocks to a quarter, so 36 to a dotted quarter."""
    [(_, metre)] = metas(data_of(score("2. 1.0", metre="6/8")), "time_signature")
    assert metre.clocks_per_click == 36


@pytest.mark.parametrize(
    ("key", "written"),
    [("G", "G"), ("Em", "Em"), ("A mixolydian", "D"), ("D dorian", "C"), ("Bb", "Bb"), ("F# lydian", "C#")],
)
def test_keys(key, written):
    """A mixolydian and D dorian have the signatures of D and C major (any book of theory)."""
    [(_, message)] = metas(data_of(score("1 1.0", key=Key.parse(key))), "key_signature")
    assert message.key == written


def test_every_key_and_mode_can_be_written():
    for mode in MODE_FIFTHS:
        for step in "ABCDEFG":
            for alter in (-1, 0, 1):
                assert metas(data_of(score("1 1.0", key=Key(step, alter, mode))), "key_signature")


def test_sections_and_chords_stand_at_their_ticks_in_ascii():
    marked = measure(
        "4 1.0,2. 1.2", section="Réprise ♭",
        chords=(ChordMark(offset=Fraction(0), symbol="B♭"), ChordMark(offset=Fraction(5, 2), symbol="F♯ø")),
    )  # fmt: skip
    data = data_of(score("1 1.0", marked))
    assert [(at, m.text) for at, m in metas(data, "marker")] == [(1920, "Reprise b")]
    assert [(at, m.text) for at, m in metas(data, "text")] == [(1920, "Bb"), (3120, "F#m7b5")]
    assert ascii_of("火") == "?"


def test_tuplets_are_exact_or_at_the_nearest_tick():
    """480 divides by 3 and by 5, not by 7: the septuplet is rounded, and its end is exact."""
    line = "8(3:2) 1.0,8(3:2) 1.0,8(3:2) 1.0,16(5:4) 1.0,16(5:4) 1.0,16(5:4) 1.0,16(5:4) 1.0,16(5:4) 1.0"
    seven = ",".join(["8(7:4) 1.0"] * 7)
    track = mido.MidiFile(file=io.BytesIO(data_of(score(f"{line},{seven}")))).tracks[1]
    at, onsets = 0, []
    for message in track:
        at += message.time
        if message.type == "note_on":
            onsets.append(at)
    assert onsets[:8] == [0, 160, 320, 480, 576, 672, 768, 864]
    assert onsets[8:] == [960 + round(n * 960 / 7) for n in range(7)]


def test_a_span_a_tempo_and_a_click():
    built = score("1 1.0", "1 1.2", tempo=Tempo(120.0))
    data = data_of(built, span=Span.of_measures(1, 1), options=Options(tempo_percent=50, click=Click.BEATS))
    file = mido.MidiFile(file=io.BytesIO(data))
    assert [m.note for track in file.tracks for m in track if m.type == "note_on"] == [78, 76, 77, 77, 77]
    assert file.tracks[-1].name == "Click"
    assert file.length == pytest.approx(4.0)


def test_the_program_is_the_instruments():
    data = data_of(score("1 1.0", instrument=PRESETS["tenor-banjo"]))
    assert {
        m.program
        for track in mido.MidiFile(file=io.BytesIO(data)).tracks
        for m in track
        if m.type == "program_change"
    } == {105}


def test_the_band_has_tracks_channels_and_programs_of_its_own(symusic):
    """General MIDI 1 sound set, counted from 0: 26 jazz guitar, 32 acoustic bass."""
    chords = (ChordMark(offset=Fraction(0), symbol="G"), ChordMark(offset=Fraction(2), symbol="D7"))
    built = score(measure("1 1.0", chords=chords), "1 1.0", tempo=Tempo(97.0), swing=Swing())
    options = Options(parts=ALL_PARTS, style="swing-four", click=Click.BEATS, count_in=1)
    data, performance = data_of(built, options=options), perform(built, options=options)
    file = symusic.Score.from_midi(data)
    tracks = {track.name: track for track in file.tracks}
    assert (tracks["Chords"].program, tracks["Bass"].program) == (26, 32)
    for name, part in (("Chords", Part.CHORDS), ("Bass", Part.BASS), ("Click", Part.CLICK)):
        ours = [each for each in performance.plucks if each.part is part]
        theirs = sorted(tracks[name].notes, key=lambda note: (note.time, note.pitch))
        onsets = sorted(each.start_s for each in ours)
        assert sorted(n.pitch for n in theirs) == sorted(each.pitch for each in ours)
        assert [seconds_of(file, n.time) for n in theirs] == pytest.approx(onsets, abs=2e-3)
        ends = sorted(each.end_s for each in ours)
        assert sorted(seconds_of(file, n.time + n.duration) for n in theirs) == pytest.approx(ends, abs=2e-3)
    read = mido.MidiFile(file=io.BytesIO(data))
    channels = {track.name: {m.channel for m in track if not m.is_meta} for track in read.tracks}
    assert [channels[name] for name in ("Chords", "Bass", "Click")] == [{10}, {11}, {9}]
    assert "Chords" not in {track.name for track in mido.MidiFile(file=io.BytesIO(data_of(built))).tracks}


def test_what_the_file_does_not_say_is_told():
    plain = score("4 1.2,4 2.3,2 1.0")
    assert write(plain).report.remarks == ()
    told = score(
        measure("4 1.2", short=True),
        measure(
            "2 1.0,2 2.0", chords=(ChordMark(offset=Fraction(0), symbol="G"),), repeat_start=True, remark="slowly"
        ),
        measure("1 1.0", repeat_times=2, section="B", break_before=Break.PAGE),
    )
    told = told.with_(head=told.head.with_(hand=HandProfile(span_mm=150.0), school=StrokeSchool.GLIDE))
    fingered = set_finger(told, Place(1, Fraction(2)), 2, 0)
    struck = set_stroke(fingered, Place(2), Stroke.UP)
    assert [(remark.message, remark.place) for remark in write(struck).report.remarks] == [
        ("the hand of the score is left out", None),
        ("the picking school is left out", None),
        ("fingers are left out", None),
        ("strokes are left out", None),
        ("chord symbols are not written; --chords plays them", None),
        ("repeats and endings are played out (2 times)", Place(1)),
        ("remarks are left out", Place(1)),
        ("names of sections are left out", Place(2)),
        ("breaks of the printed sheet are left out", Place(2)),
    ]
    lines = write(struck).report.lines(struck, "tune.mid")
    assert "tune.mid: measure 1, beat 1: remarks are left out" in lines


def test_what_stands_at_every_note_is_told_of_the_whole_and_counted_by_notes():
    fingered = with_hands(score("4 1.2 2.2,4 1.3,2 1.0", "2 1.2,2 1.3", key=Key.parse("D mixolydian")), PLAYER)
    fingers = [n for m in fingered.measures for e in m.events for n in e.notes if n.finger_shown is not None]
    assert [(remark.message, remark.place) for remark in write(fingered).report.remarks] == [
        (f"fingers are left out ({len(fingers)} times)", None),
        ("strokes are left out (5 times)", None),
        ("modes are left out: the major key of their signature is written", None),
    ]
    assert (
        write(fingered, span=Span.of_measures(1, 1)).report.remarks[1].message == "strokes are left out (2 times)"
    )


def test_a_mode_that_no_key_signature_names_is_told():
    modal = score("1 1.0", measure("1 1.0", key=Key.parse("E minor")), key=Key.parse("D mixolydian"))
    [remark] = write(modal).report.remarks
    assert remark.message == "modes are left out: the major key of their signature is written"
    assert remark.place == Place(0)


def test_a_measure_longer_than_any_time_signature_is_written_and_told():
    """The upper figure of a time signature is one byte (Standard MIDI Files 1.0)."""
    fine = measure("1 1.0,256 1.0", short=True)  # 257/256
    writing = write(score(fine, "1 1.0,4 1.0", metre="5/4"))
    assert next((m.numerator, m.denominator) for _, m in metas(writing.data, "time_signature")) == (5, 4)
    assert any("no time signature fits" in remark.message and remark.place for remark in writing.report.remarks)
