"""What the pages name is there: commands, options, keys, settings, variables, files, modules and tables."""

from __future__ import annotations

import argparse
import ast
import importlib.util
import inspect
import json
import re
import shlex
from dataclasses import fields
from pathlib import Path

import pytest

import tabterm
from tabterm.cli.main import build_parser
from tabterm.cli.scores import CHOICE
from tabterm.cli.subcommands import COMMANDS
from tabterm.page import cells
from tabterm.piece import configuration
from tabterm.piece.practice import Practice
from tabterm.workspace import commands  # noqa: F401 - importing it fills the registry
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY

ROOT = Path(__file__).parents[1]
PAGES = {
    path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md")))
}
SOURCES = "\n".join(
    path.read_text(encoding="utf-8") for room in ("tabterm", "tests") for path in (ROOT / room).rglob("*.py")
)


def blocks(page, language):
    """The code of one language on a page, indented or not."""
    return re.findall(rf"^ *```{language}\n(.*?)^ *```$", PAGES[page], re.DOTALL | re.MULTILINE)


def code_of(page):
    """What stands between back-ticks in the running text."""
    return re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", PAGES[page], flags=re.DOTALL))


def shell_lines(page):
    """Commands of ours in the page's examples, without the remark behind them."""
    lines = "\n".join(blocks(page, "sh")).splitlines()
    return [re.split(r" [<>] ", line.strip())[0] for line in lines if line.strip().startswith("tabterm ")]


@pytest.mark.parametrize("page", [page for page in PAGES if shell_lines(page)])
def test_commands_of_the_examples_are_taken(page):
    for line in shell_lines(page):
        name, *words = shlex.split(line, comments=True)[1:]
        if name in COMMANDS:
            assert build_parser(name).parse_args([name, *words]).command == name, line
        else:
            assert build_parser("edit").parse_args(["edit", name, *words]).command == "edit", line


def options_of(name):
    """Every option of a sub-command."""
    subs = next(action for action in build_parser(name)._actions if isinstance(action, argparse._SubParsersAction))
    return {option for action in subs.choices[name]._actions for option in action.option_strings}


@pytest.mark.parametrize("page", PAGES)
def test_options_in_the_text_are_those_of_a_command(page):
    every = set().union(*map(options_of, COMMANDS))
    for code in code_of(page):
        words = code.split() or [""]
        options = {word.partition("=")[0] for word in words if re.fullmatch(r"--[a-z][\w-]*(=.*)?", word)}
        if words[0] == "tabterm" and words[1:] and words[1] in COMMANDS:
            assert options <= options_of(words[1]), code
        elif not words[0].startswith(("python", "TABTERM", ".venv")):
            assert all(option in every or f'"{option}"' in SOURCES for option in options), code


def test_the_readme_is_short_and_leads_to_an_index_of_every_page():
    assert len(PAGES["README.md"].splitlines()) < 120
    assert "](docs/index.md)" in PAGES["README.md"]
    linked = set(re.findall(r"\]\(([\w-]+\.md)\)", PAGES["docs/index.md"]))
    assert linked == {page.removeprefix("docs/") for page in PAGES if page.startswith("docs/")} - {"index.md"}


@pytest.mark.parametrize("page", [page for page in PAGES if page.startswith("docs/")])
def test_a_page_begins_with_a_command(page):
    """Then comes how it works: who looks something up wants to do it."""
    assert re.search(r"^ *```sh$", "\n".join(PAGES[page].splitlines()[:12]), re.MULTILINE)


