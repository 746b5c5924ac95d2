"""Whatever command writes a foreign format, it says what that does not carry."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.cli import scores
from tabterm.cli.main import main
from tabterm.score.key import Key
from tests.build import measure, score

REMARK = "measure 1, beat 1: remarks are left out"
FRETS = "courses and frets are lost: ABC has only pitches"

WRITERS = {
    ("convert", "{tune}", "{out}.mid"): REMARK,
    ("convert", "{tune}", "{out}.abc"): FRETS,
    ("finger", "{tune}", "-o", "{out}.abc"): FRETS,
    ("finger", "{tune}", "-o", "{out}.mid", "--json"): REMARK,
    ("strokes", "{tune}", "-o", "{out}.mid"): "strokes are left out (3 times)",
    ("check", "{tune}", "--fix", "-o", "{out}.mid"): REMARK,
    ("render", "{tune}", "{out}.mid"): REMARK,
    ("hand", "--drills", "{out}.abc"): FRETS,
}


@pytest.mark.parametrize("words", WRITERS, ids=" ".join)
def test_every_command_that_writes_tells_what_is_lost(words, tmp_path, capsys):
    tune, out = tmp_path / "tune.tabterm", tmp_path / "out"
    wide = score(measure("2 1.0,2 4.9", remark="slowly"), "2 1.5,2 h1.3", key=Key.parse("G"), title="Kiln Lane")
    formats.write(tune, wide)
    file = next(word for word in words if word.startswith("{out}")).format(out=out)
    main([word.format(tune=tune, out=out) for word in words])
    assert f"{file}: {WRITERS[words]}\n" in capsys.readouterr().err


def test_no_command_writes_a_score_past_the_one_that_tells():
    folder = Path(scores.__file__).parent
    writers = [
        file.name
        for file in folder.glob("*.py")
        if re.search(r"formats\.write\(|\.write\([^)]*force=", file.read_text(encoding="utf-8"))
    ]
    assert writers == [Path(scores.__file__).name]


def test_what_is_outside_of_the_measures_written_is_not_told(tmp_path, capsys):
    tune, out = tmp_path / "tune.tabterm", tmp_path / "out.mid"
    formats.write(tune, score(measure("1 1.0", remark="slowly"), "1 1.2"))
    assert main(["render", str(tune), str(out), "--from", "2"]) == 0
    assert "remarks" not in capsys.readouterr().err
