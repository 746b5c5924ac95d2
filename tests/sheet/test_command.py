"""`tabterm sheet`: every option on the page that comes of it, and one clear line for what cannot be."""

from __future__ import annotations

import io
import sys
from xml.etree import ElementTree as ET

import pytest
from pypdf import PdfReader

import tabterm
from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece import sheet
from tabterm.score.kinds import Break
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tabterm.score.source import SourceEvent
from tests.build import duration, measure, score

POINT_MM = 25.4 / 72
CHORD = (ChordMark(offset=Place(0).offset, symbol="G7"),)


@pytest.fixture(scope="module")
def tune(tmp_path_factory):
    """Nine measures: a pickup, a phrase of four, and behind a section mark two that a long rest parts."""
    source = (SourceEvent(duration=duration("1"), pitches=(64,)),)
    bars = (
        measure("4 3.0", short=True),
        measure("4 3.2, 4 3.4, 4 2.0, 4 2.2", chords=CHORD, section="A", remark="lightly"),
        *("2 2.3, 2 2.5", "1 1.0", "1 1.2"),
        measure("1 1.3", section="B", source=source),
        *("8 1.5, 4 1.3, 8 1.0, 2", "1 2.5", "1 2.0"),
    )
    path = tmp_path_factory.mktemp("sheet") / "kiln-lane.tabterm"
    formats.write(path, score(*bars, title="Kiln Lane", credits=("typed by hand",)))
    return path


@pytest.fixture
def printed(tune, tmp_path, capsys):
    """Prints the tune with options, and reads the PDF."""

    def run(*options, out="out.pdf"):
        assert main(["sheet", str(tune), str(tmp_path / out), *options]) == 0
        said = capsys.readouterr()
        assert said.err == ""
        assert said.out.endswith(" written\n")
        return PdfReader(tmp_path / out)

    return run


def words(read):
    return "\n".join(page.extract_text() for page in read.pages)


def size_mm(read):
    return tuple(round(float(side) * POINT_MM, 1) for side in read.pages[0].mediabox[2:])


def test_a_pdf_has_title_credits_remarks_and_bookmarks(printed):
    read = printed()
    assert (read.metadata.title, read.metadata.author) == ("Kiln Lane", "typed by hand")
    assert all(each in words(read) for each in ("Kiln Lane", "typed by hand", "lightly", "1 / 1"))
    title, sections = read.outline
    assert (title.title, [each.title for each in sections]) == ("Kiln Lane", ["A", "B"])


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (("--paper", "a4"), (210.0, 297.0)),
        (("--paper", "letter"), (215.9, 279.4)),
        (("--paper", "a4", "--landscape"), (297.0, 210.0)),
    ],
)
def test_paper(printed, options, wanted):
    """ISO 216 and 8 1/2 by 11 inches."""
    assert size_mm(printed(*options)) == wanted


@pytest.mark.parametrize(
    ("environment", "paper"),
    [
        ({"LANG": "en_US.UTF-8"}, "letter"),
        ({"LANG": "de_DE.UTF-8"}, "a4"),
        ({"LC_ALL": "de_DE", "LANG": "en_US.UTF-8"}, "a4"),
        ({"LC_ALL": "", "LC_PAPER": "fr_CA.UTF-8", "LANG": "de_DE"}, "letter"),
        ({"LANG": "C.UTF-8"}, "a4"),
        ({}, "a4"),
    ],
)
def test_the_paper_is_that_of_the_country(environment, paper):
    """Which paper a country prints on: CLDR, `paperSize`, from memory."""
    assert sheet.paper_of("auto", environment) == paper
    assert {sheet.paper_of(word, environment) for word in ("a4", "letter")} == {"a4", "letter"}


def test_the_paper_can_be_configured(printed, tmp_path, monkeypatch):
    (tmp_path / "config.toml").write_text('[sheet]\npaper = "letter"\n', encoding="utf-8")
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    assert size_mm(printed()) == (215.9, 279.4)
    assert size_mm(printed("--paper", "a4", "--force")) == (210.0, 297.0)


