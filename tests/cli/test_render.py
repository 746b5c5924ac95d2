"""`tabterm render` and the audio of `tabterm handout`, run as a player runs them, their files read by others."""

from __future__ import annotations

import errno
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from typing import NamedTuple

import mido
import numpy as np
import pytest
import soundfile

from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece import recorded
from tabterm.piece.practice import BEFORE_LISTENING
from tabterm.recording.timemap import Anchor, TimeMap
from tabterm.score.operations import set_credits, set_title
from tabterm.score.tempo import Tempo
from tests.build import measure, score
from tests.sound.analysis import mono, onsets_s
from tests.terminal import Editor

RATE = 44_100
TAIL_S = 0.3
ANNOUNCED = r"(\S+) (?:s|min|h) of sound, about (\S+) MB; this takes about \d+ (?:s|min)\n"


AUDIO = ("--only", "audio")
"""The audio files of a handout alone."""


class Done(NamedTuple):
    """How a command ended and what it said."""

    returncode: int
    stdout: str
    stderr: str


@pytest.fixture
def tabterm(capsys):
    """Runs a command in this process, which is quicker."""

    def run(*words):
        status = main([str(word) for word in words])
        return Done(status, *capsys.readouterr())

    return run


def started(*words, **options):
    """A command in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "tabterm", *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


@pytest.fixture
def tune(tmp_path):
    """A pickup, which players number 0, and two measures of 1 s, with a chord symbol on the first."""
    first = measure("4 1.2,4 1.3,2 2.3", chords=[{"offset": "0", "symbol": "G"}])
    built = score(measure("4 1.0", short=True), first, "2 2.0,2 2.2", tempo=Tempo(240.0))
    path = tmp_path / "tune.tabterm"
    formats.write(path, set_credits(set_title(built, "Kiln Lane"), ("Nobody", "at all")))
    return path


@pytest.fixture
def long(tmp_path):
    """Something that takes a while to render."""
    path = tmp_path / "long.tabterm"
    formats.write(path, score(*["8 1.0,8 2.0,8 3.0,8 4.0,8 1.2,8 2.2,8 3.2,8 4.2"] * 10, tempo=Tempo(60.0)))
    return path


def read(path):
    samples, rate = soundfile.read(path, dtype="float32")
    assert (rate, samples.shape[1]) == (RATE, 2)
    return samples


@pytest.mark.parametrize(
    ("ending", "kind"), [("wav", "WAV"), ("flac", "FLAC"), ("ogg", "Ogg Vorbis"), ("mp3", "MP3")]
)
def test_the_ending_names_the_kind(tabterm, tune, tmp_path, ending, kind):
    out = tmp_path / f"out.{ending}"
    done = tabterm("render", tune, out)
    assert (done.returncode, done.stderr, done.stdout) == (0, "", f"{out}: {kind} written\n{BEFORE_LISTENING}\n")
    samples = read(out)
    assert len(samples) == pytest.approx((2.25 + TAIL_S) * RATE, abs=2)
    assert 0.05 < np.abs(samples).max() <= 1.0
    with soundfile.SoundFile(out) as file:
        assert (file.title, file.artist) == ("Kiln Lane", "Nobody")
        assert file.comment == "240 quarters a minute, 100% of the written tempo"


def test_measures_tempo_turns_and_count_in_make_the_length(tabterm, tune, tmp_path):
    out = tmp_path / "out.wav"
    words = ("--from", "1", "--to", "1", "--tempo", "50%", "--loop", "3", "--count-in", "1")
    assert tabterm("render", tune, out, *words).returncode == 0
    assert len(read(out)) == pytest.approx((2 + 3 * 2 + TAIL_S) * RATE, abs=2)
    with soundfile.SoundFile(out) as file:
        assert file.title == "Kiln Lane, m1, 50%"


def test_a_file_to_be_looped_is_as_long_as_its_turns(tabterm, tune, tmp_path):
    words = ("--from", "1", "--to", "2", "--loop", "3", "--seamless")
    assert tabterm("render", tune, tmp_path / "out.wav", *words).returncode == 0
    assert len(read(tmp_path / "out.wav")) == 3 * 2 * RATE
    done = tabterm("handout", tune, tmp_path / "p", *AUDIO, "--tempos", "50%,80%", "--format", "flac", *words)
    assert done.returncode == 0, done.stderr
    lengths = [len(read(path)) for path in sorted((tmp_path / "p").iterdir())]
    assert lengths == [3 * 4 * RATE] * 2 + [round(3 * 2.5 * RATE)] * 2


@pytest.mark.parametrize("what", ["render", "handout"])
def test_long_work_is_announced(tabterm, tune, tmp_path, monkeypatch, what):
    """Long is made short here; what is announced comes near what is written then."""
    monkeypatch.setattr("tabterm.piece.audio.LONG_S", 20.0)
    out = tmp_path / ("out.mp3" if what == "render" else "p")
    done = tabterm(
        what,
        tune,
        out,
        "--from",
        "1",
        "--loop",
        "20",
        "--force",
        *([*AUDIO, "--tempos", "100%"] if what == "handout" else []),
    )
    said = re.fullmatch(ANNOUNCED, done.stderr)
    assert said
    files = [out] if what == "render" else sorted(out.glob("*100*"))
    assert float(said[1]) == pytest.approx(sum(len(read(path)) for path in files) / RATE, abs=1)
    assert float(said[2]) == pytest.approx(sum(path.stat().st_size for path in files) / 1e6, rel=0.4)


def test_swing_moves_the_second_of_a_pair(tabterm, tmp_path):
    path = tmp_path / "pairs.tabterm"
    formats.write(path, score("8 1.2,8 1.0,2.", tempo=Tempo(60.0)))
    for swing, second_s in (("off", 0.5), ("3:1", 0.75)):
        out = tmp_path / "swung.wav"
        assert tabterm("render", path, out, "--swing", swing, "--force", "--count-in", "1").returncode == 0
        solo = mono(read(out))[round(3.5 * RATE) :]
        heard = onsets_s(solo * (0.25 / np.abs(solo).max()))  # the level that the analyser is made for
        assert heard == pytest.approx([0.5, 0.5 + second_s], abs=0.005)


def test_stems_are_of_one_length_and_add_up(tabterm, tune, tmp_path):
    out, whole = tmp_path / "out.wav", tmp_path / "whole.wav"
    words = ("--chords", "--click", "beats", "--count-in", "1")
    done = tabterm("render", tune, out, "--stems", *words)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(BEFORE_LISTENING) == 1
    assert tabterm("render", tune, whole, *words).returncode == 0
    stems = {path.stem: read(path) for path in tmp_path.glob("out-*.wav")}
    assert set(stems) == {"out-solo", "out-chords", "out-bass", "out-click"}
    together = read(whole)
    assert {len(stem) for stem in stems.values()} == {len(together)}
    assert np.abs(sum(stems.values()) - together).max() < 3e-3
    assert all(np.abs(stem).max() > 0.01 for stem in stems.values())


def test_without_the_solo_the_backing_is_left(tabterm, tune, tmp_path):
    assert tabterm("render", tune, tmp_path / "b.wav", "--mute-tab", "--chords").returncode == 0
    done = tabterm("render", tune, tmp_path / "out.wav", "--stems", "--chords", "--mute-tab")
    assert done.returncode == 0, done.stderr
    names = {path.name for path in tmp_path.glob("out*")}
    assert names == {"out-chords.wav", "out-bass.wav"}


def test_a_midi_file_is_written_by_the_same_command(tabterm, tune, tmp_path):
    out = tmp_path / "out.mid"
    done = tabterm("render", tune, out, "--from", "1", "--to", "1", "--tempo", "50%", "--chords", "--mute-tab")
    assert (done.returncode, done.stdout) == (0, f"{out}: Standard MIDI File written\n{BEFORE_LISTENING}\n")
    notes = [message.channel for message in mido.MidiFile(out) if message.type == "note_on"]
    assert notes
    assert set(notes) <= {10, 11}


@pytest.mark.parametrize(
    ("out", "words", "said"),
    [
        ("out.xyz", (), "unknown file extension '.xyz' (one of: .wav, .flac, .ogg, .mp3, .mid, .midi)"),
        ("out.wav", ("--from", "9"), "no measure 9 (0 to 2)"),
        ("out.wav", ("--tempo", "10%"), "cannot play at 10 percent (20 to 200)"),
        ("out.wav", ("--loop", "0"), "cannot play 0 times"),
        ("out.wav", ("--swing", "wild"), "not a swing: 'wild'"),
        ("out.wav", ("--mute-tab", "--to", "0"), "nothing left to hear"),
        ("out.wav", ("--mute-tab", "--to", "0", "--count-in", "1"), "nothing left to hear"),
        ("out.mid", ("--loop", "2"), "--loop is for audio, not MIDI"),
        ("out.mid", ("--seamless",), "--seamless is for audio, not MIDI"),
        ("out.wav", ("--seamless", "--count-in", "1"), "a file to loop has no count-in"),
        ("out.mp3", ("--loop", "100000"), "62.5 h of sound is too long for one file (MP3 holds up to 24.0 h"),
        ("out.wav", ("--loop", "20000"), "12.5 h of sound is too long for one file (WAV holds up to 6.8 h"),
        ("out.mid", ("--stems",), "a MIDI file has a track for each part already"),
        ("there.wav", (), "the file already exists (--force overwrites it)"),
        ("no/out.wav", (), "the folder does not exist (make it, or write elsewhere"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(tabterm, tune, tmp_path, out, words, said):
    (tmp_path / "there.wav").write_bytes(b"mine")
    done = tabterm("render", tune, tmp_path / out, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1
    assert (tmp_path / "there.wav").read_bytes() == b"mine"
    assert {path.name for path in tmp_path.iterdir()} == {"tune.tabterm", "there.wav"}


@pytest.mark.parametrize("ending", ["wav", "mp3"])
def test_a_full_disk_leaves_what_was_there(tune, tmp_path, ending):
    """A limit of the size of files stands for the disk."""
    out = tmp_path / f"out.{ending}"
    out.write_bytes(b"mine")

    def narrow():
        resource.setrlimit(resource.RLIMIT_FSIZE, (8000, 8000))

    working = started("render", tune, out, "--force", preexec_fn=narrow)
    _, errors = working.communicate(timeout=60)
    assert working.returncode == 2
    assert "cannot be written: the file would be larger than allowed" in errors
    assert errors.count("\n") == 1
    assert out.read_bytes() == b"mine"
    assert {path.name for path in tmp_path.iterdir()} == {"tune.tabterm", out.name}


@pytest.mark.parametrize(
    ("what", "how", "status"),
    [
        ("render", signal.SIGINT, 130),
        ("render", signal.SIGTERM, 143),
        ("render", signal.SIGHUP, 129),
        ("handout", signal.SIGTERM, 143),
    ],
)
def test_an_interrupted_work_leaves_nothing(long, tmp_path, what, how, status):
    folder = tmp_path / "made"
    folder.mkdir()
    words = (
        (folder / "out.mp3", "--loop", "120") if what == "render" else (folder / "pack", *AUDIO, "--loop", "120")
    )
    working = started(what, long, *words)
    deadline = time.monotonic() + 60
    while not any(path.is_file() and path.stat().st_size > 20_000 for path in folder.rglob("*")):
        assert time.monotonic() < deadline
        assert working.poll() is None
        time.sleep(0.01)
    working.send_signal(how)
    out, errors = working.communicate(timeout=60)
    assert (working.returncode, out) == (status, "")
    assert re.fullmatch(ANNOUNCED, errors)
    assert list(folder.rglob("*")) == []


@pytest.mark.parametrize("what", ["render", "handout"])
def test_what_a_killed_work_left_is_cleared_at_the_next(tabterm, tune, long, tmp_path, what):
    folder = tmp_path / "made"
    folder.mkdir()
    out = folder / ("out.wav" if what == "render" else "pack")
    working = started(what, long, out, *(AUDIO if what == "handout" else ()), "--loop", "120")
    deadline = time.monotonic() + 60
    while not any(path.is_file() and path.stat().st_size > 20_000 for path in folder.rglob("*")):
        assert time.monotonic() < deadline
        assert working.poll() is None
        time.sleep(0.01)
    working.kill()
    working.communicate(timeout=60)
    assert [path.suffix for path in folder.iterdir()] == [".tmp"]
    assert tabterm(what, tune, out, *([*AUDIO, "--tempos", "200%"] if what == "handout" else [])).returncode == 0
    assert list(folder.iterdir()) == [out]


def test_a_pack_on_a_full_disk_names_the_file_that_was_to_be(tabterm, tune, tmp_path, monkeypatch):
    def refuse(_descriptor, _data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("os.write", refuse)
    done = tabterm("handout", tune, tmp_path / "pack", *AUDIO, "--tempos", "200%", "--format", "wav")
    monkeypatch.undo()
    assert done.returncode == 2
    assert done.stderr.startswith(
        f"tabterm: {tmp_path / 'pack' / '1-kiln-lane-200-solo.wav'}: cannot be written: the disk is full"
    )


def test_a_terminal_shows_how_far_it_is(long, tmp_path):
    terminal = Editor("render", str(long), str(tmp_path / "out.mp3"), "--loop", "18")
    try:
        terminal.wait_for("rendering", timeout_s=20)
        terminal.wait_for("%", timeout_s=20)
    finally:
        terminal.close()


def test_a_pack_holds_each_tempo_with_and_without_the_solo(tabterm, tune, tmp_path):
    folder = tmp_path / "practice"
    words = ("--tempos", "100%, 50%", "--from", "1", "--to", "2", "--format", "ogg")
    done = tabterm("handout", tune, folder, *AUDIO, *words)
    assert (done.returncode, done.stderr) == (0, "")
    names = [f"{n}-kiln-lane-m1-2-{t}-{w}.ogg" for n, t, w in (
        (1, "050", "solo"), (2, "050", "backing"), (3, "100", "solo"), (4, "100", "backing"))]  # fmt: skip
    assert sorted(path.name for path in folder.iterdir()) == names
    assert done.stdout.splitlines()[:4] == [str(folder / name) for name in names]
    assert "Stop when something hurts" in done.stdout
    seconds = [len(read(folder / name)) / RATE for name in names]
    assert seconds == pytest.approx([2 * 3 + TAIL_S] * 2 + [3 + TAIL_S] * 2, abs=0.01)
    solo, backing = read(folder / names[2]), read(folder / names[3])
    assert np.abs(solo - backing).max() > 0.1
    assert np.abs(backing[round(1.1 * RATE) :]).max() > 0.02
    with soundfile.SoundFile(folder / names[1]) as file:
        assert (file.title, file.tracknumber) == ("Kiln Lane, m1-2, 50%, backing", "2")
        assert file.album == "Kiln Lane, to practise"


def test_a_pack_of_a_tune_without_chords_clicks(tabterm, tmp_path):
    path = tmp_path / "plain.tabterm"
    formats.write(path, score("2 1.0,2 2.0", tempo=Tempo(240.0)))
    done = tabterm(
        "handout", path, tmp_path / "p", *AUDIO, "--tempos", "100%", "--format", "wav", "--count-in", "0"
    )
    assert done.returncode == 0, done.stderr
    backing = read(tmp_path / "p" / "2-plain-100-backing.wav")
    assert np.abs(backing[:2000]).max() > 0.05
    assert np.abs(backing[round(0.75 * RATE) :][:2000]).max() > 0.05


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--tempos", "slow"), "not a tempo: 'slow'"),
        (("--tempos", "9" * 5000), "not a tempo"),
        (("--tempos", ""), "not a tempo: ''"),
        (("--tempos", "60%,500%"), "cannot play at 500 percent"),
        (("--from", "7"), "no measure 7"),
        (("--loop", "0"), "cannot play 0 times"),
    ],
)
def test_a_pack_that_cannot_be_leaves_nothing(tabterm, tune, tmp_path, words, said):
    done = tabterm("handout", tune, tmp_path / "p", *AUDIO, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["tune.tabterm"]


def test_a_folder_that_is_there_is_kept_and_filled_when_told(tabterm, tune, tmp_path):
    folder = tmp_path / "p"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    words = ("handout", tune, folder, *AUDIO, "--tempos", "100%", "--format", "wav")
    refused = tabterm(*words)
    assert refused.returncode == 2
    assert "it already exists" in refused.stderr
    assert tabterm(*words, "--force").returncode == 0
    assert tabterm(*words, "--force").returncode == 0
    assert sorted(path.name for path in folder.iterdir()) == [
        "1-kiln-lane-100-solo.wav", "2-kiln-lane-100-backing.wav", "notes.txt",
    ]  # fmt: skip
    assert (folder / "notes.txt").read_text() == "mine"
    shutil.rmtree(folder)
    folder.write_text("mine")
    assert tabterm(*words, "--force").returncode == 2
    assert folder.read_text() == "mine"


def test_a_pack_goes_into_the_folder_that_one_is_in(tune, tmp_path, monkeypatch):
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    words = ("--tempos", "200%", "--from", "1", "--to", "1", "--format", "wav")
    assert main(["handout", str(tune), ".", *AUDIO, *words]) == 0
    assert len(list(folder.iterdir())) == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["here", "tune.tabterm"]


def test_help_loads_no_samples():
    code = (
        "import sys\nfrom tabterm.cli.main import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
    )
    code += "print([name for name in ('numpy', 'soundfile', 'rich', 'textual') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.fixture
def tied(tune, tmp_path, monkeypatch):
    """A recording whose measure 1 sounds from 2 to 4 s at 450 Hz, which is 38.9 cents over A4 = 440 Hz."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    recording, t = tmp_path / "kiln.wav", np.arange(6 * 16_000) / 16_000
    soundfile.write(recording, np.where((t >= 2) & (t < 4), 0.5, 0.0) * np.sin(2 * np.pi * 450 * t), 16_000)
    anchors = tuple(Anchor(measure=index, at_s=at) for index, at in ((1, 2.0), (2, 4.0)))
    recorded.write(
        tune,
        recorded.Recorded.of(tune, recording).with_(time_map=TimeMap(anchors=anchors), tuning_cents=38.9),
    )
    return tune


