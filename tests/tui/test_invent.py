"""New phrases in the editor: looked through, heard in their place, taken as one change or left."""

from __future__ import annotations

import asyncio
import shutil

import pytest
from textual.widgets import OptionList, Static

from tabterm.piece.piece import blank
from tabterm.score.place import Place, display_number
from tabterm.score.query import music
from tabterm.tui.app import TabtermApp
from tabterm.tui.screens.invent import InventScreen
from tabterm.workspace.document import Document
from tabterm.workspace.invention import Invention
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.transport import Transport
from tests.build import PLAYER
from tests.tui.on_screen import on_screen
from tests.workspace.test_transport import Slow

WALTZ = "samples/lantern-waltz.tabterm"


@pytest.fixture(scope="module")
def walk(tmp_path_factory):
    """What is seen and done, step by step: the title, the lines and the tab; the score; where it sounds."""
    path = shutil.copy(WALTZ, tmp_path_factory.mktemp("invent") / "waltz.tabterm")
    document = Document.open(path, PLAYER, blank=blank)
    document.propose = None
    seen = {}

    async def run():
        app = TabtermApp(document, Transport(playback=Slow()), Keymap())
        async with on_screen(app, (90, 30)) as pilot:

            async def press(*keys):
                await pilot.press(*keys)
                await pilot.pause(0.05)
                while any(worker.is_running for worker in app.workers):
                    await pilot.pause(0.02)
                await pilot.pause()

            def shown():
                screen = app.screen
                title, tab = (str(screen.query_one(name).render()) for name in ("#title", "#ways"))
                return title.partition(")")[0] + ")", list(screen._found), tab

            session, before = app.session, document.score
            session.here.go(Place(2))
            session.run(REGISTRY["invent"], "answer  an answer after the phrase")
            await press()
            seen["answers"] = shown()
            await press("left")
            seen["led on"] = shown()
            await press("n")
            seen["others"] = shown()
            await press("escape")
            seen["left"] = app.screen, music(document.score.measures) == music(before.measures)
            await press("ctrl+w", "ctrl+w")
            seen["again"] = shown()
            await press("down", "space")
            run = session.transport.run
            seen["heard"] = run.takes[0].span, run.takes[0].score is app.screen._chosen().score
            await press("space")
            seen["silent"] = session.transport.playing
            chosen = app.screen._chosen()
            await press("enter")
            seen["taken"] = chosen, app.screen, document.score, session.here.cursor.place
            await press("u")
            seen["undone"] = document.score, before
            session.run(REGISTRY["invent"], "over Hm7")
            await press()
            seen["no chord"] = app.front.message_line.message
            session.run(REGISTRY["invent"], "D major pentatonic, falls, from 5 to 1, 4 8 8 4")
            await press()
            seen["pool"] = shown()
        return seen

    try:
        return asyncio.run(run())
    finally:
        document.close(keep_draft=False)


def test_phrases_are_listed_with_the_tab_of_the_one_that_is_chosen(walk):
    title, lines, tab = walk["answers"]
    assert title == "answer (seed 0)"
    assert len(lines) == 5
    assert "A      |" in tab


def test_keys_go_to_another_way_and_to_other_phrases(walk):
    assert walk["led on"][0] == "extended (seed 0)"
    assert walk["others"][0] == "extended (seed 1)"
    assert walk["others"][1] != walk["led on"][1]


def test_leaving_changes_nothing(walk):
    screen, same = walk["left"]
    assert not isinstance(screen, InventScreen)
    assert same


def test_the_last_way_is_taken_up_again(walk):
    assert walk["again"][0] == "extended (seed 1)"


def test_one_key_plays_a_phrase_with_what_stands_round_it_and_stops(walk):
    span, is_chosen = walk["heard"]
    assert is_chosen
    assert (span.start, span.end) == (Place(0), Place(7))
    assert not walk["silent"]


def test_one_that_is_taken_is_one_change_that_undo_takes_back(walk):
    chosen, screen, score, place = walk["taken"]
    assert not isinstance(screen, InventScreen)
    spots = [
        [[[note.spot for note in event.notes] for event in measure.events] for measure in each.measures]
        for each in (chosen.score, score)
    ]
    assert spots[0] == spots[1]
    assert place == chosen.span.start
    undone, before = walk["undone"]
    assert music(undone.measures) == music(before.measures)


def test_a_scale_and_what_is_wanted_of_it_in_one_line(walk):
    title, lines, tab = walk["pool"]
    assert title == "D major pentatonic, falls, from 5 to 1, 4 8 8 4 (seed 0)"
    assert lines
    assert "4     8   8   4" in tab.replace("  ", "  ") or "8   8" in tab


def test_a_wish_that_is_not_understood_is_said_before_anything_opens(walk):
    assert walk["no chord"]


def test_the_ways_that_need_no_words_come_round():
    ways = [Invention()]
    for _ in range(6):
        ways.append(ways[-1].by(1))
    assert ways[0].words == ways[-1].words == "repitched"
    assert len({each.words for each in ways}) == 6


def numbers_of(line):
    """The numbers of measures, on the line over a system."""
    return [] if set(line) - set("0123456789 ") else line.split()


async def paged(candidates, path, size, keys):
    """The screen with phrases that were found, after each key: heading, lines of the list, the tab."""
    document, pages = Document.open(path, PLAYER, blank=blank), []
    app = TabtermApp(document, Transport(playback=Slow()), Keymap())
    async with on_screen(app, size) as pilot:
        screen = InventScreen(app.session, lambda: None)
        screen._seek = lambda _: None
        app.push_screen(screen)
        await pilot.pause()
        screen._take(candidates, "", screen._sought)
        for key in ["", *keys]:
            await pilot.press(*[key] * bool(key))
            await pilot.pause()
            title, tab = (screen.query_one(name, Static) for name in ("#title", "#ways"))
            inside = len(str(tab.render()).splitlines()) <= tab.content_size.height
            lines = screen.query_one(OptionList).virtual_size.height
            pages.append((str(title.render()), lines, inside, str(tab.render())))
    document.close(keep_draft=False)
    return pages


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
def test_a_phrase_is_paged_through_where_it_is_longer_than_the_panel(walk, tmp_path, size):
    candidates = tuple(walk["answers"][1])
    path = shutil.copy(WALTZ, tmp_path / "waltz.tabterm")
    pages = asyncio.run(paged(candidates, path, size, [*["pagedown"] * 5, "pageup"]))
    assert all(lines == 5 and inside for _, lines, inside, _ in pages)
    texts = [tab for *_, tab in pages]
    seen = [int(each) for text in dict.fromkeys(texts) for line in text.splitlines() for each in numbers_of(line)]
    span = candidates[0].span
    measures = range(span.start.measure, span.end.measure + (span.end.offset > 0))
    assert seen == [display_number(candidates[0].score, index) for index in measures]
    assert texts[-1] != texts[-2]
    assert all("page keys" in title for title, *_ in pages)
