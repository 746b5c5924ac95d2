"""A line of music cut into tokens."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

LENGTH = r"\d{0,5}(?:/+\d{0,5})?"
_ACCIDENTAL = r"(?:\^{1,2}|_{1,2}|=)(?:\d?/\d?)?"
_QUOTED = r'"[^"]*"'

_TOKENS = {
    "comment": r"(?<!\\)%.*",
    "string": _QUOTED,
    "field": r"\[[A-Za-z]:[^\]]*\]",
    "bar": r"(?:\.?:*(?:\[\||\|)[|\]:]*|::+)(?:\s*\[?(?=[\d])[\d,.x-]*\d)?",
    "ending": rf"\[(?:\d[\d,.x-]*|{_QUOTED})",
    "chord": rf"\[(?:{_QUOTED}|![^!|\s]*!|[^\[\]|\"!%])+\]{LENGTH}",
    "old_chord": rf"\+(?:(?:{_ACCIDENTAL})?[A-Ga-g][,']*{LENGTH}){{2,4}}\+{LENGTH}",
    "note": rf"(?:{_ACCIDENTAL})?[A-Ga-g][,']*{LENGTH}",
    "rest": rf"[zx]{LENGTH}",
    "bars_rest": r"[ZX]\d{0,3}",
    "tuplet": r"\(\d(?::\d?(?::\d{0,2})?)?",
    "slur_open": r"\.?\(",
    "slur_close": r"\)",
    "tie": r"\.?-",
    "broken": r">+|<+",
    "grace": r"\{[^}]*\}",
    "named": r"![^!|\s]{1,40}!|\+[^+|\s\d]{1,40}\+",
    "letter": r"[~.H-Wh-w]",
    "overlay": r"&+",
    "spacer": r"y\d*(?:/\d*)?",
    "blank": r"[\s`$\\*]+|!",
    "other": r".",
}
SILENT = ("blank", "comment")
TAKEN = tuple(kind for kind in _TOKENS if kind not in SILENT)
"""The kinds of tokens that say something."""

_SCANNER = re.compile("|".join(f"(?P<{kind}>{pattern})" for kind, pattern in _TOKENS.items()), re.DOTALL)

NOTE = re.compile(rf"^({_ACCIDENTAL})?([A-Ga-g])([,']*)({LENGTH})$")
CHORD_PART = re.compile(
    rf"(?P<note>(?:{_ACCIDENTAL})?[A-Ga-g][,']*{LENGTH})|(?P<tie>-)|(?P<string>{_QUOTED})"
    r"|(?P<named>![^!]*!)|(?P<letter>[~.H-Wh-w])|(?P<blank>[\s()]+)|(?P<other>.)",
    re.DOTALL,
)


Token = tuple[str, str, int]
"""A piece of a line: its kind, its text, and where it stands in the line, from 0."""


def tokens(text: str) -> Iterator[Token]:
    """The tokens of a line of music, all of its text; comments and blanks are left out."""
    for match in _SCANNER.finditer(text):
        kind = match.lastgroup or "other"
        if kind not in SILENT:
            yield kind, match[0], match.start()
