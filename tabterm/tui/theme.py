"""Looks: one table of pens for each kind of terminal; every state differs by more than its colour."""

from __future__ import annotations

from tabterm.dataclass import dataclass
from tabterm.tui.terminal.brush import PLAIN, Pen


@dataclass(frozen=True, slots=True)
class Look:
    """The pens of the screen.

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

    plain: Pen
    faint: Pen
    note: Pen
    chosen: Pen
    chord: Pen
    degree: Pen
    stopped: Pen
    selected: Pen
    playing: Pen
    trouble: Pen
    bar: Pen
    bar_state: Pen


def pen(ink: str = "", *marks: str, ground: str = "") -> Pen:
    """A pen with attributes, its ink and ground by parameters of SGR."""
    return Pen(ink, ground, frozenset(marks))


REVERSED, REVERSED_BOLD = pen("", "reverse"), pen("", "reverse", "bold")


def _look(faint: int, chord: int, trouble: int, shade: int) -> Look:
    """A look from four colours and the terminal's own ink; `shade` is behind the selection."""
    second, marked, wrong = (f"38;5;{number}" for number in (faint, chord, trouble))
    return Look(
        plain=PLAIN,
        faint=pen(second),
        note=pen("", "bold"),
        chosen=pen("", "bold"),
        chord=pen(marked, "bold"),
        degree=pen(marked, "italic"),
        stopped=REVERSED,
        selected=pen("", "underline", ground=f"48;5;{shade}"),
        playing=REVERSED,
        trouble=pen(wrong, "bold"),
        bar=REVERSED,
        bar_state=REVERSED_BOLD,
    )


LOOKS = {
    "dark": _look(245, 179, 209, 237),
    "light": _look(243, 94, 124, 253),
    "terminal": Look(
        plain=PLAIN,
        faint=pen("", "dim"),
        note=pen("", "bold"),
        chosen=pen("", "bold"),
        chord=pen("33", "bold"),
        degree=pen("33", "italic"),
        stopped=REVERSED,
        selected=pen("", "underline"),
        playing=REVERSED,
        trouble=pen("31", "bold"),
        bar=REVERSED,
        bar_state=REVERSED_BOLD,
    ),
}
"""By the name that the configuration gives; `terminal` keeps to the terminal's own 16 colours.

The others take theirs from xterm's table of 256 colours: to name one takes half the bytes of its red, green and
blue. Most of the score is in the terminal's own ink, which takes none and can be read on any ground.
"""
