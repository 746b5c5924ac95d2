"""Reading MIDI files: what others write, what hands play, what we write ourselves, and rubbish."""

from __future__ import annotations

import io
import random
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm import formats
from tabterm.cli.main import main
from tabterm.errors import FormatError
from tabterm.formats import native, smf
from tabterm.formats.smf.bars import MidiBeats
from tabterm.formats.smf.grid import USUAL, Grid, fit
from tabterm.score.line import silent
from tabterm.score.metre import Metre
from tests.formats import smf_fuzz
from tests.midi import SCALE, file_of, heard, steps

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_our_own_files_come_back_with_their_courses(path):
    """Repeats are played out in a MIDI file, so the comparison is with what is played, first time through."""
    written = native.read(path.read_bytes())
    plain = written.with_(
        measures=tuple(m.with_(repeat_start=False, repeat_times=0, endings=()) for m in written.measures),
        head=written.head.with_(swing=None),
    )
    reading = smf.read(smf.write(plain).data)
    ours, theirs = heard(plain), heard(reading.music)
    courses = [(n.course, n.fret) for m in plain.measures for e in m.events for n in e.notes if not n.tied]
    back = {(n.course, n.fret) for m in reading.music.measures for e in m.events for n in e.notes if not n.tied}
    assert set(courses) >= {place for place in back if place in set(courses)}
    struck = {(at, pitch) for at, _, pitch in ours}
    assert len({(at, pitch) for at, _, pitch in theirs} & struck) >= 0.9 * len(struck)
    assert reading.music.head.metre.length == plain.head.metre.length
    assert reading.music.measures[0].length == plain.measures[0].length


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([1, 2, 4]), st.integers(55, 96)), min_size=1, max_size=24))
def test_a_plain_line_is_read_as_it_is(line):
    """Lengths in eighths, one after the other; written by an independent library."""
    notes, at = [], Fraction(0)
    for length, pitch in line:
        notes.append((at, Fraction(length, 2), pitch))
        at += Fraction(length, 2)
    assert heard(smf.read(file_of(notes)).music) == sorted(notes)


def test_metre_key_tempo_and_title():
    reading = smf.read(file_of(steps(SCALE), metre=(6, 8), tempo=400_000, key="Em", name="Kiln Lane"))
    head = reading.music.head
    assert (str(head.metre), str(head.key), head.tempo.per_minute, head.title) == ("6/8", "Em", 150.0, "Kiln Lane")


def test_triplets_beside_sixteenths():
    notes = [
        *steps([62, 64, 66], Fraction(1, 3)),
        *steps([67, 69, 71, 72], Fraction(1, 4), Fraction(1)),
        *steps([74, 76], Fraction(1, 2), Fraction(2)),
        (Fraction(3), Fraction(1), 62),
    ]
    assert heard(smf.read(file_of(notes)).music) == sorted(notes)


def test_double_stops_and_range():
    built = smf.read(file_of([(0, 1, 67), (0, 1, 71), (1, 1, 40), (2, 2, 110)])).music
    first = built.measures[0].events[0]
    assert [note.pitch for note in first.notes] == [71, 67]
    assert [event.pitches for event in built.measures[0].source] == [(71, 67), (40,), (110,)]


def test_what_is_no_note_of_the_line_is_left_out():
    """Bends, controllers, the pedal, lyrics, and percussion, however much of it there is."""
    plain = file_of(steps(SCALE))
    file = mido.MidiFile(file=io.BytesIO(plain))
    beside = [
        mido.Message("pitchwheel", pitch=4000),
        mido.Message("control_change", control=7, value=30),
        mido.Message("control_change", control=64, value=127),
        mido.MetaMessage("lyrics", text="la"),
    ]
    beats = [mido.Message(kind, note=38, channel=9, time=60) for kind in ("note_on", "note_off") * 40]
    file.tracks += [mido.MidiTrack(beats)]
    file.tracks[0][3:3] = beside
    buffer = io.BytesIO()
    file.save(file=buffer)
    assert smf.read(buffer.getvalue()).music == smf.read(plain).music
    assert smf.read(buffer.getvalue(), channel=10).music != smf.read(plain).music


@pytest.mark.parametrize("seed", range(5))
def test_played_by_a_hand(seed):
    """Onsets up to 20 ms off and lengths of 70 to 95 %: the same notes and rhythm, and it is said to be so."""
    draw = random.Random(seed)
    clean = steps(SCALE)
    played = [
        (max(start + draw.uniform(-0.04, 0.04), 0), length * draw.uniform(0.7, 0.95), pitch)
        for start, length, pitch in clean
    ]
    reading = smf.read(file_of(played, division=960))
    assert heard(reading.music)[:-1] == sorted((Fraction(s), Fraction(n), p) for s, n, p in clean)[:-1]
    assert any("played freely" in remark.message for remark in reading.report.remarks)


def test_a_pickup_is_found():
    notes = [(Fraction(3), Fraction(1), 62), *steps([67, 69, 71, 72], Fraction(1), Fraction(4))]
    built = silent(smf.read(file_of(notes)).music)
    assert built.measures[0].short
    assert built.measures[0].length == 1
    assert len(built.measures) == 2


def test_smpte_time():
    """Division E7 28: 25 frames of 40 ticks, a millisecond a tick (Standard MIDI Files 1.0, "Header chunks")."""
    track = bytes([0, 0x90, 62, 80, 0x83, 0x74, 0x80, 62, 0, 0, 0x90, 64, 80, 0x83, 0x74, 0x80, 64, 0])
    track += bytes([0, 0xFF, 0x2F, 0])
    data = b"MThd" + (6).to_bytes(4) + (0).to_bytes(2) + (1).to_bytes(2) + bytes([0xE7, 0x28])
    data += b"MTrk" + len(track).to_bytes(4) + track
    assert heard(smf.read(data).music) == [(0, 1, 62), (1, 1, 64)]


