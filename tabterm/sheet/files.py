"""The files of a sheet: PDF, pictures, SVG and a page of HTML; the same sheet gives the same bytes."""

from __future__ import annotations

import re
from base64 import b64encode
from html import escape
from io import BytesIO
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.page.spoken import measures_in_words
from tabterm.printable import on_paper
from tabterm.sheet import fonts, typesetter
from tabterm.sheet.typesetter import Typeset

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tabterm.score.model import Score
    from tabterm.sheet.fonts import Style
    from tabterm.sheet.layout import Sheet

UNTITLED = "untitled"

DOCUMENT = """\
#set document(title: sys.inputs.title, author: sys.inputs.author, date: none)
#set text(lang: "en", font: "{font}")
#let mark(y, level, words) = place(top + left, dy: y, box(height: 0pt, text(size: 1pt, fill: rgb(0, 0, 0, 0),
  heading(level: level, outlined: true, bookmarked: true, words))))
"""
"""What stands before the pages. A mark is a heading that is heard and listed, not seen."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: what it is called, how it is written from a sheet, its score and dots an inch."""

    name: str
    write: Callable[[Sheet, Score, int], Typeset]


def written(sheet: Sheet, score: Score, ending: str, dpi: int) -> Typeset:
    """The files of a sheet by their ending, such as `.pdf`."""
    return KINDS[ending].write(sheet, score, dpi)


def _pdf(sheet: Sheet, score: Score, _dpi: int) -> Typeset:
    source, inputs = _document(sheet, score)
    return typesetter.pdf(source, inputs)


def _png(sheet: Sheet, score: Score, dpi: int) -> Typeset:
    source, inputs = _document(sheet, score)
    return typesetter.png(source, inputs, dpi)


def _document(sheet: Sheet, score: Score) -> tuple[str, dict[str, str]]:
    """The document of typst, and its inputs by name."""
    inputs = {"title": on_paper(sheet.title) or UNTITLED, "author": on_paper(", ".join(score.head.credits))}
    pages = []
    for number, page in enumerate(sheet.pages):
        inputs |= {f"page{number}": page.svg, f"words{number}": on_paper(in_words(sheet, score, number))}
        lines = [f"#set page(width: {page.width_mm}mm, height: {page.height_mm}mm, margin: 0mm)"]
        lines += ["#mark(0mm, 1, sys.inputs.title)"] if number == 0 else []
        for place, (name, on, y_mm) in enumerate(sheet.sections):
            if on == number:
                inputs[f"section{place}"] = on_paper(name) or UNTITLED
                lines.append(f"#mark({y_mm:.2f}mm, 2, sys.inputs.section{place})")
        picture = f"bytes(sys.inputs.page{number})"
        lines.append(f'#image({picture}, format: "svg", width: 100%, alt: sys.inputs.words{number})')
        pages.append("\n".join(lines))
    return DOCUMENT.format(font=fonts.TEXT) + "\n".join(pages), inputs


def in_words(sheet: Sheet, score: Score, number: int) -> str:
    """A page in words, for those who hear it."""
    shown = [sign.measure for sign in sheet.pages[number].signs if sign.measure is not None]
    told = measures_in_words(score, min(shown), max(shown)) if shown else ""
    return f"Page {number + 1} of {len(sheet.pages)}. {told}".strip()


# SVG and HTML


def _svg(sheet: Sheet, score: Score, _dpi: int) -> Typeset:
    style = f"<style>{faces(page.svg for page in sheet.pages)}</style>"
    return Typeset(tuple(_told(sheet, score, number, style).encode() for number in range(len(sheet.pages))))


def _told(sheet: Sheet, score: Score, number: int, style: str = "") -> str:
    """The SVG of a page with words for those who hear it, and a style, behind its title."""
    before, title, rest = sheet.pages[number].svg.partition("</title>")
    return f"{before}{title}<desc>{escape(on_paper(in_words(sheet, score, number)))}</desc>{style}{rest}"


HTML = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
{faces}
:root {{ color-scheme: light dark; }}
body {{ margin: 0; background: Canvas; color: CanvasText; }}
main svg {{ display: block; width: 100%; max-width: {width}mm; height: auto; margin: 0 auto; }}
@page {{ size: {width}mm {height}mm; margin: 0; }}
@media print {{ main svg {{ break-after: page; color: black; }} }}
</style>
</head>
<body>
<svg width="0" height="0" style="position:absolute" aria-hidden="true"><defs>{outlines}</defs></svg>
<main>
{pages}
</main>
</body>
</html>
"""


def _html(sheet: Sheet, score: Score, _dpi: int) -> Typeset:
    outlines: dict[str, None] = {}
    pages = []
    for number in range(len(sheet.pages)):
        before, start, rest = _told(sheet, score, number).partition("<defs>")
        defined, end, after = rest.partition("</defs>")
        outlines |= dict.fromkeys(_OUTLINE.findall(defined))
        pages.append(before + start + _OUTLINE.sub("", defined) + end + after)
    page = HTML.format(
        title=escape(on_paper(sheet.title) or UNTITLED),
        faces=faces(page.svg for page in sheet.pages),
        width=sheet.pages[0].width_mm,
        height=sheet.pages[0].height_mm,
        outlines="".join(outlines),
        pages="\n".join(pages),
    )
    return Typeset((page.encode(),))


_OUTLINE = re.compile(r"<path id=[^>]*/>")
"""The outline of a sign; in one document each is defined once for all pages."""

FACES: dict[Style, str] = {
    "regular": "font-weight:400;font-style:normal",
    "bold": "font-weight:700;font-style:normal",
    "italic": "font-weight:400;font-style:italic",
}


LAYOUT_TABLES = ("GDEF", "GPOS", "GSUB", "STAT")
"""What a text font says of kerning and ligatures: slow to read, and words would be narrower than measured."""


def faces(svgs: Iterable[str]) -> str:
    """The rules of CSS that carry the text font into a file, with the characters that stand in it."""
    characters = set("".join(svgs))
    return "".join(
        f'@font-face{{font-family:"{fonts.TEXT}";{how};'
        f"src:url(data:font/woff;base64,{b64encode(_subset(style, characters)).decode()}) format('woff')}}"
        for style, how in FACES.items()
    )


def _subset(style: Style, characters: set[str]) -> bytes:
    """A style of the text font with these characters alone, in the form for pages of the web."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(fonts.FOLDER / fonts.FILES[style], recalcTimestamp=False)
    for table in LAYOUT_TABLES:
        del font[table]
    cutter = Subsetter(Options())
    cutter.populate(text="".join(characters))
    cutter.subset(font)
    font.flavor = "woff"
    made = BytesIO()
    font.save(made)
    return made.getvalue()


KINDS = {
    ".pdf": Kind("PDF", _pdf),
    ".png": Kind("PNG picture", _png),
    ".svg": Kind("SVG picture", _svg),
    ".html": Kind("HTML page", _html),
}
"""By ending."""
