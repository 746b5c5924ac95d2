"""The picture of the editor: its own screen, at the place where the sample reaches far."""

from __future__ import annotations

import asyncio
import re
import tempfile
import time
from pathlib import Path
from shutil import copy
from typing import TYPE_CHECKING

from tabterm.hand.player import Player
from tabterm.hand.strokes import with_proposals
from tabterm.tui.app import TabtermApp
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport

if TYPE_CHECKING:
    from textual.pilot import Pilot

SAMPLE = Path(__file__).parents[1] / "samples" / "quarry-road-breakdown.tabterm"
SIZE = 100, 30

SETTLED_WITHIN_S = 120.0
"""The hand is worked out in a second; on a busy machine it may take longer."""

GLANCE_S = 0.02

CELL = 12.2, 24.4
"""Width and height of a character in the picture that the toolkit draws."""

FONTS = (("Fira Code, monospace", "monospace"), ("arial", "sans-serif"))
"""Families of the toolkit's picture, and the generic ones in their place: nothing is fetched from anywhere."""


def picture() -> str:
    """The SVG."""
    with tempfile.TemporaryDirectory() as folder:
        svg = asyncio.run(_shot(Path(copy(SAMPLE, folder))))
    svg = re.sub(
        r"\s*<!--.*?-->|\s*@font-face \{.*?\}", "", re.sub(r"terminal-\d+", "terminal", svg), flags=re.DOTALL
    )
    for family, generic in FONTS:
        svg = svg.replace(f"font-family: {family}", f"font-family: {generic}")
    return svg + "\n"


async def _shot(path: Path) -> str:
    document = Document.open(path, Player(), propose=with_proposals, blank=lambda: None)
    app = TabtermApp(document, Transport(), Keymap())
    async with app.run_test(size=SIZE) as pilot:
        await _settle(app, pilot)
        await pilot.press("exclamation_mark")
        await _settle(app, pilot)
        svg = _with_cursor(app.export_screenshot(title="tabterm"), app.cursor_cell())
    document.close(keep_draft=False)
    return svg


async def _settle(app: TabtermApp, pilot: Pilot[None]) -> None:
    """Wait until the hand has been worked out, the finding at the cursor wondered about, and both are shown."""
    deadline_s = time.monotonic() + SETTLED_WITHIN_S
    while not _is_advised(app):
        if time.monotonic() > deadline_s:
            raise TimeoutError(app.hand_watch.fault() or "the hand has not been worked out")
        await pilot.pause(GLANCE_S)
    await pilot.pause()


def _is_advised(app: TabtermApp) -> bool:
    advice = app.session.hand.advice
    if app.session.hand.needs_advice or advice is None or advice.findings is None:
        return False
    finding = app.hand_watch.finding_at_cursor()
    return finding is None or app.session.hand.remedies_known(finding) is not None


def _with_cursor(svg: str, cell: tuple[int, int]) -> str:
    """The picture of a screen with the terminal's own cursor put in."""
    (column, row), (width, height) = cell, CELL
    block = f'<rect fill="#d8d4c8" fill-opacity="0.6" x="{column * width:.1f}" y="{row * height + 1.5:.1f}" '
    block += f'width="{width}" height="{height}"/>'
    return svg.replace('<g class="terminal-', block + '<g class="terminal-', 1)
