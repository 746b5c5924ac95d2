"""The encodings that XML files come in, all turned into UTF-8."""

from __future__ import annotations

import codecs
import re

from tabterm.errors import FormatError

BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
"""In the order in which they are tried: the mark of UTF-32 begins like that of UTF-16."""

WITHOUT_MARK = ((b"<\0?\0", "utf-16-le"), (b"\0<\0?", "utf-16-be"))
"""How a declaration begins in UTF-16 without a mark (XML 1.0, appendix F)."""

OF_CHARACTERS = re.compile(
    r"^(ascii|utf-8|iso8859-\d+|cp\d+|mac-\w+|koi8-\w|big5\w*|gb\w+|shift_jis\w*|euc_\w+|iso2022_\w+)$"
)
"""Codecs that are character sets, by Python's names; others (compression, escapes) are no business of a file's."""

_DECLARED = re.compile(rb"""^<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._:-]{1,40})["']""")


def as_utf8(data: bytes) -> bytes:
    """A document in UTF-8, without a byte order mark.

    Raises:
        FormatError: Its encoding is unknown, or it is not written in it.
    """
    encoding, skip = _encoding_of(data)
    if encoding == "utf-8":
        return data[skip:]
    try:
        return data[skip:].decode(encoding).encode()
    except (UnicodeDecodeError, UnicodeEncodeError) as error:
        hint = "save the file as UTF-8"
        raise FormatError(f"not {encoding} text, as it says (byte {error.start})", hint=hint) from None


def _encoding_of(data: bytes) -> tuple[str, int]:
    """Python's name of the encoding, and how many bytes to leave out before decoding."""
    for mark, encoding in BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return encoding, len(mark) if encoding == "utf-8" else 0
    for beginning, encoding in WITHOUT_MARK:
        if data.startswith(beginning):
            return encoding, 0
    match = _DECLARED.match(data)
    if match is None:
        return "utf-8", 0
    name = match.group(1).decode("ascii")
    try:
        encoding = codecs.lookup(name).name
    except LookupError:
        encoding = name
    if encoding.startswith(("utf-16", "utf-32")):  # the declaration was read as bytes, so it cannot be that
        return "utf-8", 0
    if not OF_CHARACTERS.match(encoding):
        raise FormatError(f"the encoding '{name}' is not read", hint="save the file as UTF-8")
    return encoding, 0
