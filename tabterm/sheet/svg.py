"""A page as SVG: one document in mm, the signs of music as outlines that are defined once, words as text."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, NamedTuple

from tabterm import printable
from tabterm.sheet import fonts
from tabterm.sheet.ink import Glyph, Group, Onto, hull_of
from tabterm.sheet.layout import Page, Sign

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.sheet.ink import Bounds, Drawn
    from tabterm.sheet.layout import Box
    from tabterm.sheet.panel import Mark, Panel


FAMILY = f"'{fonts.TEXT}', serif"
"""In quotes, since a name with a figure in it is not read without."""


class Standing(NamedTuple):
    """A panel on a page: where its zero point stands and how large a staff space is, in mm."""

    panel: Panel
    x: float
    y: float
    space: float


def page_of(standing: Sequence[Standing], width: float, height: float, title: str) -> Page:
    """A page of panels."""
    body, signs, names = list[str](), list[Sign](), dict[str, None]()
    for panel, x, y, space in standing:
        onto = Onto(x, y, space)
        for mark in panel.marks:
            body.append(mark.drawn.svg(onto, mark.kind))
            signs.append(_sign(mark, onto))
            names.update(dict.fromkeys(_glyphs(mark.drawn)))
    outlines = "".join(f'<path id="{name}" d="{fonts.sign_path(name)}"/>' for name in sorted(names))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:g} {height:.3f}" font-family="{FAMILY}" fill="currentColor" role="img">'
        f"<title>{escape(title)}</title><defs>{outlines}</defs>\n" + "\n".join(body) + "\n</svg>\n"
    )
    return Page(width, height, printable.on_paper(svg), tuple(signs))


def _sign(mark: Mark, onto: Onto) -> Sign:
    hull = tuple(_box(bounds, onto) for bounds in hull_of(mark.drawn))
    return Sign(mark.kind, _box(mark.bounds, onto), *mark.spot, mark.text, hull)


def _box(bounds: Bounds, onto: Onto) -> Box:
    left, top, right, bottom = bounds
    return (
        round(onto.x + left * onto.space, 3),
        round(onto.y + top * onto.space, 3),
        round((right - left) * onto.space, 3),
        round((bottom - top) * onto.space, 3),
    )


def _glyphs(drawn: Drawn) -> Iterator[str]:
    if isinstance(drawn, Glyph):
        yield drawn.name
    elif isinstance(drawn, Group):
        for part in drawn.parts:
            yield from _glyphs(part)
