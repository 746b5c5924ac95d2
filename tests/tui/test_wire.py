"""The wire: our bytes and the toolkit's own make an emulated terminal show the same."""

from __future__ import annotations

import asyncio
import random
import shutil
from pathlib import Path

import pyte
import pytest
from rich.color import Color, ColorSystem
from rich.style import Style
from textual import events
from textual._compositor import CompositorUpdate
from textual.geometry import Region, Size

import tabterm.tui.app
from tabterm.hand.strokes import with_proposals
from tabterm.piece.piece import blank
from tabterm.tui.app import TabtermApp
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.brush import pen_of
from tabterm.tui.terminal.driver import TerminalDriver
from tabterm.tui.terminal.keyboard import Keyboard
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER
from tests.terminal import key_bytes
from tests.thorough import many
from tests.tui.emulator import Emulator

KEYS = [
    *["right", "left", "down", "up", "pagedown", "pageup", "tab", "home", "end", "ctrl+home", "ctrl+end"] * 3,
    *"0123579asdfgvcmrhplkjtxb~^O%>:|SG*{}[](",
    *["backspace", "delete", "ctrl+d", "u", "u", "ctrl+y", "shift+right", "shift+right", "M", "ctrl+c", "ctrl+v"],
    *["f2", "?", "ctrl+p", "enter", "escape", "escape", "escape", "f3", "E", "I", "X", "!", "&", "ctrl+l", "W"],
    *["ctrl+q", "escape"],
]
"""Keys of every kind, over all rows and screens; those that ask open their question."""

SIZES = [(80, 24), (120, 40), (40, 12), (97, 31), (200, 50)]


class SilentDriver(TerminalDriver):
    """Takes frames when the test asks for them, and no terminal."""

    def start_application_mode(self):
        self.resized(80, 24)

    def disable_input(self): ...
    def stop_application_mode(self): ...
    def draw(self, within_s=0.0): ...
    def write(self, data): ...

    def resized(self, columns, lines):
        size = Size(columns, lines)
        self.process_message(events.Resize(size, size))


class Twins(TabtermApp):
    """Shows everything twice: as the toolkit sends it, and over the wire."""

    CSS_PATH = Path(tabterm.tui.app.__file__).parent / "editor.tcss"

    def __init__(self, *arguments, **options):
        super().__init__(*arguments, **options)
        self.driver_class = SilentDriver
        self.console._color_system = ColorSystem.TRUECOLOR
        self.stock, self.ours = Emulator(80, 24), Emulator(80, 24)
        self.updates, self.shown = 0, asyncio.Event()

    def _display(self, screen, renderable):
        if isinstance(renderable, CompositorUpdate) and self._running and not self._closed:
            if (self.stock.columns, self.stock.lines) != self.size:
                self.stock.resize(self.size.height, self.size.width)
                self.ours.resize(self.size.height, self.size.width)
            text = renderable.render_segments(self.console).replace("\n", "\r\n")
            pyte.Stream(self.stock).feed(text)
            self.updates += 1
            self.shown.set()
        super()._display(screen, renderable)

    def put(self, lines):
        """Show what goes past the toolkit as the toolkit would have drawn it."""
        super().put(lines)
        for x, y, _ in lines:
            widget, region = self.screen.get_widget_at(x, y)
            [strip] = widget.render_lines(Region(0, y - region.y, region.width, 1))
            pyte.Stream(self.stock).feed(f"\x1b[{y + 1};{x + 1}H{strip.render(self.console)}")
            self.updates += 1

    def take_frame(self):
        self.place_cursor()
        pyte.Stream(self.ours).feed(self.wire.frame())

    async def settled(self):
        """Wait until nothing more is painted."""
        quiet, before = 0, -1
        while quiet < 3:
            await asyncio.sleep(0.002)
            quiet = quiet + 1 if self.updates == before else 0
            before = self.updates


def assert_equal(app, what):
    for y, (stock, ours) in enumerate(zip(app.stock.cells(), app.ours.cells(), strict=True)):
        assert ours == stock, f"line {y} after {what}:\n{app.stock.display[y]}\n{app.ours.display[y]}"


async def random_walk(path, seed, count, abilities, look):
    document = Document.open(path, PLAYER, propose=with_proposals, blank=blank)
    app = Twins(document, Transport(), Keymap(), look=look, abilities=abilities)
    running = asyncio.create_task(app.run_async())
    await asyncio.wait_for(app.shown.wait(), 10)
    await app.settled()
    choose, keyboard, done = random.Random(seed), Keyboard(lambda: 0.0), []
    for _ in range(count):
        key = choose.choice(KEYS)
        if choose.random() < 0.02:
            size = choose.choice(SIZES)
            key = f"size {size}"
            app._driver.resized(*size)
        elif choose.random() < 0.02:
            key = "forget"
            app.wire.forget()
        else:
            for message in [*keyboard.feed(key_bytes(key)), *keyboard.give_up()]:
                app._driver.process_message(message)
        done.append(key)
        await app.settled()
        assert app.is_running, done[-5:]
        if choose.random() < 0.7:  # else the frame is skipped, as for a terminal that takes none
            app.take_frame()
            assert_equal(app, done[-5:])
    app.exit()
    await running
    app.session.transport.close()
    app.place_cursor()  # as the driver does for a frame that was asked for before the end
    document.close(keep_draft=False)
    return done


@pytest.mark.timeout(300)
@pytest.mark.parametrize(
    ("seed", "abilities", "look"),
    [
        (1, Abilities(erases_in_colour=True), "dark"),
        (2, Abilities(), "light"),
        (3, Abilities(moves_lines=False), "terminal"),
        (4, Abilities(ends_attributes=False, hides_cursor=False), "dark"),
    ],
)
def test_the_wire_shows_what_the_toolkit_shows(seed, abilities, look, tmp_path):
    """Random keys, resizes and lost grids, 2,000 in all if thorough; cells, colours and attributes are equal."""
    path = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, path)
    count = many(60, 500)
    done = asyncio.run(random_walk(path, seed, count, abilities, look))
    assert len(done) == count


@pytest.mark.parametrize("number", [16, 94, 124, 179, 209, 231, 232, 237, 245, 252, 255])
def test_a_colour_of_the_table_is_named_by_its_number(number):
    """The toolkit's library has the same table, from xterm."""
    style = Style.parse(f"color({number})")
    exact = Style.from_color(Color.from_triplet(style.color.get_truecolor()))
    assert pen_of(exact, "truecolor").ink == f"38;5;{number}"
    assert pen_of(Style.parse("#d8d4c8"), "truecolor").ink == "38;2;216;212;200"