COURSES = dict(zip("asdf", ("course 1", "course 2", "course 3", "course 4"), strict=True))
KEYS = {
    ("README.md", "course"): {"?": "help", "ctrl+p": "find-command", "space": "play", "ctrl+q": "quit"}
    | {"f12": "recording"},
    ("docs/accompaniment.md", "course"): {"C": "parts"},
    ("docs/difficulty.md", "course"): {"E": "toggle-row effort"},
    ("docs/fitting.md", "course"): {"Q": "hear-original", "J": "next-departure", "Z": "restore"},
    ("docs/format.md", "course"): {"R": "values"},
    ("docs/hand.md", "course"): {"O": "other-finger", "W": "why-finger", "H": "hold-course", "g": "row finger"}
    | {"E": "toggle-row effort"},
    ("docs/findings.md", "course"): {"!": "next-finding", "&": "remedy", "f2": "findings"},
    ("docs/hand.md", "finger"): {"enter": "accept-fingers", "A": "accept-all-fingers", "B": "free-fingers"},
    ("docs/hand-profile.md", "course"): {"f6": "loop", "f7": "slower", "f8": "faster", "f9": "click"},
    ("docs/midi.md", "course"): {"Z": "restore"},
    ("docs/outputs.md", "course"): {"ctrl+p": "find-command"},
    ("docs/practice.md", "course"): {"f4": "ladder", "f6": "loop", "f7": "slower", "f8": "faster", "f9": "click"}
    | {"space": "play", "<": "half-speed", "#": "count-in", "C": "parts", "L": "last-loop", "@": "stop-here"}
    | {"F": "follow", "K": "put-aside", "V": "version", "Y": "practice-log", "M": "select-measure"}
    | {"P": "select-phrase", "u": "undo"},
    ("docs/recording.md", "course"): {"f12": "recording", "B": "hear-record", "<": "half-speed", "f9": "click"},
    ("docs/recording.md", "chord"): {"c": "row chord", "enter": "take-heard", "z": "take-heard-measure"}
    | {"Z": "take-all-heard", "n": "next-heard", "delete": "delete"},
    ("docs/recording.md", "source"): {"enter": "take-heard", "A": "take-heard-measure", "Z": "take-all-heard"}
    | {"n": "next-heard", "o": "other-heard", "delete": "drop-heard"},
    ("docs/terminal.md", "course"): {"ctrl+l": "redraw"},
    ("docs/tutorial.md", "course"): COURSES
    | {"q": "step 4", "e": "step 8", "y": "step 16", "[": "longer-step", "]": "shorter-step"}
    | {"t": "triplet-step", "-": "hold", "r": "rest", ".": "dot", "'": "ten", "+": "stack", "u": "undo"}
    | {"delete": "delete", "backspace": "take-back", "tab": "next-measure", "c": "row chord"}
    | {"m": "row remark", "v": "row stroke", "g": "row finger", "!": "next-finding", "&": "remedy"}
    | {"f2": "findings", "space": "play", "enter": "play-on", "f5": "play-all", "ctrl+p": "find-command"}
    | {";": "mark", "M": "select-measure", "P": "select-phrase", "ctrl+s": "save", "ctrl+q": "quit"}
    | {"b": "bend", "O": "other-finger", "W": "why-finger", "H": "hold-course"},
    ("docs/tutorial.md", "stroke"): {"t": "turn", "A": "alternate", "B": "to-proposal", "n": "silent-strokes"},
    ("docs/tutorial.md", "finger"): {"A": "accept-all-fingers", "B": "free-fingers"},
}
"""Keys that a page names in its text, and what they do on a row."""


@pytest.mark.parametrize(("page", "row", "key"), [(*place, key) for place, keys in KEYS.items() for key in keys])
def test_a_key_does_what_its_page_says(page, row, key):
    assert f"`{key}`" in PAGES[page] or f" {key.capitalize()} " in PAGES[page]
    assert Keymap().find(row, key) == KEYS[page, row][key]


NAMED = {
    "docs/accompaniment.md": "style groove hear-swing",
    "docs/fitting.md": "hear-original hear-both next-departure restore fit",
    "docs/hand-profile.md": "hand-span",
    "docs/outputs.md": "output outputs",
    "docs/practice.md": "pre-roll click-rests take-version",
    "docs/recording.md": "record-side record-left record-right solo-register record-mix record record-pitch"
    " record-tuning levels propose hear-chords stop-listening see-neck",
    "docs/strokes.md": "school school-here school-of-section",
    "docs/tutorial.md": "pickup key tempo title count-in export output school school-here school-of-section",
}
"""Commands of the editor that a page names."""


@pytest.mark.parametrize("page", NAMED)
def test_commands_of_the_editor_are_those_that_a_page_names(page):
    for name in NAMED[page].split():
        assert f"`{name}`" in PAGES[page]
        assert name in REGISTRY


@pytest.mark.parametrize("page", [page for page in PAGES if blocks(page, "toml")])
def test_settings_of_the_examples_are_taken(page, tmp_path, monkeypatch):
    for number, block in enumerate(blocks(page, "toml")):
        file = tmp_path / f"{number}.toml"
        file.write_text(block, encoding="utf-8")
        monkeypatch.setenv("TABTERM_CONFIG", str(file))
        assert configuration.load() != configuration.Configuration(), block
        keys = configuration.load().keys
        assert Keymap(keys).faults == []


def test_variables_are_those_that_the_program_reads():
    named = {name for page in PAGES.values() for name in re.findall(r"\bTABTERM_\w+", page)}
    assert len(named) > 3
    assert {name for name in named if f'"{name}"' not in SOURCES} == set()


def found(path):
    """Where a path that a page names is: from the root, or anywhere in the package."""
    return ROOT / path if (ROOT / path).exists() else next((ROOT / "tabterm").rglob(path), None)


@pytest.mark.parametrize("page", PAGES)
def test_files_and_modules_that_a_page_names_are_there(page):
    text = PAGES[page]
    for path in re.findall(r"`((?:[a-z]\w+/)+(?:[\w-]+\.(?:py|abc|musicxml|tabterm))?)`", text):
        assert found(path), path
    for module in re.findall(r"python -m (tests[\w.]*)", text):
        assert importlib.util.find_spec(module), module
    for path in re.findall(r"pytest (?:-\w+ )*(tests/[\w./]+)", text):
        assert (ROOT / path).exists(), path


