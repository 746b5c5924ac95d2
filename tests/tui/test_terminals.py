"""What is sent to each kind of terminal, and the editor under the job control of a real shell."""

from __future__ import annotations

import os
import re
import shutil
import signal
import sys

import psutil
import pytest

from tests.bench.files import SAMPLE
from tests.cli.test_hostile import EVIL, OBEYED, hostile_score

CONTROL = re.compile(rb"\x1b\[([<-?]?)([0-9;]*)([ -/]*)([@-~])")

KEYS = ["ctrl+home", "a", "7", "pagedown", "pageup", "down", "shift+right", "ctrl+l"]
SHEETS = {"?": "Keys (Escape closes", "ctrl+p": "name of a command, or what it does"}

VT100_FINALS = "ABCDHJKhlmn"
"""CUU CUD CUF CUB CUP ED EL SM RM SGR DSR (VT100 User Guide, EK-VT100-UG, chapter 3)."""

WRAPS, HIDES, SCREENS, PASTES = "7", "25", "1049", "2004"
"""Private modes: DECAWM (VT100), DECTCEM (VT220), xterm's second screen and marked pastes."""

TABLE = {
    "xterm-256color": (VT100_FINALS + "LMq", {WRAPS, HIDES, SCREENS, PASTES}, None),
    "tmux-256color": (VT100_FINALS + "LMq", {WRAPS, HIDES, SCREENS, PASTES}, None),
    "screen": (VT100_FINALS + "LM", {WRAPS, HIDES, SCREENS, PASTES}, range(1, 108)),
    "linux": (VT100_FINALS + "LM", {WRAPS, HIDES, PASTES}, range(1, 108)),
    "vt100": (VT100_FINALS, {WRAPS}, range(1, 8)),
}
"""By terminal: final bytes that may come, private modes that do, parameters of SGR that may (None: any).

As the entries of the terminfo database of ncurses have it; DL and IL are L and M, the shape of the cursor q.
"""


@pytest.fixture
def piece(tmp_path):
    return shutil.copy(SAMPLE, tmp_path / "piece.tabterm")


@pytest.mark.parametrize("name", TABLE)
def test_a_terminal_is_sent_only_what_it_knows(name, open_editor, piece):
    finals, modes, parameters = TABLE[name]
    editor = open_editor(piece, TERM=name, COLORTERM="")
    editor.wait_for("? keys")
    editor.press(*KEYS)
    for key, words in SHEETS.items():
        editor.press(key)
        editor.wait_for(words)
        editor.press("escape")
        editor.wait_until(lambda words=words: words not in editor.text)
    editor.save("piece.tabterm")
    assert editor.quit() == 0
    editor.read()
    assert not re.sub(CONTROL, b"", editor.sent).count(b"\x1b")
    found = [[part.decode() for part in match] for match in CONTROL.findall(editor.sent)]
    assert {final for _, _, _, final in found} <= set(finals)
    private = [(number, final) for mark, numbers, _, final in found if mark for number in numbers.split(";")]
    assert {number for number, _ in private} == modes
    assert {final for _, final in private} == {"h", "l"}
    assert {mark for mark, *_ in found} == {"", "?"}
    drawn = {int(each) for _, numbers, _, final in found if final == "m" for each in numbers.split(";") if each}
    assert parameters is None or drawn <= set(parameters)


def begun_in_a_shell(open_editor, piece):
    """An interactive bash with the editor in it, in which a note has been written: (shell, process)."""
    if shutil.which("bash") is None:
        pytest.skip("no bash here")
    shell = open_editor(command=["bash", "--norc", "--noprofile", "-i"], PS1="ready> ")
    shell.wait_for("ready>")
    shell.type_bytes(f"{sys.executable} -m tabterm {piece}\n".encode())
    shell.wait_for("? keys", 30.0)
    shell.press("ctrl+home", "a", "7")
    shell.wait_until(lambda: "7" in shell.row("E |"))
    (editor,) = psutil.Process(shell.process.pid).children()
    return shell, editor


def test_the_shell_stops_it_and_takes_it_up_again(open_editor, piece):
    """SIGTSTP from outside, `fg`, and again `kill -CONT` without a stop; the shell has its modes in between."""
    shell, editor = begun_in_a_shell(open_editor, piece)
    os.kill(editor.pid, signal.SIGTSTP)
    shell.wait_for("Stopped")
    shell.type_bytes(b"echo 4$((1 + 1))\n")
    shell.wait_for("\n42")
    shell.type_bytes(b"fg\n")
    shell.wait_for("? keys")
    shell.wait_until(lambda: "7" in shell.row("E |"))
    os.kill(editor.pid, signal.SIGCONT)
    shell.press("5")
    shell.wait_until(lambda: "7---5" in shell.row("E |"))
    shell.press("ctrl+s", "ctrl+q")
    shell.wait_until(lambda: not psutil.pid_exists(editor.pid))
    shell.type_bytes(b"echo 4$?\n")
    shell.wait_for("\n40")


@pytest.mark.parametrize(("name", "status"), [("SIGTERM", 143), ("SIGHUP", 129), ("SIGQUIT", 131)])
def test_the_shell_gets_its_terminal_back_from_one_that_is_ended(name, status, open_editor, piece):
    shell, editor = begun_in_a_shell(open_editor, piece)
    os.kill(editor.pid, getattr(signal, name))
    shell.wait_until(lambda: not psutil.pid_exists(editor.pid))
    shell.type_bytes(b"echo =$?\n")
    shell.wait_for(f"={status}")
    again = open_editor(piece)
    again.wait_for("recovered a change")


def test_no_word_of_a_score_is_obeyed_by_the_terminal(open_editor, tmp_path):
    """Titles, sections, remarks, chord symbols, the name of the file, and what is told when it is left."""
    path = tmp_path / f"good{EVIL}.tabterm"
    path.write_bytes(hostile_score())
    editor = open_editor(path).ready()
    editor.press("ctrl+home", "a", "7", "f2")
    editor.wait_for("by place (s)")
    editor.press("escape", "ctrl+q")
    editor.wait_for("quit and discard the changes")
    editor.press("escape", "ctrl+s")
    editor.wait_for("saved good")
    assert editor.quit() == 0
    assert "x]0;t[6n31mq" in editor.sent.decode()
    assert b"\x1b[6n" not in editor.sent
    drawn = re.sub(r"\r\n|\r|\x08", "", re.sub(CONTROL, b"", editor.sent).decode())
    assert not OBEYED.search(drawn)
