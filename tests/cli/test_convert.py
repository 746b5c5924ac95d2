"""`tabterm convert`: from whatever is at hand to whatever is wanted, with a report of what that cost."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from tabterm import formats
from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.instrument import PRESETS
from tests.foreign import played
from tests.formats.test_text_round_trip import carried
from tests.midi import file_of, steps
from tests.strategies import scores

LOW = [40, 43, 45, 47, 50, 52, 55, 57]
SIX_STRINGS = """title: Weir Street, the low line
instrument: Six-string
tuning: E4 B3 G3 D3 A2 E2
key: Em

count   1   &   2   &   3   &   4   &
rhythm  8   8   8   8   8   8   8   8
e      |--------------------------------|
B      |--------------------------------|
G      |--------------------0---2---0---|
D      |--------0---2---4---------------|
A      |----2---------------------------|
E      |0-------------------------------|
finger  .   2   .   2   4   .   2   .
"""


@pytest.fixture
def low(tmp_path):
    path = tmp_path / "the low line.mid"
    path.write_bytes(file_of(steps(LOW), key="Em", name="Weir Street"))
    return path


def test_a_low_line_ends_as_tab_with_its_original_kept(low, tmp_path, capsys):
    out = tmp_path / "höhe.tabterm"
    assert main(["convert", str(low), str(out)]) == 0
    printed = capsys.readouterr()
    assert printed.out == f"{out}: tabterm written\n"
    assert "8 notes fitted to the Mandolin: everything 2 octaves up" in printed.err
    score = native.read(out.read_bytes())
    assert played(score) == "E4/8 G4/8 A4/8 B4/8 D5/8 E5/8 G5/8 A5/8"
    assert [event.pitches for event in score.measures[0].source] == [(pitch,) for pitch in LOW]
    assert score.head.title == "Weir Street"


def test_the_report_is_printed_when_asked_for(low, tmp_path, capsys):
    assert main(["convert", str(low), str(tmp_path / "a.txt"), "--report", "--key", "easiest"]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    assert "points of effort a note" in printed.out
    assert "the line goes from" in printed.out


def test_another_instrument_and_key(low, tmp_path):
    out = tmp_path / "a.tabterm"
    words = ["--instrument", "octave-mandolin", "--key", "Am"]
    assert main(["convert", str(low), str(out), *words]) == 0
    score = native.read(out.read_bytes())
    assert score.head.instrument == PRESETS["octave-mandolin"]
    assert str(score.head.key) == "Am"
    assert score.measures[0].source[0].pitches == (40,)
    assert played(score).startswith("A2/8 C3/8 D3/8 E3/8")


def test_six_strings_are_read_as_pitches(tmp_path, capsys):
    """Fingers of the other instrument are dropped; its line is kept."""
    path, out = tmp_path / "six.txt", tmp_path / "four.tabterm"
    path.write_text(SIX_STRINGS, encoding="utf-8")
    assert main(["convert", str(path), str(out), "--instrument", "mandolin"]) == 0
    score = native.read(out.read_bytes())
    assert played(score) == "E4/8 B4/8 D5/8 E5/8 F#5/8 G5/8 A5/8 G5/8"
    assert all(note.finger is None for event in score.measures[0].events for note in event.notes)
    assert [event.pitches[0] for event in score.measures[0].source] == [40, 47, 50, 52, 54, 55, 57, 55]
    capsys.readouterr()
    assert main(["compare", str(out)]) == 0
    assert capsys.readouterr().out == (
        f"{out}: played 2 octaves higher than the original; every note is the same\n"
    )


def test_a_tab_is_not_touched_unless_asked(tmp_path):
    sample = Path(__file__).parents[2] / "samples" / "ferrymans-jig.tabterm"
    out = tmp_path / "copy.tabterm"
    assert main(["convert", str(sample), str(out)]) == 0
    before, after = native.read(sample.read_bytes()), native.read(out.read_bytes())
    assert played(before) == played(after)
    assert [(n.course, n.fret) for m in before.measures for e in m.events for n in e.notes] == [
        (n.course, n.fret) for m in after.measures for e in m.events for n in e.notes
    ]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--tune", "2"], "has no tune to choose"),
        (["--track", "7"], "no notes to read"),
        (["--grid", "7"], "not a grid: '7'"),
        (["--pickup", "x"], "not a pickup: 'x'"),
        (["--instrument", "harp"], "no instrument 'harp'"),
        (["--key", "H"], "not a key: 'H'"),
        (["--view", "tab"], "has no view"),
    ],
)
def test_what_cannot_be_chosen_is_one_line(low, tmp_path, capsys, words, message):
    out = tmp_path / "a.tabterm"
    assert main(["convert", str(low), str(out), *words]) == 2
    printed = capsys.readouterr().err.splitlines()
    assert message in printed[-1]
    assert not out.exists()


def test_a_track_that_is_no_number(low, tmp_path, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["convert", str(low), str(tmp_path / "a.tabterm"), "--track", "zero"])
    assert stopped.value.code == 2
    assert "not a number from 1 up: 'zero'" in capsys.readouterr().err


def test_grid_and_pickup_are_chosen(low, tmp_path):
    out = tmp_path / "a.tabterm"
    assert main(["convert", str(low), str(out), "--pickup", "1", "--grid", "4"]) == 0
    score = native.read(out.read_bytes())
    assert score.measures[0].short
    assert score.measures[0].length == Fraction(1)
    assert {event.length % 1 for measure in score.measures for event in measure.events} == {0}


def test_show_and_check_choose_too(low, capsys):
    assert main(["show", str(low), "--instrument", "mandola"]) == 0
    assert "instrument: Mandola" in capsys.readouterr().out
    assert main(["check", str(low), "--key", "Am"]) == 0


def test_out_and_back_in_every_format_that_is_written(low, tmp_path):
    """The pitches of a line that fits the neck come back from every format."""
    first = tmp_path / "first.tabterm"
    assert main(["convert", str(low), str(first)]) == 0
    pitches = played(native.read(first.read_bytes())).replace("/8", "")
    for ending, kind in formats.FORMATS.items():
        if kind.writes and kind.reads:
            out, back = tmp_path / f"out{ending}", tmp_path / f"back-{ending[1:]}.tabterm"
            assert main(["convert", str(first), str(out), "--force"]) == 0
            assert main(["convert", str(out), str(back)]) == 0
            again = played(native.read(back.read_bytes())).replace("/8", "")
            assert again.split() == pitches.split(), ending


@pytest.mark.parametrize("sample", sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm")))
def test_a_sample_comes_back_from_text_tab_to_the_byte(sample, tmp_path):
    out, back = tmp_path / "out.txt", tmp_path / "back.tabterm"
    assert main(["convert", str(sample), str(out)]) == 0
    assert main(["convert", str(out), str(back)]) == 0
    assert back.read_bytes() == sample.read_bytes()


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(scores(max_measures=3))
def test_what_is_set_and_what_is_proposed_comes_back_as_such(tmp_path_factory, drawn):
    folder = tmp_path_factory.mktemp("convert")
    first, out, back = (folder / name for name in ("first.tabterm", "out.txt", "back.tabterm"))
    wanted = carried(drawn)
    first.write_bytes(native.write(wanted))
    assert main(["convert", str(first), str(out)]) == 0
    assert main(["convert", str(out), str(back)]) == 0
    assert native.read(back.read_bytes()) == wanted


def test_who_asks_for_an_audio_file_is_told_what_writes_one(tmp_path, capsys):
    assert main(["convert", str(tmp_path / "a.tabterm"), str(tmp_path / "a.wav")]) == 2
    assert capsys.readouterr().err.endswith("; `tabterm render` writes audio)\n")


def test_a_guessed_rhythm_is_corrected_a_measure_at_a_time(tmp_path, capsys):
    tab, out = tmp_path / "a.txt", tmp_path / "a.tabterm"
    others = "".join(f"{name}|{'-' * 16}|{'-' * 16}|\n" for name in "ADG")
    tab.write_text(f"time: 4/4\n\nE|0---2---3---5---|0---2---3---5---|\n{others}")
    assert main(["convert", str(tab), str(out), "--values", "1=8,8,4,2", "--values", "2=4.,8"]) == 0
    values = [[str(event.duration) for event in each.events] for each in native.read(out.read_bytes()).measures]
    assert values == [["8", "8", "4", "2"], ["4.", "8", "4.", "8"]]
    capsys.readouterr()
    for wrong, said in (("3=8", "no measure 3"), ("1=4,2", "these values make")):
        assert main(["convert", str(tab), str(tmp_path / "b.tabterm"), "--values", wrong]) == 2
        assert said in capsys.readouterr().err
    with pytest.raises(SystemExit, match="2"):
        main(["convert", str(tab), str(tmp_path / "b.tabterm"), "--values", "x"])
    assert "write 5=4,8,8" in capsys.readouterr().err
