"""The settings as a page: every one with its words, its default, and the value in force."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from tabterm.piece.configuration import Configuration
from tabterm.values import Value, field_names

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

WORDS: Mapping[str, str] = {
    "hand.span_mm": "span of the flat hand in mm, from index fingertip to little fingertip",
    "hand.weak": "weak fingers, from 1 (index) to 4 (little)",
    "hand.speeds": "your speeds in the drills of `tabterm hand --drills`, in notes a second",
    "chords.names": 'chord names in files that do not say which: "english" or "german" (with an H)',
    "fingering.learn": "on saving a score, learn from the fingers you set instead of the proposed ones",
    "sound.output": "the output: auto, device, port, virtual, listener, or one by name, such as port:Synth",
    "sound.count_in": "measures of count-in, 0 to 2",
    "sound.click": "the click: off, beats, offbeats",
    "sound.parts": "what you hear: solo, both, chords",
    "sound.style": "style of chords and bass, such as waltz; without this line: chosen by metre and swing",
    "sound.groove": "play chords and bass with accents, slightly off the grid",
    "sound.tone": "the built-in strings: brightness, body, room, detuning, in percent, such as room 50",
    "screen.theme": "colours of the screen: dark, light, terminal (the terminal's own 16)",
    "screen.characters": "auto (by the locale), unicode, ascii",
    "screen.plain": "for a screen reader: no drawn lines, the cursor position in words",
    "screen.mouse": "the mouse moves the cursor",
    "sheet.format": "file type of the sheet: pdf, svg, png, html, txt, musicxml",
    "sheet.opener": "what opens a sheet: a command, auto (the desktop's own program), none",
    "sheet.paper": "paper size: a4, letter, auto (usual in your country)",
}
"""What each setting does; a test holds that none is missing."""

LEFT_OUT: Mapping[str, Any] = {"chords.names": "english", "sound.style": "waltz"}
"""Values shown for settings that are left out as they come."""

IN_WORDS = frozenset({"sound.tone"})
"""Settings of pairs that are written as one text."""

TOP = """\
# Settings of tabterm. Each line shows the default; remove the # and change the value.
# `tabterm config path` shows where this file belongs; `tabterm config set sound.click beats` changes a line.
"""

KEYS = """
# Keys, by the row they work in: anywhere, or course, finger, stroke, chord, remark. `tabterm keys` lists the
# commands; "" removes a key.
# [keys.anywhere]
# "ctrl+n" = "sheet"
"""

OUTPUTS = """
# What a synthesiser at an output gets; name the output as in sound.output.
# [outputs."port:synth"]
# parts = ["solo", "chords", "bass", "click"]
# programs = { solo = 26, bass = 33 }
# pans = { solo = 20, chords = -20 }
"""


def in_force(settings: Configuration) -> Iterator[tuple[str, str]]:
    """Name and value of every setting but keys and outputs, as the file has them; "" for one that is left out."""
    for name, value in _leaves(settings):
        yield name, "" if value is None else as_toml(value)


def _leaves(settings: Value, before: str = "") -> Iterator[tuple[str, Any]]:
    for name in field_names(type(settings)):
        value = getattr(settings, name)
        if name in {"keys", "outputs"}:
            continue
        if isinstance(value, Value):
            yield from _leaves(value, f"{before}{name}.")
        elif before + name in IN_WORDS:
            yield before + name, " ".join(str(word) for pair in value for word in pair)
        else:
            yield before + name, value


def as_toml(value: Any) -> str:
    """A value as TOML has it."""
    import tomlkit

    text: str = tomlkit.item(list(value) if isinstance(value, tuple) else value).as_string()
    return text


def read_value(text: str) -> Any:
    """A value as it is written on the command line: TOML, or a text that needs no quotation marks there."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def template() -> str:
    """A configuration file that changes nothing, with every setting explained."""
    lines, table = [TOP.rstrip()], ""
    for name, value in _leaves(Configuration()):
        before, _, last = name.rpartition(".")
        if before != table:
            table = before
            lines += ["", f"[{table}]", *([f"# {WORDS[table]}"] if table in WORDS else [])]
        shown = LEFT_OUT.get(name) if value is None else value
        lines += [*([f"# {WORDS[name]}"] if name in WORDS else []), f"# {last} = {as_toml(shown)}"]
    return "\n".join(lines) + "\n" + KEYS + OUTPUTS