def test_the_recording_of_a_measure_is_written_slower_and_in_tune(tabterm, tied, tmp_path):
    out = tmp_path / "slow.wav"
    done = tabterm("render", tied, out, "--recording", "--from", "1", "--to", "1", "--tempo", "50%")
    assert done.returncode == 0, done.stderr
    assert "own use" in done.stderr
    sound, rate = soundfile.read(out)
    assert len(sound) / rate == pytest.approx(4.0, abs=0.01)
    level = np.abs(np.fft.rfft(sound[16_000:48_000, 0] * np.hanning(32_000)))
    assert level.argmax() * rate / 32_000 == pytest.approx(440, abs=1)


def test_a_tune_without_a_recording_says_how_to_tie_one(tabterm, tune, tied, tmp_path):
    other = tune.with_name("other.tabterm")
    other.write_bytes(tune.read_bytes())
    done = tabterm("render", other, tmp_path / "a.wav", "--recording")
    assert (done.returncode, "has no recording (open one in the editor" in done.stderr) == (2, True)
    done = tabterm("render", tied, tmp_path / "a.mid", "--recording")
    assert (done.returncode, "a recording is written as one audio file" in done.stderr) == (2, True)
    done = tabterm("render", tied, tmp_path / "a.wav", "--recording", "--loop", "2")
    assert (done.returncode, "a recording without the tab cannot loop" in done.stderr) == (2, True)
    done = tabterm("render", tied, tmp_path / "a.wav", "--with-tab", "apart")
    assert (done.returncode, "--with-tab needs --recording" in done.stderr) == (2, True)


