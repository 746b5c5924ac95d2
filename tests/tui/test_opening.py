"""The first picture of a document that is new here is, cell by cell, the one that the toolkit begins with."""

from __future__ import annotations

import asyncio
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.formats import native
from tabterm.piece.practice import Practice
from tabterm.tui.opening import picture
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.first import Picture
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests import strategies
from tests.build import PLAYER
from tests.thorough import many
from tests.tui.test_wire import SIZES, SilentDriver, Twins

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))
PLACES = [(look, size) for look in ("dark", "light", "terminal") for size in SIZES]


class Opened(Twins):
    """Ends when it has begun, and keeps how."""

    def __init__(self, *arguments, size, **options):
        super().__init__(*arguments, **options)
        self.begun = None
        self.driver_class = type(
            "Sized", (SilentDriver,), {"start_application_mode": lambda driver: driver.resized(*size)}
        )

    def _display(self, screen, renderable):
        super(Twins, self)._display(screen, renderable)

    def _when_shown(self):
        self.begun = Picture(self.wire.wanted(), self.cursor_cell())
        self.exit()


def pictures(score, folder, look, size, *, plain=False, abilities=None):
    """The picture that is painted of a score, and the one that the toolkit then begins with."""
    document = Document.open(folder / "piece.tabterm", PLAYER, blank=lambda: score)
    transport, able = Transport(practice=Practice()), abilities or Abilities()
    painted = picture(document, transport, look, able, size=size, plain=plain)
    app = Opened(document, transport, Keymap(), look=look, abilities=able, size=size)
    app.session.shown.plain = plain
    asyncio.run(app.run_async())
    document.close(keep_draft=False)
    return painted, app.begun


def assert_alike(painted, begun):
    for y, (ours, theirs) in enumerate(zip(painted.rows, begun.rows, strict=True)):
        assert ours == theirs, f"line {y}"
    assert painted.cursor == begun.cursor


@pytest.mark.parametrize(("number", "path"), list(enumerate(SAMPLES)), ids=[path.stem for path in SAMPLES])
def test_of_the_samples(number, path, tmp_path):
    look, size = PLACES[number % len(PLACES)]
    assert_alike(*pictures(native.read(path.read_bytes()), tmp_path, look, size))


@settings(max_examples=many(6, 200), deadline=None)
@given(
    score=strategies.scores(),
    place=st.sampled_from(PLACES),
    plain=st.booleans(),
    colours=st.sampled_from(["truecolor", "256", "standard", "none"]),
    unicode=st.booleans(),
)
def test_of_any_score(score, place, plain, colours, unicode, tmp_path_factory):
    able = Abilities(colours=colours, unicode=unicode)
    assert_alike(*pictures(score, tmp_path_factory.mktemp("any"), *place, plain=plain, abilities=able))


@pytest.mark.parametrize("colours", ["none", "standard", "256"])
def test_on_a_terminal_with_fewer_colours(colours, tmp_path):
    score = native.read(SAMPLES[0].read_bytes())
    assert_alike(*pictures(score, tmp_path, "dark", (80, 24), abilities=Abilities(colours=colours, unicode=False)))


def in_a_fresh_program(words, folder):
    """What a program prints that has loaded nothing else."""
    begin = f"""
import sys
from argparse import Namespace
from pathlib import Path
from tabterm.cli.edit import loaded
from tabterm.cli.scores import CHOICE
file = Path({str(folder / "piece.tabterm")!r})
arguments = Namespace(file=file, look="dark", plain=False, **dict.fromkeys(CHOICE))
"""
    shutil.copy(SAMPLES[0], folder / "piece.tabterm")
    environment = {
        "XDG_STATE_HOME": str(folder),
        "XDG_CONFIG_HOME": str(folder),
        "TERM": "xterm-256color",
        "COLORTERM": "truecolor",
        "LANG": "C.UTF-8",
    }
    run = subprocess.run([sys.executable, "-c", begin + words], env=environment, capture_output=True, check=False)
    return run.stdout.decode(), run.stderr.decode()


def test_neither_the_toolkit_nor_the_judge_is_loaded_for_it(tmp_path):
    words = """
class First:
    picture = None
    def draw(self, picture, abilities):
        print(sorted({"textual", "rich", "asyncio", "pydantic"} & set(sys.modules)), len(picture.rows))
        raise SystemExit
loaded(arguments, First())
"""
    assert in_a_fresh_program(words, tmp_path) == ("[] 24\n", "")


HEAVY = {
    *("pydantic", "pydantic_core", "numpy", "mido", "rtmidi", "rtmidi2", "miniaudio", "soundfile", "soxr"),
    *("fontTools", "typst", "tomlkit", "tomllib", "sqlite3", "xml", "http", "urllib.request", "multiprocessing"),
    *("tabterm.sheet", "tabterm.recording.ear", "tabterm.sound.synthesiser", "tabterm.formats.musicxml"),
}
"""What an editor does without until it is asked for what needs it; they would hold tens of megabytes."""


def test_an_editor_at_rest_holds_no_heavy_libraries(tmp_path):
    words = f"""
app, _ = loaded(arguments)
document = app.session.document
head = document.score.head.with_(title="Another")
document.apply(document.score.with_(head=head), "title")
document.save()
document.undo()
document.close(keep_draft=False)
print(*sorted({HEAVY!r} & set(sys.modules)))
"""
    assert in_a_fresh_program(words, tmp_path) == ("\n", "")


def test_neither_do_the_panels_that_are_loaded_beside_the_keys(tmp_path):
    words = f"""
from tabterm.tui.app import later
from tabterm.tui.panels import PANELS
loaded(arguments)
later()
for panel in PANELS.values():
    panel.load()
print(*sorted({HEAVY - {"sqlite3"} | {"email", "html"}!r} & set(sys.modules)))
"""
    assert in_a_fresh_program(words, tmp_path) == ("\n", "")
