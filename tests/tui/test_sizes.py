"""Small and large screens, terminals with few abilities, and the screen for a screen reader."""

from __future__ import annotations

import re
import shutil
from types import SimpleNamespace

import pytest

from tabterm.formats import native
from tabterm.tui.shares import Shares
from tests.bench.files import SAMPLE
from tests.build import score
from tests.typist import Typist


@pytest.fixture
def piece(tmp_path):
    path = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, path)
    return path


def test_a_small_screen_edits(open_editor, piece):
    """At 40x12 all courses and the cursor are seen wherever it goes, and keys write."""
    editor = open_editor(piece, columns=40, lines=12)
    editor.wait_for("? keys")
    editor.press("ctrl+home", "a")
    for _ in range(12):
        editor.press("right")
        assert editor.screen.cursor.x < 40
        assert editor.row("E |")[: editor.screen.cursor.x + 1].startswith("    E |")
        assert [line.strip()[:1] for line in editor.screen.display if line[5:7] == " |"] == list("EADG")
    editor.press("5")
    editor.wait_until(lambda: "5" in editor.row("E |"))
    editor.press("u", "v", "U", "g", "2", "ctrl+p")
    editor.wait_for("name of a command, or what it does")
    editor.press("escape", "f2")
    editor.wait_for("by place (s)")
    editor.press("escape")
    editor.wait_for("stroke")
    editor.press("u", "u", "ctrl+s")
    assert editor.quit() == 0


def test_frets_of_two_digits_are_never_cut(open_editor, tmp_path):
    """A measure wider than the screen is put aside by whole moments, at both ends."""
    path = tmp_path / "wide.tabterm"
    path.write_bytes(native.write(score(",".join(["16 1.12"] * 16))))
    editor = open_editor(path, columns=40, lines=12)
    editor.wait_for("12")
    editor.press("ctrl+home")
    for _ in range(16):
        frets = re.findall(r"[0-9]+", editor.row("E |"))
        assert len(frets) > 4
        assert set(frets) == {"12"}
        where = editor.screen.cursor
        assert editor.screen.display[where.y][where.x : where.x + 2] == "12"
        editor.press("right")


def test_a_long_answer_is_whole_without_the_neck(open_editor, piece):
    editor = open_editor(piece, columns=40, lines=12)
    editor.wait_for("? keys")
    editor.press("tab", "d", "W")
    editor.wait_for("is easiest")
    editor.read(0.3)
    words = " ".join(line.strip() for line in editor.screen.display[-3:])
    assert words.endswith(")")
    assert words.count("; ") == 2
    editor.press("right")
    editor.wait_for("stroke")


@pytest.mark.parametrize(
    ("command", "question", "answer"),
    [
        ("key", "key, such as G, Em or A mixolydian:", "│ F#   … 77 more"),
        ("levels", "levels, such as solo 80 chords 50:", "│ solo 80"),
        ("render", "file name with the extension .wav, .flac, .ogg or .mp3:", "piece.mp3"),
    ],
)
def test_a_question_is_whole_under_the_list_of_its_answers(command, question, answer, open_editor, piece):
    """On a screen of 40x12 the list gives way to the question, and still shows answers."""
    editor = open_editor(piece, columns=40, lines=12)
    editor.wait_for("? keys")
    editor.press("ctrl+p", command, "enter")
    editor.wait_until(lambda: question in " ".join(editor.text.split()), 15.0)
    editor.wait_for(answer)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (["?"], "Jump to a course (1 is the"),
        (["ctrl+p", "slower", "down"], "slower"),
        (["f2"], "reach 1-4, frets"),
        (["f", "1", "ctrl+q"], "quit and discard the changes"),
    ],
)
@pytest.mark.parametrize("size", [(40, 12), (300, 100)])
def test_sheets_are_read_on_any_screen(size, keys, words, open_editor, piece):
    editor = open_editor(piece, columns=size[0], lines=size[1])
    editor.wait_for("1 to fix")
    editor.press("ctrl+home", *keys)
    editor.wait_until(lambda: words in " ".join(editor.text.replace("│", " ").split()))
    assert all(len(line) <= size[0] for line in editor.text.splitlines())
    editor.press("escape")
    editor.wait_for("? keys")


