"""Whatever stands in a file, a name, an argument or the environment: a terminal is sent nothing that it obeys."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import soundfile

from tabterm import formats, printable
from tabterm.cli.subcommands import COMMANDS
from tabterm.formats import native
from tabterm.piece.practice_log import LogEntry, PracticeLog
from tabterm.score import operations as do
from tabterm.workspace.document import Document
from tests.build import PLAYER, measure, score
from tests.terminal import Editor

EVIL = "x\x1b]0;t\x07\x1b[6n\x9b31m\x90q\x9c\x7f\u202e\u2066\u200f\u061c\u2028\u2029\x85\r\x08y"
"""A title for the window, a question, colours, a device control string; other directions; line ends; DEL, BS."""

CHORD = "G\x1b[6n\x07\x9b31m\x7f\u202e\u2066"
"""The same, as short as a chord symbol has to be."""

COLOURS = re.compile("\x1b\\[(?:1;31|33|1|0)m")
"""What the commands send themselves; nothing else that a terminal obeys may come with it."""

OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""ECMA-48, 5th edition, 5.2 and 5.3; Unicode Standard Annex 9, section 2; line and paragraph separators."""

BAR = re.compile("\x1b\\[(\\?25[lh]|2K|1A|[0-9;]*m)|\r")
"""What draws the bar of the commands that write audio."""

WALK = """
import json, sys
from tabterm.cli.main import main
from tabterm.cli.output import guard
from tabterm.sound.playback import Playback
from tabterm.sound.remote.listener import Listener
from tabterm.tui.app import TabtermApp

def stop(*words, **named):
    raise KeyboardInterrupt

lines, ports = json.load(open(sys.argv[1], encoding="utf-8"))
Playback.outputs = lambda self: [("midi", name) for name in ports]
Listener.run = TabtermApp.run = stop
guard()
for words in lines:
    print("\\n=== " + ascii(words), flush=True)
    try:
        print("STATUS", main(words))
    except SystemExit:
        pass
    except BaseException as error:
        print("FAULT", ascii(error))
    sys.stdout.flush()
"""
"""Carries out one command after the other in one process, as `run` does with one.

The editor and the listener end as soon as they have begun; there are MIDI ports with hostile names.
"""

BROKEN = {
    "tempo": {"head": {"tempo": EVIL}},
    "metre": {"head": {"metre": EVIL}},
    "key": {"head": {"key": EVIL}},
    "head": {"head": {EVIL: 1}},
    "field": {EVIL: 1},
    "instrument": {"head": {"instrument": {"name": EVIL, "courses": EVIL}}},
    "duration": {"measures": [{"events": [{"duration": EVIL}]}]},
    "stroke": {"measures": [{"events": [{"duration": "1", "stroke": EVIL}]}]},
    "event": {"measures": [{"events": [{"duration": "1", EVIL: EVIL}]}]},
    "offset": {"measures": [{"events": [{"duration": "1"}], "chords": [{"offset": EVIL, "symbol": EVIL}]}]},
    "version": {"version": EVIL},
    "format": {"format": EVIL},
}
"""What a file of our own may have in place of a good value, by what is wrong."""

FOREIGN = {
    ".abc": f"X:1\nT:{EVIL}\nC:{EVIL}\nM:{EVIL}\nL:1/8\nQ:{EVIL}\nK:{EVIL}\n"
    f'"{EVIL}"ab!{EVIL}!c|[V:{EVIL}]{EVIL}|\n',
    ".txt": f"title: {EVIL}\n{EVIL}: {EVIL}\nkey: {EVIL}\nE|-{EVIL}-|\nA|---|\nD|---|\nG|---|\n",
    ".musicxml": "<score-partwise><part-list><score-part id='P1'><part-name>&#x202e;&#x9b;</part-name>"
    "</score-part></part-list><part id='P1'><measure number='&#x2066;'><note><&#x9b;/></note></measure></part>"
    "</score-partwise>",
    ".mid": "MThd\x00\x00\x00\x06\x00\x01\x00\x01\x00\x60MTrk\x00\x00\x00\x10\x00\xff\x03\x04\x1b]0;",
    f".{EVIL}": "words",
}


