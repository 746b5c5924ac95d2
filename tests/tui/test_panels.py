"""Every panel that a command opens is in the one table, and every entry of the table lies over the score."""

from __future__ import annotations

import asyncio
import re
import shutil
from pathlib import Path

import numpy as np
import soundfile

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
from tests.tui.on_screen import on_screen


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
    soundfile.write(path.with_name("a.wav"), np.zeros(8000), 8000)
    app.session.recording.open(path.with_name("a.wav"))
    async with on_screen(app, (90, 30)) as pilot:
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
    found, size = asyncio.run(laid(Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"))))
    assert found.pop("no doubt") is None
    for name, region in found.items():
        assert region is not None, name
        assert abs(region.x - (size.width - region.right)) <= 1, name
        assert abs(region.y - (size.height - region.bottom)) <= 1, name


async def told(path, size):
    """Lines of the neck, and of the findings beside the score, where the sample reaches far."""
    document = Document.open(path, PLAYER, blank=blank)
    app = TabtermApp(document, Transport(), Keymap())
    async with on_screen(app, size) as pilot:
        while not app.session.hand.findings():
            await pilot.pause(0.02)
        await pilot.press("exclamation_mark")
        while app.hand_watch.finding_at_cursor() is None or app.session.hand.needs_advice:
            await pilot.pause(0.02)
        app.hand_watch.sync_lines()
        front = app.front
        found = [[line.text.rstrip() for line in widget.lines] for widget in (front.neck_strip, front.beside)]
        shown = front.beside.display, front.outlook.display, front.score_view.size.width
    document.close(keep_draft=False)
    return found, shown


def test_a_tall_screen_has_a_line_of_the_neck_for_each_course(tmp_path):
    """C on the open courses of a mandolin: third on E, fifth on G; its root at fret 3 of A (by definition)."""
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    (neck, _), shown = asyncio.run(told(path, (120, 40)))
    assert [line.split()[0] for line in neck] == ["neck", "E", "A", "D", "G", "hand"]
    numbers, courses = neck[0], dict(zip("EADG", neck[1:5], strict=True))
    assert numbers.split()[:4] == ["neck", "1", "[", "2"]
    at = {number: numbers.index(f" {number} ") + 1 for number in "1238"}
    assert (courses["E"][at["8"]], courses["D"][at["2"]], courses["A"][at["3"]]) == ("4", "1", "1")
    assert [courses[letter][7] for letter in "EADG"] == ["3", " ", " ", "5"]
    assert shown == (False, True, 120)


def test_a_wide_screen_keeps_the_findings_open_beside_the_score(tmp_path):
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    (_, beside), shown = asyncio.run(told(path, (200, 50)))
    words = " ".join(line.removeprefix("\N{BOX DRAWINGS LIGHT VERTICAL}").strip() for line in beside)
    assert "hard: reach 1-4, frets 2 to 8, is 92 mm (comfortable up to 79 mm)" in words
    assert shown == (True, False, 200 - 48)


async def necks(path, size, monkeypatch):
    """Whether the neck is shown at rest, while something sounds, and when that has ended."""
    document = Document.open(path, PLAYER, blank=blank)
    app = TabtermApp(document, Transport(), Keymap())
    found = []
    async with on_screen(app, size) as pilot:
        for sounds in (False, True, False):
            monkeypatch.setattr(Transport, "playing", sounds)
            app.session.transport.asked |= sounds
            app.sync()
            for _ in range(200):
                await pilot.pause(0.02)
                if app.front.neck_strip.display is not sounds or size[1] >= 36:
                    break
            await pilot.pause()  # the layout follows
            found.append((app.front.neck_strip.display, app.front.score_view.size.height))
    document.close(keep_draft=False)
    return found


def test_a_neck_of_one_line_gives_way_to_another_system_while_something_sounds(tmp_path, monkeypatch):
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    assert asyncio.run(necks(path, (80, 32), monkeypatch)) == [(True, 28), (False, 30), (True, 28)]


def test_a_tall_screen_has_room_for_the_neck_while_something_sounds(tmp_path, monkeypatch):
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    rest, *playing = asyncio.run(necks(path, (120, 40), monkeypatch))
    assert rest[0]
    assert playing == [rest, rest]


async def shown_necks(path):
    """What the panel of the neck says, opened by its key, after right, and after n."""
    document = Document.open(path, PLAYER, blank=blank)
    app, found = TabtermApp(document, Transport(), Keymap()), []
    async with on_screen(app, (100, 30)) as pilot:
        for key in ("ctrl+n", "right", "n"):
            await pilot.press(key)
            await pilot.pause()
            shown = app.screen.query_one("#neck-map").content
            found.append(shown.plain.splitlines())
            found[-1].append([shown.plain[span.start : span.end] for span in shown.spans])
        await pilot.press("escape")
        closed = not app.screen.query("#neck-map")
    document.close(keep_draft=False)
    return found, closed


def test_the_panel_of_the_neck_goes_through_chord_scale_and_positions(tmp_path):
    """The pickup of the sample has no chord; its phrase is in G major, of which E has 6 on the open course."""
    (first, second, third), closed = asyncio.run(shown_necks(shutil.copy(SAMPLE, tmp_path / "piece.tabterm")))
    assert first[0].endswith(": G major")
    assert first[3].split()[:2] == ["E", "6"]
    assert set(first[-1]) == {"1"}  # the root is told from the others
    assert second[0].startswith("2 of ")
    assert third[0] == second[0]
    assert closed
