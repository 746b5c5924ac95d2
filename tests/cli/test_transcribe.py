"""`tabterm transcribe`: from a recording made by another program to a tab."""

from __future__ import annotations

import json
import shutil
from difflib import SequenceMatcher

import numpy as np
import pytest
import soundfile

import tabterm
from tabterm.cli.main import main
from tests.recording import oracle
from tests.recording.ear import trial

pytestmark = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
PITCHES = [int(sign.lstrip("^")) for sign in trial.FIXED]


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """The fixed phrase by a physical model of a mandolin (STK), half a second into a stereo file at 48 kHz."""
    path = tmp_path_factory.mktemp("recording") / "Ferry Steps.ogg"
    notes, _ = trial.fixed()
    sound = oracle.rendered("stk", notes, trial.FIXED_S)
    sound = np.interp(np.arange(0, trial.FIXED_S, 1 / 48_000), np.arange(len(sound)) / oracle.RATE_HZ, sound)
    soundfile.write(path, np.stack([sound, sound * 0.7], axis=1) * 0.5 / np.abs(sound).max(), 48_000)
    return path


def test_a_recorded_solo_becomes_a_tab_that_can_be_played(recording, tmp_path, capsys):
    out = tmp_path / "solo.tabterm"
    assert main(["transcribe", str(recording), str(out), "--tempo", "120", "--downbeat", "0.5"]) == 0
    piece = tabterm.open(out, player=tabterm.Player())
    head, events = piece.score.head, [event for bar in piece.score.measures for event in bar.events]
    sounded = [
        head.instrument.pitch(note.course, note.fret) for event in events for note in event.notes if not note.tied
    ]
    assert SequenceMatcher(None, sounded, PITCHES).ratio() > 0.98  # an octave too much may be among them
    assert {str(event.duration) for event in events[:-1]} == {"8"}
    assert (head.title, str(head.tempo)) == ("Ferry Steps", "1/4=120")
    assert all(note.proposed_finger is not None or note.fret == 0 for event in events[:8] for note in event.notes)
    said = capsys.readouterr()
    assert f"{out}: tabterm written" in said.out
    assert "all of them are proposals: check them by ear" in said.err
    assert "own use" in said.err


def test_what_was_heard_comes_as_json_at_the_seconds_of_the_recording(recording, capsys):
    assert main(["transcribe", str(recording), "--json", "--from", "2.4", "--to", "5"]) == 0
    notes = json.loads(capsys.readouterr().out)
    assert [note["pitch"] for note in notes[:8]] == PITCHES[8:16]
    assert notes[0]["onset_s"] == pytest.approx(2.5, abs=0.02)
    assert all(2.4 <= note["onset_s"] < note["end_s"] and 0.5 < note["sure"] <= 1 for note in notes)
    assert all(note["pitch"] not in note["others"] and len(note["others"]) == 3 for note in notes)


def test_the_chord_of_each_beat_comes_as_json(recording, capsys):
    words = ["--json", "--chords", "--from", "0.5", "--to", "2", "--tempo", "120", "--downbeat", "0.5"]
    assert main(["transcribe", str(recording), *words]) == 0
    chords = json.loads(capsys.readouterr().out)
    assert all(chord["onset_s"] < chord["end_s"] and 0 <= chord["sure"] <= 1 for chord in chords)
    assert next(chord["symbol"] for chord in chords if 0.4 < chord["onset_s"] < 1.6)[0] == "G"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--from", "20"], "no such part: 20 to 9.5 s"),
        (["--from", "20", "--to", "30"], "no such part: 20 to 30 s (the recording is 9.5 s long; "),
        (["--from", "3", "--to", "3.5"], "choose at least one second"),
        (["--metre", "4/0"], "not a time signature"),
        (["--grid", "9"], "not a grid"),
        (["--instrument", "spoons"], "spoons"),
        (["--from", "soon"], "not a number of seconds: 'soon' (write 12.5)"),
        (["--tempo", "0"], "not a tempo: '0'"),
        (["--tempo", "1/4=0"], "not a tempo: '1/4=0'"),
        (["--tempo", "1/16=20"], "1/16=20 is 5 beats a minute in 4/4"),
        (["--tempo", "1/4=ten"], "not a tempo: '1/4=ten'"),
        (["--taps", "12"], "only one tap: '12'"),
        (["--tuning", "flat"], "not a tuning: 'flat' (write cents, -100 to 100)"),
        (["--taps", "12,soon"], "not a number of seconds: 'soon'"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(recording, tmp_path, capsys, words, said):
    out = tmp_path / "solo.tabterm"
    try:
        status = main(["transcribe", str(recording), str(out), *words])
    except SystemExit as ended:
        status = ended.code
    assert status == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


def test_without_a_file_to_write_or_json_nothing_is_done(recording, capsys):
    assert main(["transcribe", str(recording)]) == 2
    assert "no file to write (name one, such as solo.tabterm, or ask for --json)" in capsys.readouterr().err


def test_silence_has_no_solo(tmp_path, capsys):
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(44_100, np.float32), 22_050)
    assert main(["transcribe", str(path), str(tmp_path / "a.txt")]) == 2
    assert "no notes were heard" in capsys.readouterr().err


def test_a_file_that_is_there_is_kept(recording, tmp_path, capsys):
    out = tmp_path / "solo.txt"
    out.write_text("mine")
    assert main(["transcribe", str(recording), str(out)]) == 2
    assert out.read_text() == "mine"
    assert "already exists" in capsys.readouterr().err


def test_unsure_notes_are_named_with_what_else_they_could_be(recording, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("tabterm.piece.transcription.SURE", 1.1)
    words = ["--taps", "0.52,0.99,1.49,2.01,2.5", "--report"]
    assert main(["transcribe", str(recording), str(tmp_path / "a.tabterm"), *words]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if "% sure): or" in line]
    assert len(PITCHES) <= len(lines) <= len(PITCHES) + 1
    assert "measure 1, beat 1: G4 (" in lines[0]
    assert "measure 1, beat 1&: B4 (" in lines[1]


@pytest.mark.parametrize(
    ("tempo", "metre", "bpm"),
    [
        ("120", "6/8", 120),
        ("1/4=96", "4/4", 96),
        ("1/4=96", "6/8", 64),
        ("3/8=64", "6/8", 64),
        ("1/2=60", "4/4", 120),
    ],
)
def test_a_tempo_counts_beats_of_the_metre_or_names_what_it_counts(
    recording, tmp_path, monkeypatch, tempo, metre, bpm
):
    class HeardError(Exception):
        """Ends the command where it would listen."""

    found = {}

    def heard(_path, **asked):
        found.update(asked)
        raise HeardError

    monkeypatch.setattr("tabterm.piece.transcription.heard", heard)
    with pytest.raises(HeardError):
        main(["transcribe", str(recording), str(tmp_path / "a.tabterm"), "--tempo", tempo, "--metre", metre])
    assert found["bpm"] == pytest.approx(bpm)
