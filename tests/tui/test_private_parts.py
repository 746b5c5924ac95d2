"""What the toolkit keeps to itself is known to one package: another release of it is looked at in one place."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import textwrap
from functools import cache
from pathlib import Path

import pytest

import tabterm
import tabterm.tui.terminal

PACKAGE = Path(tabterm.__file__).parent
KNOWS = Path(tabterm.tui.terminal.__file__).parent
TOOLKIT = {"textual", "rich"}


def is_private(name):
    return name.startswith("_") and not name.endswith("__")


def imported(tree):
    """Private modules and names that are imported from the toolkit."""
    for node in ast.walk(tree):
        found = []
        if isinstance(node, ast.Import):
            found = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found = [f"{node.module}.{alias.name}" for alias in node.names]
        yield from (
            name for name in found if name.split(".")[0] in TOOLKIT and any(map(is_private, name.split(".")))
        )


def private_names(tree):
    """Private names of attributes and methods that a piece of code defines, reads or sets."""
    for node in ast.walk(tree):
        name = getattr(node, "attr", None) or (getattr(node, "name", None) or "")
        if is_private(name):
            yield name


def of_toolkit(cls):
    return cls.__module__.split(".")[0] in TOOLKIT


@cache
def own_privates(cls):
    """Private names of a class of the toolkit: of its methods and of what its code reads and sets."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(cls)))
    return {*filter(is_private, vars(cls)), *private_names(tree)}


def touched(source, module_name):
    """Private parts of the toolkit in a module of ours, by the class that touches them."""
    tree = ast.parse(source)
    yield from imported(tree)
    module = importlib.import_module(module_name)
    for node in ast.walk(tree):
        cls = getattr(module, node.name, None) if isinstance(node, ast.ClassDef) else None
        bases = [each for each in cls.__mro__ if of_toolkit(each)] if cls is not None else []
        privates = set().union(*map(own_privates, bases))
        yield from (f"{node.name}.{name}" for name in private_names(node) if name in privates)


def reached(source):
    """Private attributes of other objects that no class of the module has."""
    tree = ast.parse(source)
    own = {
        node.attr if isinstance(node, ast.Attribute) else node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        or (isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "self")
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and is_private(node.attr) and node.attr not in own:
            yield ast.unparse(node)


USES = re.compile(r"^\s*(from|import) (textual|rich)\b", re.MULTILINE)
USERS = [
    path
    for path in sorted(PACKAGE.rglob("*.py"))
    if KNOWS not in path.parents and USES.search(path.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("path", USERS, ids=lambda path: str(path.relative_to(PACKAGE).with_suffix("")))
def test_the_rest_of_the_program_touches_no_private_part(path):
    source = path.read_text(encoding="utf-8")
    module = ".".join(("tabterm", *path.relative_to(PACKAGE).with_suffix("").parts))
    assert sorted({*touched(source, module.removesuffix(".__init__")), *reached(source)}) == []


def test_the_package_does():
    """What is looked for is found where it is known to be."""
    found = {
        *touched((KNOWS / "application.py").read_text(), "tabterm.tui.terminal.application"),
        *touched((KNOWS / "wire.py").read_text(), "tabterm.tui.terminal.wire"),
        *reached((KNOWS / "typed.py").read_text()),
    }
    assert {
        "TerminalApp._display",
        "TerminalApp._driver",
        "textual._compositor.ChopsUpdate",
        "owner._bindings",
    } <= found
