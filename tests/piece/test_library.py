"""The public face: what the page of the library says is what happens, and commands give what a script gets."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile

import tabterm
from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.score.place import display_number

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)
LOW = ROOT / "samples" / "weir-street-low-line.musicxml"
WALTZ = ROOT / "samples" / "lantern-waltz.tabterm"


@pytest.mark.parametrize("code", EXAMPLES, ids=range(len(EXAMPLES)))
def test_examples_run(code, tmp_path, monkeypatch):
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "library.md", "exec"), {})
    made = re.findall(r'write\("([^"]+)"', code) + [
        f"waltz-{percent}.wav" for percent in (60, 80, 100) if "render" in code
    ]
    assert all((tmp_path / name).stat().st_size for name in made)


def test_the_example_of_the_package_is_code():
    body = tabterm.__doc__.split("\n\n", 2)[2].split("\n\nWhat is named")[0]
    ast.parse("\n".join(line.removeprefix("    ") for line in body.splitlines()))
    assert body.split("\n\n", 1)[1] in "\n".join(f"    {line}" for line in EXAMPLES[0].splitlines()).replace(
        "samples/quarry-road-breakdown.tabterm", "solo.musicxml"
    ).replace(", force=True", "")


def test_what_is_public_is_there_and_nothing_heavy_is_loaded_for_it():
    code = (
        "import sys, tabterm\n"
        "assert not {'pydantic', 'numpy', 'mido', 'textual'} & set(sys.modules)\n"
        "for name in tabterm.__all__: getattr(tabterm, name)\n"
        "assert not {'numpy', 'textual'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
    with pytest.raises(AttributeError):
        tabterm.Score  # noqa: B018


def test_a_script_and_the_commands_give_the_same(tmp_path, capsys):
    piece = tabterm.open(LOW, player=tabterm.Player())
    piece.fingered().write(tmp_path / "script.tabterm")
    assert main(["convert", str(LOW), str(tmp_path / "command.tabterm")]) == 0
    assert (tmp_path / "script.tabterm").read_bytes() == (tmp_path / "command.tabterm").read_bytes()
    capsys.readouterr()
    assert main(["show", str(LOW), "--width", "80"]) == 0
    assert capsys.readouterr().out == piece.fingered().text()


def test_measures_are_cut_by_the_players_numbers():
    """The waltz has a pickup, which is measure 0; a piece that is cut out counts anew."""
    piece = tabterm.open(WALTZ, player=tabterm.Player())
    two = piece.measures(3, 4)
    assert len(two.score.measures) == 2
    assert [display_number(two.score, index) for index in range(2)] == [1, 2]
    assert display_number(piece.measures(0, 2).score, 0) == 0
    assert [each.events for each in two.score.measures] == [each.events for each in piece.score.measures[3:5]]
    assert two.score.tempos[0] == piece.score.tempos[3]
    with pytest.raises(tabterm.TabtermError, match="no measure 99"):
        piece.measures(3, 99)


def test_half_the_tempo_lasts_twice_as_long(tmp_path):
    piece = tabterm.open(WALTZ, player=tabterm.Player())
    quarters = sum(measure.length for measure in piece.score.measures[1:3])
    seconds = float(quarters) * 60 / piece.score.tempos[0].quarters_per_minute
    lengths = []
    for percent in (100, 50):
        piece.render(tmp_path / f"{percent}.wav", measures=(1, 2), tempo=percent)
        lengths.append(soundfile.info(tmp_path / f"{percent}.wav").duration)
    assert lengths[1] - lengths[0] == pytest.approx(seconds, abs=0.02)


def test_every_target_is_written(tmp_path):
    from tabterm.piece.targets import targets

    piece = tabterm.open(WALTZ, player=tabterm.Player()).measures(1, 1)
    for ending in targets():
        path = tmp_path / f"one{ending}"
        piece.write(path)
        assert path.stat().st_size
        with pytest.raises(tabterm.TabtermError, match="already exists"):
            piece.write(path)
    again = tabterm.open(tmp_path / "one.tabterm", player=tabterm.Player())
    assert again.score == piece.score


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda piece, folder: piece.write(folder / "a.doc"), "unknown file extension"),
        (lambda piece, folder: piece.render(folder / "a.txt"), "unknown file extension"),
        (lambda piece, folder: piece.render(folder / "a.wav", reverb=3), "unknown way of playing 'reverb'"),
        (lambda piece, _: piece.stroked("sideways"), "sideways"),
        (lambda piece, _: piece.fitted(instrument="zither"), "zither"),
        (lambda piece, _: piece.text(rows=("colour",)), "colour"),
        (lambda piece, folder: tabterm.open(folder / "none.abc", player=piece.player), "cannot be read"),
        (lambda piece, _: tabterm.open(WALTZ, player=piece.player, tune=1), "tune"),
        (lambda piece, _: tabterm.open("a\0.tabterm", player=piece.player), "zero byte"),
        (lambda piece, folder: piece.render(folder / "a.wav", parts="choir"), "parts cannot be 'choir'"),
        (lambda piece, folder: piece.render(folder / "a.wav", click="loud"), "click cannot be 'loud'"),
        (lambda piece, _: tabterm.new(player=piece.player, measures=0), "cannot begin with 0 measures"),
        (
            lambda piece, _: tabterm.new(player=piece.player, measures=10**9),
            "cannot begin with 1000000000 measures",
        ),
        (
            lambda piece, _: tabterm.new(player=piece.player, colour="red"),
            "cannot begin a score with colour='red'",
        ),
        (lambda piece, _: tabterm.new(player=piece.player, tempo="fast"), "not a tempo"),
    ],
)
def test_faults_are_one_line(call, words, tmp_path):
    piece = tabterm.open(WALTZ, player=tabterm.Player())
    with pytest.raises(tabterm.TabtermError, match=words) as caught:
        call(piece, tmp_path)
    assert "\n" not in str(caught.value)
    assert not list(tmp_path.iterdir())


def test_a_new_piece_is_empty_and_whole():
    piece = tabterm.new(player=tabterm.Player(), title="Ropewalk Reel", instrument="mandola", measures=8)
    assert (len(piece.score.measures), piece.score.head.title) == (8, "Ropewalk Reel")
    assert native.read(native.write(piece.score)) == piece.score
