"""No other room writes to disk: its calls would know nothing of links, half files and refusals."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import tabterm

PACKAGE = Path(tabterm.__file__).parent
CALLS = {
    *("write_text", "write_bytes", "touch", "mkdir", "makedirs", "rename", "symlink_to", "hardlink_to", "chmod"),
    *("truncate", "ftruncate", "fchmod", "mkstemp", "mkdtemp", "NamedTemporaryFile", "TemporaryDirectory"),
    *("TemporaryFile", "copyfile", "copytree"),
}
OF_OS = {"open", "write", "fdopen", "replace"}
OWN_STREAMS = {
    ("cli/main.py", "os.open"): "the null device, for a reader that has gone",
    ("cli/output.py", "open"): "standard error, for what moves the cursor",
    ("cli/output.py", "os.write"): "the terminal",
    ("tui/terminal/driver.py", "os.write"): "the terminal",
    ("tui/terminal/first.py", "os.write"): "the terminal",
    ("tui/terminal/streams.py", "os.write"): "the terminal, and a pipe of its own",
    ("tui/terminal/streams.py", "os.open"): "the terminal, by its own name",
}
"""What writes to a stream of the process, and not to a file."""


def writing_calls(source):
    """Names of the calls in a module that write to files."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Attribute):
            of_os = isinstance(called.value, ast.Name) and called.value.id == "os"
            if of_os and called.attr in OF_OS:
                yield f"os.{called.attr}"
            elif called.attr in CALLS or (called.attr == "replace" and len(node.args) == 1 and not node.keywords):
                yield called.attr
            elif called.attr == "open" and writes(node, 0):
                yield "open"
        elif isinstance(called, ast.Name) and called.id == "open" and writes(node, 1):
            yield "open"


def writes(call, position):
    """Whether a call of `open` names a mode that writes."""
    words = [each.value for each in call.keywords if each.arg == "mode"] + call.args[position : position + 1]
    return any(isinstance(word, ast.Constant) and set(str(word.value)) & set("wax+") for word in words)


MODULES = [path for path in sorted(PACKAGE.rglob("*.py")) if path.relative_to(PACKAGE).parts[0] != "storage"]


def test_only_one_room_writes_to_disk():
    found = {
        (str(path.relative_to(PACKAGE)), call)
        for path in MODULES
        for call in writing_calls(path.read_text(encoding="utf-8"))
    }
    assert {each for each in found if each not in OWN_STREAMS} == set()


@pytest.mark.parametrize(
    "source",
    [
        *("os.open(p, f)", "open(p, 'w')", "p.open('ab')", "open(p, mode='x')"),
        *("p.write_bytes(b'')", "p.rename(q)", "os.replace(p, q)", "p.replace(q)"),
    ],
)
def test_each_way_to_write_is_seen(source):
    assert list(writing_calls(source))


def test_reading_is_no_writing():
    assert not list(writing_calls("open(p)\nopen(p, 'rb')\np.open('rb')\n'a'.replace('b', 'c')"))
