"""MIDI files with maps: tempos, metres and keys that change, stated grids, notes that keep to none."""

from __future__ import annotations

import io
import random
from fractions import Fraction

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import FormatError
from tabterm.formats import smf
from tabterm.formats.smf.bars import MidiBeats
from tabterm.formats.smf.grid import USUAL, Grid, fit
from tabterm.formats.smf.tracks import contents
from tabterm.score.line import silent
from tabterm.score.metre import Metre
from tests.midi import SCALE, file_of, heard, mapped, steps


def test_tempos_keys_and_metres_change_where_the_file_says():
    events = [
        (0, "set_tempo", {"tempo": 500_000}),
        (0, "key_signature", {"key": "G"}),
        (0, "time_signature", {"numerator": 4, "denominator": 4}),
        (4, "set_tempo", {"tempo": 600_000}),
        (8, "time_signature", {"numerator": 6, "denominator": 8}),
        (8, "key_signature", {"key": "Em"}),
        (11, "set_tempo", {"tempo": 500_000}),
    ]
    score = smf.read(mapped(steps(SCALE + SCALE[:12]), events)).music
    assert [m.tempo and m.tempo.per_minute for m in score.measures] == [None, 100.0, None, 120.0]
    assert [str(m.metre) if m.metre else None for m in score.measures] == [None, None, "6/8", None]
    assert [str(m.key) if m.key else None for m in score.measures] == [None, None, "Em", None]
    assert (score.head.tempo.per_minute, str(score.head.key)) == (120.0, "G")


def test_a_tempo_that_changes_inside_a_measure_is_taken_over_all_of_it():
    """Two quarters at 120 and two at 60 last 3 s: 80 quarters a minute."""
    events = [(0, "set_tempo", {"tempo": 500_000}), (2, "set_tempo", {"tempo": 1_000_000})]
    assert smf.read(mapped(steps(SCALE[:8]), events)).music.head.tempo.per_minute == 80.0


def test_a_metre_that_comes_early_cuts_its_measure():
    events = [
        (0, "time_signature", {"numerator": 4, "denominator": 4}),
        (6, "time_signature", {"numerator": 3, "denominator": 4}),
    ]
    reading = smf.read(mapped(steps(SCALE + SCALE[:2]), events))
    assert [(m.length, m.short) for m in silent(reading.music).measures] == [(4, False), (2, True), (3, False)]
    assert heard(reading.music) == sorted((Fraction(s), Fraction(n), p) for s, n, p in steps(SCALE + SCALE[:2]))


def test_type_0_has_several_channels_in_one_track():
    first = mido.MidiFile(file=io.BytesIO(file_of(steps(SCALE), channel=0))).tracks[0]
    second = mido.MidiFile(file=io.BytesIO(file_of(steps([40, 41]), channel=3))).tracks[0]
    file = mido.MidiFile(type=0)
    file.tracks.append(mido.merge_tracks([first, second]))
    buffer = io.BytesIO()
    file.save(file=buffer)
    assert len(heard(smf.read(buffer.getvalue()).music)) == len(SCALE)
    assert [pitch for _, _, pitch in heard(smf.read(buffer.getvalue(), channel=4).music)] == [40, 41]


def test_names_in_utf_8_and_in_latin_1():
    for name, encoding in (("Tännesberg ♭", "utf-8"), ("Tännesberg", "latin-1")):
        file = mido.MidiFile(file=io.BytesIO(file_of(steps(SCALE), name="x")), charset="latin-1")
        file.tracks[0][0] = mido.MetaMessage("track_name", name=name.encode(encoding).decode("latin-1"))
        buffer = io.BytesIO()
        file.save(file=buffer)
        assert smf.read(buffer.getvalue()).music.head.title == name