def test_record_and_tab_are_written_beside_each_other_in_the_time_of_the_record(tabterm, tied, tmp_path):
    """Measure 1 lasts two seconds in the record, whatever the tune says: four at half speed."""
    out = tmp_path / "both.wav"
    measure = ("--from", "1", "--to", "1", "--tempo", "50%", "--click", "beats")
    done = tabterm("render", tied, out, "--recording", "--with-tab", "apart", *measure)
    assert done.returncode == 0, done.stderr
    assert "own use" in done.stderr
    sound, rate = soundfile.read(out)
    assert len(sound) / rate == pytest.approx(4.3, abs=0.01)
    record, tab = sound.T
    level = np.abs(np.fft.rfft(record[rate : 3 * rate] * np.hanning(2 * rate)))
    assert level.argmax() / 2 == pytest.approx(440, abs=1)
    clicks = np.flatnonzero(np.abs(tab) > 0.5 * np.abs(tab).max()) / rate
    begun = clicks[np.flatnonzero(np.diff(clicks, prepend=-1) > 0.5)]
    assert begun[0] < 0.05
    assert np.abs(np.correlate(tab[:rate], record[:rate], "valid")).max() < 0.05 * np.sum(record[:rate] ** 2)


def test_record_and_tab_are_mixed_and_looped(tabterm, tied, tmp_path):
    out = tmp_path / "mixed.wav"
    measure = ("--from", "1", "--to", "1", "--loop", "2")
    done = tabterm("render", tied, out, "--recording", "--with-tab", "mixed", *measure)
    assert done.returncode == 0, done.stderr
    sound, rate = soundfile.read(out)
    assert len(sound) / rate == pytest.approx(4.3, abs=0.01)
    for second in (1.0, 3.0):
        part = sound[round(second * rate) : round((second + 0.8) * rate)]
        level = np.abs(np.fft.rfft(part * np.hanning(len(part))[:, None], axis=0))
        assert np.all(level[round(440 * 0.8)] > 0.05 * len(part) / 4)  # in both ears, in both turns
    assert np.abs(sound).max() < 1.0
