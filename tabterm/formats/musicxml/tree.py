"""XML as a tree of small nodes that know their lines; read with limits, and written.

Nothing is fetched and nothing is expanded: a document type may be named, as the standard's files do, but entities
and what lies outside the file are refused.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING
from xml.parsers import expat

from tabterm import collector
from tabterm.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Iterator


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
"""Codecs that are character sets, by Python's names; others (compression, escapes) are refused."""

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
        raise FormatError(f"declared as {encoding}, but byte {error.start} does not fit", hint=hint) from None


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
        raise FormatError(f"unknown encoding '{name}'", hint="save the file as UTF-8")
    return encoding, 0


MAX_BYTES = 32_000_000
"""Of one XML document: some ten times the largest scores."""

MAX_ELEMENTS = 1_000_000
MAX_DEPTH = 40
"""The standard nests about a dozen levels."""

MAX_TEXT = 100_000
"""Characters of one text or attribute."""

CHUNK = 1 << 20


class Node:
    """An element: its name, attributes, text before the first child, children, and line (0: made, not read)."""

    __slots__ = ("attributes", "children", "line", "tag", "text")

    def __init__(self, tag: str, attributes: dict[str, str] | None = None, text: str = "", line: int = 0) -> None:
        self.tag = tag
        self.attributes: dict[str, str] = {} if attributes is None else attributes
        self.text = text
        self.line = line
        self.children: list[Node] = []

    def __iter__(self) -> Iterator[Node]:
        return iter(self.children)

    def child(self, tag: str) -> Node | None:
        """The first child of a name, or None."""
        for node in self.children:
            if node.tag == tag:
                return node
        return None

    def all(self, tag: str) -> list[Node]:
        """The children of a name."""
        return [node for node in self.children if node.tag == tag]

    def at(self, *tags: str) -> Node | None:
        """The node at the end of a path of first children, or None."""
        node: Node | None = self
        for tag in tags:
            if node is None:
                return None
            node = node.child(tag)
        return node

    def word(self, *tags: str) -> str:
        """The text at the end of a path, without the blanks around it; "" where there is none."""
        node = self.at(*tags)
        return "" if node is None else node.text.strip()

    def get(self, name: str, default: str = "") -> str:
        """An attribute, without the blanks around it."""
        return self.attributes.get(name, default).strip()

    def add(self, tag: str, text: object = "", /, **attributes: object) -> Node:
        """Append a child and return it; in names of attributes `_` stands for `-` and `__` for `:`."""
        named = {name.replace("__", ":").replace("_", "-"): str(value) for name, value in attributes.items()}
        node = Node(tag, named, str(text))
        self.children.append(node)
        return node


def parse(data: bytes) -> Node:
    """The root of an XML document.

    Raises:
        FormatError: It is no well-formed XML, is too large or too deep, or has entities.
    """
    if len(data) > MAX_BYTES:
        raise FormatError("too large for a score", hint=f"at most {MAX_BYTES // 1_000_000} MB of XML")
    text = as_utf8(data)
    if text.count(b"<") - text.count(b"</") > MAX_ELEMENTS:  # comments among them: they are few
        raise _too_large()
    builder = TreeBuilder()
    with collector.at_rest():
        return builder.parse(text)


def _too_large() -> FormatError:
    return FormatError("too large for a score", hint=f"at most {MAX_ELEMENTS} elements; export one part")


class TreeBuilder:
    """Takes what the parser meets, and makes a tree of it."""

    def __init__(self) -> None:
        self._document = Node("")
        self._open: list[Node] = [self._document]
        self._elements = 0
        self._parser = expat.ParserCreate("utf-8")
        self._parser.buffer_text = True
        self._parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._text
        self._parser.EntityDeclHandler = self._refuse_entity
        self._parser.ExternalEntityRefHandler = self._refuse_entity
        self._parser.SkippedEntityHandler = self._refuse_entity

    def parse(self, data: bytes) -> Node:
        """The root; in pieces, so that what is refused is refused early."""
        try:
            for start in range(0, len(data), CHUNK):
                self._parser.Parse(data[start : start + CHUNK], False)  # noqa: FBT003
            self._parser.Parse(b"", True)  # noqa: FBT003
        except expat.ExpatError as error:
            raise FormatError(
                f"not well-formed XML: {expat.ErrorString(error.code)}",
                place=f"line {error.lineno}, column {error.offset + 1}",
                hint="export the file again",
            ) from None
        return self._document.children[0]

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._elements += 1
        if self._elements > MAX_ELEMENTS:
            raise _too_large()
        if len(self._open) > MAX_DEPTH:
            raise FormatError("nested too deeply to be a score", place=f"line {self._parser.CurrentLineNumber}")
        if attributes and any(len(value) > MAX_TEXT for value in attributes.values()):
            self._refuse_text()
        node = Node(tag, attributes, "", self._parser.CurrentLineNumber)
        self._open[-1].children.append(node)
        self._open.append(node)

    def _end(self, _tag: str) -> None:
        self._open.pop()

    def _text(self, text: str) -> None:
        node = self._open[-1]
        if not node.children:
            node.text += text
            if len(node.text) > MAX_TEXT:
                self._refuse_text()

    def _refuse_text(self) -> None:
        place = f"line {self._parser.CurrentLineNumber}"
        raise FormatError("the text is too long for a score", place=place, hint=f"at most {MAX_TEXT} characters")

    def _refuse_entity(self, name: str | None, *_rest: object) -> int:
        raise FormatError(
            f"the entity '{name or ''}' is refused",
            place=f"line {self._parser.CurrentLineNumber}",
            hint="export the file without its own document type",
        )


_ESCAPED = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "\r": "&#13;"})
_QUOTED = _ESCAPED | str.maketrans({'"': "&quot;", "\n": "&#10;", "\t": "&#9;"})


def serialise(root: Node, doctype: str = "") -> str:
    """A document that says it is in UTF-8, one element a line."""
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', *([doctype] if doctype else [])]
    _write(root, "", lines)
    return "\n".join(lines) + "\n"


def _write(node: Node, indent: str, lines: list[str]) -> None:
    attributes = "".join(f' {name}="{value.translate(_QUOTED)}"' for name, value in node.attributes.items())
    if node.children:
        lines.append(f"{indent}<{node.tag}{attributes}>")
        for child in node.children:
            _write(child, indent + "  ", lines)
        lines.append(f"{indent}</{node.tag}>")
    elif node.text:
        lines.append(f"{indent}<{node.tag}{attributes}>{node.text.translate(_ESCAPED)}</{node.tag}>")
    else:
        lines.append(f"{indent}<{node.tag}{attributes}/>")