def test_tables_that_are_named_with_their_module_stand_there():
    named = re.findall(r"`([A-Z_]+)`[^`]{0,12} (?:of|in) `([\w/]+\.py)`", " ".join(PAGES["DEVELOPERS.md"].split()))
    assert len(named) > 10
    for table, path in named:
        tree = ast.parse(found(path).read_text(encoding="utf-8"))
        targets = {
            target.id
            for node in tree.body
            if isinstance(node, ast.Assign | ast.AnnAssign)
            for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
            if isinstance(target, ast.Name)
        }
        assert table in targets, f"{table} of {path}"


def test_the_object_of_finger_json_has_the_fields_of_the_page(capsys, monkeypatch):
    from tabterm.cli.main import main

    shown = json.loads(blocks("docs/hand.md", "json")[0])
    monkeypatch.chdir(ROOT)
    assert main(["finger", "samples/quarry-road-breakdown.tabterm", "--json"]) == 0
    events = json.loads(capsys.readouterr().out)
    assert any(
        each.keys() == shown.keys() and [n.keys() for n in each["notes"]] == [n.keys() for n in shown["notes"]]
        for each in events
    )


SAID = {
    "docs/outputs.md": "no audio device here; no MIDI system here; no MIDI port; no audio library is installed; "
    "no MIDI library is installed; no listener at the other end; the sound engine has stopped",
}
"""Messages that a page explains."""


@pytest.mark.parametrize("page", SAID)
def test_messages_on_a_page_are_those_of_the_program(page):
    program = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "tabterm").rglob("*.py"))
    for message in SAID[page].split("; "):
        assert message in PAGES[page]
        assert re.search(rf'"[^"\n]*{re.escape(message)}', program), message


def signs_of(page, head):
    """What stands in back-ticks in the first column of a table."""
    rows = PAGES[page].partition(head)[2].partition("\n\n")[0].splitlines()
    return "".join(sign for row in rows for sign in re.findall(r"`([^`]+)`", row.split(" | ")[0]))


def test_signs_of_the_rows_are_those_on_the_pages():
    assert signs_of("docs/difficulty.md", "| sign | of the limit |") == cells.EFFORT_SIGNS.strip()
    assert signs_of("docs/fitting.md", "| sign | you play |") == "".join(cells.DIFFERS_SIGNS.values())


METHODS = re.findall(r"^\| `(\w+\(.*?\))` \|", PAGES["docs/library.md"], re.MULTILINE)


@pytest.mark.parametrize("call", METHODS)
def test_a_method_takes_what_the_page_of_the_library_says(call):
    tree = ast.parse(call, mode="eval").body
    parameters = inspect.signature(getattr(tabterm.Piece, tree.func.id)).parameters
    assert len(tree.args) <= len(parameters) - 1
    for keyword in tree.keywords:
        assert parameters[keyword.arg].default == ast.literal_eval(keyword.value)


def test_the_page_of_the_library_has_every_method_and_word():
    public = [name for name, each in vars(tabterm.Piece).items() if inspect.isfunction(each) and name[0] != "_"]
    assert sorted(call.partition("(")[0] for call in METHODS) == sorted(public)
    page = PAGES["docs/library.md"]
    assert all(f"`{word}`" in page for word in CHOICE)
    assert all(f"`{word}`" in page for word in ("count_in", "click", "parts", "style", "groove", "loop"))
    assert {"count_in", "click", "parts", "style", "groove"} <= {field.name for field in fields(Practice)}


def rows_of(section):
    """The cells of the table behind a heading of the page for developers."""
    text = re.split(
        r"^#{2,3} ", PAGES["DEVELOPERS.md"].partition(f"# {section}\n")[2], maxsplit=1, flags=re.MULTILINE
    )
    return [
        [cell.strip() for cell in row.split(" | ")] for row in re.findall(r"^\| (`.*) \|$", text[0], re.MULTILINE)
    ]


def test_the_page_for_developers_has_every_room():
    named = {name for room, _ in rows_of("The house, room by room") for name in re.findall(r"`([\w./]+)`", room)}
    there = {f"{path.name}/" if path.is_dir() else path.name for path in (ROOT / "tabterm").glob("[a-z]*")}
    assert named == there - {"version.py", "py.typed"}


def test_the_parts_of_the_session_are_where_the_page_for_developers_says():
    source = (ROOT / "tabterm" / "workspace" / "session.py").read_text(encoding="utf-8")
    rows = rows_of("The session, part by part")
    assert len(rows) > 5
    for parts, modules, _ in rows:
        for part in re.findall(r"`(\w+)`", parts):
            assert re.search(rf"^    {part}: |self\.{part} = ", source, re.MULTILINE), part
        for module in re.findall(r"`(\w+)`", modules):
            assert found(f"workspace/{module}.py"), module
