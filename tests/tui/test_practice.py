"""Practising in the real editor: what is counted, followed, said and remembered."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tabterm.formats import native
from tabterm.piece.practice_log import LogEntry, PracticeLog
from tabterm.score.tempo import Tempo
from tabterm.workspace import practice_file
from tests.build import score

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def sample(tmp_path):
    return Path(shutil.copy(SAMPLES / "quarry-road-breakdown.tabterm", tmp_path))


def status(editor):
    return editor.text.splitlines()[0]


def test_a_ladder_is_counted_in_climbed_followed_and_taken_up_again(open_editor, tmp_path, recorder):
    path = tmp_path / "kiln.tabterm"
    quarters = ",".join(f"4 1.{fret}" for fret in range(4))
    path.write_bytes(native.write(score(*[quarters] * 24, tempo=Tempo(200.0), title="Kiln Lane")))
    editor = open_editor(path).ready()
    editor.command("output", f"port:{recorder.name}")
    editor.press("#", "f6")
    editor.command("ladder", "25:200:175")
    editor.wait_until(lambda: "50 bpm 25%  rung 1/2  loop" in status(editor))
    assert "m1  1    E        eighth" in status(editor)
    editor.press("M", "space")
    editor.wait_for("Rest between loops")
    editor.wait_until(lambda: any(line.startswith("1 2 3 ") for line in editor.text.splitlines()))
    editor.press("f8")
    editor.wait_until(lambda: "400 bpm 200%  rung 2/2" in status(editor))
    recorder.wait_for(12, timeout_s=30)
    editor.press("space", "escape", "home")
    top = editor.text.splitlines()[1]
    editor.press("f5")
    editor.wait_until(lambda: editor.text.splitlines()[1] != top, timeout_s=30)  # the page has followed
    editor.press("right")
    editor.wait_until(lambda: editor.text.splitlines()[1] == top)  # the cursor is seen again
    editor.press("space")
    assert editor.quit() == 0
    again = open_editor(path).ready()
    assert "loop" not in status(again)
    again.press("L")
    again.wait_until(lambda: "rung 1/2  loop" in status(again))


@pytest.mark.parametrize(("columns", "lines"), [(80, 24), (40, 12), (120, 40)])
def test_the_log_shows_a_graph_on_any_screen(open_editor, sample, columns, lines):
    begun = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
    entry = LogEntry(begun, "Quarry Road Breakdown", str(sample), 1, 2, "1-2", 62.4, "4", 60.0, 4, 60.0)
    entries = [replace(entry, begun=begun + timedelta(days=day), per_minute=60.0 + 9 * day) for day in range(4)]
    PracticeLog().add(*entries, replace(entry, passage="7", first_measure=7, last_measure=7))
    editor = open_editor(sample, columns=columns, lines=lines).ready()
    editor.press("Y")
    editor.wait_for("> measures 1-2: 87")
    assert "2026-05-04" in editor.text
    assert "█" in editor.text
    editor.press("down")
    editor.wait_for("> measure 7: 62")
    editor.press("escape")
    editor.wait_until(lambda: "measure 7:" not in editor.text)


def test_versions_are_swapped_by_an_edit_that_undo_takes_back(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.press("tab", "K", "d", "7", "left")
    editor.wait_until(lambda: ":7" in editor.row("D"))
    editor.command("take-version")
    editor.wait_for("swapped the versions")
    editor.wait_until(lambda: ":5" in editor.row("D"))
    editor.press("u")
    editor.wait_until(lambda: ":7" in editor.row("D"))
    editor.press("V")
    editor.wait_for("version B")


def test_a_ladder_in_beats_a_minute_that_another_tempo_cannot_have_is_said(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.command("ladder", "72:104:4bpm")
    editor.wait_until(lambda: "72 bpm 69%  rung 1/9" in status(editor))
    editor.command("tempo", "400")
    editor.wait_until(lambda: "no such ladder at this tempo" in status(editor))
    editor.press("space")
    editor.wait_for("cannot play at 18 percent")
    editor.press("u")
    editor.wait_until(lambda: "72 bpm 69%  rung 1/9" in status(editor))
    assert editor.quit() == 0


def test_what_is_put_aside_keeps_to_its_measure(open_editor, sample):
    def first():
        return practice_file.read(sample).versions.first

    editor = open_editor(sample).ready()
    editor.press("tab", "K")
    editor.wait_for("put aside as version B")
    before = first()
    editor.press("ctrl+home", "tab", "I")
    editor.wait_until(lambda: first() == before + 1)  # as soon as the keys rest
    editor.press("ctrl+q", "x")
    assert editor.ended() == 0
    assert first() == before


def test_what_is_not_as_usual_is_said_at_the_top(open_editor, sample):
    editor = open_editor(sample, columns=160).ready()
    editor.command("style", "waltz")
    editor.command("groove")
    editor.command("hear-swing", "2:1")
    editor.command("click-rests", "2 1")
    editor.wait_until(lambda: "with chords  click 2:1  waltz  no groove  swing 2:1" in status(editor))
    editor.press("C", "C")
    editor.wait_until(lambda: " click 2:1  swing 2:1" in status(editor))
    editor.command("click-rests", "m3, m7-8")
    editor.wait_until(lambda: " click without m3 m7-8  swing" in status(editor))
