"""The fonts of the sheet against what their makers publish."""

from __future__ import annotations

import json

import pytest
import typst

from tabterm.sheet import fonts

BOXES = {
    "gClef": (0.0, -4.392, 2.684, 2.632),
    "noteheadBlack": (0.0, -0.5, 1.18, 0.5),
    "accidentalFlat": (0.0, -1.756, 0.904, 0.7),
    "stringsDownBow": (0.0, -1.272, 1.248, 0.0),
    "stringsUpBow": (0.004, -1.98, 0.996, -0.004),
    "4stringTabClef": (-0.012, -2.016, 1.088, 2.032),
    "tremolo3": (-0.6, -1.112, 0.6, 1.12),
}
"""Left, top, right, bottom in staff spaces: `glyphBBoxes` of the metadata published with Bravura 1.392."""


@pytest.mark.parametrize("name", BOXES)
def test_a_sign_has_the_box_that_its_font_publishes(name):
    assert fonts.sign_box(name) == pytest.approx(BOXES[name], abs=0.002)


def test_every_sign_is_in_the_font_and_has_an_outline():
    for name in fonts.SIGNS:
        assert fonts.sign_path(name).startswith("M"), name
        assert fonts.sign_width(name) > 0, name


def test_an_outline_fills_the_box_of_its_sign():
    numbers = [
        float(each)
        for each in fonts.sign_path("stringsDownBow")
        .replace("M", " ")
        .translate(str.maketrans("LHVCZ,", "      "))
        .split()
    ]
    assert max(map(abs, numbers)) == pytest.approx(1.272, abs=0.002)


def test_words_are_as_wide_as_a_typesetter_sets_them():
    """Measured by typst, which kerns: its lines are a little narrower."""
    words = {"regular": "Quarry Road Breakdown", "bold": "Песня №7", "italic": "let the wrist hang, 1/4 = 104"}
    said = {"regular": "", "bold": ', weight: "bold"', "italic": ', style: "italic"'}
    shown = "".join(
        f'#metadata(measure(text(font: "{fonts.TEXT}", size: 10mm{said[style]}, "{line}")).width.mm()) <w>'
        for style, line in words.items()
    )
    document = f"#context [{shown}]".encode()
    compiler = typst.Compiler(document, font_paths=[str(fonts.FOLDER)], ignore_system_fonts=True)
    measured = json.loads(compiler.query("<w>", field="value"))
    assert [fonts.width_mm(line, 10, style) for style, line in words.items()] == pytest.approx(measured, rel=0.02)


def test_a_character_that_the_font_lacks_still_has_a_width():
    assert fonts.width_mm("春の歌", 10) == 30
    assert fonts.width_mm("♭", 10) == fonts.width_mm("0", 10)


def test_characters_that_the_text_font_lacks_are_named_once():
    assert fonts.missing("Песня · Τραγούδι · Fête · ąłőș") == ""
    assert fonts.missing("春の歌の春") == "春の歌"


def test_the_licences_of_the_fonts_lie_beside_them():
    for name in ("Bravura-OFL.txt", "SourceSerif4-OFL.txt"):
        assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts.FOLDER / name).read_text(encoding="utf-8")
