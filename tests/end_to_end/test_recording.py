"""From a recording by another engine, with a band and a drift, to a tab: all of it in the real editor.

The solo is played by a physical model of a mandolin (STK) over a band of FluidR3, or, where these are missing, by
the program's own strings; what was played is known, so what comes out can be compared.
"""

from __future__ import annotations

import hashlib
import re
import signal
import time

import pytest

from tabterm.formats import native, read
from tabterm.instrument.model import pitch_name
from tabterm.piece import recorded as kept
from tabterm.score.place import Place
from tests.recording.solo import heard, recorded, solo
from tests.thorough import THOROUGH

SOLO = solo(measures=3)


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """The recording, which is never to be written to."""
    path = tmp_path_factory.mktemp("record") / "solo.flac"
    recorded(path, SOLO, level=0.5)
    return path


@pytest.fixture
def folder(tmp_path, recording):
    (tmp_path / "solo.flac").write_bytes(recording.read_bytes())
    return tmp_path


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def tied(editor):
    """Open the recording, and take the beats that are found."""
    editor.press("f12")
    editor.wait_for("recording:")
    editor.press("enter")
    editor.wait_for("Recording (Escape")
    editor.press("b")
    editor.wait_for("beats a minute")
    editor.press("enter")
    editor.wait_for("f12, then Enter, accepts them")
    editor.press("f12")
    editor.wait_for("beats proposed")
    editor.press("home", *["right"] * 4, "1")  # the first beat lies nearest
    editor.wait_until(lambda: re.search(r"measure begins at 0\.(79|8)", editor.text))
    editor.press("enter")
    editor.wait_for("tied to the recording")


def test_from_the_recording_to_the_tab(folder, open_editor):
    before, path = digest(folder / "solo.flac"), folder / "solo.tabterm"
    editor = open_editor(path, TABTERM_AUDIO="null").ready()
    editor.save(path.name)
    tied(editor)
    editor.press("space")
    editor.wait_for("playing 1.")
    editor.press("space")
    editor.press("home", "tab", "[", "tab", "tab", "tab", "]")
    editor.wait_for("the solo ends")
    editor.press("p", "escape")
    editor.wait_for("notes proposed")
    editor.wait_until(lambda: "?" in editor.row("A |"))
    for at, pitch, _ in SOLO.notes[4:7]:  # whatever was proposed there, say what it is
        editor.press("ctrl+g", f"{int(at // 4) + 1}", "enter")
        editor.command("row", "source")
        editor.press(*["right"] * int(at % 4 * 2), "o")
        editor.wait_for("pitch:")
        editor.press("ctrl+a", "ctrl+k", pitch_name(pitch), "enter")
        editor.wait_until(lambda: "pitch:" not in editor.text)
    editor.press("ctrl+home")
    editor.command("row", "source")
    editor.press("enter", "enter", "A", "Z")
    editor.wait_for("accepted")
    editor.press("B", "ctrl+home", "space")
    editor.wait_for("PLAYING")
    assert "record" in editor.screen.display[0]
    editor.press("B")
    editor.wait_for("record | tab")
    editor.press("space")
    editor.save(path.name)
    editor.command("export")
    editor.press("ctrl+a", "ctrl+k", "solo.txt", "enter")
    editor.wait_for("written")
    assert editor.quit() == 0

    score = native.read(path.read_bytes())
    truth = {(at, pitch) for at, pitch, _ in SOLO.notes}
    got = set(heard(score))
    assert len(truth & got) >= 0.9 * len(truth)
    assert len(got - truth) <= 0.1 * len(truth)
    assert {(at, pitch) for at, pitch, _ in SOLO.notes[4:7]} <= got
    assert not any(measure.proposes for measure in score.measures)
    text = read(folder / "solo.txt").music
    assert set(heard(text)) == got
    line = kept.read(path).time_map.on(score)
    assert [line.at(Place(index)) for index in range(4)] == pytest.approx(SOLO.beats_s[::4], abs=0.04)
    assert digest(folder / "solo.flac") == before

    again = open_editor(path, TABTERM_AUDIO="null").ready()
    again.press("B", "space")
    again.wait_for("PLAYING")
    assert "record" in again.screen.display[0]
    assert again.quit() == 0


@pytest.mark.skipif(not THOROUGH, reason="long: TABTERM_THOROUGH=1")
def test_a_kill_while_it_listens_and_plays_loses_nothing(folder, open_editor):
    before, path = digest(folder / "solo.flac"), folder / "solo.tabterm"
    editor = open_editor(path, TABTERM_AUDIO="null").ready()
    editor.save(path.name)
    tied(editor)
    editor.press("escape", "a", "5")
    editor.command("propose")
    editor.press("B", "space")
    editor.wait_for("PLAYING")
    time.sleep(0.3)
    editor.process.send_signal(signal.SIGKILL)
    editor.process.wait()
    assert digest(folder / "solo.flac") == before
    again = open_editor(path, TABTERM_AUDIO="null")
    again.wait_for("recovered")
    assert "5" in again.row("E |")
    again.press("B")
    again.wait_for("the recording is heard")
    assert kept.read(path).time_map is not None
    again.press("ctrl+q")
    again.wait_for("save and quit")
    again.press("s")
    assert again.ended() == 0