def test_running_status():
    """A status byte left out is the one before (Standard MIDI Files 1.0); note-on with velocity 0 ends a note."""
    track = bytes([0, 0x90, 62, 80, 0x83, 0x60, 62, 0, 0, 64, 80, 0x83, 0x60, 64, 0, 0, 0xFF, 0x2F, 0])
    data = b"MThd" + (6).to_bytes(4) + (0).to_bytes(2) + (1).to_bytes(2) + (480).to_bytes(2)
    data += b"MTrk" + len(track).to_bytes(4) + track
    assert heard(smf.read(data).music) == [(0, 1, 62), (1, 1, 64)]


def test_the_line_with_most_notes_is_read_unless_told():
    file = mido.MidiFile()
    for channel, pitches in ((0, [62, 64]), (1, SCALE), (9, [36] * 40)):
        part = mido.MidiFile(file=io.BytesIO(file_of(steps(pitches), channel=channel)))
        file.tracks.append(part.tracks[0])
    buffer = io.BytesIO()
    file.save(file=buffer)
    reading = smf.read(buffer.getvalue())
    assert len(heard(reading.music)) == len(SCALE)
    assert "track 2 channel 2 (16 notes) is read" in reading.report.remarks[0].message
    assert len(heard(smf.read(buffer.getvalue(), track=1).music)) == 2
    with pytest.raises(FormatError, match="no notes to read"):
        smf.read(buffer.getvalue(), track=7)


@pytest.mark.parametrize(
    ("pitches", "key"),
    [
        ([60, 64, 67, 72, 65, 69, 67, 60], "C"),
        ([57, 60, 64, 69, 68, 64, 60, 57], "Am"),
        ([62, 66, 69, 74, 67, 71, 69, 62], "D"),
    ],
)
def test_keys_are_estimated(pitches, key):
    """Probe-tone profiles of Krumhansl and Kessler 1982, on arpeggios of tonic and neighbours."""
    reading = smf.read(file_of(steps(pitches)))
    assert str(reading.music.head.key) == key
    assert any("the key is estimated as" in remark.message for remark in reading.report.remarks)


def test_the_commands_take_a_midi_file(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    path = tmp_path / "line.mid"
    path.write_bytes(file_of(steps(SCALE), key="G"))
    for words in (["finger"], ["strokes"], ["check"], ["hard"], ["show"]):
        assert main([words[0], str(path)]) == 0
    assert main(["convert", str(path), str(tmp_path / "line.tabterm")]) == 0
    assert len(heard(formats.read(tmp_path / "line.tabterm").music)) == len(SCALE)


# Rubbish


@pytest.mark.parametrize("data", [b"", b"MThd", b"RIFF" + bytes(40), b"MThd" + bytes(10)])
def test_what_is_no_midi_file(data):
    with pytest.raises(FormatError):
        smf.read(data)


def test_type_2_is_refused():
    data = bytearray(file_of(steps(SCALE)))
    data[9] = 2
    with pytest.raises(FormatError, match="type 2"):
        smf.read(bytes(data))


@settings(max_examples=300, deadline=2000)
@given(st.data())
def test_damaged_files_are_one_clear_error(data):
    """Bytes changed, left out and cut off: a score or a FormatError, nothing else."""
    good = bytearray(file_of(steps(SCALE), key="G", name="Kiln Lane"))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, max(len(good) - 1, 0)))
        how = data.draw(st.integers(0, 2))
        if how == 0 and good:
            good[at] = data.draw(st.integers(0, 255))
        elif how == 1:
            del good[at : at + data.draw(st.integers(1, 6))]
        else:
            good = good[: max(at, 1)]
    with suppress(FormatError):
        smf.read(bytes(good))


def test_onsets_go_to_the_coarsest_grid():
    beats = MidiBeats([(Fraction(0), Metre.parse("4/4"))])
    fitted = fit([0.0, 0.51, 1.0, 1.34, 1.66, 2.0, 2.26, 3.124], beats, Grid.parse(USUAL))
    assert list(fitted.places.values()) == [
        Fraction(each) for each in ("0", "1/2", "1", "4/3", "5/3", "2", "9/4", "25/8")
    ]
    assert fitted.moved < 0.01


def test_byte_after_byte_changed():
    """Part of what `python -m tests.formats.smf_fuzz 20000` does: only scores and clear errors, none slow."""
    found = list(smf_fuzz.outcomes(120, seed=7))
    assert 12 <= sum(read for read, _ in found) <= 108
    assert max(taken for _, taken in found) < smf_fuzz.LONGEST_S


def test_a_file_beyond_all_measure_is_refused_soon():
    """A note after 2^27 ticks; a million events of nothing."""
    late = b"\x00\x90\x3e\x40\xff\xff\xff\x7f\x80\x3e\x00\x00\xff\x2f\x00"
    many = b"\x00\xb0\x01\x01" * 1_100_000 + b"\x00\xff\x2f\x00"
    for track in (late, many):
        data = b"MThd" + (6).to_bytes(4) + (0).to_bytes(2) + (1).to_bytes(2) + (480).to_bytes(2)
        data += b"MTrk" + len(track).to_bytes(4) + track
        with pytest.raises(FormatError, match="is too large"):
            smf.read(data)
