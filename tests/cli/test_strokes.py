"""`tabterm strokes`."""

from __future__ import annotations

import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.operations import set_school_of
from tests.build import score

ARPEGGIO = "8 4.2,8 3.2,8 2.2,8 1.2,8 1.2,8 1.2,8 1.2,8 1.2"


@pytest.fixture(autouse=True)
def own_folders(tmp_path, monkeypatch):
    """Nothing that the tester has configured gets in."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))


@pytest.mark.parametrize("name", ["a.tabterm", "a.tab", "a.mid"])
def test_any_format_is_read_and_written_with_strokes(tmp_path, capsys, name):
    path, out = tmp_path / name, tmp_path / "out.tabterm"
    formats.write(path, score("4 2.0,8 2.2,8 2.3,2 2.5"))
    assert main(["strokes", str(path), "-o", str(out)]) == 0
    assert capsys.readouterr().out == f"{out}: written\n"
    events = native.read(out.read_bytes()).measures[0].events
    assert [each.proposed_stroke for each in events] == [Stroke.DOWN, Stroke.DOWN, Stroke.UP, Stroke.DOWN]


def strokes_printed(out):
    return next(line for line in out.splitlines() if line.startswith("stroke ")).split()[1:]


def test_the_tab_is_printed_where_no_file_is_named(tmp_path, capsys):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score(ARPEGGIO)))
    assert main(["strokes", str(path)]) == 0
    assert strokes_printed(capsys.readouterr().out) == list("dudududu")
    assert main(["strokes", str(path), "--school", "glide"]) == 0
    printed = capsys.readouterr().out
    assert strokes_printed(printed) == list("dddddudu")
    assert "strokes: glide" in printed
    assert path.read_bytes() == native.write(score(ARPEGGIO))


def test_a_school_given_holds_from_beginning_to_end(tmp_path, capsys):
    path, out = tmp_path / "a.tabterm", tmp_path / "b.tabterm"
    mixed = set_school_of(score(*[ARPEGGIO] * 3), 1, 1, StrokeSchool.COURSE_CHANGE)
    path.write_bytes(native.write(mixed))
    assert main(["strokes", str(path), "-o", str(out), "--school", "glide"]) == 0
    written = native.read(out.read_bytes())
    assert written.schools == (StrokeSchool.GLIDE,) * 3
    assert [measure.school for measure in written.measures] == [None] * 3
    assert main(["strokes", str(path), "-o", str(out), "--force"]) == 0
    assert native.read(out.read_bytes()).schools == mixed.schools


def test_what_is_refused_in_one_line(tmp_path, capsys):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score(ARPEGGIO)))
    names = ", ".join(StrokeSchool)
    for arguments, message in (
        ([str(path), "--school", "bow"], f"tabterm: no picking school 'bow' (one of: {names})\n"),
        ([str(path), "-o", str(path)], f"tabterm: {path}: the file already exists (--force overwrites it)\n"),
        ([], "tabterm: no file given (`tabterm strokes FILE`, or --schools for the list)\n"),
    ):
        assert main(["strokes", *arguments]) == 2
        assert capsys.readouterr().err == message


def test_the_schools_are_listed_with_their_sources(capsys):
    assert main(["strokes", "--schools"]) == 0
    out = capsys.readouterr().out
    for name, school in SCHOOLS.items():
        assert f"{name} " in out
        assert school.title in out
        assert f"Source: {school.source}." in out


def test_a_school_that_finds_nothing_says_so_beside_the_strokes(tmp_path, capsys):
    path = tmp_path / "a.tabterm"
    formats.write(path, score("4 2.0,8 2.2,8 2.3,2 2.5"))
    assert main(["strokes", str(path), "--school", "roll-alternate"]) == 0
    said = capsys.readouterr()
    assert strokes_printed(said.out) == ["d", "d", "u", "d"]
    assert said.err == (
        "tabterm: measure 1: 'roll-alternate' needs six or more equal single notes over three courses, "
        "starting on a beat; strokes go by the beat\n"
    )
