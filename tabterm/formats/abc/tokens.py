"""A line of music cut into tokens, and what they say: letters of a note, decorations."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError
from tabterm.score.kinds import Direction, Stroke

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.formats.abc.bars import Letters, Spot
    from tabterm.score.metre import Metre


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


LONGEST = Fraction(64)
FINEST = 64 * 315
"""Lengths go up to sixteen whole notes; what is finer than this part of a quarter, which
has 256ths in tuplets of 5, 7 and 9 together, is refused as a length."""

USUAL_NORMAL = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""A tuplet of so many notes goes in the time of so many (standard 4.13); 5, 7 and 9 in that of 3 in compound
metres, else of 2."""


@lru_cache(maxsize=4096)
def written(text: str) -> tuple[str | None, Spot, str]:
    """The accidental, the letter with its octave, and the length of a note as it is written."""
    match = NOTE.match(text)
    if match is None:  # the scanner has matched it before
        raise FormatError(f"not a note: '{text}'")
    sign, letter, octaves, length = match.groups()
    return sign, (letter.upper(), letter.islower() + octaves.count("'") - octaves.count(",")), length


def quarters_of(text: str, unit: Fraction) -> Fraction | None:
    """A length in quarters; None for one that no note value has."""
    top, slash, bottom = text.partition("/")
    figure = bottom.lstrip("/")
    divisor = int(figure) if figure else 2 ** len(slash + bottom)
    quarters = Fraction(int(top) if top else 1, divisor) * unit if divisor else Fraction(0)
    return quarters if 0 < quarters <= LONGEST and quarters.denominator <= FINEST else None


def usual_normal(actual: int, metre: Metre | None) -> int:
    """Notes in whose time a tuplet of so many goes where it does not say."""
    return USUAL_NORMAL.get(actual, 3 if metre is not None and metre.compound else 2)


def held_alteration(before: Letters, spot: Spot) -> int | None:
    """The alteration that a tie from the moment before carries to a spot, over a bar line as well."""
    return next((tone.alter for tone in before.tones if tone.ties and tone.spot == spot), None)


LETTERS = {
    "~": "roll",
    ".": ".",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
}
"""Decorations written as one letter (standard 4.14); U: fields change them."""

EVENT_FIELDS: dict[str, dict[str, Any]] = {
    "upbow": {"stroke": Stroke.UP},
    "downbow": {"stroke": Stroke.DOWN},
    ".": {"staccato": True},
    "wedge": {"staccato": True},
    "accent": {"accent": True},
    ">": {"accent": True},
    "emphasis": {"accent": True},
    "arpeggio": {"roll": Direction.UP},
    "/": {"tremolo": True},
    "//": {"tremolo": True},
    "///": {"tremolo": True},
    "////": {"tremolo": True},
}
"""What a decoration says of an event. Up-bow and down-bow are the up-stroke and down-stroke of plucked
instruments as well (MusicXML 4.0, elements up-bow and down-bow)."""

NOTE_FIELDS: dict[str, dict[str, Any]] = {
    "slide": {"slide_in": Direction.UP},
    "open": {"finger": 0},
    **{str(number): {"finger": number} for number in range(5)},
}
"""What a decoration says of the notes of an event, or inside a chord of its one note."""

LAYOUT = frozenset({"beambr1", "beambr2", "beamon", "nil", "none", "invisible"})
"""Decorations that say nothing of the music."""

FINGERS = re.compile(r"^[0-4]{1,2}$")
"""Quoted words that are a finger, or a choice of two."""

SLURS = {"H": "hammer", "P": "pull", "S": "slide"}
"""Annotations by which a slurred note says how the left hand sounds it (common practice in tablature)."""
