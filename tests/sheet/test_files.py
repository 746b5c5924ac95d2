"""The files of a sheet, read by other programs: pypdf, PDFium (by pypdfium2), fontTools, an XML parser."""

from __future__ import annotations

import io
import re
from base64 import b64decode
from xml.etree import ElementTree as ET

import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from tabterm.hand.proposals import with_hands
from tabterm.score.kinds import Break
from tabterm.sheet import fonts
from tabterm.sheet.engrave import engrave
from tabterm.sheet.files import KINDS, written
from tabterm.sheet.layout import Page, Sheet, Sign
from tests.build import PLAYER, measure, score

TITLE = 'Kiln & "Lane" <1>'
SCORE = score(
    measure("4 3.0, 4 3.2.1, 2 2.0", section="A"),
    measure("1 1.3", section="B"),
    title=TITLE,
    credits=("typed by hand",),
)


def page(number: int, words: str) -> Page:
    """A small page with a black square of 10 mm, 20 mm from left and top, and two lines of words."""
    text = f'<text x="10" y="40" font-size="5" font-family="\'{fonts.TEXT}\'"'
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60" role="img">'
        f'<title>Kiln, {number} / 2</title><defs><path id="square" d="M20 20h10v10h-10z"/></defs>'
        f'<g fill="currentColor"><use href="#square"/>{text}>{words}</text>'
        f'<text x="10" y="50" font-size="5" font-weight="bold" font-family="{fonts.TEXT}">page {number}</text>'
        "</g></svg>"
    )
    return Page(80.0, 60.0, svg, (Sign("digit", (10.0, 10.0, 5.0, 5.0), measure=number - 1),))


SHEET = Sheet(TITLE, (page(1, "Größe ½ Песня"), page(2, "left hand")), (("A", 0, 12.0), ("B", 1, 30.0)))


@pytest.fixture(scope="module")
def pdf():
    return written(SHEET, SCORE, ".pdf", 150).files[0]


@pytest.fixture(scope="module")
def read(pdf):
    return PdfReader(io.BytesIO(pdf))


def test_the_words_of_every_page_can_be_selected_in_a_pdf(read):
    one, two = (each.extract_text() for each in read.pages)
    assert "Größe ½ Песня" in one
    assert "page 1" in one
    assert "left hand" in two


def test_pages_have_the_size_of_the_paper(read):
    """80 by 60 mm in points of 1/72 inch (PDF 32000-1, 8.3.2.3)."""
    for each in read.pages:
        assert [float(side) for side in each.mediabox[2:]] == pytest.approx([226.77, 170.08], abs=0.02)


def test_a_pdf_has_title_author_and_language(read):
    assert (read.metadata.title, read.metadata.author) == (TITLE, "typed by hand")
    assert read.trailer["/Root"]["/Lang"] == "en"
    assert not {"/CreationDate", "/ModDate"} & set(read.metadata)


def test_sections_are_bookmarks_below_the_title(read):
    title, sections = read.outline
    assert title.title == TITLE
    assert [(each.title, read.get_destination_page_number(each)) for each in sections] == [("A", 0), ("B", 1)]
    above = [float(each.top) - (170.08 - y_mm * 72 / 25.4) for each, y_mm in zip(sections, (12, 30), strict=True)]
    assert all(0 <= points <= 12 for points in above)


def test_fonts_are_embedded(read):
    found = [
        font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        for each in read.pages
        for font in each["/Resources"]["/Font"].values()
    ]
    assert {str(each["/FontName"]).partition("+")[2] for each in found} >= {
        "SourceSerif4-Regular",
        "SourceSerif4-Bold",
    }
    assert all({"/FontFile2", "/FontFile3"} & set(each) for each in found)


def tags(node):
    """Kind, and words for those who hear it, of every tag."""
    node = node.get_object()
    if isinstance(node, list):
        return [found for each in node for found in tags(each)]
    if not hasattr(node, "get"):
        return []
    return [(node.get("/S"), node.get("/Alt")), *(tags(node["/K"]) if "/K" in node else [])]


def test_a_pdf_is_tagged_for_screen_readers(read):
    """PDF/UA-1 (ISO 14289-1): marked, a title shown, headings, and words in place of each picture."""
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part" in root["/Metadata"].get_object().get_data()
    found = tags(root["/StructTreeRoot"]["/K"])
    kinds = [kind for kind, _ in found if kind in {"/H1", "/H2", "/Figure"}]
    assert kinds == ["/H1", "/H2", "/Figure", "/H2", "/Figure"]
    assert next(words for kind, words in found if kind == "/Figure") == (
        "Page 1 of 2. Measure 1, section A: quarter, D course, open; "
        "D course, fret 2, finger 1; half, A course, open."
    )


