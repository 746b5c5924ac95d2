"""Another size with the cursor anywhere: a terminal shows what one that was just opened is shown."""

from __future__ import annotations

import asyncio
import random
import shutil

import pyte
from hypothesis import given
from hypothesis import strategies as st
from rich.segment import Segment
from rich.style import Style

from tabterm.hand.strokes import with_proposals
from tabterm.piece.piece import blank
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.keyboard import Keyboard
from tabterm.tui.terminal.wire import Wire
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER
from tests.terminal import key_bytes
from tests.thorough import many
from tests.tui.emulator import Emulator
from tests.tui.test_wire import SilentDriver, Twins

LARGE, SMALL = [(120, 40), (200, 50), (97, 31)], [(40, 12), (63, 17), (41, 30)]

cells = st.tuples(st.integers(0, 30), st.integers(0, 12))
steps = st.one_of(
    st.tuples(st.just("size"), st.tuples(st.integers(1, 30), st.integers(1, 12))),
    st.tuples(st.just("cursor"), st.one_of(st.none(), cells)),
    st.tuples(st.just("words"), st.tuples(cells, st.text("abc -", min_size=1, max_size=12))),
)


@given(st.lists(steps, max_size=30), st.booleans())
def test_a_cursor_outside_the_screen_puts_nothing_in_the_wrong_place(done, hides_cursor):
    """After every frame a terminal that was there before shows what one shows that is painted from nothing."""
    abilities = Abilities(hides_cursor=hides_cursor)
    wires, kept = (Wire(abilities, 30, 12), Wire(abilities, 30, 12)), Emulator(30, 12)
    for what, value in [*done, ("words", ((0, 0), "a"))]:
        for wire in wires:
            if what == "size":
                wire.resize(*value)
            elif what == "cursor":
                wire.cursor = value
            else:
                wire.put(*value[0], [Segment(value[1], Style())])
        kept.resize(wires[0].lines, wires[0].columns)
        pyte.Stream(kept).feed(wires[0].frame())
        wires[1].forget()
        fresh = Emulator(wires[1].columns, wires[1].lines)
        pyte.Stream(fresh).feed(wires[1].frame())
        assert kept.cells() == fresh.cells()
        assert kept.cursor.hidden == fresh.cursor.hidden
        assert kept.cursor.hidden or not hides_cursor or (kept.cursor.x, kept.cursor.y) == wires[0].cursor


class EagerDriver(SilentDriver):
    """Takes a frame whenever one is wanted, between two events of a change of size as well."""

    def draw(self, within_s=0.0):
        del within_s
        self._app.take_frame()


class Eager(Twins):
    """Shows what a terminal shows that takes everything at once."""

    def __init__(self, *arguments, **options):
        super().__init__(*arguments, **options)
        self.driver_class = EagerDriver


async def until(holds):
    for _ in range(10_000):
        if holds():
            return
        await asyncio.sleep(0.002)
    raise AssertionError


async def walk(path, count):
    document = Document.open(path, PLAYER, propose=with_proposals, blank=blank)
    app = Eager(document, Transport(), Keymap(), abilities=Abilities(erases_in_colour=True))
    running = asyncio.create_task(app.run_async())
    # What is found would come in between two pictures.
    await until(lambda: app.session.hand.advice is not None and app.session.hand.advice.findings is not None)
    choose, keyboard = random.Random(1), Keyboard(lambda: 0.0)

    async def resize(size):
        app._driver.resized(*size)
        await until(lambda: app.front.message_line.size.width == size[0] and app.wire.lines == size[1])
        await app.settled()
        app.take_frame()

    for _ in range(count):
        large, small, steps = choose.choice(LARGE), choose.choice(SMALL), choose.randint(0, 40)
        await resize(large)
        for key in ["ctrl+home", *choose.choices(["down", "up", "tab"], k=2), *["right"] * steps]:
            for message in keyboard.feed(key_bytes(key)):
                app._driver.process_message(message)
        await app.settled()
        await resize(small)
        shown, stood = app.ours.display, (app.ours.cursor.x, app.ours.cursor.y)
        app.ours.reset()
        app.redraw()
        await app.settled()
        app.take_frame()
        assert app.ours.display == shown, (large, small, steps)
        assert (app.ours.cursor.x, app.ours.cursor.y) == stood
    app.exit()
    await running
    app.session.transport.close()
    document.close(keep_draft=False)


def test_a_new_size_is_painted_as_a_fresh_screen_wherever_the_cursor_is(tmp_path):
    asyncio.run(walk(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"), many(8, 60)))
