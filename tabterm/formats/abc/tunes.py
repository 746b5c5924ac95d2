"""The lines of an ABC file: its text, and the tunes in it."""

from __future__ import annotations

import html
import re
import unicodedata
from typing import NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError

MOST_CHARACTERS = 2_000_000
"""A longer tune is refused: the longest of a collection of 12,000 has 20,000."""

MOST_LINES = 500_000
"""Of a file: a collection of 12,000 tunes has 300,000."""

LARGEST = 16_000_000
"""Characters of a file."""

_FIELD = re.compile(r"^([A-Za-z+]):(.*)$")
_MUSIC = re.compile(r"[A-Ga-gz][,']*\d*.*\|")
_MNEMONIC = re.compile(r"\\([\\%&])|\\u([0-9A-Fa-f]{4})|\\([`'^~\"ucvH=,;.])\{?([A-Za-z])\}?|&#?\w{1,32};")
COMMENT = re.compile(r"(?<!\\)%")
_MARKS = {"`": "0300", "'": "0301", "^": "0302", "~": "0303", '"': "0308", "u": "0306", "c": "0327", "v": "030C"}
_MARKS |= {"H": "030B", "=": "0304", ",": "0327", ";": "0328", ".": "0307"}
"""Combining characters of the mnemonics in the standard, 8.2."""


class TuneLine(NamedTuple):
    """A line of a tune: its number in the file from 1, the letter of its field ("" for music), its text.

    `column` is where the text begins in the line, from 1.
    """

    number: int
    field: str
    text: str
    column: int = 1


@dataclass(frozen=True, slots=True)
class Tune:
    """A tune: the lines of the file's header, then its own, up to and behind the key."""

    header: tuple[TuneLine, ...]
    body: tuple[TuneLine, ...]


def text_of(data: bytes) -> str:
    """The text of a file: UTF-8, UTF-16 with its mark, or else Latin-1, as old files are.

    Raises:
        FormatError: It is not text.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data:
        raise FormatError("not text", hint="choose an ABC file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def tunes_of(text: str) -> list[Tune]:
    """The tunes of a file; each begins with its number (X:) and ends before an empty line or the next number.

    A file without any number is one tune, if it has a key or music.

    Raises:
        FormatError: A tune is too long, or the file.
    """
    if len(text) > LARGEST or text.count("\n") + text.count("\r") > MOST_LINES:
        raise FormatError(
            "the collection is too large", hint=f"at most {LARGEST} characters and {MOST_LINES} lines"
        )
    blocks: list[list[TuneLine]] = []
    common: list[TuneLine] = []
    block: list[TuneLine] | None = None
    for line in _lines(text):
        if line.field == "X":
            block = [line]
            blocks.append(block)
        elif not line.field and not line.text.strip():
            block = None
        elif block is not None:
            block.append(line)
        elif not blocks and line.field:
            common.append(line)
    if not blocks:
        blocks = [_lone(text)]
        common = []
    return [_tune(common, block) for block in blocks if block]


def _lone(text: str) -> list[TuneLine]:
    """The lines of a file that holds music without a number."""
    lines = [line for line in _lines(text) if line.field or line.text.strip()]
    is_music = any(line.field == "K" for line in lines) or any(
        not line.field and _MUSIC.match(line.text) for line in lines
    )
    return lines if is_music else []


def _lines(text: str) -> list[TuneLine]:
    lines: list[TuneLine] = []
    typeset = False
    for number, each in enumerate(re.split(r"\r\n|[\r\n]", text), 1):
        if each.startswith("%%"):
            typeset = each.startswith("%%begin") or (typeset and not each.startswith("%%end"))
            lines.append(TuneLine(number, "%", each[2:].strip(), 3))
            continue
        if typeset or each.startswith("%"):
            continue
        match = _FIELD.match(each)
        if match is None:
            lines.append(TuneLine(number, "", each))
        elif match[1] == "+":
            _continue(lines, number, match[2])
        else:
            lines.append(TuneLine(number, match[1], match[2], 3))
    return lines


def _continue(lines: list[TuneLine], number: int, text: str) -> None:
    """Lengthen the field before; behind music it is a line of its own kind, and nothing."""
    if lines and lines[-1].field not in ("", "%"):
        before = lines.pop()
        joined = f"{COMMENT.split(before.text, maxsplit=1)[0].rstrip()} {text.strip()}"
        lines.append(TuneLine(before.number, before.field, joined, before.column))
    else:
        lines.append(TuneLine(number, "+", text, 3))


def _tune(common: list[TuneLine], block: list[TuneLine]) -> Tune:
    size = sum(len(line.text) for line in block)
    if size > MOST_CHARACTERS:
        text = f"the tune has {size} characters"
        raise FormatError(text, hint=f"at most {MOST_CHARACTERS}", place=f"line {block[0].number}")
    key = next((number for number, line in enumerate(block) if line.field == "K"), None)
    if key is None:
        key = next((number - 1 for number, line in enumerate(block) if not line.field), len(block) - 1)
    return Tune((*common, *block[: key + 1]), tuple(block[key + 1 :]))


def words(text: str) -> str:
    """The words of a field: mnemonics and entities as the letters they stand for (standard 8.2)."""

    def letter(match: re.Match[str]) -> str:
        plain, code, mark, base = match.groups()
        if plain:
            return plain
        if code:
            return chr(int(code, 16))
        if base:
            return unicodedata.normalize("NFC", base + chr(int(_MARKS[mark], 16)))
        return html.unescape(match[0])

    said = _MNEMONIC.sub(letter, COMMENT.split(text, maxsplit=1)[0]).strip()
    return "".join(c for c in said if c.isprintable())
