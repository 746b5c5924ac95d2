"""Every panel that a command opens is in the one table, and every entry of the table lies over the score."""

from __future__ import annotations

import asyncio
import re
import shutil
from pathlib import Path

import numpy as np
import soundfile
from textual.events import Key

import tabterm
from tabterm.tui.panels import PANELS
from tabterm.workspace.outside import Doubt
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.tui.on_screen import edited


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
    found = {}
    soundfile.write(path.with_name("a.wav"), np.zeros(8000), 8000)
    async with edited(path, (90, 30)) as (pilot, app):
        app.session.recording.open(path.with_name("a.wav"))
        for name in [*PANELS, "no doubt"]:
            app.session.doubt = Doubt.CHANGED if name == "doubt" else None
            app.open_panel(name.removeprefix("no "))
            await pilot.pause()
            sheets = app.screen.query(".sheet")
            found[name] = sheets.first().region if sheets else None
            if sheets:
                await app.pop_screen()
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
    async with edited(path, size) as (pilot, app):
        while not app.session.hand.findings():
            await pilot.pause(0.02)
        await pilot.press("exclamation_mark")
        while app.hand_watch.finding_at_cursor() is None or app.session.hand.needs_advice:
            await pilot.pause(0.02)
        app.hand_watch.sync_lines()
        front = app.front
        found = [[line.text.rstrip() for line in widget.lines] for widget in (front.neck_strip, front.beside)]
        shown = front.beside.display, front.outlook.display, front.score_view.size.width
    return found, shown


def test_a_tall_screen_has_a_line_of_the_neck_for_each_course(tmp_path):
    """C on the open courses of a mandolin: third on E, fifth on G; its root at fret 3 of A (by definition)."""
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    (neck, _), shown = asyncio.run(told(path, (140, 40)))
    assert [line.split()[0] for line in neck] == ["neck", "E", "A", "D", "G", "hand"]
    numbers, courses = neck[0], dict(zip("EADG", neck[1:5], strict=True))
    assert numbers.split()[:4] == ["neck", "1", "[", "2"]
    at = {number: numbers.index(f" {number} ") + 1 for number in "1238"}
    assert (courses["E"][at["8"]], courses["D"][at["2"]], courses["A"][at["3"]]) == ("4", "1", "1")
    assert [courses[letter][7] for letter in "EADG"] == ["3", " ", " ", "5"]
    assert shown == (False, True, 140)


def test_a_wide_screen_keeps_the_findings_open_beside_the_score(tmp_path):
    path = shutil.copy(SAMPLE, tmp_path / "piece.tabterm")
    (_, beside), shown = asyncio.run(told(path, (200, 50)))
    words = " ".join(line.removeprefix("\N{BOX DRAWINGS LIGHT VERTICAL}").strip() for line in beside)
    assert "hard: reach 1-4, frets 2 to 8, is 92 mm (comfortable up to 79 mm)" in words
    assert shown == (True, False, 200 - 48)


async def necks(path, size, monkeypatch):
    """Whether the neck is shown at rest, while something sounds, and when that has ended."""
    found = []
    async with edited(path, size) as (pilot, app):
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
    found = []
    async with edited(path, (100, 30)) as (pilot, app):
        for key in ("ctrl+n", "right", "n"):
            await pilot.press(key)
            await pilot.pause()
            shown = app.screen.query_one("#neck-map").content
            found.append(shown.plain.splitlines())
            found[-1].append([shown.plain[span.start : span.end] for span in shown.spans])
        await pilot.press("escape")
        closed = not app.screen.query("#neck-map")
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


QUESTIONS = {"leave", "doubt", "recover"}
"""Panels that ask what is to become of work: they are answered first."""

ABOVE, HELP = Key("ctrl+p", None), Key("question_mark", "?")


async def reached(path):
    """What lies over the score when a panel is open, and after ctrl+p, its choice, and ? on it."""
    found = {}
    soundfile.write(path.with_name("a.wav"), np.zeros(8000), 8000)

    async def close(app):
        while len(app.screen_stack) > 1:
            await app.pop_screen()

    async with edited(path) as (pilot, app):
        app.session.recording.open(path.with_name("a.wav"))
        for name in PANELS:
            app.session.doubt = Doubt.CHANGED if name == "doubt" else None
            found[name] = []
            for key in (ABOVE, HELP):
                app.open_panel(name)
                await app.on_event(key)
                while any(getattr(screen, "awaited", False) for screen in app.screen_stack):
                    await pilot.pause(0.001)
                found[name].append([type(screen).__name__ for screen in app.screen_stack[1:]])
                if key is ABOVE and name in {"recording", "findings"}:
                    app.screen.dismiss("neck-map")
                    await pilot.pause()
                    found[name].append([type(screen).__name__ for screen in app.screen_stack[1:]])
                await close(app)
    return found