def test_chunks_of_other_kinds_are_passed_over():
    """Standard MIDI Files 1.0 asks readers to take no notice of them."""
    data = file_of(steps(SCALE))
    alien = b"XFIH" + (5).to_bytes(4) + b"12345"
    assert heard(smf.read(data[:14] + alien + data[14:] + alien).music) == heard(smf.read(data).music)


@pytest.mark.parametrize(("frames", "ticks"), [(24, 80), (25, 40), (29, 100), (30, 4)])
def test_every_time_code(frames, ticks):
    """With a tempo the quarters go by it, half a second else; 29 stands for 30,000 frames in 1,001 s."""
    a_second = (30_000 / 1001 if frames == 29 else frames) * ticks
    for tempo in (None, 400_000):
        quarter = a_second * (tempo or 500_000) / 1e6
        data = bytearray(mapped(steps([62, 64, 66, 67], Fraction(1)), [], division=960))
        if tempo:
            events = [(0, "set_tempo", {"tempo": tempo})]
            data = bytearray(mapped(steps([62, 64, 66, 67], Fraction(1)), events, division=960))
        track = mido.MidiFile(file=io.BytesIO(bytes(data))).tracks[0]
        at = done = 0
        for message in track:
            at += message.time
            ticks_now = round(at / 960 * quarter)
            message.time, done = ticks_now - done, ticks_now
        file = mido.MidiFile(ticks_per_beat=480)
        file.tracks.append(track)
        buffer = io.BytesIO()
        file.save(file=buffer)
        smpte = bytearray(buffer.getvalue())
        smpte[12:14] = bytes([256 - frames, ticks])
        assert [pitch for _, _, pitch in heard(smf.read(bytes(smpte), grid="8").music)] == [62, 64, 66, 67]
        assert {length for _, length, _ in heard(smf.read(bytes(smpte), grid="8").music)} == {1}


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.integers(1, 30), st.integers(0, 127), st.integers(0, 15)), min_size=1
    )
)
def test_notes_are_those_that_an_independent_library_has_written(notes):
    """Starts, ends, pitches and channels; notes of one pitch on one channel do not overlap."""
    taken, kept = set(), []
    for start, length, pitch, channel in notes:
        cells = {(cell, pitch, channel) for cell in range(start, start + length + 1)}
        if not cells & taken:
            taken |= cells
            kept.append((start, length, pitch, channel))
    timed = []
    for start, length, pitch, channel in kept:
        timed.append((start * 10, "note_on", pitch, channel))
        timed.append(((start + length) * 10, "note_off", pitch, channel))
    track, before = mido.MidiTrack(), 0
    for ticks, name, pitch, channel in sorted(timed):
        track.append(mido.Message(name, note=pitch, channel=channel, velocity=64, time=ticks - before))
        before = ticks
    file = mido.MidiFile(ticks_per_beat=96)
    file.tracks.append(track)
    buffer = io.BytesIO()
    file.save(file=buffer)
    found = contents(buffer.getvalue()).parts
    ours = {
        (round(note.start * 9.6), round(note.end * 9.6), note.pitch, channel)
        for (_, channel), part in found.items()
        for note in part
    }
    assert ours == {(start, start + length, pitch, channel) for start, length, pitch, channel in kept}
    assert sum(map(len, found.values())) == len(kept)


# Grids


@pytest.mark.parametrize(
    ("words", "metre", "parts"),
    [
        ("4", "4/4", (1,)),
        ("8", "4/4", (1, 2)),
        ("16", "4/4", (1, 2, 4)),
        ("8t", "4/4", (1, 3)),
        ("16+8t", "4/4", (1, 2, 3, 4)),
        (USUAL, "4/4", (1, 2, 3, 4, 6, 8)),
        ("8", "6/8", (1, 3)),
        ("16", "6/8", (1, 3, 6)),
        ("16+8t", "6/8", (1, 2, 3, 6)),
    ],
)
def test_what_a_stated_grid_allows(words, metre, parts):
    beats = MidiBeats([(Fraction(0), Metre.parse(metre))])
    assert Grid.parse(words).divisions(beats.at(0.0)) == parts


