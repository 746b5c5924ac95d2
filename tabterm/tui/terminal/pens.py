"""Pens: the colours and attributes of a cell, and the shortest sequence from one to another."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from rich.color import Color, ColorSystem

if TYPE_CHECKING:
    from rich.style import Style

    from tabterm.tui.terminal.abilities import Colours

SYSTEMS = {"standard": ColorSystem.STANDARD, "256": ColorSystem.EIGHT_BIT, "truecolor": ColorSystem.TRUECOLOR}

MARKS = {
    "bold": ("1", "22"),
    "dim": ("2", "22"),
    "italic": ("3", "23"),
    "underline": ("4", "24"),
    "blink": ("5", "25"),
    "blink2": ("6", "25"),
    "reverse": ("7", "27"),
    "conceal": ("8", "28"),
    "strike": ("9", "29"),
    "underline2": ("21", "24"),
    "overline": ("53", "55"),
}
"""Attributes of a style, with what begins and ends each (ECMA-48, 5th edition, 8.3.117 SGR)."""

SEEN_ON_BLANKS = frozenset(MARKS) - {"bold", "dim", "italic", "conceal"}
"""Attributes that show where there is no ink."""


class Pen(NamedTuple):
    """Parameters of SGR for the ink and the ground ("" for the terminal's own), and names of attributes."""

    ink: str = ""
    ground: str = ""
    marks: frozenset[str] = frozenset()

    @property
    def without_ink(self) -> Pen:
        """The same on a blank, where ink that cannot be seen makes no difference."""
        if not self.ink and not self.marks:
            return self
        seen = self.marks & SEEN_ON_BLANKS
        return Pen(self.ink if seen else "", self.ground, seen)


PLAIN = Pen()


@lru_cache(maxsize=4096)
def pen_of(style: Style | None, colours: Colours) -> Pen:
    """The pen of a toolkit's style on a terminal with so many colours."""
    if style is None:
        return PLAIN
    return Pen(
        _parameters(style.color, colours, foreground=True),
        _parameters(style.bgcolor, colours, foreground=False),
        frozenset(name for name in MARKS if getattr(style, name)),
    )


def _parameters(color: Color | None, colours: Colours, *, foreground: bool) -> str:
    if color is None or color.is_default or colours == "none":
        return ""
    return ";".join(color.downgrade(SYSTEMS[colours]).get_ansi_codes(foreground=foreground))


@lru_cache(maxsize=4096)
def change(before: Pen | None, after: Pen, ends_attributes: bool = True) -> str:
    """The shortest sequence that takes one pen for another; `before` is None where it is not known.

    On a terminal that cannot end attributes on their own, everything is ended and begun anew.
    """
    if before == after:
        return ""
    begun = [MARKS[name][0] for name in MARKS if name in after.marks]
    afresh = ["", *begun, *filter(None, (after.ink, after.ground))]
    ways = [afresh]
    if before is not None and (ends_attributes or before.marks <= after.marks):
        ways.append(_differences(before, after))
    return min((f"\x1b[{';'.join(way)}m" for way in ways), key=len)


def _differences(before: Pen, after: Pen) -> list[str]:
    ended = {MARKS[name][1] for name in before.marks - after.marks}
    lasting = {name for name in before.marks if MARKS[name][1] not in ended}
    parameters = sorted(ended, key=int)
    parameters += [MARKS[name][0] for name in MARKS if name in after.marks - lasting]
    if before.ink != after.ink:
        parameters.append(after.ink or "39")
    if before.ground != after.ground:
        parameters.append(after.ground or "49")
    return parameters
