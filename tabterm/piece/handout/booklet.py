"""The booklet of a handout: one PDF with the sheet, each phrase with what is said of it, and the plan by days."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, Literal

from tabterm.dataclass import dataclass
from tabterm.hand.passages import cut
from tabterm.page.neck_map import in_words as map_in_words
from tabterm.page.neck_map import svg_of
from tabterm.page.spoken import measures_in_words
from tabterm.piece.handout.counsel import NOTHING_NEAR
from tabterm.piece.handout.lesson import ON_NECK
from tabterm.piece.handout.plan import EASY
from tabterm.sheet import fonts, typesetter
from tabterm.sheet.engrave import engrave
from tabterm.sheet.files import in_words
from tabterm.sheet.layout import Layout

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.page.neck_map import NeckMap
    from tabterm.piece.handout.lesson import Lesson
    from tabterm.piece.handout.phrases import Phrase
    from tabterm.score.model import Score

MARGIN_MM = 18.0
"""On all sides of the pages with words."""

NECK = 0.8
"""Part of the width that a neck takes."""

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""What the typesetter calls them."""

NO_BREAK = "\N{NO-BREAK SPACE}"

STYLE = """\
#set document(title: {title}, author: {author}, date: none)
#set text(lang: "en", font: "{font}", size: 10.5pt)
#set par(leading: 0.62em, spacing: 0.9em)
#set page(paper: "{paper}", margin: {margin}mm, numbering: "1", footer: context [
  #set text(size: 8.5pt, fill: luma(35%))
  #{title} #h(1fr) #counter(page).display()
])
#show heading.where(level: 1): set text(size: 20pt)
#show heading.where(level: 2): set text(size: 15pt)
#show heading.where(level: 3): set text(size: 11.5pt)
#show heading: set block(above: 1.3em, below: 0.8em)
#set table(stroke: (x, y) => (bottom: 0.4pt + luma(60%)), inset: (x: 5pt, y: 5pt))
#let tick = box(width: 3.2mm, height: 3.2mm, stroke: 0.6pt, baseline: 0.4mm)
#let unseen(words, level) = place(top + left, box(height: 0pt, text(size: 1pt, fill: rgb(0, 0, 0, 0),
  heading(level: level, words))))
"""


@dataclass
class _Document:
    """A document while it is written: its lines, and every word and picture as an input of the typesetter."""

    lines: list[str] = field(default_factory=list)
    inputs: dict[str, str] = field(default_factory=dict)

    def words(self, text: str) -> str:
        """An expression for words, whatever signs stand in them."""
        name = f"t{len(self.inputs)}"
        self.inputs[name] = text
        return f"sys.inputs.{name}"

    def picture(self, svg: str, told: str, width: str) -> str:
        """An expression for a picture, and what is told of it to those who hear it."""
        return f'image(bytes({self.words(svg)}), format: "svg", width: {width}, alt: {self.words(told)})'

    def add(self, *lines: str) -> None:
        """Write lines of code or text."""
        self.lines += lines

    def heading(self, level: int, text: str) -> None:
        """Write a heading, which is a bookmark as well."""
        self.add(f"#heading(level: {level}, {self.words(text)})")

    def paragraph(self, text: str, how: str = "") -> None:
        """Write a paragraph, in a style where one is named."""
        words = self.words(text)
        self.add("", f"#{f'{how}({words})' if how else words}", "")


def booklet(lesson: Lesson, cautions: Sequence[str], paper: Literal["a4", "letter"] = "a4") -> bytes:
    """The PDF of a lesson; the same lesson gives the same bytes.

    Raises:
        FormatError: The libraries of the sheet are not installed.
    """
    typesetter.check_installed()
    head, document = lesson.score.head, _Document()
    title = head.title or "Untitled"
    style = {"title": document.words(title), "author": document.words(", ".join(head.credits))}
    document.add(STYLE.format(font=fonts.TEXT, paper=PAPERS[paper], margin=MARGIN_MM, **style))
    _front(document, lesson, title, cautions)
    if "sheet" in lesson.sections:
        _sheet(document, lesson, paper)
    if "phrases" in lesson.sections:
        width_mm = Layout(paper=paper).page_mm[0] - 2 * MARGIN_MM
        document.add("#pagebreak(weak: true)")
        document.heading(1, "Phrase by phrase")
        for phrase in lesson.phrases:
            _phrase(document, lesson, phrase, width_mm)
    if lesson.necks:
        document.heading(1, ON_NECK)
        for neck in lesson.necks:
            _neck(document, neck, Layout(paper=paper).page_mm[0] - 2 * MARGIN_MM)
    if lesson.days:
        _plan(document, lesson)
    return typesetter.pdf("\n".join(document.lines), document.inputs).files[0]


def _front(document: _Document, lesson: Lesson, title: str, cautions: Sequence[str]) -> None:
    """The first page: title, the teacher's words, all phrases at a glance, the cautions."""
    document.heading(1, title)
    for line in lesson.score.head.credits:
        document.paragraph(line, "emph")
    document.paragraph(" · ".join(lesson.facts()))
    if lesson.foreword:
        document.heading(2, "From your teacher")
        for line in lesson.foreword:
            document.paragraph(line)
    document.heading(2, "At a glance")
    rows = [("Phrase", "Section", "Measures", "Tempos")]
    rows += [
        (str(phrase.number), phrase.section, phrase.measures(lesson.score), lesson.tempo_range(phrase))
        for phrase in lesson.phrases
    ]
    _table(document, "(auto, auto, 1fr, auto)", rows)
    document.heading(2, "Before you begin")
    for caution in cautions:
        document.paragraph(caution)


