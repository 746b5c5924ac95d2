"""Pictures of the editor: what its own terminal layer puts into the cells, where the sample reaches far."""

from __future__ import annotations

import asyncio
import html
import os
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from pathlib import Path
from shutil import copy
from typing import TYPE_CHECKING
from unittest.mock import patch

from rich._palettes import EIGHT_BIT_PALETTE

from tabterm.hand.player import Player
from tabterm.hand.strokes import with_proposals
from tabterm.piece import practice_log
from tabterm.piece.practice_log import LogEntry, PracticeLog
from tabterm.recording.timemap import Anchor, TimeMap
from tabterm.score.place import Place
from tabterm.tui.app import TabtermApp
from tabterm.tui.terminal.abilities import Abilities
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.pilot import Pilot

    from tabterm.tui.terminal.brush import Cell, GridRow

SAMPLE = Path(__file__).parents[1] / "samples" / "quarry-road-breakdown.tabterm"

SETTLED_WITHIN_S = 120.0
"""The hand is worked out in a second; on a busy machine it may take longer."""

GLANCE_S = 0.02

STILL = 8
"""So many looks in a row show the same when the screen is at rest."""

WIDE, HIGH = 9.63, 21
"""Width and height of a cell; a character of most fonts is 0.6 of its size wide."""

SIXTEEN = (
    "000000 cd3131 0dbc79 e5e510 2472c8 bc3fbc 11a8cd e5e5e5 "
    "666666 f14c4c 23d18b f5f543 3b8eea d670d6 29b8db ffffff"
)
"""The terminal's own colours, as one of many terminals shows them (chosen here)."""


@dataclass(frozen=True)
class Shot:
    """A picture to be made.

    Attributes:
        size: Columns and lines of the terminal.
        look: Colours of the screen, by the name that the configuration gives.
        abilities: What the terminal can do.
        keys: What is typed before, where not the first finding is looked for.
        playing: Where the sound is, None where nothing sounds.
        plain: Whether it is for a screen reader.
        before: What is done before keys are typed.
    """

    size: tuple[int, int] = (120, 40)
    look: str = "dark"
    abilities: Abilities = Abilities()  # noqa: RUF009 - it is frozen
    keys: tuple[str, ...] = ("exclamation_mark",)
    playing: Place | None = None
    plain: bool = False
    before: Callable[[TabtermApp], None] = lambda _: None


TERMINALS = {
    "dark": ("dark", Abilities()),
    "light": ("light", Abilities()),
    "sixteen": ("terminal", Abilities(colours="standard")),
    "colourless": ("terminal", Abilities(colours="none")),
    "ascii": ("terminal", Abilities(colours="none", unicode=False)),
}
SIZES = ((40, 12), (80, 24), (120, 40), (200, 50))
PANELS = {"help": ("question_mark",), "palette": ("ctrl+p",), "findings": ("f2",), "leave": ("d", "5", "ctrl+q")}
SHOTS = {
    **{f"{name}-{size[0]}x{size[1]}": Shot(size, *TERMINALS[name]) for name in TERMINALS for size in SIZES},
    **{f"playing-{size[0]}x{size[1]}": Shot(size, keys=(), playing=Place(2, 0)) for size in SIZES},
    **{
        f"{name}-{size[0]}x{size[1]}": Shot(size, keys=keys) for name, keys in PANELS.items() for size in SIZES[:3]
    },
}
"""Every picture that can be asked for, by its name."""


def picture(shot: Shot = Shot((100, 30))) -> str:
    """The SVG; nothing of the user's own is read or written."""
    with tempfile.TemporaryDirectory() as folder:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{folder}/none")
        with patch.dict(os.environ, homes):
            rows, cursor = asyncio.run(_grid(Path(copy(SAMPLE, folder)), shot))
    return drawn(rows, cursor, shot.look)


def _practised(app: TabtermApp) -> None:
    """A fortnight of one passage, and some days of another."""
    document, begun = app.session.document, datetime(2026, 1, 5, 18, tzinfo=UTC)
    reached = {"5-8": (63, 65, 70, 70, 78, 81, 88, 92), "13-16": (70, 74, 80)}
    entries = [
        LogEntry(
            begun=begun + timedelta(days=2 * number),
            title=document.score.head.title,
            file=str(document.path.resolve()),
            first_measure=int(passage.partition("-")[0]),
            last_measure=int(passage.partition("-")[2]),
            passage=passage,
            per_minute=per_minute,
            beat="4",
            percent=100 * per_minute / 104,
            turns=12 + number,
            seconds=240.0,
        )
        for passage, tempos in reached.items()
        for number, per_minute in enumerate(tempos)
    ]
    PracticeLog(practice_log.path()).add(*entries)


def _recorded(app: TabtermApp) -> None:
    """The sample recording, with the bar lines that it was played by."""
    folder = SAMPLE.parent
    copy(folder / "tollgate-reel.ogg", app.session.document.path.parent)
    app.session.recording.open(app.session.document.path.parent / "tollgate-reel.ogg")
    anchors = tuple(Anchor(measure=number, at_s=0.55 + 2.1 * number) for number in range(9))
    app.session.recording.change(time_map=TimeMap(anchors=anchors))


