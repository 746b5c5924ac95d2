"""How the commands speak: help, colours, notes, the pager, and words for what cannot be used."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys

import pytest

from tabterm import formats
from tabterm.cli import help as help_page
from tabterm.cli.examples import EXAMPLES
from tabterm.cli.main import build_parser, main
from tabterm.cli.output import MANNER, paged
from tabterm.cli.subcommands import COMMANDS
from tabterm.errors import ConfigurationError
from tabterm.piece import configuration
from tabterm.values import Value, field_names
from tabterm.version import __version__
from tests.build import score
from tests.typist import Typist


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "tune.tabterm"
    formats.write(path, score("4 1.1 2.12,4 1.0,2 1.0"))
    return path


@pytest.fixture(autouse=True)
def plain(monkeypatch):
    """No wishes of whoever runs the tests."""
    for name in ("NO_COLOR", "FORCE_COLOR", "PAGER", "LESS"):
        monkeypatch.delenv(name, raising=False)
    yield
    MANNER.quiet, MANNER.verbose, MANNER.colours, MANNER.pages = False, False, "auto", False


class Terminal:
    """A stream that says that it is a terminal."""

    def isatty(self):
        return True


def test_every_command_has_an_example_and_each_of_them_is_taken():
    assert EXAMPLES.keys() == COMMANDS.keys()
    for name, found in EXAMPLES.items():
        for typed in found:
            program, *words = shlex.split(re.split(r" [<>|] ", typed)[0])
            words = words if words[0] in COMMANDS else ["edit", *words]
            assert (program, words[0]) == ("tabterm", name)
            parser = build_parser(name)
            assert parser.parse_known_args(words)[1] == []
            assert f"\n  {typed}\n" in parser.of_command(name).format_help()


def test_help_of_a_command_ends_with_its_examples_and_the_exit_status(capsys):
    assert main(["help", "check"]) == 0
    asked = capsys.readouterr().out
    with pytest.raises(SystemExit):
        main(["check", "--help"])
    assert capsys.readouterr().out == asked
    assert asked.splitlines()[-1].startswith("exit status: 0 done, 1 findings, ")
    assert "  tabterm check tune.tabterm --tempo 120 --fix\n" in asked
    assert main(["help"]) == 0
    listed = capsys.readouterr().out
    assert "130 stopped by Ctrl-C" in listed
    assert str(help_page.PAGES) in listed
    assert "tutorial" in listed
    assert main(["help", "tutorial"]) == 0
    assert capsys.readouterr().out == (help_page.PAGES / "tutorial.md").read_text(encoding="utf-8")
    assert main(["help", "sheet.md"]) == main(["help", "tutorial.md"]) == 0
    assert capsys.readouterr().out.startswith((help_page.PAGES / "sheet.md").read_text(encoding="utf-8"))
    assert main(["help", "sheet"]) == 0
    assert "\npage: `tabterm help sheet.md` has more\n" in capsys.readouterr().out
    assert main(["help", "../docs/sheet"]) == main(["help", "chekc.md"]) == 2
    capsys.readouterr()
    assert main(["help", "chekc"]) == 2
    assert capsys.readouterr().err == "tabterm: no command or page 'chekc' (did you mean 'check'?)\n"


def test_the_choices_of_taking_a_file_in_stand_in_one_group_once():
    heading = "for files with several tunes or parts, and for other instruments:"
    for name in ("show", "check", "convert", "play", "sheet"):
        text = build_parser(name).of_command(name).format_help()
        assert text.count(heading) == 1
        assert text.partition(heading)[2].count("--tune N") == 1


@pytest.mark.parametrize("option", ["-V", "--version"])
def test_the_version_is_a_line(option, capsys):
    with pytest.raises(SystemExit) as ended:
        main([option])
    assert (ended.value.code, capsys.readouterr().out) == (0, f"tabterm {__version__}\n")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_gets_a_script_that_knows_commands_options_and_files(shell, capsys):
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    for word in (*COMMANDS, "fail-on", "from-format"):
        assert word in script
    if shell == "bash":
        subprocess.run(["bash", "-n"], input=script, text=True, check=True)
        asked = f"{script}\nCOMP_WORDS=(tabterm ch); COMP_CWORD=1; _shtab_tabterm; echo ${{COMPREPLY[@]}}"
        done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, check=True)
        assert done.stdout.split() == ["check"]
        assert "complete -o bashdefault -o default -F _shtab_tabterm tabterm" in script
    if shell == "fish":
        assert script.endswith('complete -c tabterm -n "__fish_use_subcommand" -F\n')


@pytest.mark.parametrize(
    ("colours", "variables", "terminal", "shown"),
    [
        ("auto", {}, True, True),
        ("auto", {}, False, False),
        ("auto", {"TERM": "dumb"}, True, False),
        ("auto", {"NO_COLOR": "1"}, True, False),
        ("auto", {"NO_COLOR": ""}, True, True),
        ("auto", {"FORCE_COLOR": "1"}, False, True),
        ("auto", {"FORCE_COLOR": "1", "NO_COLOR": "1"}, False, False),
        ("always", {"NO_COLOR": "1"}, False, True),
        ("never", {"FORCE_COLOR": "1"}, True, False),
    ],
)
def test_when_there_are_colours(monkeypatch, colours, variables, terminal, shown):
    """NO_COLOR as no-color.org has it: any value but an empty one; FORCE_COLOR as force-color.org."""
    for name, value in ({"TERM": "xterm"} | variables).items():
        monkeypatch.setenv(name, value)
    MANNER.colours = colours
    assert MANNER.colour(Terminal() if terminal else sys.stdout) is shown


def test_a_severity_is_coloured_and_named(tune, capsys):
    assert main(["check", str(tune), "--color", "always"]) == 1
    assert "\x1b[1;31m: impossible: \x1b[0m" in capsys.readouterr().out
    assert main(["check", str(tune)]) == 1
    out = capsys.readouterr().out
    assert ": impossible: " in out
    assert "\x1b" not in out


def test_quiet_leaves_notes_out_and_no_error(tune, tmp_path, capsys):
    out = tmp_path / "out.abc"
    assert main(["convert", str(tune), str(out)]) == 0
    assert "courses and frets are lost" in capsys.readouterr().err
    assert main(["convert", str(tune), str(out), "--force", "-q"]) == 0
    assert capsys.readouterr().err == ""
    assert main(["show", "gone.abc", "-q"]) == 2
    assert "gone.abc" in capsys.readouterr().err


def test_verbose_tells_all_that_is_remarked(tmp_path, capsys):
    path = tmp_path / "odd.txt"
    path.write_text("E|0-1-2-3-|\nA|--------|\nD|--------|\nG|--------|\n", encoding="utf-8")
    heard = []
    for more in ([], ["-v"]):
        assert main(["show", str(path), *more]) == 0
        heard.append(capsys.readouterr().err.splitlines())
    assert set(heard[0]) <= set(heard[1])


def test_what_is_long_goes_through_the_pager_on_a_terminal(open_editor, tune, tmp_path):
    words = [sys.executable, "-m", "tabterm", "show", str(tune)]
    pager = f"cat > {tmp_path}/paged; echo through it"
    editor = open_editor(command=words, PAGER=pager)
    editor.wait_for("through it")
    editor.ended()
    assert "E      |1" in (tmp_path / "paged").read_text()
    assert b"E      |1" not in editor.sent
    done = subprocess.run(words, capture_output=True, text=True, check=True, env=os.environ | {"PAGER": pager})
    assert "E      |1" in done.stdout


def test_without_a_pager_nothing_is_started(monkeypatch):
    monkeypatch.setattr(subprocess, "Popen", lambda *_, **__: pytest.fail("started"))
    with paged(wanted=True):
        pass


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["sheet", "a.tabterm", "b.pdf", "--margin", "1,5"], "--margin: not a number: '1,5' (write 1.5)"),
        (["slow", "a.wav", "b.wav", "--from", "12,5"], "not a number of seconds: '12,5' (write 12.5)"),
        (["transcribe", "a.wav", "b.tab", "--tempo", "92,5"], "not a tempo: '92,5' (write 92.5)"),
        (["play", "a.tabterm", "--loop", "two"], "--loop: not a number: 'two'"),
    ],
)
def test_a_decimal_comma_gets_a_hint(words, said, capsys):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("tempo", "hint"), [("92,5", "write 92.5"), ("1/4=92,5", "write 1/4=92.5"), ("80,5%", "write 80.5%")]
)
def test_so_does_one_in_a_tempo(tune, tempo, hint, capsys):
    assert main(["check", str(tune), "--tempo", tempo]) == 2
    assert f"({hint})" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "word", "hint"), [("frets", "20 352,4", "20 352.4"), ("hand-span", "140,5", "140.5")]
)
def test_and_one_in_the_editor(name, word, hint):
    player = Typist(score("1 1.0"))
    player.run(name, word)
    assert player.troubles[-1].endswith(f"(write {hint})")


WRONG = ("7.5", "-3", "'x'", "true", "[1]", "{a = 1}", "nan", "1979-05-27")
OF_PYDANTIC = re.compile(r"[Ii]nput|valid |Value error|Field required|should be|[Tt]ype=|pydantic|extra")


def leaves(model, path=()):
    for name in field_names(model):
        part = getattr(model, name)
        if isinstance(part, Value):
            yield from leaves(type(part), (*path, name))
        else:
            yield (*path, name)


def test_no_words_of_the_library_are_shown_for_any_setting(tmp_path, monkeypatch):
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    refused = []
    for path in leaves(configuration.Configuration):
        for value in WRONG:
            (tmp_path / "config.toml").write_text(f"{'.'.join(path)} = {value}\n")
            try:
                configuration.load()
            except ConfigurationError as error:
                refused.append(str(error))
    assert len(refused) > 100
    assert [words for words in refused if OF_PYDANTIC.search(words)] == []


def test_the_help_of_completion_says_where_the_script_for_zsh_goes(capsys):
    with pytest.raises(SystemExit):
        main(["completion", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert "completion zsh > ~/.zfunc/_tabterm" in told
    assert "~/.zfunc is in fpath before compinit" in told
