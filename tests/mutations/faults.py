"""Small faults that can be put into a module: each is one change of one place."""

from __future__ import annotations

import ast
import copy
import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

KINDS = ("constant", "comparison", "arithmetic", "boolean", "return")

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}
WORDS = (ast.JoinedStr, ast.Raise)
"""Texts: a number within one is not looked for."""


@dataclass(frozen=True)
class Fault:
    """One place of one module, and what stands there instead.

    Attributes:
        module: The module's path below the root of the tree.
        kind: One of `KINDS`.
        name: How the fault is known: module, function, what stood there, what stands there now, and which of
            several such it is. It holds no line number, so it stays the same while other lines move.
        line: The line, for a person.
        at_import: The place is come by when the module is loaded, not when a function is called.
        start: First byte of the place in the module.
        end: The byte after the last.
        text: What stands there instead.
    """

    module: str
    kind: str
    name: str
    line: int
    at_import: bool
    start: int
    end: int
    text: str

    @property
    def room(self) -> str:
        """The package that the module belongs to."""
        return self.module.split("/")[1]

    def put_into(self, source: bytes) -> bytes:
        """The module with the fault."""
        return source[: self.start] + self.text.encode() + source[self.end :]

    def order(self, seed: int) -> str:
        """Its place in the draw of a seed: by its name alone, so that other changes do not move it."""
        return hashlib.sha256(f"{seed} {self.name}".encode()).hexdigest()


def faults_of(root: Path, module: Path) -> list[Fault]:
    """Every fault that can be put into a module."""
    source = module.read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found: list[Fault] = []
    seen: dict[str, int] = {}
    path = module.relative_to(root).as_posix()
    for where, at_import, node, kind, changed in _changes(ast.parse(source), "module", at_import=True):
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        old, new = source[start:end].decode(), ast.unparse(changed)
        name = f"{path} {where}: {'return ' * (kind == 'return')}{' '.join(old.split())} -> {new}"
        seen[name] = seen.get(name, 0) + 1
        name += f" ({seen[name]})" if seen[name] > 1 else ""
        text = new if kind in {"constant", "return"} else f"({new})"
        found.append(Fault(path, kind, name, node.lineno, at_import, start, end, text))
    return found


def _changes(node: ast.AST, where: str, *, at_import: bool) -> Iterator[tuple[str, bool, ast.expr, str, ast.AST]]:
    """Every place below a node: what it is in, if that runs at import, the node, the kind, the node instead."""
    for child in _looked_at(node):
        called = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and child in node.body
        loaded = at_import and not called
        if isinstance(child, ast.Return) and not _is_none(child.value):
            truth = isinstance(child.value, ast.Constant) and isinstance(child.value.value, bool)
            yield where, loaded, child.value, "return", ast.Constant(not child.value.value if truth else None)
            if isinstance(child.value, ast.Constant):
                continue
        for kind, changed in _instead(child):
            yield where, loaded, child, kind, changed
        if not isinstance(child, WORDS):
            inner = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            yield from _changes(child, child.name if inner else where, at_import=loaded)


def _is_none(node: ast.expr | None) -> bool:
    return node is None or (isinstance(node, ast.Constant) and node.value is None)


def _looked_at(node: ast.AST) -> Iterator[ast.AST]:
    """Children without type annotations, decorators, patterns, and what only a type checker reads."""
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        return
    for field, value in ast.iter_fields(node):
        if field not in {"annotation", "returns", "decorator_list", "pattern"}:
            yield from (
                each for each in (value if isinstance(value, list) else [value]) if isinstance(each, ast.AST)
            )


def _instead(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.Constant(value=bool(value)):
            yield "constant", ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield "constant", ast.Constant(value + 1)
        case ast.Constant(value=float(value)):
            yield "constant", ast.Constant(value * 1.5 if value else 1.0)
        case ast.Compare(ops=[one, *more]) if type(one) in COMPARED:
            yield "comparison", _with(node, ops=[COMPARED[type(one)](), *more])
        case ast.BinOp(op=op) if type(op) in RECKONED and not _is_unnumbered(node):
            yield "arithmetic", _with(node, op=RECKONED[type(op)]())
        case ast.BoolOp(op=ast.And()):
            yield "boolean", _with(node, op=ast.Or())
        case ast.BoolOp(op=ast.Or()):
            yield "boolean", _with(node, op=ast.And())
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "boolean", operand


def _with(node: ast.AST, **changed: object) -> ast.AST:
    copied = copy.copy(node)
    for field, value in changed.items():
        setattr(copied, field, value)
    return copied


def _is_unnumbered(node: ast.BinOp) -> bool:
    """Whether an operand is plainly a text or a collection: any other operator is an error at once."""
    collections = ast.JoinedStr | ast.Set | ast.Tuple | ast.List
    return any(
        isinstance(each, collections) or (isinstance(each, ast.Constant) and isinstance(each.value, str | bytes))
        for each in (node.left, node.right)
    )
