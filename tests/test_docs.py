"""The documents that are made from the program are up to date, and the README's commands are the real ones."""

from __future__ import annotations

import html
import importlib.util
import json
import re
import shlex
from pathlib import Path

import jsonschema
import pytest

from tabterm.cli.main import main
from tabterm.score.operations import set_pickup
from tabterm.workspace import commands  # noqa: F401 - importing it fills the registry
from tabterm.workspace.registry import REGISTRY

ROOT = Path(__file__).parents[1]
spec = importlib.util.spec_from_file_location("make", ROOT / "docs" / "make.py")
make = importlib.util.module_from_spec(spec)
spec.loader.exec_module(make)


@pytest.mark.parametrize(
    "name",
    ["hand", "difficulty", "strokes", "accompaniment", "sound", "constants", "hand-picture", "keys", "schema"],
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


def test_commands_named_in_the_tutorial_exist():
    page = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    for name in ("pickup", "key", "tempo", "title", "count-in", "export"):
        assert name in REGISTRY
        assert f"`{name}`" in page


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


def test_the_keys_named_in_the_tutorial_are_those_commands():
    from tabterm.workspace.keymap import Keymap

    page, keymap = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8"), Keymap()
    course = dict(zip("asdf", ("course 1", "course 2", "course 3", "course 4"), strict=True))
    course |= {"q": "step 4", "e": "step 8", "y": "step 16", "[": "longer-step", "]": "shorter-step"}
    course |= {"t": "triplet-step", "-": "hold", "r": "rest", ".": "dot", "'": "ten", "+": "stack", "u": "undo"}
    course |= {"delete": "delete", "backspace": "take-back", "tab": "next-measure", "c": "row chord"}
    course |= {"m": "row remark", "v": "row stroke", "g": "row finger", "!": "next-finding", "&": "remedy"}
    course |= {"f2": "findings", "space": "play", "enter": "play-on", "f5": "play-all", "ctrl+p": "find-command"}
    course |= {";": "mark", "M": "select-measure", "P": "select-phrase", "ctrl+s": "save", "ctrl+q": "quit"}
    stroke = {"t": "turn", "A": "alternate", "B": "to-proposal", "n": "silent-strokes"}
    for row, keys in (("course", course), ("stroke", stroke)):
        for key, command in keys.items():
            assert f"`{key}`" in page
            assert keymap.find(row, key) == command


def test_the_page_of_musicxml_has_the_limits_and_the_views():
    from tabterm.formats.musicxml import VIEWS, parts, tree

    page = (ROOT / "docs" / "musicxml.md").read_text(encoding="utf-8")
    limits = (tree.MAX_ELEMENTS, tree.MAX_TEXT, parts.MAX_NOTES, parts.MAX_NOTES_OF_MEASURE)
    assert all(f"{limit:,} " in page for limit in limits)
    assert f"{tree.MAX_BYTES // 1_000_000} MB" in page
    assert all(f"| `{view}` |" in page for view in VIEWS)


def test_links_in_the_documents_lead_somewhere():
    for page in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")):
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), (page.name, target)


def test_the_python_example_of_the_hand_runs(capsys, monkeypatch):
    page = (ROOT / "docs" / "hand.md").read_text(encoding="utf-8")
    example = re.search(r"```python\n(.*?)```", page, re.DOTALL).group(1)
    monkeypatch.chdir(ROOT)
    exec(compile(example, "docs/hand.md", "exec"), {})
    out = capsys.readouterr().out
    assert "frame 2" in out
    assert "points more" in out
    assert "reach 1-4" in out


def test_keys_named_in_the_page_of_the_hand_do_what_it_says():
    from tabterm.workspace.keymap import Keymap

    keymap = Keymap()
    for key, name in {"O": "other-fingering", "W": "why-finger", "H": "hold-course", "E": "toggle-row"}.items():
        assert keymap.find("course", key).split()[0] == name
    assert keymap.find("finger", "enter") == "accept-fingers"
    assert keymap.find("finger", "A") == "accept-all-fingers"
    assert keymap.find("finger", "B") == "free-fingers"


def test_commands_in_the_page_of_the_sound_are_taken():
    from tabterm.cli.main import build_parser

    page = (ROOT / "docs" / "sound.md").read_text(encoding="utf-8")
    lines = re.findall(r"^tabterm (render|pack) (.*?)(?:\s+#.*)?$", page, re.MULTILINE)
    assert len(lines) > 5
    for command, words in lines:
        assert build_parser(command).parse_args([command, *shlex.split(words)]).command == command


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


def test_keys_and_commands_named_in_the_page_of_practising_do_what_it_says():
    from tabterm.piece.practice import Ladder
    from tabterm.workspace.keymap import Keymap

    page = (ROOT / "docs" / "practice.md").read_text(encoding="utf-8")
    keymap = Keymap()
    keys = {"f4": "ladder", "f6": "loop", "f7": "slower", "f8": "faster", "f9": "click", "<": "half-speed"}
    keys |= {"#": "count-in", "C": "parts", "L": "last-loop", "@": "stop-here", "F": "follow"}
    keys |= {"K": "put-aside", "V": "version", "Y": "practice-log"}
    for key, name in keys.items():
        assert f"`{key}`" in page
        assert keymap.find("course", key) == name
    for name in ("pre-roll", "click-rests", "take-version"):
        assert f"`{name}`" in page
        assert name in REGISTRY
    for ladder in re.findall(r"`(\d+:\d+:\d+[^` ]*)`", page):
        Ladder.parse(ladder)


def _figures():
    """Pages, and sentences of theirs with the figures that the program has."""
    from tabterm.hand import bands, difficulty, drills, onsets, passages, terms
    from tabterm.score import tempo
    from tabterm.workspace.commands.fingers import WAYS

    words = {0.5: "half", 2.0: "twice", 0.75: "three quarters", 3: "three", 4: "four"}
    low, high = (words[limit] for limit in terms.LIMITS)
    return [
        ("hand.md", f"ends at a rest of {words[onsets.FREE_S]} a second or more"),
        ("hand.md", f"stays between {low} and {high} its standard"),
        ("hand.md", f"goes through the best {words[WAYS]} fingerings"),
        ("hand-profile.md", f"the reference is {bands.REFERENCE_SPAN_MM:g} mm"),
        ("hand-profile.md", f"Play the passage {words[drills.TIMES]} times in a row"),
        ("hand-profile.md", f"120 quarters a minute are {120 * drills.A_BEAT // 60} sixteenths a second"),
        ("difficulty.md", f"the effort of a beat is {words[difficulty.BURST]} that of a plain scale"),
        ("difficulty.md", f"between {tempo.SLOWEST:g} and {tempo.FASTEST:g} quarters a minute"),
        ("difficulty.md", f"of which {words[passages.NEAR]} or more are used"),
        ("difficulty.md", f"{passages.START:.0%} of the tempo at the limit".replace("%", " %")),
    ]


@pytest.mark.parametrize("number", range(10))
def test_figures_of_the_pages_are_those_of_the_program(number):
    name, sentence = _figures()[number]
    page = " ".join((ROOT / "docs" / name).read_text(encoding="utf-8").split())
    assert sentence in page or sentence.replace(" %", "%") in page


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
