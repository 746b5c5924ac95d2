"""Files of version 1: tuplets `16*3:2`, tempos `4.=112` and pitches `4=69` are read, and never written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.errors import FormatError
from tabterm.formats import native, text
from tabterm.instrument import PRESETS
from tabterm.score.former import duration_today, tempo_today
from tests.build import score

VERSION_1 = Path(__file__).with_name("version_1")
NATIVE = (VERSION_1 / "two-old-forms.tabterm").read_bytes()
TEXT = (VERSION_1 / "two-old-forms.tab").read_bytes()
FORMER = re.compile(r"\d\.{0,2}\*\d+:\d|(?<![\w/.])(?:1|2|4|8|16|32|64|128|256)\.{0,2}=\(?\d")
"""A tuplet by a star, or a tempo or pitch behind a note value."""


def test_a_file_of_version_1_is_read():
    score = native.read(NATIVE)
    assert [str(tempo) for tempo in score.tempos] == ["1/8=184", "1/2=48", "3/8=64"]
    first, second, third = score.measures
    assert [str(event.duration) for event in first.events] == ["8(3:2)", "8(3:2)", "8(3:2)", "4", "4.", "8"]
    assert [str(event.duration) for event in first.source] == ["8(3:2)", "8(3:2)", "8(3:2)", "4", "2"]
    assert [event.pitches for event in first.source] == [(69,), (71,), (69,), (72, 76), (76,)]
    assert [str(event.duration) for event in second.events] == ["16(5:4)"] * 5 + ["2."]
    assert (third.section, str(third.metre)) == ("Jig", "6/8")


def test_a_text_tab_of_version_1_is_read():
    reading = text.read(TEXT)
    assert not reading.report.remarks
    assert reading.music == native.read(NATIVE)


def test_the_step_from_version_1_needs_no_reader_of_the_former_forms(monkeypatch):
    """The model reads them for one version more; the file's own step goes on doing it after that."""
    for name in ("duration", "tempo"):
        monkeypatch.setattr(f"tabterm.score.{name}.{name}_today", lambda text: text)
    other = NATIVE.replace(b"*3:2", b"*9:8").replace(b"=184", b"=183").replace(b"=64", b"=63")
    document = native.MIGRATIONS[1](json.loads(other))
    assert document["head"]["tempo"] == "1/8=183"
    assert document["measures"][2]["tempo"] == "3/8=63"
    for stands in ("events", "source"):
        assert document["measures"][0][stands][0]["duration"] == "8(9:8)"


@pytest.mark.parametrize("measures", ["none", None, [None, 7, {"events": 5, "source": {}}, {"tempo": 4}]])
def test_what_is_no_file_of_version_1_is_refused_in_one_line(measures):
    data = json.dumps({"format": "tabterm", "version": 1, "head": [], "measures": measures}).encode()
    with pytest.raises(FormatError) as caught:
        native.read(data)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("word", ["16", "4.", "16(3:2)", "16*3", "*3:2", "", "1/4=104", "=60", "x=60", "4 = 60"])
def test_other_texts_stay_as_they_are(word):
    assert duration_today(word) == word
    assert tempo_today(word) == word


@pytest.mark.parametrize("ending", sorted(formats.FORMATS.keys() - {".mxl"}))  # .mxl packs what .xml has
def test_no_format_writes_the_former_forms(tmp_path, ending):
    assert FORMER.search(NATIVE.decode())
    assert FORMER.search(TEXT.decode())
    out = tmp_path / f"out{ending}"
    formats.write(out, native.read(NATIVE))
    assert FORMER.search(out.read_bytes().decode("latin-1")) is None


@pytest.mark.parametrize(
    ("name", "former", "today"),
    [
        ("tenor-banjo", "tuning: A4' D4' G3' C3'", "tuning: A4 D4 G3 C3\nstrings: single single single single"),
        (
            "octave-mandolin-octave-strung",
            "tuning: E4 A3 D3+ G2+",
            "tuning: E4 A3 D3 G2\nstrings: pair pair octave octave",
        ),
        ("mandolin", "tuning: E5 A4 D4 G3", "tuning: E5 A4 D4 G3"),
    ],
)
def test_the_strings_of_a_course_stand_on_a_line_of_their_own(name, former, today):
    """A stroke behind a pitch is an octave to most who read music (as in the ABC standard 2.1, 4.1)."""
    played = score("4 1.0,2.", instrument=PRESETS[name])
    tab = text.write(played).decode()
    assert f"\n{today}\nkey" in tab
    assert text.read(tab.encode()).music == played
    assert text.read(tab.replace(today, former).encode()).music == played


@pytest.mark.parametrize(
    "line", ["strings: single", "strings: pair pair pair three", "strings: single pair pair pair pair"]
)
def test_strings_that_are_none_are_said(line):
    tab = text.write(score("4 1.0,2.", title="Kiln")).decode()
    [remark] = text.read(f"{line}\n{tab}".encode()).report.remarks
    assert (remark.line, remark.message) == (1, f"the strings cannot be read: '{line[9:]}'")