@pytest.fixture
def signs(tune, monkeypatch, tmp_path):
    """Prints the tune with options; the signs on its pages by kind, measures by index, and their boxes."""
    from tabterm.sheet import files

    taken = []

    def run(*options):
        monkeypatch.setattr(files, "written", lambda made, *_: (taken.append(made), files.Typeset((b"",)))[1])
        assert main(["sheet", str(tune), str(tmp_path / "out.svg"), "--force", *options]) == 0
        return [sign for page in taken.pop().pages for sign in page.signs]

    return run


def of_kind(found, kind):
    return [sign for sign in found if sign.kind == kind]


@pytest.mark.parametrize(
    ("parts", "kinds"),
    [
        ("both", {"digit", "notehead"}),
        ("tab", {"digit"}),
        ("notation", {"notehead"}),
        ("lead", {"notehead"}),
    ],
)
def test_parts(signs, parts, kinds):
    found = signs("--parts", parts)
    assert {sign.kind for sign in found} & {"digit", "notehead"} == kinds
    assert of_kind(found, "chord")


def test_large_print_is_larger(signs):
    usual, large = (of_kind(signs(*options), "digit")[0].box[3] for options in ((), ("--large",)))
    assert large > 1.4 * usual


def test_margin(signs):
    left = min(sign.box[0] for sign in signs("--margin", "40"))
    assert 39 < left < 42


@pytest.mark.parametrize(
    ("options", "measures"),
    [
        ((), range(9)),
        (("--measures", "2-3"), (2, 3)),
        (("--measures", "0"), (0,)),
        (("--from", "7"), (7, 8)),
        (("--phrase", "1"), range(5)),
        (("--phrase", "2"), range(5, 7)),
    ],
)
def test_measures_and_phrases(signs, options, measures):
    found = of_kind(signs(*options), "digit")
    assert sorted({sign.measure for sign in found}) == [*measures]


def test_rows(signs):
    assert {"finger", "stroke", "remark"} <= {sign.kind for sign in signs()}
    few = {sign.kind for sign in signs("--rows", "finger,degree")}
    assert {"finger", "degree"} <= few
    assert not {"stroke", "remark"} & few


def test_silent_strokes(signs):
    """The hand goes on in eighths: over the quarter that begins on 1 & it passes beat 2."""
    assert not of_kind(signs(), "silent-stroke")
    found = of_kind(signs("--silent-strokes"), "silent-stroke")
    assert (6, 1) in {(sign.measure, sign.onset) for sign in found}


def test_the_original_line(signs):
    staff = of_kind(signs("--original"), "notehead")
    assert len(staff) == len(of_kind(signs(), "notehead")) + 1


def test_breaks_of_the_score(tune, tmp_path):
    broken = tabterm.open(tune, player=tabterm.Player()).score
    broken = tabterm.Piece(
        broken.with_(
            measures=tuple(
                each.with_(break_before=Break.PAGE if index == 5 else None)
                for index, each in enumerate(broken.measures)
            )
        ),
        tabterm.Player(),
    )
    broken.write(tmp_path / "two.pdf")
    read = PdfReader(tmp_path / "two.pdf")
    assert len(read.pages) == 2
    assert [read.get_destination_page_number(each) for each in read.outline[1]] == [0, 1]
    broken.write(tmp_path / "two.svg")
    assert sorted(each.name for each in tmp_path.glob("*.svg")) == ["two-1.svg", "two-2.svg"]
    with pytest.raises(tabterm.TabtermError, match=r"two-1.svg: the file already exists"):
        broken.write(tmp_path / "two.svg")
    before = (tmp_path / "two-1.svg").read_bytes()
    (tmp_path / "two-2.svg").chmod(0o444)
    with pytest.raises(tabterm.TabtermError, match=r"two-2.svg: .*read-only"):
        broken.write(tmp_path / "two.svg", parts="tab", force=True)
    assert (tmp_path / "two-1.svg").read_bytes() == before
    assert sorted(each.name for each in tmp_path.iterdir()) == ["two-1.svg", "two-2.svg", "two.pdf"]


