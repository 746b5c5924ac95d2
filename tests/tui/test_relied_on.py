"""The private parts of the toolkit that our layer on the terminal relies on: what another release must have.

`python -m tests.package.toolkit` runs this and the tests of the screen with the newest release, and says what
broke.
"""

from __future__ import annotations

import ast
import importlib
import inspect
from typing import get_type_hints

import pytest
from textual.app import App
from textual.driver import Driver
from textual.widget import Widget
from textual.widgets import Input

from tests.tui.test_private_parts import KNOWS, USES, own_privates, reached, touched

ATTRIBUTES = {
    "TerminalApp._driver": (App, "the driver, which is ours"),
    "TerminalApp._running": (App, "it runs, and may draw"),
    "TerminalApp._closed": (App, "it draws no more"),
    "TerminalApp._closing": (App, "it is about to end, and takes no more keys"),
    "TerminalApp._batch_count": (App, "updates are gathered, and nothing is drawn before they are complete"),
    "TerminalDriver._app": (Driver, "the application, to which keys and sizes are posted"),
    "TerminalDriver._auto_restart": (Driver, "takes the terminal again where the application is resumed"),
    "TerminalDriver._loop": (Driver, "the event loop, for what other threads have read"),
    "TerminalDriver._mouse": (Driver, "whether the mouse is reported"),
    "Painted._styles_cache": (Widget, "what it remembers of the lines of a widget, to be forgotten"),
    "owner._bindings": (Widget, "the keys of a widget, to be carried out at once"),
}
"""What is read or set: of whom, and what for."""

METHODS = {
    "TerminalApp._display": (
        App,
        ["self", "screen", "renderable"],
        "gives every update, which goes into the wire",
    ),
    "TerminalApp._handle_exception": (App, ["self", "error"], "keeps a fault until the terminal is given back"),
    "TerminalApp._fatal_error": (App, ["self"], "prints it"),
    "TerminalApp._close_messages_no_wait": (App, ["self"], "ends the application"),
    "TerminalApp._set_pointer_shape": (App, ["self", "shape"], "would send the terminal a sequence that few know"),
    "Typing._on_key": (Input, ["self", "event"], "types a key at once"),
}
"""What is called, or takes the place of the toolkit's own: of whom, with what, and what for."""

NAMES = {
    "textual._compositor.ChopsUpdate": "parts of lines that changed",
    "textual._compositor.LayoutUpdate": "all lines of a region",
    "textual._ansi_sequences.ANSI_SEQUENCES_KEYS": "keys by the bytes that terminals send",
    "textual._xterm_parser.XTermParser": "how it reads the mouse",
    "textual.keys._character_to_key": "the name of a key that writes a character",
}
"""What is imported, and what for."""


def test_nothing_else_is_relied_on():
    found = set()
    for path in KNOWS.glob("*.py"):
        source = path.read_text(encoding="utf-8")
        if USES.search(source):
            found |= {*touched(source, f"tabterm.tui.terminal.{path.stem}"), *reached(source)}
    assert found == ATTRIBUTES.keys() | METHODS.keys() | NAMES.keys()


@pytest.mark.parametrize("name", ATTRIBUTES)
def test_an_attribute_is_there(name):
    cls = ATTRIBUTES[name][0]
    attribute = name.partition(".")[2]
    assert any(attribute in own_privates(each) for each in cls.__mro__ if each.__module__.startswith("textual"))


@pytest.mark.parametrize("name", METHODS)
def test_a_method_takes_what_it_is_given(name):
    cls, wanted, _ = METHODS[name]
    assert list(inspect.signature(getattr(cls, name.partition(".")[2])).parameters) == wanted


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_there(name):
    module, _, member = name.rpartition(".")
    assert hasattr(importlib.import_module(module), member)


def test_updates_hold_what_the_wire_reads():
    """Every attribute that `Wire.take` reads of an update is one that its class sets."""
    from textual._compositor import ChopsUpdate, LayoutUpdate

    source = (KNOWS / "wire.py").read_text(encoding="utf-8")
    read = {
        node.attr
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "update"
    }
    held = {*get_type_hints(ChopsUpdate.__init__), *inspect.signature(LayoutUpdate.__init__).parameters}
    held |= {*inspect.signature(ChopsUpdate.__init__).parameters}
    assert read
    assert read <= held
