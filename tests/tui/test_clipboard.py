"""The clipboard of the terminal: what is sent for it, and when nothing is.

The form is that of xterm's control sequences, "Operating System Commands", Ps = 5 2: the selection, a semicolon
and base64 (RFC 4648).
"""

from __future__ import annotations

import base64
import re

import pytest

from tabterm.cli.main import main
from tabterm.errors import TabtermError
from tabterm.formats import native
from tabterm.tui.terminal.clipboard import MOST_BYTES, sequence
from tests.build import score
from tests.typist import Typist

ENVIRONMENT = {"TERM": "xterm-256color"}
SET = re.compile(r"\x1b\]52;c;([A-Za-z0-9+/=]*)\x07")


def test_a_terminal_gets_the_text_in_base64():
    found = SET.fullmatch(sequence("E|--3½--|\n", ENVIRONMENT))
    assert base64.b64decode(found[1]).decode() == "E|--3½--|\n"


def test_what_a_terminal_would_obey_is_not_in_what_is_pasted():
    found = SET.fullmatch(sequence("a\x1b]52;c;x\x07\x9b\u202eb", ENVIRONMENT))
    assert base64.b64decode(found[1]).decode() == "a?]52;c;x???b"


@pytest.mark.parametrize("name", ["", "dumb", "linux", "vt100"])
def test_a_terminal_without_a_clipboard_gets_nothing(name):
    with pytest.raises(TabtermError, match="no clipboard"):
        sequence("x", {"TERM": name})


def test_as_much_as_terminals_take_is_sent_and_no_more():
    assert len(sequence("x" * MOST_BYTES, ENVIRONMENT)) <= 100_000
    with pytest.raises(TabtermError, match=r"too long for a clipboard: 74,995 bytes.* \(choose fewer measures"):
        sequence("x" * (MOST_BYTES + 1), ENVIRONMENT)


def test_output_that_is_no_terminal_never_gets_it(tmp_path, capsys):
    path = tmp_path / "tune.tabterm"
    path.write_bytes(native.write(score("4 1.0,4 1.2,2 1.3")))
    assert main(["show", str(path), "--clean", "--copy"]) == 2
    out, error = capsys.readouterr()
    assert (out, error) == ("", "tabterm: --copy needs a terminal for its output (leave out the pipe or --copy)\n")


def test_several_files_are_not_put_into_one_clipboard(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("tabterm.cli.show.check_clipboard", lambda: None)
    for words in (["a.tabterm", "b.tabterm"], [str(tmp_path)]):
        assert main(["show", *words, "--copy"]) == 2
        assert "--copy takes one file (name one file)" in capsys.readouterr().err


def test_the_key_hands_over_the_measures_of_the_selection():
    player = Typist(score("4 1.0,4 1.2,2 1.3", "1 2.0", "1 3.0"))
    player.press("ctrl+o")
    assert "E      |0-----2-----3" in player.clipboard
    assert player.said[-1].startswith("m1 sent to your terminal's clipboard: ")
    player.press("M", "M", "ctrl+o")
    assert player.said[-1].startswith("m1-2 sent")
    assert player.clipboard.split("\n")[0].split() == ["1", "2"]
