"""`tabterm compare`: every departure from the original, with its place."""

from __future__ import annotations

from fractions import Fraction

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.adapt import adapt
from tabterm.score import operations as do
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.place import Place
from tests.build import PLAYER, score
from tests.foreign import line


def test_departures_are_listed_and_counted(tmp_path, capsys):
    built = adapt(line("E2/8 G2/8 A2/8 B2/8 D3/8 E3/8 G3/8 A3/8 | B3/4 A3/4 G3/2"), PLAYER).score
    built = do.put_note(built, Place(0, Fraction(1)), Note(course=2, fret=1), EIGHTH)
    built = do.remove_note(built, Place(1), 1)
    path = tmp_path / "two.tabterm"
    path.write_bytes(native.write(built))
    assert main(["compare", str(path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines == [
        f"{path}: measure 1, beat 2: A2 in the original, which would be A4, Bb4 here: another note",
        f"{path}: measure 2, beat 1: B3 of the original is left out",
        f"{path}: played 2 octaves higher than the original; 1 note changed, 1 note left out",
    ]


def test_without_an_original_that_is_said(tmp_path, capsys):
    path = tmp_path / "plain.tabterm"
    path.write_bytes(native.write(score("1 2.0")))
    assert main(["compare", str(path)]) == 0
    assert "no original line to compare with" in capsys.readouterr().out