def test_it_is_told_how_far_the_work_is(tune, tmp_path):
    score, told = tabterm.open(tune, player=tabterm.Player()).score, []
    sheet.write_sheet(tmp_path / "a.svg", score, progress=lambda done, every: told.append((done, every)))
    assert told[-1] == (9, 9)
    assert [done for done, _ in told] == sorted({done for done, _ in told})


def test_a_page_of_text_is_as_wide_as_the_paper(tune, tmp_path, capsys):
    """10-point type, 0.6 em a character: 85 characters on 180 mm."""
    out = tmp_path / "out.txt"
    assert main(["sheet", str(tune), str(out), "--paper", "a4", "--rows", "finger"]) == 0
    assert capsys.readouterr().out == f"{out}: page of text written\n"
    lines = out.read_text(encoding="utf-8").splitlines()
    assert lines[0].strip() == "Kiln Lane"
    assert 60 < max(map(len, lines)) <= 85
    assert any(line.startswith("finger") for line in lines)
    assert not any(line.startswith("stroke") for line in lines)
    main(["sheet", str(tune), str(out), "--paper", "a4", "--large", "--force"])
    assert max(map(len, out.read_text(encoding="utf-8").splitlines())) <= 53


@pytest.mark.parametrize(
    ("out", "options", "said"),
    [
        ("a.doc", (), "a.doc: unknown file extension '.doc' (one of: .pdf, .svg, .png, .html, .txt, .tab)"),
        ("a.pdf", ("--measures", "7-99"), "no measure 99 (0 to 8)"),
        (
            "a.pdf",
            ("--measures", "7-3"),
            "the last measure comes before the first (give the smaller number first)",
        ),
        ("a.pdf", ("--phrase", "4"), "no phrase 4 (1 to 3)"),
        (
            "a.pdf",
            ("--phrase", "1", "--measures", "1"),
            "choose measures or a phrase, not both (leave one out)",
        ),
        ("a.pdf", ("--from", "1", "--measures", "1"), "--measures says the same as --from and --to (use one"),
        ("a.pdf", ("--margin", "4"), "a sheet cannot have margin 4.0 (less than 5)"),
        ("a.pdf", ("--margin", "nan"), "a sheet cannot have margin nan (not a finite number)"),
        ("a.png", ("--dpi", "9000"), "a picture cannot have 9000 dots an inch (30 to 600)"),
        ("a.pdf", ("--dpi", "300"), "a.pdf: --dpi is for pictures, not for .pdf (leave it out)"),
        ("a.txt", ("--parts", "lead"), "a lead sheet cannot be written as text (choose pdf)"),
        ("-", (), "no kind of sheet for standard output (name one with --to-format)"),
        ("a.txt", ("--original",), "the original line cannot be written as text (choose pdf)"),
        ("none/a.pdf", (), "none/a.pdf: "),
    ],
)
def test_what_cannot_be_is_one_line_and_leaves_nothing(tune, tmp_path, monkeypatch, capsys, out, options, said):
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", str(tune), out, *options]) == 2
    error = capsys.readouterr().err
    assert error.startswith(f"tabterm: {said}")
    assert error.count("\n") == 1
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("words", [("--rows", "colour"), ("--measures", "some"), ("--phrase", "0")])
def test_words_that_make_no_sense_are_refused(tune, capsys, words):
    with pytest.raises(SystemExit) as left:
        main(["sheet", str(tune), "a.pdf", *words])
    assert left.value.code == 2
    assert words[1] in capsys.readouterr().err


def test_a_file_that_is_there_is_not_written_over(tune, tmp_path, capsys):
    out = tmp_path / "out.pdf"
    out.write_bytes(b"mine")
    assert main(["sheet", str(tune), str(out)]) == 2
    assert "already exists (--force overwrites it)" in capsys.readouterr().err
    assert out.read_bytes() == b"mine"
    assert main(["sheet", str(tune), str(out), "--force"]) == 0
    assert out.read_bytes()[:5] == b"%PDF-"


