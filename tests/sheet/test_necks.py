"""Necks on paper: behind a sheet in every kind of file, and in a handout."""

from __future__ import annotations

import re

import pytest

from tabterm.cli.main import main
from tabterm.hand.neck import neck_of
from tabterm.page.neck_map import svg_of
from tabterm.page.neck_views import map_named
from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tabterm.sheet.necks import with_necks
from tests.build import PLAYER, music

SCORE = music("4 3.0,4 3.2,4 3.4,4 3.5 | 1 2.0")
NECK = neck_of(SCORE.head, PLAYER)
WALTZ = "samples/lantern-waltz.tabterm"


def test_necks_stand_on_pages_of_their_own_as_wide_as_the_lines():
    layout = Layout(margin_mm=20)
    sheet = engrave(SCORE, layout)
    maps = [map_named(NECK, words, 12) for words in ("G major", "D7 3-1", "G", "Am", "C", "Em", "F", "Bm")]
    made = with_necks(sheet, maps, layout)
    assert made.pages[: len(sheet.pages)] == sheet.pages
    behind = made.pages[len(sheet.pages) :]
    assert len(behind) == 2
    places = [
        re.findall(r'<svg x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', p.svg) for p in behind
    ]
    assert sum(map(len, places)) == len(maps)
    for of_page in places:
        bottom = 0.0
        for x, y, width, height in (map(float, each) for each in of_page):
            assert (x, width) == (20, 170)
            assert bottom <= y
            bottom = y + height
        assert bottom <= 297 - 20
    drawn = svg_of(maps[1])
    assert re.findall(r"<circle[^>]*>", drawn)[0] in behind[0].svg


def test_without_necks_a_sheet_is_what_it_was():
    sheet = engrave(SCORE, Layout())
    assert with_necks(sheet, (), Layout()) == sheet


@pytest.mark.parametrize("ending", ["html", "svg", "txt"])
def test_every_kind_of_file_has_the_necks(tmp_path, ending):
    out = tmp_path / f"waltz.{ending}"
    assert main(["sheet", WALTZ, str(out), "--to", "1", "--neck", "D major", "--neck", "A7 3-1"]) == 0
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(tmp_path.iterdir()))
    assert text.index("D major") < text.index("3-1 of A7")


def test_what_is_no_neck_is_said(tmp_path, capsys):
    assert main(["sheet", WALTZ, str(tmp_path / "a.pdf"), "--neck", "D wobbly"]) == 2
    assert "not a scale or a chord: 'D wobbly'" in capsys.readouterr().err
    assert main(["handout", WALTZ, str(tmp_path / "b"), "--neck", "A7 9-9"]) == 2
    assert "no double stop 9-9 in A7" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
