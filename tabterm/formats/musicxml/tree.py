"""XML as a tree of small nodes that know their lines; read with limits, and written.

Nothing is fetched and nothing is expanded: a document type may be named, as the standard's files do, but entities
and what lies outside the file are refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.parsers import expat

from tabterm import collector
from tabterm.errors import FormatError
from tabterm.formats.musicxml.encoding import as_utf8

if TYPE_CHECKING:
    from collections.abc import Iterator

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
    builder = Builder()
    with collector.at_rest():
        return builder.parse(text)


def _too_large() -> FormatError:
    return FormatError("too large for a score", hint=f"at most {MAX_ELEMENTS} elements; export one part")


class Builder:
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
                hint="export the file anew",
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
        raise FormatError("a text too long for a score", place=place, hint=f"at most {MAX_TEXT} characters")

    def _refuse_entity(self, name: str | None, *_rest: object) -> int:
        raise FormatError(
            f"the entity '{name or ''}' is not read",
            place=f"line {self._parser.CurrentLineNumber}",
            hint="export the file without a document type of its own",
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
