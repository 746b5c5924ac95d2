"""The tutorial on a terminal of 80 by 24: each step, as the page writes it, leads to what the page says."""

from __future__ import annotations

from pathlib import Path

PAGE = (Path(__file__).parents[2] / "docs" / "tutorial.md").read_text(encoding="utf-8")


def step(editor, words, *keys):
    """Type what the page says in these words, which it must have."""
    assert words in " ".join(PAGE.split()), words
    editor.press(*keys)


def command(editor, name, answer):
    """A command by its name through the palette, as section 2 shows it, and its answer."""
    assert f"`{name}`" in PAGE
    editor.command(name, answer)


def status(editor):
    return editor.screen.display[0]


def until(editor, holds):
    """Wait until the screen shows it; rows that are not drawn yet do not."""

    def drawn():
        try:
            return holds()
        except (IndexError, StopIteration):
            return False

    editor.wait_until(drawn)


def begun(editor):
    """Sections 1 and 2: an empty score, the pickup and the key."""
    until(editor, lambda: status(editor).startswith(" 100 bpm"))
    until(editor, lambda: status(editor).rstrip().endswith("m1 1    course E  step eighth"))
    until(editor, lambda: [editor.row(f"{letter} |")[5] for letter in "EADG"] == list("EADG"))
    until(editor, lambda: editor.row("rhythm").split() == ["rhythm", "-1", "-1"])

    command(editor, "pickup", "1")
    until(editor, lambda: editor.screen.display[1].startswith("_______0________1_"))
    command(editor, "key", "G")
    command(editor, "tempo", "96")
    command(editor, "title", "Pond Path")
    until(editor, lambda: status(editor).startswith("*96 bpm  Pond Path  G  4/4"))


def notes(editor):
    """Section 3: frets."""
    step(editor, "d 0 2 the pickup", *"d02")
    step(editor, "4 5 s 0 2 straight across the bar line", *"45s02")
    step(editor, "3 2 0 d 5", *"320d5")
    until(editor, lambda: editor.row("A |") == "     A |--------|--------0---2---3---2---0-------|")
    until(editor, lambda: editor.row("D |") == "     D |0---2---|4---5-----------------------5---|")
    step(editor, "`backspace` deletes the last event", "backspace")
    until(editor, lambda: editor.row("D |").endswith("-----|"))
    step(editor, "`u` undoes the last change", "u")
    until(editor, lambda: editor.row("D |").endswith("5---|"))


def rhythms(editor):
    """Section 3: values."""
    for words, keys, said in (
        ("`q` sets the step to a quarter", "q", "quarter"),
        ("`e` an eighth", "e", "eighth"),
        ("`y` a sixteenth", "y", "16th"),
        ("`[` doubles", "[", "eighth"),
        ("`]` halves it", "]", "16th"),
        ("`t` writes triplets", "et", "eighth 3:2"),
    ):
        step(editor, words, *keys)
        until(editor, lambda said=said: status(editor).rstrip().endswith(f"step {said}"))
    editor.press("tab", "s", *"235", "t")
    until(editor, lambda: editor.row("rhythm", 1).split()[:4] == ["rhythm", "[8", "8", "8]3"])
    step(editor, "`-` holds the previous note for one more step", "2", "-")
    until(editor, lambda: editor.row("rhythm", 1).split()[4] == "4")
    step(editor, "`.` dots the note just written", "3", ".")
    until(editor, lambda: editor.row("rhythm", 1).split()[5] == "8.")


