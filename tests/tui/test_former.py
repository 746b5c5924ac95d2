"""The editor on a file of version 1: the new forms on the screen, whatever is typed."""

from __future__ import annotations

from shutil import copy

from tests.formats.test_former import FORMER, VERSION_1


def test_the_screen_shows_the_new_forms(open_editor, tmp_path):
    path = tmp_path / "two-old-forms.tabterm"
    copy(VERSION_1 / path.name, path)
    editor = open_editor(path, columns=120).ready()
    editor.wait_for("1/8=184 bpm")
    editor.command("tempo", "4.=72")
    editor.wait_for("3/8=72 bpm")
    editor.command("step", "16*5:4")
    editor.wait_for("step 16th 5:4")
    assert not FORMER.findall(editor.text)
    editor.command("tempo")
    editor.wait_for("3/8=112")
    assert not FORMER.findall(editor.text)
    editor.press("escape")
    editor.command("tempo", "4=92,5")
    editor.wait_for("1/4=104, 3/8=112")
