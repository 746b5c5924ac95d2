"""Schools of picking in the real editor: chosen by name, shown over the measure and on the stroke row."""

from __future__ import annotations

from tabterm.formats import native
from tabterm.score.kinds import StrokeSchool
from tests.build import score

ARPEGGIO = "8 4.2,8 3.2,8 2.2,8 1.2,2 1.2"


def strokes(editor):
    return editor.row("stroke").split()[1:]


def colours(editor):
    """Foreground colour of each sign on the stroke row, by sign."""
    line = next(number for number, row in enumerate(editor.screen.display) if row.lstrip().startswith("stroke"))
    cells = editor.screen.buffer[line]
    return {cells[x].data: cells[x].fg for x in range(8, 80) if cells[x].data.strip()}


def test_a_school_for_a_measure_and_a_tremolo_confirmed(open_editor, tmp_path):
    path = tmp_path / "schools.tabterm"
    path.write_bytes(native.write(score(*[ARPEGGIO] * 2)))
    editor = open_editor(path).ready()
    editor.wait_until(lambda: strokes(editor) == list("dudud") * 2)
    editor.command("school-here", "glide")
    editor.wait_until(lambda: strokes(editor) == list("ddddd") + list("dudud"))
    assert "strokes glide" in editor.text
    assert "strokes beat" in editor.text
    editor.command("school", "tremolo")
    editor.wait_until(lambda: strokes(editor) == ["d", "u", "d", "u", "d%"] * 2)
    assert "strokes" not in editor.text.replace("strokes tremolo", "")
    proposed = colours(editor)["%"]
    assert proposed == colours(editor)["d"]
    editor.press("v", "end", "enter")
    editor.save(path.name)
    written = native.read(path.read_bytes())
    assert written.head.school is StrokeSchool.TREMOLO
    editor.wait_until(lambda: "D" in colours(editor))
    assert colours(editor)["D"] != proposed
