"""What has been said about the next note stands at the cursor, all of it, and goes without a trace."""

from __future__ import annotations

import asyncio

import pytest

from tabterm.piece.piece import blank
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.keyboard import Keyboard
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.build import PLAYER
from tests.terminal import key_bytes
from tests.tui.test_resizing import Eager, until

SAID = {"h": "h", "^": "h^", "x": "h^x", "`": "h^x{", "+": "h^x{+", "'": "h^x{+1", "escape": ""}
"""Keys, and what stands at the cursor of an empty measure after each."""


async def typed(path):
    """Type the keys, and wait after each for what it says."""
    document = Document.open(path, PLAYER, blank=blank)
    app, keyboard = Eager(document, Transport(), Keymap(), abilities=Abilities()), Keyboard(lambda: 0.0)

    def at_cursor():
        x, y = app.ours.cursor.x, app.ours.cursor.y
        return app.ours.display[y][x : x + 8].rstrip("-")

    running = asyncio.create_task(app.run_async())
    await asyncio.wait_for(app.shown.wait(), 30)
    for key, said in SAID.items():
        for message in [*keyboard.feed(key_bytes(key)), *keyboard.give_up()]:
            app._driver.process_message(message)
        try:
            await until(lambda said=said: at_cursor() == said)
        except AssertionError:
            pytest.fail(f"after {key}: {at_cursor()}, not {said}")
    app.exit()
    await running
    app.session.transport.close()
    document.close(keep_draft=False)


def test_what_is_said_of_the_next_note_is_painted_as_a_whole(tmp_path):
    asyncio.run(typed(tmp_path / "new.tabterm"))
