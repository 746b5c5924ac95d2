"""`tabterm phrases`: every way to look through the book, fill it, carry it, and put a phrase into a score."""

from __future__ import annotations

import json
import shutil

import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.harmony.figures import figure_of
from tabterm.piece.phrase_book.book import Book, path
from tabterm.piece.phrase_book.entry import figure
from tabterm.piece.phrase_book.folder import starting_book
from tabterm.score.place import Span

SONG = "samples/quarry-road-breakdown.tabterm"
NAMES = ("gate-bolt", "open-latch", "candle-waltz")


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    folder = tmp_path_factory.mktemp("filled")
    for name in NAMES:
        shutil.copy(starting_book() / f"{name}.tabterm", folder)
    return folder


@pytest.fixture
def book(filled, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert main(["phrases", "import", str(filled), "-q"]) == 0
    return Book()


def said(capsys, *words):
    try:
        status = main(["phrases", *words])
    except SystemExit as ended:
        status = ended.code
    found = capsys.readouterr()
    return status, found.out, found.err


def data(capsys, *words):
    status, out, err = said(capsys, *words, "--json")
    assert (status, err) == (0, "")
    return json.loads(out)


def test_an_empty_book_says_how_to_fill_it(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert said(capsys)[:2] == (0, "the phrase book is empty; `tabterm phrases import` fills it\n")
    assert data(capsys, "find", "x") == []
    assert not path().exists()


def test_it_is_listed_and_found(book, capsys):
    capsys.readouterr()
    rows = said(capsys)[1].splitlines()
    assert rows[2] == "3\tOpen Latch\tI IV\t4/4\tmedium\tG\tbluegrass fill open"
    assert len(rows) == len(NAMES)
    assert [each["name"] for each in data(capsys, "find")] == ["Candle Waltz", "Gate Bolt", "Open Latch"]
    (found,) = data(capsys, "find", "gate", "--chords", "V7 I", "--tag", "bluegrass", "--percent", "90")
    assert found["name"] == "Gate Bolt"
    assert (found["chords"], found["measures"], found["level"], found["fit"]) == ("V I", 2, "medium", None)
    assert [each["name"] for each in data(capsys, "find", "--metre", "3/4")] == ["Candle Waltz"]
    assert said(capsys, "find", "nothing", "such")[1] == "no phrase matches\n"
    assert data(capsys, "find", "--like", "2", "--within", "50")[0]["apart"] == 0
    assert data(capsys, "find", "--like", str(starting_book() / "gate-bolt.tabterm"))[0]["name"] == "Gate Bolt"


def test_what_fits_a_score_is_found(book, capsys):
    capsys.readouterr()
    found = data(capsys, "find", "--fits", SONG, "--from", "2")
    assert [(each["name"], each["fit"]) for each in found] == [
        ("Open Latch", "same time"),
        ("Gate Bolt", "same steps"),
    ]


def test_one_is_shown_as_a_tab(book, capsys):
    capsys.readouterr()
    status, out, err = said(capsys, "show", "2")
    assert status == 0
    assert err.startswith("2  Gate Bolt #bluegrass #ending #open\nV I: 5 4 2 7 5 6 7 2 1 3 2 1; falls and rises; ")
    assert "\nA      |5---3---0---" in out
    assert "\nA      |5---3---0---" in data(capsys, "show", "2")["tab"]


def test_what_is_shown_reads_back_as_the_phrase(book, capsys, tmp_path):
    capsys.readouterr()
    for number, title in enumerate(("Candle Waltz", "Gate Bolt", "Open Latch"), 1):
        _, out, _ = said(capsys, "show", str(number))
        (tmp_path / "shown.txt").write_text(out)
        score, kept = formats.read(tmp_path / "shown.txt").music, book.score(number)
        assert (score.head.title, score.head.key, score.head.tempo) == (title, kept.head.key, kept.head.tempo)
        assert figure(score).identity == figure(kept).identity
        assert [each.remark for each in score.measures] == [each.remark for each in kept.measures]


def test_measures_are_kept_and_put_into_another_score(book, capsys, tmp_path):
    capsys.readouterr()
    kept = data(capsys, "add", SONG, "--from", "2", "--to", "3", "--name", "Two of Them", "--tag", "mine")
    assert kept == {"added": 4}
    entry = book.entry(4)
    assert (entry.label.name, entry.label.tags, entry.label.source) == (
        "Two of Them",
        ("mine",),
        "Quarry Road Breakdown",
    )
    status, _, err = said(capsys, "add", SONG, "--from", "2", "--to", "3")
    assert (status, "already has this phrase: 4 Two of Them" in err) == (2, True)
    waltz, out = "samples/ferrymans-jig.tabterm", tmp_path / "new.tabterm"
    assert said(capsys, "insert", "4", waltz, "-o", str(out))[0] == 2  # another metre
    done = data(capsys, "insert", "4", SONG, "--from", "6", "-o", str(out))
    assert done == {"first": 6, "last": 7, "semitones": 0, "written": str(out)}
    score = formats.read(out).music
    assert figure_of(score, Span.of_measures(6, 7)).identity == figure(book.score(4)).identity
    assert said(capsys, "insert", "4", SONG, "--from", "6", "-o", str(out))[0] == 2  # it is there


def test_it_is_carried_to_another_machine(book, capsys, monkeypatch, tmp_path):
    capsys.readouterr()
    out = str(tmp_path / "out")
    assert data(capsys, "export", out, "--tag", "bluegrass") == {"folder": out, "written": 2}
    status, _, err = said(capsys, "export", out)
    assert (status, "the folder is not empty" in err) == (2, True)
    (tmp_path / "empty").mkdir()
    assert data(capsys, "export", str(tmp_path / "empty"))["written"] == 3
    assert len([*(tmp_path / "empty").iterdir()]) == 3
    assert data(capsys, "backup", str(tmp_path / "b.sqlite")) == {"written": str(tmp_path / "b.sqlite")}
    assert said(capsys, "backup", str(tmp_path / "b.sqlite"))[0] == 2
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "other"))
    assert data(capsys, "import", out) == {"new": 2, "known": 0, "refused": []}
    assert said(capsys, "import", out)[1] == "0 phrases added; 2 already in the book\n"
    assert said(capsys, "remove", "1")[1] == "1 phrase removed\n"
    assert data(capsys, "remove", "2") == {"removed": [2]}
    assert data(capsys) == []