def hostile_score():
    """All the words that a score can have."""
    built = score(
        measure("8 1.2,8 1.14,4 2.0,2 1.0", section=EVIL, remark=EVIL), "1 3.2", title=EVIL, credits=(EVIL, EVIL)
    )
    data = json.loads(native.write(built))
    data["measures"][0]["chords"] = [{"offset": "0", "symbol": CHORD}]
    return json.dumps(data).encode()


@pytest.fixture
def files(tmp_path):
    """Every kind of file, each with a hostile name, by what is wrong with it; a log of their practice as well."""
    paths = {"good": tmp_path / f"good{EVIL}.tabterm"}
    paths["good"].write_bytes(hostile_score())
    for what, fields in BROKEN.items():
        paths[what] = tmp_path / f"{what}{EVIL}.tabterm"
        whole = {"format": "tabterm", "version": 1, "head": {}, "measures": [{"events": [{"duration": "1"}]}]}
        paths[what].write_text(json.dumps(whole | fields))
    for ending, words in FOREIGN.items():
        paths[ending] = tmp_path / f"foreign{EVIL}{ending}"
        paths[ending].write_bytes(words.encode("latin-1" if ending == ".mid" else "utf-8"))
    begun = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
    for day in range(2):
        PracticeLog().add(
            LogEntry(begun + timedelta(days=day), EVIL, str(paths["good"]), 1, 2, EVIL, 60.0, "4", 80.0, 4, 60.0)
        )
    left = Document.open(paths["good"], PLAYER, blank=lambda: score("1"))
    left.apply(do.set_title(left.score, EVIL * 2), "title")
    left.close(keep_draft=True)
    return {what: str(path) for what, path in paths.items()}


def recorded(folder):
    """A recording of two plucked notes, with a hostile name."""
    path = folder / f"take{EVIL}.wav"
    if not path.exists():
        t = np.arange(22_050) / 22_050
        notes = [sum(np.sin(2 * np.pi * k * hz * t) / 2**k for k in range(1, 7)) for hz in (440.0, 660.0)]
        sound = np.concatenate([note * np.exp(-4 * t) * 0.4 for note in notes])
        soundfile.write(str(path), sound, 22_050, format="WAV")
    return str(path)