def more_notes(editor):
    """Section 3: repeating, inserting, grace notes."""
    step(editor, "`' 2` is fret 12", "tab", "d", "'", "2")
    until(editor, lambda: "|12--" in editor.row("D |", 1))
    step(editor, "`n` writes the last event again", "n")
    until(editor, lambda: "|12--12--" in editor.row("D |", 1))

    editor.press("tab")
    step(editor, "after `d 2 + s 3`, `a G`", *"d2+s3aG")
    until(
        editor,
        lambda: (
            [editor.row(f"{letter} |", 1).rpartition("|")[0].rpartition("|")[2][:6] for letter in "EAD"]
            == ["----3-", "3---2-", "2-----"]
        ),
    )
    step(editor, "`T` takes the rhythm of the measure before, so you type only the pitches.", "T")
    until(editor, lambda: "the rhythm of m3: type the pitches" in editor.text)
    editor.press("T", "ctrl+home", "tab", "e")

    step(editor, "`insert` pushes the rest of the measure one step to the right", "insert")
    until(editor, lambda: "insert 1/8 in m1; 1 note gone" in editor.text)
    step(editor, "`ctrl+d` pulls it to the left", "ctrl+d")
    until(editor, lambda: "remove 1/8 in m1" in editor.text)
    editor.press("u", "u", "ctrl+home", "tab", "d")
    step(editor, "`` ` `` and a fret for each, then the note they lead to", *"`24")
    until(editor, lambda: "|{2}4-5-" in editor.row("D |"))


def slurs(editor):
    """Section 4."""
    editor.press("tab", "ctrl+home", "tab", "tab", "a")
    step(editor, "`2 h 4` is a hammer-on, `4 p 2` a pull-off, `3 / 5` a slide", *"2h4p2/5")
    until(editor, lambda: "2---h4--p2--/5" in editor.row("E |", 1))
    step(editor, "`b` bends the note just written by a quarter tone", "b")
    until(editor, lambda: "/5b-" in editor.text)
    step(editor, "press it again for a semitone", "b")
    until(editor, lambda: "/5b100c" in editor.text)


def words(editor):
    """Section 5."""
    editor.press("ctrl+home", "tab", "c")
    step(editor, "`GCGD7` fills four measures", *"GCGD7", "enter")
    until(editor, lambda: editor.screen.display[0].split("chord")[0].rstrip().endswith("m4 1"))
    editor.press("ctrl+home")
    until(editor, lambda: editor.row("chord").split() == ["chord", "G"])
    step(editor, "`m` goes to the remark row over the measure", "m")
    editor.press(*"slow", "down")
    until(editor, lambda: "_0_ slow _" in editor.screen.display[1])


def hands(editor):
    """Sections 6 and 7."""
    step(editor, "`v` goes to this row", "v")
    until(editor, lambda: "stroke" in status(editor))
    editor.press("tab")
    step(editor, "Enter accepts a stroke and goes on", "enter")
    step(editor, "`t` reverses it", "t")
    until(editor, lambda: editor.row("stroke").split()[3:5] == ["D", "D"])
    step(editor, "`B` returns the measure to the proposed strokes", "B")
    until(editor, lambda: editor.row("stroke").split()[3:5] == ["d", "u"])
    step(editor, "`g` goes to the finger row", "g")
    until(editor, lambda: "finger" in status(editor))
    step(editor, "`W` shows why a finger was chosen", "a", "ctrl+home", "W")
    until(editor, lambda: "(D course, measure 0, beat 4)" in editor.text)


def practice(editor):
    """Sections 8 and 9, as far as they are silent."""
    for words, key, said in (
        ("`;` starts a selection", ";", "selecting"),
        ("`f7` and `f8` go slower and faster", "f8", "101 bpm 105%"),
        ("`f6` loops", "f6", "loop"),
        ("`#` counts in", "#", "count-in 1"),
    ):
        step(editor, words, key)
        until(editor, lambda said=said: said in status(editor))
    step(editor, "Press `f4` and type `60:100:5x3` to climb from 60 to 100 percent", "escape", "f4")
    editor.wait_for("START:END:STEP")
    editor.press("ctrl+a", "ctrl+k", "60:100:5x3", "enter")
    until(editor, lambda: status(editor).startswith("*58 bpm 60%  rung 1/9"))


def test_every_step_at_80_by_24(open_editor, tmp_path):
    editor = open_editor(tmp_path / "first.tabterm").ready()
    for section in (begun, notes, rhythms, more_notes, slurs, words, hands, practice):
        section(editor)
    assert "`ctrl+s` saves, `ctrl+q` leaves" in PAGE
    editor.save("first.tabterm")
    assert editor.quit() == 0
