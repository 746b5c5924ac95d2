"""`tabterm play` with a ladder and what leads in, heard at a port."""

from __future__ import annotations

import subprocess
import sys
from itertools import accumulate, pairwise
from statistics import median

import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece import practice
from tabterm.piece.practice_log import PracticeLog
from tabterm.score.tempo import Tempo
from tabterm.workspace import rehearsal
from tests.build import score


@pytest.fixture
def tune(tmp_path):
    """Two measures of quarters, quick to play: 0.3 s each at the written tempo."""
    path = tmp_path / "tune.tabterm"
    quarters = ",".join(f"4 1.{fret}" for fret in range(4))
    formats.write(path, score(quarters, quarters.replace("1.", "2."), tempo=Tempo(200.0), title="Kiln Lane"))
    return path


def play(tune, recorder, *words, **options):
    command = [sys.executable, "-m", "tabterm", "play", str(tune), *words, "--output", f"port:{recorder.name}"]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, **options)


def onsets(recorder):
    return [time_s for time_s, message in recorder.received if message[0] & 0xF0 == 0x90 and message[2]]


def test_the_rungs_of_a_ladder_follow_each_other_without_a_gap(recorder, tune):
    done = play(tune, recorder, "--from", "1", "--to", "1", "--ladder", "100:200:50x2")
    assert (done.returncode, done.stderr.count("\n")) == (0, 1)  # the caution, this once
    assert "rung 3 of 3: 200%, 400 a minute" in done.stdout
    # The last note of a rung lasts as long as the others, and the first one of the next comes right after it. On
    # a busy machine JACK now and then loses a note, or brings it late; a gap between rungs would move all others.
    due_s = list(accumulate([0.3] * 8 + [0.2] * 8 + [0.15] * 7, initial=0.0))
    came = onsets(recorder)
    assert len(came) > 0.8 * len(due_s)
    late_s = [min(abs(time_s - came[0] - due) for due in due_s) for time_s in came]
    assert median(late_s) < 0.015
    assert came[-1] - came[0] == pytest.approx(due_s[-1], abs=0.1)


def test_a_caution_that_cannot_be_remembered_is_said_once_a_time(tune, monkeypatch, capsys):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    monkeypatch.setattr(practice, "caution_file", lambda: tune / "no folder" / "caution-shown")
    for _ in range(2):
        assert main(["play", str(tune), "--from", "1", "--to", "1", "--loop", "2", "--tempo", "200%"]) == 0
        assert capsys.readouterr().err.count(practice.BEFORE_LOOPS) == 1


def test_without_a_standard_input_nobody_is_asked_to_climb(tune, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    command = ["sh", "-c", f"exec {sys.executable} -m tabterm play {tune} --to 1 --ladder 60:100:5 <&-"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as playing:
        assert "(Ctrl-C stops)" in playing.stdout.readline()
        assert "rung 1 of 9" in playing.stdout.readline()
        playing.send_signal(2)
        assert "Traceback" not in playing.stderr.read()
    assert playing.returncode == 0


def test_up_when_told(recorder, tune):
    words = ("--from", "1", "--to", "1", "--ladder", "50:200:150")
    with subprocess.Popen(
        [sys.executable, "-m", "tabterm", "play", str(tune), *words, "--output", f"port:{recorder.name}"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as playing:
        recorder.wait_for(2, timeout_s=20)
        playing.stdin.write("\n")
        playing.stdin.flush()
        recorder.wait_for(12, timeout_s=20)
        playing.send_signal(2)
        out = playing.stdout.read()
    assert "Enter climbs" in out
    assert "rung 2 of 2" in out
    between_s = [later - sooner for sooner, later in pairwise(onsets(recorder))]
    assert between_s[0] == pytest.approx(0.6, abs=0.1)
    assert median(between_s[-6:]) == pytest.approx(0.15, abs=0.02)


def test_a_pre_roll_leads_in_and_a_loop_is_logged(recorder, tune, monkeypatch):
    monkeypatch.setattr(rehearsal, "SHORTEST_S", 1.0)
    words = ("--from", "2", "--to", "2", "--pre-roll", "2b", "--loop", "3", "--count-in", "1")
    assert main(["play", str(tune), *words, "--output", f"port:{recorder.name}"]) == 0
    notes = [note[1] for note in recorder.notes() if note[0] != 9]
    assert notes[:2] == [78, 79]
    assert set(notes[2:]) == {69, 70, 71, 72}
    assert 9 <= len(notes[2:]) <= 12  # a busy machine may lose some
    (entry,) = PracticeLog().entries()
    assert (entry.title, entry.passage, entry.turns, entry.per_minute) == ("Kiln Lane", "2", 3, 200.0)
    assert entry.file == str(tune)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--ladder", "60"), "not a ladder: '60' (write 60:100:5 to climb"),
        (("--ladder", "20:100:10bpm"), "cannot play at 10 percent"),
        (("--pre-roll", "1"), "not a pre-roll: '1' (such as 1m"),
        (("--click-rests", "0:2"), "not measures for the click to rest in"),
    ],
)
def test_what_makes_no_sense_is_one_line(tune, words, said):
    command = [sys.executable, "-m", "tabterm", "play", str(tune), *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1
