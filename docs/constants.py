"""The numeric constants of the hand, the instrument, the performance and the sound, as the code declares them.

A comment that begins with `#:` gives the unit and, behind the first semicolon, the source:

    FREE_S = 0.5  #: s; common practice, no source

It stands on the line of the constant, or on lines of its own directly above it. In a table a row may have one of
its own; a row without goes by that of the table, or by its fields `unit` and `source` where it has them. Where one
statement sets several names, they share the source, and units are parted by commas (one for all: they share it).
Of the defaults of classes, 0 and 1 need no entry.
"""

from __future__ import annotations

import ast
import importlib
import io
import re
import tokenize
from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]

PLACES = ("hand", "instrument", "performance", "recording", "sound", "score/profile.py")
"""Below `tabterm`: the rooms whose numbers are declared, and the default hand."""

STANDARDS = r"\b(General MIDI 1|MIDI 1\.0|RFC \d+|ISO \d+|POSIX|the inch|SI)\b"
AUTHOR = r"\b[A-Z][\w'.-]+[^;:]*\b(1[5-9]\d\d|20\d\d|undated)\b"
"""A name, and a year; or `undated`, for a page that has none."""

KINDS = (
    ("changed here", r"^from .+, then changed by us: was .+, now .+, because .+"),
    ("measured here", r"^measured here\b"),
    ("not repeatable", r"\bnot repeatable here$"),
    ("tuned here", r"^tuned here\b"),
    ("common practice", r"^common practice, no source\b"),
    ("from memory", r"^from memory\b"),
    ("derived", r"^derived: .+"),
    ("definition", r"^definition\b"),
    ("format", r"^format\b"),
    ("implementation limit", r"^implementation limit\b"),
    ("standard", STANDARDS),
    ("published", AUTHOR),
)
"""Kinds of source, with what tells them; the first that is found."""


UNITS = frozenset({0.0, 0.5, 1.0, 2.0, 4.0, 10.0, 12.0, 20.0, 60.0, 64.0, 100.0, 440.0, 1e3, 1200.0, 1e6})
"""Halves, percent, seconds of a minute, thousandths, decibels, cents, the pitch of A4, and factors of formulas."""

UNITS |= {1e-3, 1e-6, 1e-9}
"""And numbers so small that they only keep a division or a comparison from failing."""


class Constant(NamedTuple):
    """A number, or a row of numbers, in the code."""

    module: str
    name: str
    value: str
    unit: str
    source: str

    @property
    def kind(self) -> str | None:
        """The kind of its source, or None where the source is none."""
        found = next((kind for kind, mark in KINDS if re.search(mark, self.source)), None)
        half_said = "changed by us" in self.source and found != "changed here"
        needs_author = found in ("changed here", "not repeatable") and not re.search(AUTHOR, self.source)
        return None if half_said or needs_author else found


def modules() -> Iterator[tuple[str, Path]]:
    """Every module that may hold constants, by its name."""
    for place in PLACES:
        start = ROOT / "tabterm" / place
        for path in sorted(start.rglob("*.py")) if start.is_dir() else [start]:
            yield ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"), path


def declared() -> list[Constant]:
    """The constants of all these modules."""
    return [
        constant
        for module, path in modules()
        for constant in read(module, path.read_text(encoding="utf-8"), vars(importlib.import_module(module)))
    ]


def read(module: str, text: str, values: Mapping[str, object]) -> list[Constant]:
    """The constants of a module: its name, its text, and its attributes once it has been run."""
    marks = _Marks(text)
    found = []
    for scope, body in _bodies(ast.parse(text)):
        for node in body:
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value:
                for name, value, unit, source in _of(node, marks, values if not scope else {}, inside=bool(scope)):
                    found.append(Constant(module, scope + name, value, unit, source))
    return found


def hidden(text: str) -> list[str]:
    """Decimal numbers inside functions that are neither units nor parts of a formula, with their lines."""
    return [
        f"line {each.lineno}: {each.value}"
        for function in ast.walk(ast.parse(text))
        if isinstance(function, ast.FunctionDef)
        for each in ast.walk(function)
        if isinstance(each, ast.Constant) and isinstance(each.value, float) and each.value not in UNITS
    ]


def _bodies(tree: ast.Module) -> Iterator[tuple[str, list[ast.stmt]]]:
    """What stands in the module itself, and in each of its classes."""
    yield "", tree.body
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            yield f"{node.name}.", node.body


class _Marks:
    """The comments of a module that begin with `#:`, by line."""

    def __init__(self, text: str) -> None:
        tokens = tokenize.generate_tokens(io.StringIO(text).readline)
        comments = [token for token in tokens if token.type == tokenize.COMMENT and token.string.startswith("#:")]
        self._texts = {token.start[0]: token.string[2:].strip() for token in comments}
        self._alone = {token.start[0] for token in comments if token.line.strip().startswith("#:")}

    def at(self, first: int, last: int) -> tuple[str, str] | None:
        """Unit and source for what stands on these lines: on the last, on the first, or directly above."""
        start = first
        while start - 1 in self._alone:
            start -= 1
        above = " ".join(self._texts[line] for line in range(start, first))
        words = above or self._beside(last) or self._beside(first)
        unit, found, source = words.partition(";")
        return (unit.strip(), source.strip()) if found else None

    def _beside(self, line: int) -> str:
        return "" if line in self._alone else self._texts.get(line, "")


