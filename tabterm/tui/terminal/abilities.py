"""What the terminal can do, by terminfo and the environment; and ASCII for what it cannot show."""

from __future__ import annotations

import os
import sys
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping


Colours = Literal["none", "standard", "256", "truecolor"]
Characters = Literal["auto", "unicode", "ascii"]


@dataclass(frozen=True, slots=True)
class Abilities:
    """Abilities that change what is sent; the defaults are those of any terminal that follows ECMA-48.

    Attributes:
        colours: How many colours are sent.
        unicode: Whether characters beyond ASCII are sent.
        erases_in_colour: Erased cells take the background in force, not the terminal's own.
        moves_lines: Lines can be inserted and deleted.
        ends_attributes: Each attribute can be ended on its own; otherwise only all together.
        has_second_screen: The editor's screen can be laid over the shell's and taken away again.
        hides_cursor: The cursor can be hidden (DECTCEM, a private mode of the VT220).
        marks_pastes: What is pasted can be marked; asked of whatever knows more modes than a VT100.
        block_cursor: Sequence that makes the cursor a steady block; "" where it has no shape.
        own_cursor: Sequence that gives the cursor its own shape back.
    """

    colours: Colours = "truecolor"
    unicode: bool = True
    erases_in_colour: bool = False
    moves_lines: bool = True
    ends_attributes: bool = True
    has_second_screen: bool = True
    hides_cursor: bool = True
    marks_pastes: bool = True
    block_cursor: str = ""
    own_cursor: str = ""


def is_dumb(environment: Mapping[str, str]) -> bool:
    """Whether the terminal cannot place text; one that the database does not know is trusted to."""
    name = environment.get("TERM", "")
    return name in {"", "dumb"} or (_set_up(name) and _text("cup") == "")


def detect(environment: Mapping[str, str], characters: Characters = "auto") -> Abilities:
    """The terminal that the environment tells of (TERM, COLORTERM, NO_COLOR and the locale's variables)."""
    unicode = speaks_unicode(environment) if characters == "auto" else characters == "unicode"
    name = environment.get("TERM", "")
    if not _set_up(name):
        guessed = 256 if "256color" in name or "kitty" in name else 8
        return Abilities(_colours(environment, guessed), unicode)
    import curses

    return Abilities(
        colours=_colours(environment, curses.tigetnum("colors")),
        unicode=unicode,
        erases_in_colour=curses.tigetflag("bce") == 1,
        moves_lines=_text("il") != "" and _text("dl") != "",
        ends_attributes=_text("rmul") == "\x1b[24m",
        has_second_screen=_text("smcup") != "",
        hides_cursor=_text("civis") != "",
        marks_pastes=_text("civis") != "" or _text("BE") != "",
        block_cursor="\x1b[2 q" if _text("Ss") else "",
        own_cursor="\x1b[0 q" if _text("Ss") else "",
    )


def speaks_unicode(environment: Mapping[str, str]) -> bool:
    """Whether the locale that the program was started in has UTF-8.

    Python puts C.UTF-8 into LC_CTYPE when it is started in the C locale (PEP 538) and goes into its UTF-8 mode
    (PEP 540); that says nothing about the terminal.
    """
    coerced = bool(sys.flags.utf8_mode) and environment.get("LC_CTYPE") == "C.UTF-8"
    own = "" if coerced else environment.get("LC_CTYPE", "")
    locale = environment.get("LC_ALL") or own or environment.get("LANG", "")
    return "utf" in locale.lower()


def size_of(descriptor: int) -> tuple[int, int]:
    """Columns and lines of the terminal behind a file descriptor; 80 and 24 where it does not tell."""
    try:
        columns, lines = os.get_terminal_size(descriptor)
    except OSError:
        columns, lines = 0, 0
    return columns or 80, lines or 24


def _colours(environment: Mapping[str, str], number: int) -> Colours:
    if environment.get("NO_COLOR") or (number < 8 and not environment.get("FORCE_COLOR")):
        return "none"
    if environment.get("COLORTERM", "").strip().lower() in {"truecolor", "24bit"} or number >= 1 << 24:
        return "truecolor"
    return "256" if number >= 256 else "standard"


def _set_up(name: str) -> bool:
    """Open the terminal's entry in the database; False where there is none, or no database."""
    try:
        import curses
    except ImportError:
        return False
    try:
        curses.setupterm(name, 1)
    except curses.error:
        return False
    return True


def _text(capability: str) -> str:
    """A sequence from the entry that was opened; "" where the terminal has none."""
    import curses

    return (curses.tigetstr(capability) or b"").decode("latin-1")


SIGNS = {
    **dict.fromkeys("─═╌┄╴╶▁▔", "-"),
    **dict.fromkeys("│┃║‖╎┆▏▎▍▌▋▊▉█▐▕▇▆▅▄▃▂", "|"),
    **dict.fromkeys("┌┐└┘╭╮╰╯├┤┬┴┼┏┓┗┛", "+"),
    "…": ".",
    "–": "-",  # noqa: RUF001 - a dash is what is meant
    "—": "-",
    "♭": "b",
    "♯": "#",
    "♮": "=",
    "°": "o",
    "↑": "^",
    "↓": "v",
    "≠": "/",
    "−": "-",  # noqa: RUF001
    "•": "*",
    "·": ".",
    "‘": "'",  # noqa: RUF001 - a quotation mark is what is meant
    "’": "'",  # noqa: RUF001
    "“": '"',
    "”": '"',
}


@lru_cache(maxsize=1024)
def in_ascii(cluster: str, width: int) -> str:
    """A character, with what combines with it, as ASCII of the same width in cells; `?` where there is none."""
    if cluster in SIGNS:
        return SIGNS[cluster]
    base = unicodedata.normalize("NFKD", cluster)[:1]
    return (base if base.isascii() and base.isprintable() else "?") + "?" * (width - 1)