@pytest.mark.parametrize("words", ["", "7", "8d", "4t", "8+", "128"])
def test_no_grid(words):
    with pytest.raises(FormatError, match="not a grid"):
        Grid.parse(words)


PATTERNS = {
    "4/4": ["0", "0 1/2", "0 1/4 1/2 3/4", "0 1/3 2/3", "1/2", "0 3/4", "0 1/2 3/4", "0 1/4 1/2"],
    "6/8": ["0", "0 1/2 1", "0 1", "0 1/2 3/4 1", "1/2 1", "0 1/4 1/2 1"],
}


@pytest.mark.parametrize("metre", PATTERNS)
@pytest.mark.parametrize(("off", "least"), [(0.0, 1.0), (0.015, 0.995), (0.03, 0.975), (0.04, 0.89)])
def test_played_rhythms_are_found(metre, off, least):
    """Beats drawn from usual ones, played 0, 9, 18 and 24 ms off (deviation) at a hundred quarters a minute."""
    beats = MidiBeats([(Fraction(0), Metre.parse(metre))])
    right = count = 0
    for seed in range(8):
        draw, written = random.Random(seed), []
        for number in range(48):
            start = number * beats.at(0.0).length
            written += [start + Fraction(part) for part in draw.choice(PATTERNS[metre]).split()]
        played = [float(onset) + draw.gauss(0, off) for onset in written]
        fitted = fit(played, beats, Grid.parse(USUAL))
        right += sum(fitted.places[onset] == place for onset, place in zip(played, written, strict=True))
        count += len(written)
    assert right / count >= least


def test_notes_that_keep_to_no_beat_are_said_to():
    draw, at, notes = random.Random(5), 0.0, []
    for _ in range(150):
        at += draw.uniform(0.2, 1.0)
        notes.append((at, 0.15, draw.randrange(60, 80)))
    remarks = [remark.message for remark in smf.read(mapped(notes, [], division=960)).report.remarks]
    assert any("played freely" in text for text in remarks)
    assert any("do not follow the beat" in text for text in remarks)
    written = smf.read(mapped(steps(SCALE), [])).report.remarks
    assert not any("played freely" in remark.message for remark in written)


def test_a_pickup_can_be_told():
    for pickup, lengths in (("1", [1, 4, 3 + 1]), ("0", [4, 4]), ("3/2", [Fraction(3, 2), 4, 4])):
        measures = silent(smf.read(mapped(steps(SCALE), []), pickup=pickup).music).measures
        assert [measure.length for measure in measures][: len(lengths)] == lengths
        assert measures[0].short == (pickup != "0")
        assert measures[0].source[0].pitches == (SCALE[0],)
    with pytest.raises(FormatError, match="not a pickup"):
        smf.read(mapped(steps(SCALE), []), pickup="1/0")
    with pytest.raises(FormatError, match="a pickup of 5 quarters is longer than a measure of 4/4"):
        smf.read(mapped(steps(SCALE), []), pickup="5")


@pytest.mark.parametrize("at", [Fraction(23, 10), Fraction(7, 3)])
def test_a_metre_that_comes_where_no_measure_can_be_cut_waits_for_the_bar_line(at):
    """The notes keep the beat that they have until then."""
    events = [(0, "time_signature", {"numerator": 4, "denominator": 4})]
    events += [(place, "time_signature", {"numerator": 3, "denominator": 4}) for place in (at, 7)]
    notes = steps(SCALE[:7], Fraction(1))
    score = smf.read(mapped(notes, events)).music
    assert [measure.length for measure in silent(score).measures] == [4, 3]
    assert heard(score) == sorted((Fraction(s), Fraction(n), p) for s, n, p in notes)


