"""The panel of the phrase book: the list narrows, the phrase is seen, heard where it would stand, and inserted."""

from __future__ import annotations

import asyncio
import shutil

import pytest
from textual.widgets import OptionList, Static

from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.folder import starting_book, taken_in
from tabterm.piece.piece import blank
from tabterm.score.key import Key
from tabterm.score.operations import set_chord, set_key
from tabterm.score.place import Place
from tabterm.tui.app import TabtermApp
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.transport import Transport
from tests.build import PLAYER
from tests.tui.on_screen import on_screen

NAMES = ("gate-bolt", "open-latch", "candle-waltz", "blue-kettle")


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    for name in NAMES:
        shutil.copy(starting_book() / f"{name}.tabterm", tmp_path)
    taken_in(Book(), tmp_path, PLAYER)
    return Book()


def song():
    piece = set_key(blank(measures=4), 0, Key.parse("G"))
    for index, symbol in enumerate(("G", "D7", "G", "C")):
        piece = set_chord(piece, Place(index), symbol)
    return piece


async def seen(path, keys, size=(100, 30)):
    """After each key what the panel shows: its title, its list, what is below; and in the end the score."""
    document = Document.open(path, PLAYER, blank=song)
    app, found = TabtermApp(document, Transport(), Keymap()), []
    played = []
    app.session.transport.play = lambda takes, turns=None: played.append((takes, turns))
    async with on_screen(app, size) as pilot:
        for key in keys:
            await pilot.press(key)
            await pilot.pause()
            if app.screen.query("#ways"):
                options = app.screen.query_one(OptionList)
                rows = [str(options.get_option_at_index(n).prompt) for n in range(options.option_count)]
                found.append((words(app, "#title"), rows, words(app, "#ways")))
        score, said = app.session.score, app.front.message_line.message
    document.close(keep_draft=False)
    return found, played, score, said


def words(app, name):
    return str(app.screen.query_one(name, Static).content)


def test_the_list_narrows_and_the_chosen_phrase_is_seen_as_a_tab(book, tmp_path):
    keys = ["ctrl+w", *"latch", *["backspace"] * 5, "down", "down"]
    found, _, _, _ = asyncio.run(seen(tmp_path / "a.tabterm", keys))
    assert found[0][0].startswith("all phrases: 4")
    assert [row[5:17].strip() for row in found[0][1]] == ["Blue Kettle", "Candle Waltz", "Gate Bolt", "Open Latch"]
    title, rows, below = found[5]
    assert title.startswith("all phrases: 1")
    assert rows == ["   4 Open Latch               I IV         4/4  medium   #bluegrass #fill #open"]
    assert below.startswith("5 3 1 2 3 1 b7 5 6 1 2 1 6   falls, ")
    assert "The F on the fourth beat" in below
    assert "\nD      |" in below
    assert "Gate Bolt" not in below
    assert "the seventh C" not in found[-1][2]
    assert "the F# pulls to G" in found[-1][2]


def test_a_list_with_nothing_in_it_says_what_to_do(book, tmp_path):
    found, _, _, _ = asyncio.run(seen(tmp_path / "a.tabterm", ["ctrl+w", *"waltz", "ctrl+t"]))
    assert found[-2][0].startswith("all phrases: 1;")
    title, rows, _ = found[-1]
    assert title.startswith("phrases that fit the chords here: none; type less, or press Ctrl+T;")
    assert rows == []


def test_what_fits_the_chords_is_heard_there_and_inserted(book, tmp_path):
    keys = ["right"] * 8 + ["ctrl+w", "ctrl+t", "tab", "enter"]
    found, played, score, said = asyncio.run(seen(tmp_path / "a.tabterm", keys))
    title, rows, _ = found[-1]
    assert title.startswith("phrases that fit the chords here: 2")
    assert [row[5:16].strip() for row in rows] == ["Gate Bolt", "Open Latch"]
    ((take,), turns) = played[0]
    assert (take.span.start, take.span.end, turns) == (Place(0), Place(3), 1)
    assert take.score.measures[1].events[0].notes
    assert [bool(measure.events[0].notes) for measure in score.measures] == [False, True, True, False]
    assert "insert 'Gate Bolt' in m2-3" in said


def test_escape_leaves_all_as_it_was_and_an_empty_book_says_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "none"))
    found, played, score, _ = asyncio.run(
        seen(tmp_path / "a.tabterm", ["ctrl+w", "tab", "down", "enter", "x", "escape"], size=(80, 24))
    )
    assert found[0][0].startswith("your phrase book is empty; the command fill-phrase-book adds phrases")
    assert played == []
    assert not any(event.notes for measure in score.measures for event in measure.events)


def test_what_cannot_be_looked_for_or_inserted_is_said_in_the_panel(book, tmp_path):
    bare = tmp_path / "b.tabterm"
    found, played, _, _ = asyncio.run(
        seen(tmp_path / "a.tabterm", ["ctrl+w", *"candle", "tab", *["backspace"] * 6, *"9/9"])
    )
    assert "the phrase is in 3/4, the music here in 4/4" in found[7][0]
    assert played == []
    assert not bare.exists()
    assert "9/9" in found[-1][0]
