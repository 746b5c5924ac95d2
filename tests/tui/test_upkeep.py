"""What is told by the clock."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path

from tabterm.piece.piece import blank
from tabterm.tui.app import TabtermApp
from tabterm.workspace import adviser
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER
from tests.tui.on_screen import on_screen


class Mute:
    """A player that fails before anybody looks, as an engine does whose output was refused beforehand."""

    state, message, hint = "idle", "no output", "plug one in"

    def play(self, _performance, *, loop=1):
        assert loop
        self.state = "failed"

    def then(self, _performance, *, loop=1):
        raise AssertionError(loop)

    def position(self):
        return None

    def stop(self):
        self.state = "idle"

    close = stop


async def told(document, *keys):
    """What the message line says after some keys, and whether it is looked at again after that."""
    app = TabtermApp(document, Transport(playback=Mute()), Keymap())
    async with on_screen(app, (90, 30)) as pilot:
        await pilot.pause()
        await pilot.press(*keys)
        for _ in range(100):
            if message := app.front.message_line.message:
                break
            await asyncio.sleep(0.05)
        return message, app.session.transport.asked


def test_a_failure_that_comes_before_the_first_look_is_told(tmp_path):
    document = Document.open(Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm")), PLAYER, blank=blank)
    message, is_looked_at = asyncio.run(told(document, "space"))
    document.close(keep_draft=False)
    assert message == "no output (plug one in)"
    assert not is_looked_at


def test_a_fault_that_comes_when_the_keys_have_rested_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(adviser, "PAUSE_S", 1.0)
    monkeypatch.setattr(adviser, "advise", lambda *_: 1 // 0)
    document = Document.open(Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm")), PLAYER, blank=blank)
    message, _ = asyncio.run(told(document))
    document.close(keep_draft=False)
    assert "ZeroDivisionError" in message
