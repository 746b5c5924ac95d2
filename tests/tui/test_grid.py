"""The grid behind the wire by itself: wide and combining characters, moved lines, pens, what is not ours."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import fields

import pyte
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from rich.terminal_theme import DEFAULT_TERMINAL_THEME
from textual.filter import ANSIToTruecolor

from tabterm.tui.canvas import Canvas
from tabterm.tui.terminal.abilities import Abilities, in_ascii, is_dumb, speaks_unicode
from tabterm.tui.terminal.brush import PLAIN, Pen, change, on_terminal, pen_of, style_of
from tabterm.tui.terminal.wire import Wire
from tabterm.tui.theme import LOOKS, Look
from tests.tui.emulator import Emulator

COLUMNS, LINES = 12, 6
STYLES = [
    None,
    Style.parse("bold"),
    Style.parse("red on blue"),
    Style.parse("dim underline"),
    Style.parse("reverse"),
]
TEXTS = st.lists(st.sampled_from(["a", "b", " ", " ", "-", "漢", "é", "e\u0301", "|", "…"]), max_size=8).map(
    "".join
)
PUTS = st.tuples(st.integers(0, COLUMNS), st.integers(0, LINES - 1), TEXTS, st.sampled_from(STYLES))


def text_of(wire):
    return ["".join(text for text, _ in row) for row in wire._wanted]


@given(st.lists(st.lists(PUTS, max_size=6), max_size=6), st.booleans(), st.booleans())
def test_any_text_anywhere_arrives(frames, moves_lines, ends_attributes):
    """Wide and combining characters too, over each other, over several frames; pyte composes as NFC does."""
    wire = Wire(Abilities(moves_lines=moves_lines, ends_attributes=ends_attributes), COLUMNS, LINES)
    screen = Emulator(COLUMNS, LINES)
    stream = pyte.Stream(screen)
    stream.feed("\x1b[?7l")
    for puts in frames:
        for x, y, text, style in puts:
            wire.put(x, y, [Segment(text, style)])
        stream.feed(wire.frame())
        shown = ["".join(screen.buffer[y][x].data for x in range(COLUMNS)) for y in range(LINES)]
        assert shown == [row.replace("e\u0301", "é") for row in text_of(wire)]
        assert wire.frame() == ""


@pytest.mark.parametrize("by", [1, 3, -1, -3])
def test_lines_that_move_are_moved_by_the_terminal(by):
    wire, screen = Wire(Abilities(), 40, 12), Emulator(40, 12)
    stream = pyte.Stream(screen)
    for offset in (0, by):
        for y in range(1, 11):
            wire.put(0, y, [Segment(f"{(y + offset) * 1_234_567:<40}")])
        frame = wire.frame()
        stream.feed(frame)
    assert "M" in frame
    assert len(frame) < 100
    assert screen.display[1:11] == text_of(wire)[1:11]


def test_where_the_cursor_is_comes_first_and_cells_of_one_pen_together():
    wire, bold, dim = Wire(Abilities(), 40, 12), Style.parse("bold"), Style.parse("dim")
    wire.put(9, 4, [Segment("3", bold), Segment("5", dim)])
    wire.cursor = (20, 6)
    wire.frame()
    for x, y, text, style in ((0, 0, "a", dim), (20, 6, "x", bold), (23, 6, "y", dim)):
        wire.put(x, y, [Segment(text, style)])
    assert wire.frame() == "\x1b[;1mx  \x1b[;2my\x1b[Ha\x1b[7;21H"


def test_below_or_above_a_cell_the_way_is_a_step():
    wire = Wire(Abilities(), 40, 12)
    wire.put(20, 2, [Segment("a")])
    wire.frame()
    wire.put(20, 4, [Segment("b")])
    assert wire.frame() == "\b\n\nb"


def test_what_the_wire_does_not_know_is_left_to_the_toolkit():
    assert not Wire(Abilities()).take(object())


def test_control_characters_do_not_reach_the_terminal():
    wire = Wire(Abilities(), COLUMNS, LINES)
    wire.put(0, 0, [Segment("a\x1b[31m\x07b")])
    frame = wire.frame()
    assert "[31m" in frame
    assert "\x1b[31m" not in frame
    assert "\x07" not in frame


@given(
    *[
        st.builds(
            Pen,
            st.sampled_from(["", "31", "38;5;9"]),
            st.sampled_from(["", "44"]),
            st.frozensets(st.sampled_from(["bold", "dim", "underline", "reverse", "italic"])),
        )
    ]
    * 2
)
def test_a_pen_becomes_any_other(before, after):
    """ECMA-48, 8.3.117: what the changes leave in force is what a fresh start would."""
    for ends in (True, False):
        one, other = Emulator(4, 1), Emulator(4, 1)
        pyte.Stream(one).feed(change(None, before) + change(before, after, ends) + "x")
        pyte.Stream(other).feed(change(None, after) + "x")
        assert one.buffer[0][0] == other.buffer[0][0]
    assert len(change(before, after)) <= len(change(None, after))


def test_pens_keep_to_the_colours_of_the_terminal():
    style = Style.parse("bold #e0b050 on #33363d")
    assert pen_of(style, "truecolor") == Pen("38;2;224;176;80", "48;2;51;54;61", frozenset({"bold"}))
    assert pen_of(style, "256").ink.startswith("38;5;")
    assert 30 <= int(pen_of(style, "standard").ink) <= 97
    assert pen_of(style, "none") == Pen("", "", frozenset({"bold"}))
    assert pen_of(None, "256") == PLAIN


@pytest.mark.parametrize(
    ("name", "abilities"),
    [
        (
            "xterm-256color",
            {"colours": "256", "erases_in_colour": True, "moves_lines": True, "block_cursor": "\x1b[2 q"},
        ),
        ("linux", {"colours": "standard", "has_second_screen": False, "block_cursor": ""}),
        (
            "vt100",
            {
                "colours": "none",
                "moves_lines": False,
                "ends_attributes": False,
                "hides_cursor": False,
                "marks_pastes": False,
            },
        ),
        ("unheard-of-256color", {"colours": "256", "erases_in_colour": False}),
    ],
)
def test_abilities_are_those_of_the_database(name, abilities):
    """Values of the terminfo entries that ncurses ships; a process opens one entry in its life."""
    code = (
        "import dataclasses, json, os; from tabterm.tui.terminal import abilities;"
        "dumb = abilities.is_dumb(os.environ);"
        "found = abilities.detect(os.environ); os.environ['NO_COLOR'] = '1';"
        "print(json.dumps([dumb, dataclasses.asdict(found), abilities.detect(os.environ).colours]))"
    )
    variables = {"TERM": name, "LANG": "C.UTF-8", "PATH": os.environ["PATH"]}
    told = subprocess.run([sys.executable, "-c", code], env=variables, capture_output=True, check=True).stdout
    dumb, found, without_colour = json.loads(told)
    assert {field: found[field] for field in abilities} == abilities
    assert (dumb, without_colour) == (False, "none")


def test_the_dumb_and_the_silent():
    assert is_dumb({"TERM": "dumb"})
    assert is_dumb({})


@pytest.mark.parametrize(
    ("variables", "speaks"),
    [
        ({"LANG": "en_GB.UTF-8"}, True),
        ({"LANG": "C.utf8"}, True),
        ({"LANG": "de_DE.ISO-8859-1"}, False),
        ({"LC_ALL": "C", "LANG": "en_GB.UTF-8"}, False),
        ({"LC_CTYPE": "en_GB.UTF-8", "LANG": "C"}, True),
        ({}, False),
    ],
)
def test_unicode_goes_by_the_locale(variables, speaks):
    assert speaks_unicode(variables) is speaks


def test_ascii_has_as_many_cells():
    assert [in_ascii(*each) for each in [("─", 1), ("╭", 1), ("é", 1), ("漢", 2), ("♯", 1), ("\u2603", 1)]] == [
        *["-", "+", "e", "??", "#", "?"]
    ]


def test_a_canvas_keeps_wide_and_combining_characters_whole():
    style = PLAIN
    canvas = Canvas(8, style)
    canvas.put(0, "a漢e\u0301b", style)
    assert canvas.characters == ["a", "漢", "", "e\u0301", "b", " ", " ", " "]
    canvas.put(2, "x", style)
    assert canvas.characters[:4] == ["a", " ", "x", "e\u0301"]
    canvas.put(4, "漢", style)
    canvas.put(4, "y", style)
    assert canvas.characters[4:] == ["y", " ", " ", " "]


@pytest.mark.parametrize("colours", ["none", "standard", "256", "truecolor"])
@pytest.mark.parametrize("look", LOOKS)
def test_our_pens_are_those_that_the_toolkit_makes_of_them(look, colours):
    """Where the toolkit has a theme of its own it sends the colours of the table by red, green and blue."""
    colourful = ANSIToTruecolor(DEFAULT_TERMINAL_THEME, enabled=look != "terminal")
    for name in (each.name for each in fields(Look)):
        pen = getattr(LOOKS[look], name)
        style = style_of(pen)
        if look != "terminal":
            style = colourful.truecolor_style(style, Color.parse("#16181c"))
        assert pen_of(style, colours) == on_terminal(pen, colours), name