def good_lines(good, folder):
    """Every command on a file that can be read, with what it can be asked for."""
    out = f"{folder}/out{EVIL}"
    folder.chmod(0o700)
    return [
        ["show", good],
        *(["show", good, more] for more in ("--table", "--json")),
        *(["show", good, "--rows", rows] for rows in ("chord,count,rhythm,degree", EVIL)),
        *(["finger", good, *more] for more in ([], ["--json"], ["--alternatives", "2"], ["-o", out + ".txt"])),
        *(
            ["strokes", *more]
            for more in ([good], [good, "--school", EVIL], [good, "-o", out + "s.abc"], ["--list"])
        ),
        *(["check", good, *more] for more in ([], ["--json"], ["--fix", "-o", out + ".tabterm"])),
        *(["hand", *more] for more in ([], ["--json"], ["--instrument", EVIL], ["--tempo", f"{EVIL}=9"])),
        *(["hard", good, *more] for more in ([], ["--json"], ["--worst", "1"])),
        *(
            ["play", good, "--to", "1", "--tempo", "200%", *more]
            for more in (["--chords"], ["--output", EVIL], ["--ladder", EVIL])
        ),
        *(
            ["listen", *more]
            for more in (
                ["--output", EVIL],
                ["--tcp", EVIL],
                ["--socket", f"/{EVIL}/{EVIL}"],
                ["--socket", f"{folder}/\x1b[6n"],
            )
        ),
        *(["log", *more] for more in ([], [good], ["--csv", "-"], ["--csv", out + ".csv"], [good + "x"])),
        *(
            ["render", good, *more]
            for more in ([out + ".wav"], [out + ".mid"], [out], [out + ".wav", "--to", "99"])
        ),
        *(
            ["handout", good, out + "h", *more]
            for more in (["--tempos", "200%", "--only", "audio,readme"], ["--tempos", EVIL], ["--only", EVIL])
        ),
        *(["sheet", good, out + each] for each in (".pdf", ".svg", ".html", ".txt", f".{EVIL}")),
        *(
            ["sheet", good, out + ".pdf", *more]
            for more in (["--rows", EVIL], ["--measures", EVIL], ["--phrase", "99"])
        ),
        *(["convert", good, out + each, "--report"] for each in (".abc", ".musicxml", ".txt", ".mid", f".{EVIL}")),
        *(["transcribe", recorded(folder), out + each, "--report"] for each in (".abc", ".tabterm", f".{EVIL}")),
        *(["transcribe", recorded(folder), "--json", *more] for more in ([], ["--metre", EVIL], ["--from", EVIL])),
        ["transcribe", good, out + "t.tabterm"],
        *(["slow", recorded(folder), out + each] for each in ("s.flac", f"s.{EVIL}")),
        ["compare", good],
        *(
            ["phrases", *more]
            for more in (
                ["add", good, "--name", EVIL, "--remark", EVIL, "--source", EVIL],
                *([], ["--json"], ["find", EVIL], ["find", "--tag", EVIL], ["find", "--chords", EVIL]),
                *(["show", "1"], ["show", EVIL], ["insert", "1", good], ["find", "--fits", good]),
                *(["add", good, "--tag", EVIL], ["add", good], ["export", out + "p"], ["import", out + "p"]),
                *(["import", EVIL], ["backup", out + "p.sqlite"], ["remove", EVIL], ["remove", "1"]),
            )
        ),
        *(["neck", *more] for more in (["D7"], ["D7", "--json"], [EVIL], ["D7", "--svg", out + "n.svg"])),
        *(["dyads", *more] for more in (["--file", good], ["D7", "--json"], [EVIL])),
        *(["invent", good, *more] for more in (["--to", "1"], ["--json"], ["--chord", EVIL], ["--pool", EVIL])),
        *(["explain", good, *more] for more in ([], ["--json"], ["--from", "99"])),
        *(
            ["recover", *more]
            for more in ([], [good], ["--take", "1", "-o", out + "r.tabterm"], ["--remove", "9"])
        ),
        ["ports"],
        ["keys"],
        *(["neck", pool] for pool in ("D7", EVIL)),
        *(
            ["config", *more]
            for more in ([], ["path"], ["template"], ["set", EVIL, EVIL], ["set", f"keys.{EVIL}.x", EVIL])
        ),
        *(["demo", "--no-edit", f"{folder}/demo{evil}"] for evil in ("", EVIL)),
        *(["help", *more] for more in ([], ["check"], [EVIL])),
        *(["completion", shell] for shell in ("bash", EVIL)),
        ["edit", good, "--look", EVIL],
    ]


def printed(folder, lines, **environment):
    """What a terminal is sent when commands are carried out, as text by command."""
    walk = folder / "walk.json"
    walk.write_text(json.dumps([lines, [EVIL, f"{EVIL} 2"]]), encoding="utf-8")
    editor = Editor(command=[sys.executable, "-c", WALK, str(walk)], **environment)
    try:
        end = time.monotonic() + 100.0
        while editor.process.poll() is None or editor.read(0.05):
            editor.read(0.05, 1.0)
            assert time.monotonic() < end, editor.sent[-500:]
    finally:
        editor.close()
    text = editor.sent.decode("utf-8", "surrogateescape").replace("\r\n", "\n")
    return dict(part.partition("\n")[::2] for part in text.split("\n=== ")[1:])


def assert_harmless(parts, count):
    assert len(parts) == count
    for words, said in parts.items():
        bare = BAR.sub("", said) if re.search("'(render|handout|sheet|slow|transcribe)'", words) else said
        assert not OBEYED.search(COLOURS.sub("", bare)), (words, ascii(said))
        assert "Traceback" not in said
        assert "FAULT" not in said, (words, said)
        assert not re.search("[\udc80-\udcff]", said), (words, ascii(said))


def unique(lines):
    return list({ascii(words): words for words in lines}.values())


