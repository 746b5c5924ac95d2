"""Every panel that a command opens is in the one table, and every entry of the table lies over the score."""

from __future__ import annotations

import asyncio
import re
import shutil
from pathlib import Path

import tabterm
from tabterm.piece.piece import blank
from tabterm.tui.app import TabtermApp
from tabterm.tui.panels import PANELS
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.outside import Doubt
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER


def test_commands_open_what_is_in_the_table():
    package = Path(tabterm.__file__).parent
    opened = {
        name
        for path in package.rglob("*.py")
        for name in re.findall(r'open_panel\("([^"]+)"\)', path.read_text(encoding="utf-8"))
    }
    assert opened == PANELS.keys()


async def laid(path):
    """Where each panel's sheet stands on the screen, by name; of one that has nothing to ask, None."""
    document = Document.open(path, PLAYER, blank=blank)
    app, found = TabtermApp(document, Transport(), Keymap()), {}
    async with app.run_test(size=(90, 30)) as pilot:
        for name in [*PANELS, "no doubt"]:
            app.session.doubt = Doubt.CHANGED if name == "doubt" else None
            app.open_panel(name.removeprefix("no "))
            await pilot.pause()
            sheets = app.screen.query(".sheet")
            found[name] = sheets.first().region if sheets else None
            if sheets:
                await app.pop_screen()
    document.close(keep_draft=False)
    return found, app.size


def test_each_panel_lies_in_the_middle_of_the_screen(tmp_path):
    found, size = asyncio.run(laid(shutil.copy(SAMPLE, tmp_path / "piece.tabterm")))
    assert found.pop("no doubt") is None
    for name, region in found.items():
        assert region is not None, name
        assert abs(region.x - (size.width - region.right)) <= 1, name
        assert abs(region.y - (size.height - region.bottom)) <= 1, name
