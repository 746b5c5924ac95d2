"""A bare installation, as for a far machine that only edits: none of the libraries of the extras."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys

import pytest

from tabterm.errors import INSTALL, LIBRARIES, SoundError, lacking
from tabterm.hand.player import Player
from tabterm.piece.targets import AUDIO
from tabterm.sound.files import KINDS
from tabterm.workspace.document import Document
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import score
from tests.package.targets import ROOT, requirements
from tests.typist import Listening

SAMPLE = ROOT / "samples" / "lantern-waltz.tabterm"

BLOCKER = f"""
import sys

class Bare:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {sorted(LIBRARIES)}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Bare())
"""

WORKS = [
    *("show waltz.tabterm", "check waltz.tabterm", "finger waltz.tabterm", "strokes waltz.tabterm"),
    *(
        "hard waltz.tabterm",
        "explain waltz.tabterm",
        "dyads G",
        "neck D7",
        "hand",
        "log",
        "ports",
        "keys",
        "config",
    ),
    *("convert waltz.tabterm out.mid", "convert waltz.tabterm out.musicxml", "convert waltz.tabterm out.abc"),
    *("demo try --no-edit", "recover", "completion bash", "compare waltz.tabterm"),
]
"""Commands that need none of the libraries."""

ASKS = [
    *("render waltz.tabterm out.wav", "handout waltz.tabterm kim", "sheet waltz.tabterm out.pdf"),
    *("slow waltz.ogg out.wav", "transcribe waltz.ogg out.tabterm", "help render"),
]
"""Commands that need some, and say how to get them."""

SCRIPT = """
import contextlib, io, json, sys
from tabterm.cli.main import main

told = []
for words in json.loads(sys.argv[1]):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(words)
    told.append((status, out.getvalue(), err.getvalue()))
print(json.dumps([told, sorted({name.partition(".")[0] for name in sys.modules})]))
"""


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    """Variables that take the libraries away from a process and all that it starts."""
    folder = tmp_path_factory.mktemp("bare")
    (folder / "sitecustomize.py").write_text(BLOCKER)
    return {"PYTHONPATH": os.pathsep.join([str(folder), str(ROOT)])}


@pytest.fixture(scope="module")
def told(bare, tmp_path_factory):
    """By command: its exit status, and what it printed on standard output and standard error."""
    here = tmp_path_factory.mktemp("here")
    shutil.copy(SAMPLE, here / "waltz.tabterm")
    (here / "waltz.ogg").write_bytes(b"OggS")
    words = json.dumps([shlex.split(line) for line in (*WORKS, *ASKS)])
    variables = {**os.environ, **bare, "XDG_STATE_HOME": str(here / "state")}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, words],
        cwd=here,
        env=variables,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found, modules = json.loads(done.stdout)
    assert not LIBRARIES & set(modules)
    return dict(zip((*WORKS, *ASKS), found, strict=True))


@pytest.mark.parametrize("line", WORKS)
def test_a_command_works_without_them(told, line):
    status, out, err = told[line]
    assert (status, "Traceback" in err, "lacks" in err) == (0, False, False)
    assert out


@pytest.mark.parametrize("line", ASKS)
def test_a_command_that_needs_some_says_how_to_get_them(told, line):
    status, _, err = told[line]
    assert status == 2
    assert err.count("\n") == 1
    assert INSTALL in err


def test_the_editor_writes_prints_nothing_and_saves(bare, open_editor, tmp_path):
    tune = tmp_path / "tune.tabterm"
    editor = open_editor(tune, **bare)
    editor.ready()
    editor.type_bytes(b"3\x05")
    editor.wait_for("is not installed")
    editor.type_bytes(b"\x13")
    editor.wait_for("saved")
    assert editor.quit() == 0
    assert '"fret":3' in tune.read_text()


def test_the_engine_says_why_it_is_silent(monkeypatch):
    for name in [name for name in sys.modules if name.startswith("tabterm.sound.")]:
        monkeypatch.delitem(sys.modules, name)
    for name in LIBRARIES:
        monkeypatch.setitem(sys.modules, name, None)
    from tabterm.sound.outputs import ANY, open_output

    with pytest.raises(SoundError, match=re.escape(INSTALL)) as error:
        open_output(ANY, lambda _: None)
    assert "is not installed" in error.value.message
    assert "no MIDI library is installed" in error.value.message


def test_a_command_of_the_editor_says_what_it_needs(monkeypatch, tmp_path):
    document = Document.open(tmp_path / "a.tabterm", Player(), blank=lambda: score("1 1.2"))
    session = Session(document, host=Listening(), transport=Transport())
    for name in ("tabterm.piece.audio", "tabterm.sound.files", "tabterm.sound.synthesiser"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.delattr("tabterm.piece.audio", raising=False)
    monkeypatch.setitem(sys.modules, "numpy", None)
    session.run(REGISTRY["render"], "a.mp3")
    document.close(keep_draft=False)
    assert session.host.said[-1] == f"this needs numpy, which is not installed ({INSTALL})"


def test_what_an_installation_may_lack_is_what_the_extras_bring():
    modules = {"python-rtmidi": "rtmidi", "fonttools": "fontTools"}
    bare = {each.name for each in requirements("")}
    brought = {each.name for each in requirements("full")} - bare
    assert {modules.get(name, name) for name in brought} == LIBRARIES


def test_any_other_missing_module_is_a_fault_of_ours():
    with pytest.raises(ModuleNotFoundError):
        lacking(ModuleNotFoundError("no", name="tabterm.no"))


def test_kinds_of_audio_are_named_without_the_libraries():
    assert {ending: kind.name for ending, kind in KINDS.items()} == AUDIO
