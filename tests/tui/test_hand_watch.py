"""What the adviser finds out is shown whenever it comes, early or late."""

from __future__ import annotations

import asyncio
import shutil

from tabterm.hand.strokes import with_proposals
from tabterm.piece.piece import blank
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.keyboard import Keyboard
from tabterm.workspace import adviser
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER
from tests.terminal import key_bytes
from tests.tui.test_wire import Twins


async def said_of_the_finding(path, seconds):
    document = Document.open(path, PLAYER, propose=with_proposals, blank=blank)
    app = Twins(document, Transport(), Keymap(), look="dark", abilities=Abilities())
    running = asyncio.create_task(app.run_async())
    await asyncio.wait_for(app.shown.wait(), 10)
    for message in Keyboard(lambda: 0.0).feed(key_bytes("!")):
        app._driver.process_message(message)
    for _ in range(int(seconds / 0.05)):
        await asyncio.sleep(0.05)
        if "optional: " in "".join(app.front.message_line.finding):
            break
    said, _ = app.front.message_line.finding
    app.exit()
    await running
    app.session.transport.close()
    document.close(keep_draft=False)
    return said


def test_the_remedy_is_said_when_the_findings_come_after_the_keys_have_rested(tmp_path, monkeypatch):
    monkeypatch.setattr(adviser, "REST_S", 1.5)
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    assert asyncio.run(said_of_the_finding(path, 8.0)).endswith("optional: the low note first, then the high one")


async def warmed(path, transport, started):
    document = Document.open(path, PLAYER, propose=with_proposals, blank=blank)
    app = Twins(document, transport, Keymap(), look="dark", abilities=Abilities())
    running = asyncio.create_task(app.run_async())
    await asyncio.wait_for(app.shown.wait(), 10)
    for _ in range(400):
        await asyncio.sleep(0.05)
        if started:
            break
    app.exit()
    await running
    app.session.transport.close()
    document.close(keep_draft=False)


def test_what_will_be_wanted_is_loaded_and_the_engine_started_beside_the_keys(tmp_path, monkeypatch):
    started, transport = [], Transport()
    monkeypatch.setattr(transport, "warm_up", lambda: started.append(True))
    asyncio.run(warmed(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"), transport, started))
    assert started
