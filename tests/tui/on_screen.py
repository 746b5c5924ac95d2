"""The editor on a screen in this process, without a terminal."""

from __future__ import annotations

from contextlib import asynccontextmanager

from tabterm.piece.piece import blank
from tabterm.tui.app import TabtermApp
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.build import PLAYER


@asynccontextmanager
async def on_screen(app, size):
    """Its pilot; in the end the engine that the editor has warmed up is let go, too."""
    try:
        async with app.run_test(size=size) as pilot:
            yield pilot
    finally:
        app.session.transport.close()


@asynccontextmanager
async def edited(path, size=(80, 24)):
    """The pilot and the editor of a document, whose changes are forgotten in the end."""
    document = Document.open(path, PLAYER, blank=blank)
    app = TabtermApp(document, Transport(), Keymap())
    async with on_screen(app, size) as pilot:
        yield pilot, app
    document.close(keep_draft=False)
