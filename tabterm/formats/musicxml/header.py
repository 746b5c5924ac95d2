"""The head of a score: title, credits and, in our own files, what the standard has no place for."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tabterm.errors import TabtermError
from tabterm.score.model import Head
from tabterm.values import field_names, plain, read_value

if TYPE_CHECKING:
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node

OWN_FIELD = "tabterm"
"""Name of the miscellaneous field that holds instrument, school, hand and foreword, as in the native file."""

OWN = {"school", "hand", "chord_names", "foreword"}
LONGEST_TITLE, LONGEST_CREDIT = 200, 500
ROLES = {"": "{}", "composer": "{}", "arranger": "arr. {}", "lyricist": "words: {}", "poet": "words: {}"}


def read_title(root: Node, *, is_own: bool) -> str:
    """The title of the work or movement, or else what is printed as one."""
    if is_own:
        work = root.at("work", "work-title")
        return "" if work is None else work.text[:LONGEST_TITLE]
    title = root.word("work", "work-title") or root.word("movement-title")
    if not title:
        printed = [each for each in root.all("credit") if each.word("credit-type") == "title"]
        title = printed[0].word("credit-words") if printed else ""
    return " ".join(title.split())[:LONGEST_TITLE]


def read_credits(root: Node, *, is_own: bool) -> tuple[str, ...]:
    """Who made it, and whose it is; one line each, in our own files as they were."""
    lines = []
    for node in root.child("identification") or ():
        if node.tag not in {"creator", "rights"}:
            continue
        text = node.text if is_own else " ".join(node.text.split())
        role = node.get("type") if node.tag == "creator" else ""
        if text or is_own:
            lines.append(ROLES.get(role.lower(), f"{role}: {{}}").replace("{}", text))
    return tuple(line[:LONGEST_CREDIT] for line in lines)


def read_own(root: Node, report: XmlReporter) -> Head | None:
    """What our own field says, in a head of defaults; None in a file of another program."""
    for node in root.at("identification", "miscellaneous") or ():
        if node.get("name") == OWN_FIELD:
            try:
                return read_value(Head, json.loads(node.text))
            except (ValueError, RecursionError, TabtermError):
                report.left_out("the field 'tabterm' is damaged and left out", node.line)
    return None


def write_header(root: Node, head: Head) -> None:
    """Append what comes before the parts, but for the list of them."""
    if head.title:
        root.add("work").add("work-title", head.title)
    identification = root.add("identification")
    for line in head.credits:
        identification.add("creator", line)
    encoding = identification.add("encoding")
    encoding.add("software", "tabterm")
    for element in ("accidental", "beam"):
        encoding.add("supports", element=element, type="yes")
    own = plain(head, leave_out=set(field_names(Head)) - OWN)
    own["instrument"] = plain(head.instrument, whole=True)
    text = json.dumps(own, ensure_ascii=False, separators=(",", ":"))
    identification.add("miscellaneous").add("miscellaneous-field", text, name=OWN_FIELD)
