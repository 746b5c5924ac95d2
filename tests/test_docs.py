"""The documents that are made from the program are up to date, and the README's commands are the real ones."""

from __future__ import annotations

import html
import importlib.util
import io
import json
import re
import shlex
from pathlib import Path

import jsonschema
import pytest

from tabterm.cli.main import main
from tabterm.cli.subcommands import COMMANDS
from tabterm.score.operations import set_pickup

ROOT = Path(__file__).parents[1]
spec = importlib.util.spec_from_file_location("make", ROOT / "docs" / "make.py")
make = importlib.util.module_from_spec(spec)
spec.loader.exec_module(make)


@pytest.mark.parametrize(
    "name",
    [
        "hand",
        "difficulty",
        "strokes",
        "accompaniment",
        "judgement",
        "phrase-book",
        "sound",
        "constants",
        "hand-picture",
        "keys",
        "commands",
        "schema",
    ],
)
def test_made_documents_are_not_stale(name):
    file, function = make.MADE[name]
    assert (ROOT / "docs" / file).read_text(encoding="utf-8") == function(), "run `python docs/make.py`"


@pytest.mark.parametrize("name", make.PICKED)
def test_passages_of_the_page_of_the_strokes_are_read_as_they_are_written(name):
    from tabterm.formats import text

    assert text.read(make.PICKED[name][1].encode()).report.remarks == ()


def text_of(svg):
    """What can be read in a picture, in its order."""
    return [html.unescape(words) for words in re.findall(r"<(?:text|title|desc)\b[^>]*>([^<]*)<", svg)]


@pytest.mark.parametrize("name", make.PICTURES)
def test_a_picture_reads_as_one_made_anew(name):
    file, function = make.PICTURES[name]
    drawn = (ROOT / "docs" / file).read_text(encoding="utf-8")
    assert len(text_of(drawn)) > 20
    assert text_of(drawn) == text_of(function()), "run `python docs/make.py`"