def _table(document: _Document, columns: str, rows: Sequence[Sequence[str]]) -> None:
    """A table whose first row is its head."""
    head, *others = ([f"[#{document.words(cell)}]" for cell in row] for row in rows)
    bold = ", ".join(f"strong({cell})" for cell in head)
    cells = ", ".join(cell for row in others for cell in row)
    document.add(f"#table(columns: {columns}, table.header({bold}), {cells})")


def _sheet(document: _Document, lesson: Lesson, paper: Literal["a4", "letter"]) -> None:
    """The whole piece, page by page."""
    layout = Layout(paper=paper, measures=lesson.measures)
    sheet = engrave(lesson.score, layout)
    for number, page in enumerate(sheet.pages):
        told = in_words(sheet, lesson.score, number)
        document.add("#page(margin: 0mm, footer: none)[")
        if number == 0:
            document.add(f"#unseen({document.words('The sheet')}, 1)")
        picture = document.picture(page.svg, told, "100%")
        document.add(f"#{picture}", "]")


def _phrase(document: _Document, lesson: Lesson, phrase: Phrase, width_mm: float) -> None:
    """A phrase with all that is said of it."""
    score = lesson.score
    section = f" ({phrase.section})" if phrase.section else ""
    document.add("#block(breakable: false, above: 2em)[")
    document.heading(2, phrase.name(score) + section)
    told = measures_in_words(score, phrase.first, phrase.last)
    document.add(f"#{_engraved(document, score, width_mm, lesson.rows, told, (phrase.first, phrase.last))}", "]")
    if "ladder" in lesson.sections:
        rungs = "#h(1em)".join(f"#box[#tick #{document.words(words)}]" for words in lesson.rungs(phrase))
        document.add(
            "", f"#strong[Tempos] #h(0.5em) {rungs} #h(0.5em) #{document.words(lesson.climbing(phrase))}", ""
        )
    for remark in lesson.remarks(phrase):
        document.paragraph(
            f"\N{LEFT DOUBLE QUOTATION MARK}{remark.words}\N{RIGHT DOUBLE QUOTATION MARK} ({remark.where})", "emph"
        )
    if sentences := lesson.explained(phrase):
        document.paragraph(" ".join(sentences))
    elif chords := lesson.chords(phrase):
        document.paragraph(f"Chords: {chords}.")
    if (neck := lesson.neck(phrase)) is not None:
        _neck(document, neck, width_mm)
    for words in lesson.known(phrase):
        document.paragraph(words)
    _hard(document, lesson, phrase)
    drill = lesson.drill(phrase)
    if drill is not None:
        document.add("#block(breakable: false, above: 1.2em)[")
        document.heading(3, "Drill")
        document.paragraph(lesson.drill_words(drill))
        music = cut(score, drill)
        told = measures_in_words(music, 0, len(music.measures) - 1)
        document.add(f"#{_engraved(document, music, width_mm, lesson.rows, told)}", "]")


def _neck(document: _Document, neck: NeckMap, width_mm: float) -> None:
    told = f"{neck.title} on the neck. {'. '.join(map_in_words(neck))}."
    picture = document.picture(svg_of(neck, font=fonts.TEXT), told, f"{width_mm * NECK:.0f}mm")
    document.add("", f"#{picture}", "")


def _hard(document: _Document, lesson: Lesson, phrase: Phrase) -> None:
    places = lesson.hard(phrase)
    if places:
        document.add("#v(0.3em)")
        document.heading(3, "Hard places, and ways round them")
        whole = "block(breakable: false)"
        items = (f"{whole}[#strong({document.words(where)}): #{document.words(words)}]" for where, words in places)
        document.add(f"#list({', '.join(items)})")
    elif "hard" in lesson.sections and phrase.use <= EASY:
        document.paragraph(NOTHING_NEAR)


def _engraved(
    document: _Document,
    score: Score,
    width_mm: float,
    rows: tuple[str, ...],
    told: str,
    measures: tuple[int, int] | None = None,
) -> str:
    layout = Layout(excerpt_width_mm=width_mm, measures=measures, rows=rows)
    return document.picture(engrave(score, layout).pages[0].svg, told, f"{width_mm}mm")


def _plan(document: _Document, lesson: Lesson) -> None:
    """The days, each with a box to tick."""
    document.add("#pagebreak(weak: true)")
    document.heading(1, "Practice plan")
    document.paragraph(
        "Tick off a day when you have done its tasks, even if they are not perfect. Go back to what slips, and "
        "stop early when you are tired."
    )
    rows = ["table.header(strong[Day], strong[What to do])"]
    for number, day in enumerate(lesson.days, 1):
        tasks = "".join(
            f"#list.item[#{document.words(f'{task.what} ({task.minutes}{NO_BREAK}min)')}]" for task in day.tasks
        )
        title = document.words(f"{day.title} ({day.minutes}{NO_BREAK}min)" if day.tasks else day.title)
        rows.append(f"[#tick #{document.words(str(number))}], block(breakable: false)[#strong({title}) {tasks}]")
    document.add("#set text(size: 9.5pt)", f"#table(columns: (auto, 1fr), {', '.join(rows)})")