def test_what_was_done_about_damage_is_said(book, capsys):
    book.remove(1)
    path().write_bytes(b"scribble" * 999)
    capsys.readouterr()
    status, out, err = said(capsys)
    assert (status, len(out.splitlines())) == (0, len(NAMES))
    assert err.startswith("tabterm: the phrase book was damaged: 0 phrases recovered, 3 from its copy")
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["show"], "takes the number of a phrase"),
        (["show", "1", "2"], "takes the number of a phrase"),
        (["show", "one"], "not a number from 1 up"),
        (["find", "--like", "1", "--within", "nan"], "not a number from 0 up: 'nan'"),
        (["find", "--like", "1", "--within=-1"], "not a number from 0 up: '-1'"),
        (["find", "--percent", "inf"], "not a number from 0 up: 'inf'"),
        (["show", "99"], "no phrase 99 in the book"),
        (["remove", "1", "99"], "no phrase 99"),
        (["list", "swing"], "takes no words"),
        (["add"], "takes a score"),
        (["add", SONG, "--tag", "two words"], "not a tag"),
        (["add", "nowhere.tabterm"], "nowhere.tabterm"),
        (["insert", "1"], "takes the number of a phrase, and a score"),
        (["find", "--chords", "G D"], "not a chord in numerals"),
        (["import", "nowhere"], r"no .tabterm file here"),
        (["export", "x", "--tag", "nowhere"], "no phrase matches"),
        (["backup"], "takes a file to write"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(words, told, book, capsys):
    capsys.readouterr()
    status, out, err = said(capsys, *words)
    assert (status, out) == (2, "")
    assert told in err
    assert err.count("\n") == 1
    assert book.count() == len(NAMES)
