"""Looks: one table of styles for each kind of terminal; every state differs by more than its colour."""

from __future__ import annotations

from dataclasses import dataclass

from rich.style import Style


@dataclass(frozen=True, slots=True)
class Look:
    """The styles of the screen.

    Attributes:
        plain: Course lines, bar lines, labels' background.
        faint: Proposals, counts, labels, what is only there for orientation.
        note: Frets.
        chosen: What the player has set: bold, so that it differs from a proposal without colour.
        chord: Chord symbols and section marks.
        degree: What a note is against the chord; slanted.
        stopped: A finger on the neck whose note sounds now; reversed.
        selected: Selected cells; underlined.
        playing: Where the sound is; reversed.
        trouble: A sign of an impossible or hard place, and error messages.
        bar: Status line; reversed, as the fingers on the neck are, so that a move of the cursor changes no pen.
        bar_state: What of it says how it is played and how fast; bold.
    """

    plain: Style
    faint: Style
    note: Style
    chosen: Style
    chord: Style
    degree: Style
    stopped: Style
    selected: Style
    playing: Style
    trouble: Style
    bar: Style
    bar_state: Style


def _look(ink: str, faint: str, chord: str, trouble: str, shade: str) -> Look:
    """A look from five colours; `shade` is behind the selection."""
    return Look(
        plain=Style.parse(ink),
        faint=Style.parse(faint),
        note=Style.parse(f"{ink} bold"),
        chosen=Style.parse(f"{ink} bold"),
        chord=Style.parse(f"{chord} bold"),
        degree=Style.parse(f"{chord} italic"),
        stopped=Style(reverse=True),
        selected=Style.parse(f"underline on {shade}"),
        playing=Style.parse("reverse"),
        trouble=Style.parse(f"{trouble} bold"),
        bar=Style(reverse=True),
        bar_state=Style(reverse=True, bold=True),
    )


LOOKS = {
    "dark": _look("color(252)", "color(245)", "color(179)", "color(209)", "color(237)"),
    "light": _look("color(235)", "color(243)", "color(94)", "color(124)", "color(253)"),
    "terminal": Look(
        plain=Style(),
        faint=Style(dim=True),
        note=Style(bold=True),
        chosen=Style(bold=True),
        chord=Style.parse("yellow bold"),
        degree=Style.parse("yellow italic"),
        stopped=Style(reverse=True),
        selected=Style(underline=True),
        playing=Style(reverse=True),
        trouble=Style.parse("red bold"),
        bar=Style(reverse=True),
        bar_state=Style(reverse=True, bold=True),
    ),
}
"""By the name that the configuration gives; `terminal` keeps to the terminal's own 16 colours.

The others take theirs from xterm's table of 256 colours: to name one takes half the bytes of its red, green and
blue.
"""
