"""Questions about a file that is not as it was left, and about work that was put aside."""

from __future__ import annotations

import os
import signal

from tabterm.formats import native
from tabterm.storage import names
from tests.build import score

THEIRS = native.write(score("1 1.9", "1"))


def frets(path):
    return [note.fret for bar in native.read(path.read_bytes()).measures for e in bar.events for note in e.notes]


def test_a_file_that_another_program_has_written_is_asked_about(open_editor, tmp_path):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score("1 1.3", "1")))
    editor = open_editor(path).ready()
    editor.press("a", "7")
    editor.wait_for("*")
    path.write_bytes(THEIRS)
    editor.press("ctrl+s")
    editor.wait_for("another program has changed a.tabterm")
    editor.press("escape")
    assert path.read_bytes() == THEIRS
    editor.press("ctrl+s")
    editor.wait_for("keep both")
    editor.press("b")
    editor.wait_for("saved a-mine.tabterm")
    assert frets(path) == [9]
    assert frets(tmp_path / "a-mine.tabterm") == [7]
    assert editor.quit() == 0


def test_coming_back_from_the_shell_asks_at_once(open_editor, tmp_path):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score("1 1.3", "1")))
    editor = open_editor(path).ready()
    os.kill(editor.process.pid, signal.SIGSTOP)
    path.write_bytes(THEIRS)
    os.kill(editor.process.pid, signal.SIGCONT)
    editor.wait_for("load the file; undo")
    editor.press("t")
    editor.wait_for("undo brings yours back")
    editor.wait_for("9")
    assert editor.quit() == 0
    assert path.read_bytes() == THEIRS


def test_work_that_was_put_aside_is_offered_on_opening(open_editor, tmp_path):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score("1 1.3", "1")))
    editor = open_editor(path).ready()
    editor.press("a", "7")
    editor.wait_for("*")
    editor.process.kill()
    editor.process.wait()
    assert names.beside(path, "journal").exists()
    path.write_bytes(THEIRS)
    again = open_editor(path)
    again.wait_for("This file has unsaved work that was put aside")
    again.press("1")
    again.wait_for("recovered the work from")
    again.press("ctrl+s")
    again.wait_for("saved")
    assert frets(path) == [7]
    assert again.quit() == 0