def test_a_line_that_no_solo_fills_is_refused_with_the_measures_to_choose(monkeypatch):
    monkeypatch.setattr("tabterm.formats.smf.parts.MOST_OF_LINE", 7)
    assert len(smf.read(mapped(steps(SCALE[:7]), [])).music.measures) == 1
    wish = r"a line of 16 notes \(at most 7: choose some of its measures, such as --measures 2-2\)"
    with pytest.raises(FormatError, match=wish):
        smf.read(mapped(steps(SCALE, Fraction(1), Fraction(4)), []))


def test_some_measures_are_read():
    reading = smf.read(mapped(steps(SCALE, Fraction(1), Fraction(4)), []), measures="3-4")
    assert [pitch for *_, pitch in heard(reading.music)] == SCALE[4:12]
    assert [measure.length for measure in silent(reading.music).measures] == [4, 4]
    said = [remark.message for remark in reading.report.remarks]
    assert "measures 3 to 4 of 5 are read" in said
    assert not any("silence" in message for message in said)


@pytest.mark.parametrize(
    ("measures", "words"),
    [
        ("4-3", "not measures"),
        ("x", "not measures"),
        ("0", "not measures"),
        ("9", r"no measure 9 \(1 to 5\)"),
        ("1", "no notes"),
    ],
)
def test_measures_that_cannot_be_read_are_refused(measures, words):
    with pytest.raises(FormatError, match=words):
        smf.read(mapped(steps(SCALE, Fraction(1), Fraction(4)), []), measures=measures)


def test_onsets_that_are_moved_are_counted():
    """On average nothing is moved, but three notes of 32 are played late."""
    notes = steps(SCALE * 2)
    notes[5], notes[9], notes[20] = (
        (start + 0.04, length, pitch) for start, length, pitch in (notes[5], notes[9], notes[20])
    )
    said = [remark.message for remark in smf.read(mapped(notes, [])).report.remarks]
    assert "onsets were moved to fit a grid of 32+16t: 3 of 32 by more than 0.03 quarters, 0.04 at most" in said


def test_strikes_of_one_pitch_on_one_place_are_told():
    notes = [*steps(SCALE), (1, Fraction(1, 2), 59), (2, Fraction(1, 2), 62)]
    said = [remark.message for remark in smf.read(mapped(notes, [])).report.remarks]
    assert "2 notes are merged with another of the same pitch in the same place" in said


def test_a_flood_of_metres_is_refused():
    metre = {"denominator": 4}
    events = [(Fraction(at, 64), "time_signature", {"numerator": 3 + at % 2, **metre}) for at in range(9_001)]
    with pytest.raises(FormatError, match="is too large"):
        smf.read(mapped(steps(SCALE), events))


@pytest.mark.parametrize(
    ("metre", "change", "first", "lengths"),
    [((6, 8), 4, 10, [3, 3]), ((3, 4), 8, 13, [1, 3]), ((3, 4), 8, 8, [3, 3]), ((2, 4), 4, 6, [2, 2])],
)
def test_bar_lines_behind_silence_are_those_of_the_metre_there(metre, change, first, lengths):
    """Two measures of rest, say, then another metre: what is left out is counted from where that begins."""
    events = [
        (0, "time_signature", {"numerator": 4, "denominator": 4}),
        (change, "time_signature", {"numerator": metre[0], "denominator": metre[1]}),
    ]
    notes = [(first + start, length, pitch) for start, length, pitch in steps(SCALE[:8])]
    measures = silent(smf.read(mapped(notes, events)).music).measures
    assert [measure.length for measure in measures] == lengths
    assert measures[0].source[0].pitches == (SCALE[0],)


def test_notes_under_others_are_cut_and_said_to_be():
    notes = [(0, 4, 55), *steps(SCALE[4:10], Fraction(1, 2), Fraction(1, 2))]
    reading = smf.read(mapped(notes, []))
    assert any("1 notes that ring on under others are cut" in remark.message for remark in reading.report.remarks)
