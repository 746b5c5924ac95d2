"""What may go to a terminal, into XML or on paper of a text from a file, an argument or another program."""

from __future__ import annotations

import json
import re

_OBEYED = "\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069"
"""Characters that a terminal obeys instead of showing them, but for the tab and the end of a line.

The controls C0, DEL and C1 (ECMA-48, 5th edition, 5.2 and 5.3), the separators of lines and paragraphs (U+2028 and
U+2029), and what makes text run the other way (Unicode Standard Annex 9, section 2: the marks ALM, LRM and RLM,
embeddings and overrides U+202A to U+202E, isolates U+2066 to U+2069).
"""

_OBEYED_IN_TEXT = re.compile(f"[{_OBEYED}]")
_OBEYED_IN_LINE = re.compile(f"[{_OBEYED}\t\n]")


_NOT_XML = "[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
"""Characters that XML 1.0 has not (fifth edition, section 2.2); compiled when first wanted, which takes 3 ms."""


def text(words: str) -> str:
    """Text of many lines with `?` for each character that a terminal would obey: columns keep their places."""
    return _OBEYED_IN_TEXT.sub("?", words)


def line(words: str) -> str:
    """The same for what takes one line, whatever it quotes."""
    return _OBEYED_IN_LINE.sub("?", words)


def xml(words: str) -> str:
    """Text without the characters that no XML document has."""
    return re.sub(_NOT_XML, "", words)


_NOT_ON_PAPER = "[^\n\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
"""Characters that XML 1.0 has not, and controls that no font shows."""


def on_paper(words: str) -> str:
    """Text, or XML, without what cannot be printed."""
    return re.sub(_NOT_ON_PAPER, "", words)


def as_json(value: object, indent: int | None = None) -> str:
    """JSON in which each of these characters is escaped, so that it says the same in a terminal and in a file."""
    written = json.dumps(value, indent=indent, ensure_ascii=False)
    return _OBEYED_IN_TEXT.sub(lambda match: f"\\u{ord(match[0]):04x}", written)


def number(words: str) -> str:
    """What was written for a number, in quotation marks; a decimal comma with the point that is meant."""
    pointed = words.strip().replace(",", ".")
    meant = "," in words and re.fullmatch(r"[+-]?\d{1,20}\.\d{1,20}", pointed, re.ASCII)
    return f"'{words:.60}'" + (f" (write {pointed})" if meant else "")


def counted(number: int, word: str) -> str:
    """`1 note`, `2 notes`."""
    return f"{number} {word}{'' if number == 1 else 's'}"
