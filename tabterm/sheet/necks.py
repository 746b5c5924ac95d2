"""Pages of necks behind a sheet: chords, scales and double stops, to scale."""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING

from tabterm.page.neck_map import svg_of
from tabterm.printable import on_paper
from tabterm.sheet import fonts
from tabterm.sheet.layout import Page

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.page.neck_map import NeckMap
    from tabterm.sheet.layout import Layout, Sheet

APART_MM = 6.0
"""Between two necks."""

_SIZE = re.compile(r'viewBox="0 0 (\d+) (\d+)"')


def with_necks(sheet: Sheet, maps: Sequence[NeckMap], layout: Layout) -> Sheet:
    """A sheet with necks on pages of their own behind it."""
    title = f"{sheet.title}, the neck"
    pages = tuple(_page(each, title, layout) for each in _pages(maps, layout))
    return sheet._replace(pages=(*sheet.pages, *pages))


def _pages(maps: Sequence[NeckMap], layout: Layout) -> Iterator[list[str]]:
    """The necks of each page, each where it stands."""
    width, (_, height) = _width(layout), layout.page_mm
    drawn, y = list[str](), layout.margin_mm
    for each in maps:
        svg = svg_of(each, font=f"'{fonts.TEXT}'")
        size = _SIZE.search(svg)
        tall = width * int(size[2]) / int(size[1]) if size else 0.0
        if drawn and y + tall > height - layout.margin_mm:
            yield drawn
            drawn, y = [], layout.margin_mm
        where = f'x="{layout.margin_mm:g}" y="{y:.2f}" width="{width:g}" height="{tall:.2f}" '
        drawn.append(svg.replace("<svg ", f"<svg {where}", 1))
        y += tall + APART_MM
    if drawn:
        yield drawn


def _width(layout: Layout) -> float:
    return layout.page_mm[0] - 2 * layout.margin_mm


def _page(drawn: Sequence[str], title: str, layout: Layout) -> Page:
    width, height = layout.page_mm
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}"><title>{escape(title)}</title><defs></defs>\n'
        + "".join(drawn)
        + "</svg>\n"
    )
    return Page(width, height, on_paper(svg), ())