def test_the_palette_and_the_help_open_over_every_panel_but_questions(tmp_path):
    found = asyncio.run(reached(Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"))))
    assert [found.pop(name) for name in ("recording", "findings")] == [
        [[name, "PaletteScreen"], ["NeckScreen"], [name, "HelpScreen"]]
        for name in ("RecordScreen", "FindingsScreen")
    ]
    assert found.pop("palette") == [[], ["PaletteScreen"]]
    assert found.pop("help") == [["HelpScreen", "PaletteScreen"], []]
    assert found.pop("phrase-book") == [["PhraseBookScreen", "PaletteScreen"], ["PhraseBookScreen"]]
    for name, (palette, keys) in found.items():
        above = ([], []) if name in QUESTIONS else (["PaletteScreen"], ["HelpScreen"])
        assert (palette[1:], keys[1:]) == above, name


def test_quit_is_carried_out_over_a_panel(tmp_path):
    path = Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"))

    async def asked():
        found = []
        async with edited(path) as (pilot, app):
            await pilot.press("ctrl+home", "d", "7")
            for key in ("f2", "ctrl+p"):
                await pilot.press(key, "ctrl+q")
                await pilot.pause()
                found.append([type(screen).__name__ for screen in app.screen_stack[1:]])
                await pilot.press("escape", "escape")
        return found

    assert asyncio.run(asked()) == [["LeaveScreen"]] * 2


async def typed(path, *keys):
    async with edited(path) as (pilot, app):
        await pilot.press(*keys)
        await pilot.pause()
        found = [type(screen).__name__ for screen in app.screen_stack[1:]], app.keys.entry.is_open
        chord, unsaved = app.session.document.score.measures[0].chords, app.session.document.unsaved
    return found, chord, unsaved


def test_a_word_that_is_typed_in_place_is_kept_when_a_key_saves_or_finds_a_command(tmp_path):
    path = tmp_path / "new.tabterm"
    found, chords, unsaved = asyncio.run(typed(path, "c", "G", "7", "ctrl+s"))
    assert (found, [str(each.symbol) for each in chords], unsaved) == (([], False), ["G7"], False)
    found, chords, _ = asyncio.run(typed(path, "c", "D", "ctrl+p"))
    assert (found, [str(each.symbol) for each in chords]) == ((["PaletteScreen"], False), ["D"])


def test_a_question_gives_way_to_a_key_that_finds_a_command(tmp_path):
    found, _, unsaved = asyncio.run(typed(tmp_path / "new.tabterm", "ctrl+g", "2", "ctrl+p"))
    assert (found, unsaved) == ((["PaletteScreen"], False), False)


def test_a_remedy_is_undone_where_the_findings_are_listed(tmp_path):
    path = Path(shutil.copy(SAMPLE, tmp_path / "piece.tabterm"))

    async def counts():
        found = []
        async with edited(path) as (pilot, app):
            while not app.session.hand.findings():
                await pilot.pause(0.02)
            before = app.session.document.score
            await pilot.press("f2")
            for key in ("1", "u", "ctrl+y", "ctrl+z"):
                await pilot.press(key)
                await pilot.pause()
                found.append((app.session.document.score.measures == before.measures, app.screen._title()[:1]))
        return found

    found = asyncio.run(counts())
    assert [same for same, _ in found] == [False, True, False, True]
    assert found[0][1] == found[2][1] < found[1][1] == found[3][1]


def test_enter_takes_no_answer_that_has_what_is_typed_inside_a_word(tmp_path):
    """H is the German name of B: in English names it is no key, and must not become C phrygian."""

    async def answered(typed):
        async with edited(tmp_path / "new.tabterm") as (pilot, app):
            app.keys.run("key")
            await pilot.press(*typed, "enter")
            await pilot.pause()
            return str(app.session.document.score.head.key), app.front.message_line.message

    key, said = asyncio.run(answered("H"))
    assert (key, said[:13]) == ("C", "not a key: 'H")
    assert asyncio.run(answered("dor"))[0] == "C dorian"