PAGES = {
    "findings": Shot((100, 12), keys=("f2",)),
    "plain": Shot((80, 14), plain=True),
    "practice-log": Shot((80, 20), keys=("Y",), before=_practised),
    "recording": Shot((80, 24), keys=("f12",), before=_recorded),
}
"""Pictures of the pages, by the name of the file."""


async def _grid(path: Path, shot: Shot) -> tuple[list[GridRow], tuple[int, int] | None]:
    document = Document.open(path, Player(), propose=with_proposals, blank=lambda: None)
    app = TabtermApp(document, Transport(), Keymap(), look=shot.look, abilities=shot.abilities)
    app.session.shown.plain = shot.plain
    async with app.run_test(size=shot.size) as pilot:
        await _settle(app, pilot)
        shot.before(app)
        await _settle(app, pilot)
        await pilot.press(*shot.keys)
        await _settle(app, pilot)
        if shot.playing is not None:
            app.front.score_view.show_playhead(shot.playing)
            await pilot.pause()
        rows, cursor = await _at_rest(app, pilot, shot.size)
    document.close(keep_draft=False)
    return rows, cursor


async def _at_rest(
    app: TabtermApp, pilot: Pilot[None], size: tuple[int, int]
) -> tuple[list[GridRow], tuple[int, int] | None]:
    """The cells and the cursor when nothing has changed for a while; a panel may be drawn in steps."""
    shown: list[object] = []
    deadline_s = time.monotonic() + SETTLED_WITHIN_S
    while len(shown) < STILL or any(each != shown[-1] for each in shown[-STILL:]):
        if time.monotonic() > deadline_s:
            raise TimeoutError("the screen does not come to rest")
        await pilot.pause(GLANCE_S)
        app.wire.resize(*size)
        app.wire.take(app.screen._compositor.render_update(full=True))  # noqa: SLF001 - all of it, at once
        shown.append((app.wire.wanted(), app.cursor_cell()))
    return app.wire.wanted(), app.cursor_cell()


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


def drawn(rows: list[GridRow], cursor: tuple[int, int] | None, look: str) -> str:
    """Cells as SVG, with the terminal's cursor as a block."""
    ink, ground = ("#2a2825", "#faf8f2") if look == "light" else ("#d8d4c8", "#16181c")
    wide, high = round(len(rows[0]) * WIDE), len(rows) * HIGH
    parts = [
        f'<svg viewBox="0 0 {wide + 20} {high + 20}" xmlns="http://www.w3.org/2000/svg" xml:space="preserve">',
        "<style>text { font: 16px monospace; white-space: pre; }",
        ".b { font-weight: bold; } .i { font-style: italic; }",
        ".u { text-decoration: underline; } .d { opacity: 0.6; }</style>",
        f'<rect width="{wide + 20}" height="{high + 20}" rx="6" fill="{ground}"/>',
        '<g transform="translate(10 10)">',
    ]
    for y, row in enumerate(rows):
        x = 0
        for _, run in groupby(row, key=lambda cell: cell[1]):
            cells = list(run)
            parts += _run(x, y, cells, ink, ground)
            x += len(cells)
    if cursor is not None:
        x, y = cursor
        parts.append(
            f'<rect x="{x * WIDE}" y="{y * HIGH}" width="{WIDE}" height="{HIGH}" fill="{ink}" opacity="0.5"/>'
        )
    return "\n".join([*parts, "</g>", "</svg>", ""])


def _run(x: int, y: int, cells: list[Cell], ink: str, ground: str) -> list[str]:
    """Neighbouring cells of one pen."""
    text, pen = "".join(cell[0] for cell in cells), cells[0][1]
    colours = _colour(pen.ink, ink), _colour(pen.ground, ground)
    fill, behind = colours[::-1] if "reverse" in pen.marks else colours
    parts, (left, top) = [], (x * WIDE, y * HIGH)
    if behind != ground:
        parts.append(
            f'<rect x="{left:.1f}" y="{top}" width="{len(cells) * WIDE:.1f}" height="{HIGH}" fill="{behind}"/>'
        )
    if text.strip() or "underline" in pen.marks:
        classes = "".join(f"{mark[0]} " for mark in ("bold", "italic", "underline", "dim") if mark in pen.marks)
        attributes = f' class="{classes.strip()}"' if classes else ""
        placed = f'x="{left:.1f}" y="{top + 16}" textLength="{len(cells) * WIDE:.1f}"'
        parts.append(f'<text {placed} fill="{fill}"{attributes}>{html.escape(text, quote=False)}</text>')
    return parts


def _colour(parameters: str, own: str) -> str:
    """The colour of SGR parameters (ECMA-48; 38;2 and 48;2 as xterm has them), `own` for none."""
    numbers = [int(number) for number in parameters.split(";") if number]
    if not numbers or numbers[0] in {39, 49}:
        return own
    if len(numbers) == 5:
        return "#{:02x}{:02x}{:02x}".format(*numbers[2:])
    if len(numbers) == 3:
        return "#{:02x}{:02x}{:02x}".format(*EIGHT_BIT_PALETTE[numbers[2]])
    number = numbers[0] % 10 + 8 * (numbers[0] >= 90)
    return f"#{SIXTEEN.split()[number]}"