def test_the_cheat_sheet_is_two_pages_of_every_key_and_command():
    from pypdf import PdfReader

    kept, anew = (
        [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
        for data in ((ROOT / "docs" / "cheat-sheet.pdf").read_bytes(), make.cheat_sheet())
    )
    assert kept == anew, "run `python docs/make.py cheat-sheet`"
    assert len(kept) == 2
    words = " ".join(" ".join(kept).split())
    assert all(f"tabterm {name}" in words for name in COMMANDS)
    assert all(key in words for key in ("ctrl+p", "shift+left", "f12", "Undo the last change"))


def test_pictures_are_all_made_and_link_nowhere():
    pictures = sorted((ROOT / "docs").glob("*.svg"))
    assert [path.name for path in pictures] == sorted(file for file, _ in make.PICTURES.values())
    for path in pictures:
        svg = path.read_text(encoding="utf-8").replace('xmlns="http://www.w3.org/2000/svg"', "")
        links = re.findall(r"\w+://|@import|@font-face|\bhref\b|url\((?!#)", svg)
        families = set(re.findall(r"font(?:-family)?:[^;]*?([\w-]+)\s*;", svg)) - {"bold"}
        assert not links, path.name
        assert families <= {"monospace", "sans-serif"}, path.name


def test_samples_fit_the_schema():
    schema = json.loads((ROOT / "docs" / "tabterm.schema.json").read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    jsonschema.Draft202012Validator.check_schema(schema)
    for path in (ROOT / "samples").glob("*.tabterm"):
        assert not list(validator.iter_errors(json.loads(path.read_text(encoding="utf-8"))))
    broken = {"format": "tabterm", "version": 1, "measures": [{"events": [{"duration": "9"}]}]}
    assert list(validator.iter_errors(broken))


def test_the_example_in_the_format_page_is_a_file():
    from tabterm.formats import native

    page = (ROOT / "docs" / "format.md").read_text(encoding="utf-8")
    example = re.search(r"```json\n(.*?)```", page, re.DOTALL).group(1)
    assert native.read(example.encode()).head.title == "Kiln Lane"


def test_the_keys_of_the_tutorial_write_what_it_says():
    from fractions import Fraction

    from tabterm.piece.piece import blank
    from tests.bench.entry import typed

    page = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    block = re.search(r"## 3\. Notes.*?```\n(.*?)```", page, re.DOTALL).group(1)
    keys = [key for line in block.splitlines() for key in line.partition("   ")[0].split()]
    slurs = [word.split() for word in re.findall(r"`(\d [hp/] \d)`", page)]
    assert len(slurs) == 3
    start = blank()
    start = set_pickup(start, Fraction(1))
    written = typed(start, keys)
    notes = [[(note.course, note.fret) for each in m.events for note in each.notes] for m in written.measures[:2]]
    assert notes == [[(3, 0), (3, 2)], [(3, 4), (3, 5), (2, 0), (2, 2), (2, 3), (2, 2), (2, 0), (3, 5)]]
    for word, way in zip(slurs, ("hammer", "pull", "slide"), strict=True):
        assert typed(start, ["d", *word]).measures[0].events[1].notes[0].reached == way
    bends = [typed(start, ["d", "2", *"b" * times]).measures[0].events[0].notes[0].bend for times in (1, 2)]
    assert [bend.cents for bend in bends] == [50, 100]


def test_the_page_of_musicxml_has_the_limits_and_the_views():
    from tabterm.formats.musicxml import VIEWS, parts, tree

    page = (ROOT / "docs" / "musicxml.md").read_text(encoding="utf-8")
    limits = (tree.MAX_ELEMENTS, tree.MAX_TEXT, parts.MAX_NOTES, parts.MAX_NOTES_OF_MEASURE)
    assert all(f"{limit:,} " in page for limit in limits)
    assert f"{tree.MAX_BYTES // 1_000_000} MB" in page
    assert all(f"| `{view}` |" in page for view in VIEWS)


def anchors_of(page):
    """What links can lead to on a page: its headings, as they stand in an address."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    headings = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def test_links_in_the_documents_lead_somewhere():
    """To a file that is there, and to a heading on it; the site is made of the same pages (`docs/conf.py`)."""
    links = 0
    for page in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")):
        for target in re.findall(r"\]\(([^):]+)\)", page.read_text(encoding="utf-8")):
            path, _, anchor = target.partition("#")
            file = page.parent / path if path else page
            assert file.exists(), (page.name, target)
            assert not anchor or anchor in anchors_of(file), (page.name, target)
            links += 1
    assert links > 150


def test_the_python_example_of_the_hand_runs(capsys, monkeypatch):
    page = (ROOT / "docs" / "hand.md").read_text(encoding="utf-8")
    example = re.search(r"```python\n(.*?)```", page, re.DOTALL).group(1)
    monkeypatch.chdir(ROOT)
    exec(compile(example, "docs/hand.md", "exec"), {})
    out = capsys.readouterr().out
    assert "frame 2" in out
    assert "points more" in out
    assert "reach 1-4" in out


def test_the_example_of_the_fitting_is_what_comes_out(tmp_path, capsys, monkeypatch):
    page = (ROOT / "docs" / "fitting.md").read_text(encoding="utf-8")
    monkeypatch.chdir(ROOT)
    out = tmp_path / "weir-street.tabterm"
    assert main(["convert", "samples/weir-street-low-line.musicxml", str(out), "--report"]) == 0
    report = capsys.readouterr().out
    blocks = re.findall(r"^```(\w*)\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
    shown, tab = (text for language, text in blocks if not language)
    for line in shown.replace("\n  ", " ").splitlines():
        assert f"low-line.musicxml: {line}\n" in report, line
    assert main(["show", str(out), "--width", "90"]) == 0
    printed = capsys.readouterr().out
    for line in tab.splitlines():
        assert line in printed
    assert main(["compare", str(out)]) == 0
    last = capsys.readouterr().out.splitlines()[-1].split(": ")[1]
    assert f"`{last}`" in page.replace("\n", " ")
    example = re.search(r"```python\n(.*?)```", page, re.DOTALL).group(1)
    exec(compile(example, "docs/fitting.md", "exec"), {})
    assert "notes fitted to the Mandolin" in capsys.readouterr().out


def test_the_example_of_the_page_of_abc_is_what_comes_out(tmp_path, capsys, monkeypatch):
    page = (ROOT / "docs" / "abc.md").read_text(encoding="utf-8")
    monkeypatch.chdir(ROOT)
    out = tmp_path / "cabbage.tab"
    tune = "samples/boil-them-cabbage-down.abc"
    blocks = re.findall(r"^```(\w*)\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
    report, tab = (text for language, text in blocks if not language)
    assert main(["convert", tune, str(out), "--report"]) == 0
    assert capsys.readouterr().out.replace(f"{tmp_path}/", "") == report
    assert tab in "".join(f"{line.rstrip()}\n" for line in out.read_text(encoding="utf-8").splitlines())
    assert main(["compare", str(out)]) == 0
    assert f"`{capsys.readouterr().out.strip().split(': ')[1]}`" in page


def test_the_example_from_a_solo_to_a_lesson_runs(tmp_path, capsys, monkeypatch):
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed: it reads the booklet")
    page = (ROOT / "docs" / "lesson.md").read_text(encoding="utf-8")
    (tmp_path / "samples").symlink_to(ROOT / "samples")
    monkeypatch.chdir(tmp_path)
    commands = [line for block in re.findall(r"```sh\n(.*?)```", page, re.DOTALL) for line in block.splitlines()]
    assert [line.split()[1] for line in commands] == ["explain", "dyads", "invent", "invent", "handout"]
    for line in commands:
        assert main(shlex.split(line)[1:]) == 0
    out = capsys.readouterr().out
    assert "3-1 of D7" in out
    booklet = pypdf.PdfReader(next((tmp_path / "lesson").glob("*.pdf")))
    words = " ".join(" ".join(each.extract_text() for each in booklet.pages).split())
    assert "On the neck" in words
    assert "3-1 of D7, Mandolin" in words
    for number in ("1", "2", "3"):
        assert f"({number})" in words


def test_ladders_named_in_the_page_of_practising_can_be_climbed():
    from tabterm.piece.practice import Ladder

    page = (ROOT / "docs" / "practice.md").read_text(encoding="utf-8")
    ladders = re.findall(r"`(\d+:\d+:\d+[^` ]*)`", page)
    assert len(ladders) > 3
    for ladder in ladders:
        Ladder.parse(ladder)


def test_the_picture_of_the_rooms_sees_an_import_that_climbs(monkeypatch):
    import rooms_picture

    assert rooms_picture.climbs() == []
    monkeypatch.setattr(rooms_picture, "imports_of", lambda room: {"tui": False} if room == "score" else {})
    assert rooms_picture.climbs() == ["score imports tui"]


ROOMS_OF_SECTIONS = {
    "The hand, module by module": ("hand", "hand/adapt"),
    "The screen, module by module": ("tui", "tui/terminal"),
    "MusicXML, module by module": ("formats/musicxml",),
    "Playing, module by module": ("performance",),
    "Practising": (),
    "Nothing is lost": ("storage",),
    "Sound": ("sound", "sound/remote"),
}


@pytest.mark.parametrize("section", ROOMS_OF_SECTIONS)
def test_the_tables_for_developers_name_the_modules_that_there_are(section):
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    text = re.split(r"^#{2,3} ", text.partition(f"\n### {section}\n")[2], maxsplit=1, flags=re.MULTILINE)[0]
    package = ROOT / "tabterm"
    there = {path.stem for path in package.rglob("*") if path.is_dir() or path.suffix == ".py"}
    first_cells = re.findall(r"^\| (`[^|]*) \|", text, re.MULTILINE)
    named = {name for cell in first_cells for name in re.findall(r"(\w+)/?`", cell)}
    assert named
    assert named <= there
    modules = {path.stem for room in ROOMS_OF_SECTIONS[section] for path in (package / room).glob("[a-z]*.py")}
    assert modules <= set(re.findall(r"(\w+)/?`", text))
