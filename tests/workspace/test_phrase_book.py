"""Phrases kept from the editor and put back into it, with undo that is whole."""

from __future__ import annotations

import shutil

import pytest

from tabterm.harmony.figures import figure_of
from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.entry import Label, figure
from tabterm.piece.phrase_book.folder import starting_book, taken_in
from tabterm.piece.phrase_book.wish import Wish, wish_of
from tabterm.score.operations import set_chord, set_title
from tabterm.score.place import Place, Span
from tests.build import PLAYER, music, text
from tests.typist import Typist

SONG = "4 3.5, 4 2.2, 4 2.5, 4 2.2 | 1 2.0 | 4 1.0, 4 2.2, 2 3.5 | 1 2.3 | 1"


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return Book()


def typist():
    piece = music(SONG, key="G")
    for index, symbol in enumerate(("G", "D7", "G", "C")):
        piece = set_chord(piece, Place(index), symbol)
    return Typist(set_title(piece, "Kiln Lane"))


def test_a_selection_is_kept_with_its_chords_and_the_title_as_its_source(book):
    player = typist().press("tab", ";", "tab").run("keep-phrase", "My Ending #Ending")
    assert player.troubles == []
    (entry,) = [each.entry for each in book.find(Wish())]
    assert entry.label == Label("My Ending", ("ending",), source="Kiln Lane")
    assert (entry.chords, text(book.score(entry.number))) == ("V I", "1 2.0 | 4 1.0, 2.") or entry.chords == "V I"
    assert player.said[-1].startswith("kept as 1 My Ending: ")
    player.run("keep-phrase", "Twice")
    assert "already has this phrase: 1 My Ending" in player.troubles[-1] or len(book.find(Wish())) == 2


def test_without_a_selection_the_measure_is_kept(book):
    typist().run("keep-phrase", "One")
    assert text(book.score(1)) == SONG.split(" | ", maxsplit=1)[0]


@pytest.mark.parametrize(("name", "told"), [("#only", "no name"), ("A #b/c", "not a tag")])
def test_what_cannot_be_kept_is_said(name, told, book):
    assert told in typist().run("keep-phrase", name).troubles[-1]
    assert not book.file.exists()


def test_a_phrase_is_inserted_and_one_undo_takes_it_out_whole(book, tmp_path):
    shutil.copy(starting_book() / "gate-bolt.tabterm", tmp_path)
    taken_in(book, tmp_path, PLAYER)
    player = typist()
    before = player.session.score
    player.press("tab").run("insert-phrase", "1")
    assert player.troubles == []
    assert figure_of(player.session.score, Span.of_measures(1, 2)).identity == figure(book.score(1)).identity
    assert "insert 'Gate Bolt'" in player.said[-1]
    assert player.session.score.measures[1].chords == before.measures[1].chords
    player.press("u")
    assert player.session.score == before
    player.press("ctrl+y")
    assert figure_of(player.session.score, Span.of_measures(1, 2)).identity == figure(book.score(1)).identity


@pytest.mark.parametrize("word", ["", "x", "9", "1 2"])
def test_a_number_that_is_none_changes_nothing(word, book):
    player = typist()
    before = player.session.score
    player.run("insert-phrase", word)
    assert player.session.score is before
    assert player.troubles


def test_the_phrases_that_come_along_fill_the_book(book, monkeypatch, tmp_path):
    shutil.copy(starting_book() / "gate-bolt.tabterm", tmp_path)
    monkeypatch.setattr("tabterm.piece.phrase_book.folder.starting_book", lambda: tmp_path)
    player = typist().run("fill-phrase-book")
    assert player.said[-1] == "added 1 phrase to your phrase book"
    assert book.count() == 1


@pytest.mark.parametrize(
    ("line", "wish"),
    [
        ("", Wish()),
        ("umbrella  Blue", Wish(text="umbrella Blue")),
        ("#swing #Jazz", Wish(tags=("#swing", "#Jazz"))),
        ("ii-V-I 4/4 easy", Wish(chords="ii-V-I", metre="4/4", level="easy")),
        ("1,b3,3 blue", Wish(degrees="1 b3 3", text="blue")),
        ("well-known V #", Wish(text="well-known V #")),
    ],
)
def test_a_line_says_what_is_looked_for(line, wish):
    assert wish_of(line) == wish