def test_no_command_sends_a_terminal_what_stands_in_a_file_or_an_argument(files, tmp_path):
    """Every command: on what can be read and what cannot, with good arguments and with bad ones."""
    lines = good_lines(files["good"], tmp_path)
    assert {words[0] for words in lines} == set(COMMANDS)
    for command in COMMANDS:
        lines += [[command, "--" + EVIL], [command, f"{tmp_path}/none{EVIL}.tabterm", EVIL, EVIL]]
    for command in ("show", "finger", "strokes", "check", "hard", "compare", "edit", "play"):
        lines += [[command, path] for what, path in files.items() if what != "good"]
    for command, out in (("convert", "o.abc"), ("render", "o.mid")):
        lines += [[command, path, f"{tmp_path}/{out}"] for what, path in files.items() if what != "good"]
    lines = unique(lines)
    parts = printed(tmp_path, lines, TABTERM_LISTENER="none", TABTERM_AUDIO="null")
    assert_harmless(parts, len(lines))
    done = {words.split("'")[1] for words, said in parts.items() if "STATUS 0" in said}
    assert done == set(COMMANDS) - {"edit"}


@pytest.mark.parametrize(
    "said",
    [f'"{EVIL}" = 1', f'[screen]\ntheme = "{EVIL}"', f'[keys]\n"{EVIL}" = "{EVIL}"', EVIL],
    ids=["field", "theme", "keys", "junk"],
)
def test_no_command_sends_a_terminal_what_stands_in_the_configuration(said, files, tmp_path):
    folder = tmp_path / f"config{EVIL}"
    folder.mkdir()
    quoted = re.sub("[\x00-\x1f\x7f]", lambda match: f"\\u{ord(match[0]):04x}", said.replace("\n", "\v"))
    (folder / "c.toml").write_text(quoted.replace("\\u000b", "\n"), encoding="utf-8")
    good = files["good"]
    lines = [["show", good], ["keys"], ["hand"], ["check", good], ["play", good], ["log"], ["edit", good]]
    parts = printed(tmp_path, lines, TABTERM_CONFIG=str(folder / "c.toml"), TERM="dumb")
    assert_harmless(parts, len(lines))


def test_no_command_sends_a_terminal_what_stands_in_the_environment(files, tmp_path):
    names = ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_RUNTIME_DIR", "TABTERM_AUDIO", "COLUMNS")
    environment = dict.fromkeys(names, f"{tmp_path}/{EVIL}") | {
        "TABTERM_LISTENER": EVIL,
        "TERM": f"dumb-{EVIL}",
    }
    good = files["good"]
    lines = [
        ["log"],
        ["show", good],
        ["ports"],
        ["hand", "--span", "90"],
        ["play", good],
        ["edit", good],
        ["listen", "--tcp", "1"],
    ]
    assert_harmless(printed(tmp_path, lines, **environment), len(lines))


def test_the_program_itself_guards_its_streams(tmp_path, open_editor):
    """As installed, not by a walk: standard output and standard error are one terminal."""
    path = tmp_path / "good.tabterm"
    path.write_bytes(hostile_score())
    for words in (["show", str(path)], ["show", str(path) + EVIL]):
        command = open_editor(*words)
        command.ended(20.0)
        assert not OBEYED.search(COLOURS.sub("", command.sent.decode().replace("\r\n", "\n")))
        assert len(command.sent) > 20


def test_a_file_or_another_program_is_given_what_stands_in_the_score(tmp_path):
    """A text tab that is piped is the score again; what is told beside it is cleaned all the same."""
    path = tmp_path / f"good{EVIL}.tabterm"
    path.write_bytes(hostile_score())
    show = [sys.executable, "-m", "tabterm", "show", str(path)]
    result = subprocess.run(show, capture_output=True, check=False, env={**os.environ, "PYTHONUTF8": "1"})
    assert result.returncode == 0
    (tmp_path / "out.txt").write_bytes(result.stdout)
    again = formats.read(tmp_path / "out.txt").music
    assert again.head.title == EVIL
    assert again.head.credits == (EVIL, EVIL)
    assert not OBEYED.search(result.stderr.decode())


def test_json_says_the_same_to_a_terminal_and_to_a_program():
    for indent in (None, 2):
        written = printable.as_json({"title": EVIL, EVIL: [EVIL, "é漢\u200d"]}, indent=indent)
        assert json.loads(written) == {"title": EVIL, EVIL: [EVIL, "é漢\u200d"]}
        assert not OBEYED.search(written)
        assert "é漢" in written