def test_a_remark_over_the_last_measure_goes_on_to_the_edge(open_editor, piece):
    editor = open_editor(piece, columns=120, lines=40).ready()
    editor.press("ctrl+end")
    editor.wait_for("the wide reach: let go as soon as it sounds")


def test_the_neck_goes_and_comes_with_the_size(open_editor, piece):
    editor = open_editor(piece).ready()
    editor.resize(80, 12)
    editor.wait_until(lambda: "neck" not in editor.text and "? keys" in editor.screen.display[11])
    editor.resize(80, 24)
    editor.wait_until(lambda: editor.screen.display[21].startswith("neck"))


def test_a_large_screen_shows_what_is_to_be_mended(open_editor, piece):
    editor = open_editor(piece, columns=300, lines=100)
    editor.wait_for("? keys")
    editor.wait_for("* m", 20.0)
    assert sum(line.startswith("     E |") for line in editor.screen.display) >= 2
    assert max(len(line.rstrip()) for line in editor.screen.display if line.startswith("     E |")) > 200
    assert editor.quit() == 0


def test_plain_says_the_cursor_in_words_and_draws_nothing(open_editor, piece):
    editor = open_editor(piece, "--plain")
    editor.wait_for("? keys")
    editor.press("ctrl+home", "d", "right", "right", "right", "right")
    editor.wait_until(lambda: editor.screen.display[0].startswith("m0 beat 4, D course, fret 2"))
    assert editor.screen.display[editor.screen.cursor.y][editor.screen.cursor.x] == "2"
    assert not editor.screen.cursor.hidden
    assert "---" not in editor.text
    for key in ("ctrl+p", "?", "f2"):
        editor.press(key)
        editor.read(0.3)
        assert not set(editor.text) & set("╭╮╰╯─│‖▐")
        editor.press("escape")
    assert editor.quit() == 0


@pytest.mark.parametrize("name", ["linux", "vt100", "screen", "tmux-256color", "xterm", "unheard-of"])
def test_every_terminal_that_can_place_text_edits(name, open_editor, piece):
    editor = open_editor(piece, TERM=name, COLORTERM="")
    editor.wait_for("? keys")
    editor.press("ctrl+home", "a", "7")
    editor.wait_until(lambda: "7" in editor.row("E |"))
    editor.press("ctrl+s")
    assert editor.quit() == 0
    assert b"\x1b]" not in editor.sent


def test_a_terminal_without_colours_gets_none(open_editor, piece, monkeypatch):
    editor = open_editor(piece, TERM="vt100", COLORTERM="")
    editor.wait_for("? keys")
    editor.press("pagedown", "?", "escape")
    cells = [cell for line in editor.screen.buffer.values() for cell in line.values()]
    assert {cell.fg for cell in cells} == {cell.bg for cell in cells} == {"default"}


@pytest.mark.parametrize("locale", [{"LANG": "C"}, {"LC_ALL": "C", "LANG": "C.UTF-8"}, {"LANG": "POSIX"}])
def test_without_unicode_every_byte_is_ascii(locale, open_editor, piece):
    editor = open_editor(piece, **{"LC_ALL": "", "LC_CTYPE": "", **locale})
    editor.wait_for("? keys")
    editor.press("ctrl+p")
    editor.wait_for("name of a command, or what it does")
    editor.wait_for("+--")
    editor.press("escape", "?", "escape", "f2", "escape")
    assert editor.sent.isascii()


@pytest.mark.parametrize("name", ["dumb", ""])
def test_a_terminal_that_cannot_place_text_is_refused_in_one_line(name, open_editor, piece):
    editor = open_editor(piece, TERM=name)
    assert editor.ended(10.0) == 2
    assert b"\x1b" not in editor.sent
    assert "cannot position text" in editor.text


@pytest.mark.parametrize(("lines", "stays"), [(24, True), (32, False), (36, True)])
def test_what_sounds_moves_the_score_only_for_another_system(lines, stays):
    """A system has ten lines without degrees: of 32 lines the neck's two make room for the third."""
    session = Typist(score("4 1.0,4 1.2,4 1.3,4 1.5")).session
    before = Shares.of(80, lines, session)
    session.transport.playback = SimpleNamespace(state="playing")
    assert (Shares.of(80, lines, session) == before) is stays