def test_several_files_go_into_a_folder(tune, tmp_path, capsys, monkeypatch):
    other = tmp_path / "ropewalk.tabterm"
    formats.write(other, score("1 1.0", title="Ropewalk Reel"))
    (tmp_path / "out").mkdir()
    assert main(["sheet", str(tune), str(other), str(tmp_path / "out"), "--to-format", "svg"]) == 0
    assert sorted(each.name for each in (tmp_path / "out").iterdir()) == ["kiln-lane.svg", "ropewalk.svg"]
    assert main(["sheet", str(tune), str(other), str(tmp_path / "a.pdf")]) == 2
    assert "several files need a folder to go into" in capsys.readouterr().err


def test_a_sheet_goes_through_a_pipe(tune, capfdbinary):
    assert main(["sheet", str(tune), "-", "--to-format", "pdf"]) == 0
    said = capfdbinary.readouterr()
    assert PdfReader(io.BytesIO(said.out)).metadata.title == "Kiln Lane"
    assert said.err == b""


@pytest.mark.parametrize("package", ["typst", "fontTools"])
@pytest.mark.parametrize("ending", [".pdf", ".svg"])
def test_without_its_extra_one_line_names_the_command(tune, tmp_path, capsys, monkeypatch, package, ending):
    monkeypatch.setitem(sys.modules, package, None)
    assert main(["sheet", str(tune), str(tmp_path / f"a{ending}")]) == 2
    assert capsys.readouterr().err == (
        f"tabterm: printed sheets need {package}, which is not installed (run: pip install 'tabterm[full]')\n"
    )
    assert not list(tmp_path.iterdir())


def test_a_title_in_another_script_is_printed_or_said(tune, tmp_path, capsys):
    """In a font of the system where one has the characters; else a line says so."""
    from tabterm.sheet import typesetter

    piece = tabterm.open(tune, player=tabterm.Player())
    title = "春の歌 Весна"
    named = piece.score.with_(head=piece.score.head.with_(title=title))
    written = sheet.write_sheet(tmp_path / "a.pdf", named)
    lacking, _ = typesetter._fallback("春の歌")
    shown = PdfReader(io.BytesIO((tmp_path / "a.pdf").read_bytes())).pages[0].extract_text()
    assert "Весна" in shown
    assert bool(written.report.remarks) == bool(lacking)
    assert ("春の歌" in shown) == (not lacking)


def test_the_library_writes_sheets_with_the_same_words(tune, tmp_path):
    piece = tabterm.open(tune, player=tabterm.Player())
    piece.write(tmp_path / "a.pdf", parts="tab", measures=(5, 8), paper="letter")
    read = PdfReader(tmp_path / "a.pdf")
    assert size_mm(read) == (215.9, 279.4)
    with pytest.raises(tabterm.TabtermError, match="a sheet has no 'colour'"):
        piece.write(tmp_path / "b.pdf", colour="red")
    with pytest.raises(tabterm.TabtermError, match="a sheet has no row 'colour'"):
        piece.write(tmp_path / "b.pdf", rows=("colour",))


@pytest.mark.parametrize("ending", [".pdf", ".svg", ".png", ".html"])
@pytest.mark.parametrize(
    "words",
    [
        "a\x07b\x00\x1b[2J\x9b31m\u2028\u20dd",
        "]]></text><script>",
        "\ufffe\uffff",
        '\\#let "x" = $*_`@<a>',
        "W" * 40,
    ],
)
def test_any_words_can_be_printed(tune, tmp_path, ending, words):
    piece = tabterm.open(tune, player=tabterm.Player())
    first = piece.score.measures[0].with_(remark=words, section=words)
    head = piece.score.head.with_(title=words, credits=(words,))
    strange = tabterm.Piece(piece.score.with_(head=head, measures=(first,)), piece.player)
    strange.write(tmp_path / f"a{ending}")
    data = (tmp_path / f"a{ending}").read_bytes()
    assert b"<script>" not in data or ending == ".pdf"
    if ending == ".svg":
        assert ET.fromstring(data).find("{http://www.w3.org/2000/svg}desc").text.startswith("Page 1 of 1.")