Row = tuple[str, str, str, str]
"""Name, value, unit and source."""


def _of(
    node: ast.Assign | ast.AnnAssign, marks: _Marks, values: Mapping[str, object], *, inside: bool
) -> Iterator[Row]:
    target = node.targets[0] if isinstance(node, ast.Assign) else node.target
    if node.value is None:
        return
    unit, source = marks.at(node.lineno, node.end_lineno or node.lineno) or ("", "")
    if inside:
        numbers = _numbers(node.value)
        if set(numbers) - {"0", "1", "0.0", "1.0"}:
            yield ast.unparse(target), ", ".join(numbers), unit, source
        return
    if isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
        names = [ast.unparse(each) for each in target.elts]
        units = [each.strip() for each in unit.split(",")]
        units = units if len(units) == len(names) else [unit] * len(names)
        for name, part, its in zip(names, node.value.elts, units, strict=True):
            if _numbers(part):
                yield name, ", ".join(_numbers(part)), its, source
        return
    name = ast.unparse(target)
    tables = [each for each in _operands(node.value) if isinstance(each, ast.Dict)]
    if tables:
        for table in tables:
            for key, value in zip(table.keys, table.values, strict=True):
                yield from _row(name, key, value, marks, (unit, source), values.get(name))
        return
    value = values.get(name)
    if isinstance(value, int | float | Fraction) and not isinstance(value, bool):
        yield name, str(value), unit, source
    elif _numbers(node.value):
        yield name, ", ".join(_numbers(node.value)), unit, source


def _row(
    name: str,
    key: ast.expr | None,
    value: ast.expr,
    marks: _Marks,
    whole: tuple[str, str],
    rows: object,
) -> Iterator[Row]:
    """A row of a table, with its own unit and source where it has them."""
    if not _numbers(value):
        return
    word = ast.unparse(key) if key is not None else ast.unparse(value)
    own = marks.at((key or value).lineno, value.end_lineno or value.lineno)
    held = rows.get(key.value) if isinstance(key, ast.Constant) and isinstance(rows, Mapping) else None
    if not own and not whole[1] and held is not None and hasattr(held, "unit"):
        own = (str(held.unit), str(held.source))
    unit, source = own or whole
    yield f"{name}[{word}]", ", ".join(_numbers(value)), unit, source


def _operands(value: ast.expr) -> list[ast.expr]:
    """The parts that `|` joins."""
    if isinstance(value, ast.BinOp) and isinstance(value.op, ast.BitOr):
        return _operands(value.left) + _operands(value.right)
    return [value]


_NAMED = ast.Name | ast.Call | ast.Tuple | ast.Dict


def _numbers(node: ast.AST) -> list[str]:
    """The numbers in an expression as they are written, those of named arguments with their names."""
    if isinstance(node, ast.Lambda):
        return []
    if isinstance(node, ast.BinOp | ast.UnaryOp) and not any(isinstance(each, _NAMED) for each in ast.walk(node)):
        return [ast.unparse(node)]
    if isinstance(node, ast.Constant):
        is_number = isinstance(node.value, int | float) and not isinstance(node.value, bool)
        return [str(node.value)] if is_number else []
    if isinstance(node, ast.keyword):
        return [f"{node.arg}={number}" if node.arg else number for number in _numbers(node.value)]
    return [number for child in ast.iter_child_nodes(node) for number in _numbers(child)]


HEAD = """# Constants

```sh
python docs/make.py constants      # makes this page from the code
```

Every number that the hand, the instruments, the performance and the sound go by, with the place where it is
declared. This page is made from the code (`python docs/make.py constants`).

What a source is called:

* **standard**, **published**: it is in the work named.
* **changed here**: taken from a published work or fitted to its data, and then set to something else, and why.
* **not repeatable**: fitted to published data, or worked out from them, once; this repository cannot repeat it.
* **measured here**: counted or measured by this project; the command named repeats it.
* **tuned here**: chosen by this project, by ear or by what it does to examples; nothing outside supports it.
* **common practice**, **from memory**: what players or builders commonly do or say; the number has no source.
* **derived**: follows from another number or a fact, as said.
* **definition**, **format**, **implementation limit**: the unit of a scale; what a format fixes; sizes, waits and
  bounds that keep the program quick and safe and say nothing about music.
"""


def page() -> str:
    """The page: a table for each module."""
    parts, before = [HEAD], ""
    for constant in declared():
        if constant.module != before:
            before = constant.module
            place = before.replace(".", "/")
            parts.append(f"\n## {place}\n\n| constant | value | unit | kind | source |\n|---|---|---|---|---|\n")
        kind = constant.kind or ""
        source = "" if constant.source in (kind, f"{kind}, no source") else constant.source
        cells = (f"`{constant.name}`", constant.value, constant.unit, kind, source)
        parts.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |\n")
    return "".join(parts)