def test_the_drawing_stands_where_it_was_drawn(pdf):
    picture = pypdfium2.PdfDocument(pdf)[0].render(scale=2, grayscale=True).to_pil()
    dots = 2 * 72 / 25.4
    assert picture.getpixel((int(25 * dots), int(25 * dots))) == 0
    assert picture.getpixel((int(19 * dots), int(25 * dots))) == 255
    assert picture.crop((0, 0, picture.width, int(19.8 * dots))).getextrema() == (255, 255)


@pytest.mark.parametrize("ending", KINDS)
def test_the_same_sheet_gives_the_same_bytes(ending):
    assert written(SHEET, SCORE, ending, 150).files == written(SHEET, SCORE, ending, 150).files


def test_pictures_have_the_dots_that_are_asked_for():
    files = written(SHEET, SCORE, ".png", 127).files
    assert [file[:8] for file in files] == [b"\x89PNG\r\n\x1a\n"] * 2
    assert [int.from_bytes(files[0][at : at + 4]) for at in (16, 20)] == [400, 300]


def test_svg_is_a_file_a_page_with_its_fonts_and_words():
    files = written(SHEET, SCORE, ".svg", 150).files
    root = ET.fromstring(files[0])
    name = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{name}title").text == "Kiln, 1 / 2"
    assert root.find(f"{name}desc").text.startswith("Page 1 of 2. Measure 1, section A")
    assert len(files) == 2
    carried = re.findall(rb"base64,([^)]*)\)", files[0])
    assert len(carried) == len(fonts.FILES) - 1
    known = TTFont(io.BytesIO(b64decode(carried[0]))).getBestCmap()
    assert {ord(each) for each in "Größe ½ Песня"} <= known.keys()
    assert len(known) < 100


def test_a_page_of_html_needs_nothing_else():
    (file,) = written(SHEET, SCORE, ".html", 150).files
    text = file.decode()
    assert text.count("<title>Kiln, ") == 2
    assert "<title>Kiln &amp; &quot;Lane&quot; &lt;1&gt;</title>" in text
    assert not re.search(r"(?:src|href)=[\"'](?!#)|url\((?!data:)|https?://(?!www\.w3\.org/2000/svg)", text)


@pytest.fixture(scope="module")
def engraved():
    """The sheet of a score with signs of every kind of drawing, on two pages."""
    bars = ("4 2.0 3.0, 4, 8 2.0, 8 h2.2, 4 2.3", measure("1 1.3", break_before=Break.PAGE), "2. 1.0, 8 2.0, 8")
    music = with_hands(score(*bars, title="Kiln <Lane>", credits=("typed by hand",)), PLAYER)
    return engrave(music), music


def test_every_page_is_well_formed_and_every_sign_in_it_is_defined(engraved):
    for file in written(*engraved, ".svg", 150).files:
        root = ET.fromstring(file)
        defined = [each.get("id") for each in root.iter() if each.get("id")]
        used = {each.get("href") for each in root.iter() if each.get("href")}
        assert used == {f"#{each}" for each in defined}
        assert len(defined) == len(set(defined))


def test_a_page_of_html_defines_each_sign_once(engraved):
    (file,) = written(*engraved, ".html", 150).files
    defined = re.findall(r'id="(\w+)"', file.decode())
    used = set(re.findall(r'href="#(\w+)"', file.decode()))
    assert len(engraved[0].pages) == 2
    assert len(defined) == len(set(defined))
    assert used == set(defined)


def test_the_text_font_is_named_so_that_a_browser_finds_it(engraved):
    """CSS Fonts Module Level 4, 2.1.2: a name with a word that is no identifier, as `4`, stands in quotes."""
    named = set(re.findall(r'font-family="([^"]*)"', engraved[0].pages[0].svg))
    assert named
    assert all(each.startswith(f"'{fonts.TEXT}'") for each in named)


def test_a_character_of_no_font_is_told(monkeypatch):
    monkeypatch.setattr("tabterm.sheet.typesetter._system_fonts", tuple)
    sheet = Sheet("春", (page(1, "春の歌 \U000f1234"),), ())
    made = written(sheet, SCORE, ".pdf", 150)
    assert "".join(sorted(made.lacking)) == "".join(sorted("春の歌\U000f1234"))
    assert "page 1" in PdfReader(io.BytesIO(made.files[0])).pages[0].extract_text()
