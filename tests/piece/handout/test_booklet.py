"""The booklet of a handout, read by other programs: pypdf for words, bookmarks and tags, PDFium for pictures."""

from __future__ import annotations

import importlib.util
import io
from pathlib import Path

import pypdf
import pypdfium2
import pytest

from tabterm.piece.handout.booklet import booklet
from tabterm.piece.handout.folder import CAUTIONS
from tabterm.piece.handout.lesson import SECTIONS, Lesson
from tabterm.piece.piece import Piece
from tests.build import PLAYER, measure, score

TITLE = 'Kiln Lane "#1" <$x$> \\ [a]'


@pytest.fixture(scope="module")
def piece():
    """Two phrases, of which the second has a wide reach; a title and remark full of signs that mean something."""
    first = measure("8 3.0,8 2.2,8 1.3,8 2.2,2 3.0", chords=[{"offset": "0", "symbol": "G"}], section="A")
    reach = measure("4 1.8 3.2,4 2.0,2 2.2", remark="#let go_ *at once*", section="B")
    second = "4 3.0,4 2.2,2 1.3"
    tune = score(
        first, second, reach, title=TITLE, credits=("by nobody",), foreword="Listen *first*.\n\nThen sing it."
    )
    return Piece(tune, PLAYER).fingered().stroked()


@pytest.fixture(scope="module")
def pdf(piece):
    return booklet(Lesson(piece, (60, 80, 100)), CAUTIONS)


@pytest.fixture(scope="module")
def read(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf))


def bookmarks(outline):
    for each in outline:
        yield from bookmarks(each) if isinstance(each, list) else [each.title]


def words_of(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_it_has_the_sheet_each_phrase_and_the_plan_as_bookmarks(read):
    assert read.metadata.title == TITLE
    assert read.metadata.author == "by nobody"
    assert list(bookmarks(read.outline)) == [
        *(TITLE, "From your teacher", "At a glance", "Before you begin", "The sheet", "Phrase by phrase"),
        *("Phrase 1: measures 1 to 2 (A)", "Drill"),
        *("Phrase 2: measure 3 (B)", "Hard places, and ways round them", "Practice plan"),
    ]


def test_its_words_can_be_selected(read):
    words = words_of(read)
    assert "\N{LEFT DOUBLE QUOTATION MARK}#let go_ *at once*\N{RIGHT DOUBLE QUOTATION MARK} (measure 3)" in words
    assert "From your teacher Listen *first*. Then sing it. At a glance" in words
    assert "It stays on G, V in C." in words
    assert "Measure 3, beat 1: Reach 1-4, frets 2 to 8" in words
    assert "Go up after three clean turns in a row." in words
    assert words.count("See a doctor about pain, numbness or weakness") == 1
    assert "Warm up: something slow that you know well. (3 min)" in words.replace("\N{NO-BREAK SPACE}", " ")


def test_it_is_tagged_and_its_pictures_are_told(read):
    """By PDF/UA (ISO 14289-1): a language, a tree of tags, words in place of each figure."""
    root = read.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    told, figures, trees = [], 0, [root["/StructTreeRoot"]]
    while trees:
        tree = trees.pop()
        if tree.get("/S") == "/Figure":
            figures += 1
            told.append(str(tree.get("/Alt", "")))
        kids = tree.get("/K", [])
        kids = [kid.get_object() for kid in (kids if isinstance(kids, list) else [kids])]
        trees += [kid for kid in kids if isinstance(kid, dict) and "/S" in kid]
    assert figures == 6  # the sheet, two phrases, the scale of each, a drill
    assert all("fret 2" in each for each in told)


def test_the_same_lesson_gives_the_same_bytes(piece, pdf):
    assert booklet(Lesson(piece, (60, 80, 100)), CAUTIONS) == pdf


def test_its_pages_have_the_size_that_is_asked_for_and_are_not_empty(piece, pdf):
    for page in pypdfium2.PdfDocument(pdf):
        assert page.get_size() == pytest.approx((595.28, 841.89), abs=0.1)
        assert page.render(scale=0.3).to_pil().convert("L").getextrema()[0] < 128
    letter = pypdfium2.PdfDocument(booklet(Lesson(piece, (100,), frozenset({"sheet"})), CAUTIONS, "letter"))
    assert {page.get_size() for page in letter} == {(612.0, 792.0)}


def test_what_is_left_out_is_not_there(piece):
    lesson = Lesson(piece, (100,), frozenset(SECTIONS) - {"sheet", "plan", "drills", "remarks", "theory"})
    reader = pypdf.PdfReader(io.BytesIO(booklet(lesson, CAUTIONS)))
    titles = set(bookmarks(reader.outline))
    assert not titles & {"The sheet", "Practice plan", "Drill"}
    assert "#let go_" not in words_of(reader)
    assert "Chords: G (5)." in words_of(reader)


def test_the_finished_booklet_in_the_samples_is_the_one_of_today():
    root = Path(__file__).parents[3]
    spec = importlib.util.spec_from_file_location("handout_picture", root / "docs" / "handout_picture.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    lesson = made.lesson()
    carried = pypdf.PdfReader(root / "samples" / "quarry-road-breakdown-handout.pdf")
    words = "".join(words_of(carried).split())  # wherever its lines are broken
    places = [what for phrase in lesson.phrases for _, what in lesson.hard(phrase)]
    tasks = [task.what for day in lesson.days for task in day.tasks]
    missing = [each for each in (*lesson.foreword, *places, *tasks) if "".join(each.split()) not in words]
    assert not missing, "run `python docs/make.py handout handout-picture`"
    assert [each for each in bookmarks(carried.outline) if each.startswith("Phrase ") and ":" in each] == [
        f"{phrase.name(lesson.score)} ({phrase.section})" for phrase in lesson.phrases
    ]
    assert (root / "docs" / "handout.png").stat().st_size < 120_000
