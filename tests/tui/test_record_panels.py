"""The recording over its measures, and the neck as it is heard: drawn, gone through, closed by any way."""

from __future__ import annotations

import asyncio

import numpy as np
import pytest

from tabterm.recording import sounding
from tabterm.recording.sounding import Sounding
from tabterm.recording.spectra import HOP, RATE_HZ
from tabterm.recording.timemap import Anchor, TimeMap
from tabterm.tui.app import TabtermApp
from tabterm.tui.screens import record
from tabterm.tui.screens.neck_heard import NeckHeardScreen
from tabterm.tui.screens.record import RecordScreen
from tabterm.tui.terminal.abilities import Abilities
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, music
from tests.sound.test_record import ticks
from tests.tui.on_screen import on_screen
from tests.workspace.test_transport import Slow

STEP_S = HOP / RATE_HZ
BEATS_S = [1.0 + 0.5 * n for n in range(12)]


def opened(tmp_path, steps, *, abilities=None, size=(80, 24)):
    """The text of a panel after each step: keys, or functions of the app."""
    ticks(tmp_path / "kiln.wav", BEATS_S, 8.0)
    document = Document.open(tmp_path / "kiln.tabterm", PLAYER, blank=lambda: music("1 | 1 | 1"))
    document.save()

    async def run():
        app = TabtermApp(document, Transport(playback=Slow()), Keymap(), abilities=abilities)
        found = []
        async with on_screen(app, size) as pilot:
            app.session.recording.open(tmp_path / "kiln.wav")
            for step in steps:
                if callable(step):
                    step(app)
                else:
                    await pilot.press(*step.split())
                await pilot.pause(0.05)
                while app.workers and any(worker.is_running for worker in app.workers):
                    await pilot.pause(0.02)
                if isinstance(app.screen, RecordScreen | NeckHeardScreen):
                    app.screen._draw()
                    await pilot.pause()
                    sheet = app.screen.query_one(".sheet")
                    found.append(str(sheet.render()).splitlines())
                else:
                    found.append([])
        return found, app.session

    try:
        return asyncio.run(run())
    finally:
        document.close(keep_draft=False)


def tied(app):
    anchors = tuple(Anchor(measure=n, at_s=1.0 + 2 * n) for n in range(4))
    app.session.recording.change(time_map=TimeMap(anchors=anchors))


def test_the_waveform_stands_over_its_bar_lines(tmp_path):
    (page,), _ = opened(tmp_path, [lambda app: (tied(app), app.open_panel("recording"))])
    bars = next(line for line in page if "|1" in line)
    beats = page[page.index(bars) + 1]
    wave = page[page.index(bars) - 2].ljust(80)
    marks = [x for x, sign in enumerate(beats) if sign in "|."]
    assert all("█" in wave[x - 1 : x + 2] for x in marks[:12])
    assert [x for x, sign in enumerate(bars) if sign == "|"] == [marks[0], marks[4], marks[8], 66]
    assert sum(sign != " " for sign in wave) <= 30


def test_how_much_of_it_is_at_the_listener_is_said_until_all_is(tmp_path):
    def at(part):
        return lambda app: setattr(app.session.transport.playback, "shipped", part)

    pages, _ = opened(tmp_path, [lambda app: (tied(app), app.open_panel("recording")), at(0.4), at(1.0)])
    assert "40% sent to the listener" in pages[1][0]
    assert "listener" not in pages[0][0] + pages[2][0]


def test_keys_go_through_the_recording(tmp_path):
    pages, session = opened(
        tmp_path, [lambda app: (tied(app), app.open_panel("recording")), "tab tab", "plus", "right", "end", "q"]
    )
    own = session.recording
    assert "at 3.00 s" in pages[1][0]
    assert "at 3.10 s" in pages[3][0]  # a step is a fortieth of the four seconds shown
    assert "at 8.00 s" in pages[4][0]
    assert pages[5] == []
    assert own.at_s == 8.0


def test_without_a_map_it_says_how_to_get_one(tmp_path):
    (page,), _ = opened(tmp_path, [lambda app: app.open_panel("recording")])
    assert any("tap beats (t)" in line for line in page)


def test_every_key_of_the_panel_runs_a_command(tmp_path):
    assert set(record.RecordScreen.RUNS.values()) <= REGISTRY.keys()
    pages, session = opened(
        tmp_path,
        [
            lambda app: (tied(app), app.open_panel("recording")),
            "tab",
            "left_square_bracket",
            "end",
            "right_square_bracket",
        ],
    )
    assert session.recording.kept.part == (1.0, 8.0)
    assert any("[" in line and "___" in line for line in pages[-1])


def test_on_the_smallest_screen_all_keys_and_what_was_not_measured_are_said(tmp_path):
    (page,), _ = opened(tmp_path, [lambda app: (tied(app), app.open_panel("recording"))])
    assert [line for line in record.HELP if line not in page] == []
    assert "not measured on real recordings" in record.HELP[-1]
    assert max(map(len, record.HELP)) <= 76


def test_ascii_alone_is_drawn_where_the_terminal_has_no_more(tmp_path):
    (page,), _ = opened(
        tmp_path, [lambda app: (tied(app), app.open_panel("recording"))], abilities=Abilities(unicode=False)
    )
    assert all(line.isascii() for line in page)
    assert any("#" in line for line in page)


@pytest.mark.parametrize("size", [(40, 12), (200, 50)])
def test_it_fits_any_screen(tmp_path, size):
    (page,), _ = opened(tmp_path, [lambda app: (tied(app), app.open_panel("recording"))], size=size)
    bars = next(line for line in page if "|1" in line)
    assert len(bars) <= size[0]
    assert "|3" in bars


def test_the_neck_shows_where_what_sounds_can_be_played(tmp_path, monkeypatch):
    """A4 = MIDI 69 lies on the open second course, on fret 7 of the third and fret 14 of the fourth (tuning)."""
    lead = np.zeros((400, 57), np.float32)
    lead[100:, 69 - 40], lead[300:, 76 - 40] = 0.9, 0.4
    begins = np.zeros_like(lead)
    begins[100, 69 - 40] = 0.8
    monkeypatch.setattr(sounding, "sounding", lambda *_, **_how: Sounding(0.0, lead, begins))
    later = 300 * STEP_S + 0.02

    def go(app):
        app.session.recording.at_s = 100 * STEP_S
        app.open_panel("neck-heard")

    def move(app):
        app.session.recording.at_s = later

    pages, _ = opened(tmp_path, [tied, go, move])
    page = pages[1]
    rows = {line[0]: line for line in page if line[:1] in set("EADG")}
    first = next(line for line in page if line.startswith("fret"))
    assert "A4 90%" in page[0]
    neck = {line[0]: line for line in page[page.index(first) + 1 :][:4]}
    assert neck["A"].split()[1] == "#!"
    assert first[neck["D"].index("#")] == "7"
    assert "#" not in neck["E"] + neck["G"]
    assert rows["A"].count("0") > 20  # the strip of the second course: open from now on
    assert "E5 40%" in pages[2][0]
