"""The parts of a score, and which one is read."""

from __future__ import annotations

from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.musicxml.values import pitch_of

if TYPE_CHECKING:
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node

MAX_MEASURES = 20_000
MAX_NOTES = 40_000
"""Notes and rests of one part: an hour of sixteenths without a rest."""

MAX_NOTES_OF_MEASURE = 2_000
COURSES = 4
"""A tablature of so many lines can be this family's."""

ROOTS = ("score-partwise", "score-timewise")


@dataclass(slots=True)
class XmlPart:
    """A part of the score.

    Attributes:
        identity: As the file names it, such as `P1`.
        name: As the player reads it, or "".
        header: Its element of the part list, or None.
        measures: Its measures: in a partwise file `<measure>`, in a timewise one the `<part>` of each measure.
        labels: The measures' own attributes, which a timewise file gives to the measure around the part.
        size: Number of notes and rests.
        notes: Number of notes with a pitch.
        unpitched: Number of notes without one.
        strings: Number of notes with a string.
        highest_string: The largest string number.
        tab_lines: Lines of its tablature staff, 0 where it has none.
        in_fifths: The tablature is tuned in fifths.
    """

    identity: str
    name: str = ""
    header: Node | None = None
    measures: list[Node] = field(default_factory=list)
    labels: list[Node] = field(default_factory=list)
    size: int = 0
    notes: int = 0
    unpitched: int = 0
    strings: int = 0
    highest_string: int = 0
    tab_lines: int = 0
    in_fifths: bool = False

    @property
    def is_ours(self) -> bool:
        """Its tablature, or its strings, can be those of four courses."""
        if self.tab_lines:
            return self.tab_lines == COURSES
        return 0 < self.highest_string <= COURSES and 2 * self.strings > self.notes

    def survey(self) -> None:
        """Count what is in it; raises FormatError for a measure that has more than any measure."""
        for measure, label in zip(self.measures, self.labels, strict=True):
            before = self.size
            for node in measure.children:
                if node.tag == "note":
                    self._survey_note(node)
                elif node.tag == "attributes":
                    self._survey_attributes(node)
            if self.size - before > MAX_NOTES_OF_MEASURE:
                raise FormatError(
                    f"a measure of {self.size - before} notes",
                    place=f"line {label.line}",
                    hint=f"at most {MAX_NOTES_OF_MEASURE}",
                )

    def _survey_note(self, node: Node) -> None:
        self.size += 1
        for child in node.children:
            if child.tag == "pitch":
                self.notes += 1
            elif child.tag == "unpitched":
                self.unpitched += 1
            elif child.tag == "notations":
                for technical in child.all("technical"):
                    string = technical.word("string")
                    if string.isdecimal() and string.isascii() and len(string) < 4:
                        self.strings += 1
                        self.highest_string = max(self.highest_string, int(string))

    def _survey_attributes(self, node: Node) -> None:
        for details in node.all("staff-details"):
            tunings = details.all("staff-tuning")
            if tunings:
                lines = details.word("staff-lines")
                self.tab_lines = int(lines) if lines in set("123456789") else len(tunings)
                pitches = [pitch_of(each, "tuning-")[0] or 0 for each in tunings]
                self.in_fifths = {high - low for low, high in pairwise(sorted(pitches))} == {7}

    def __str__(self) -> str:
        return f"'{self.name}' ({self.identity:.20})" if self.name else f"{self.identity:.20}"


def parts_of(root: Node) -> list[XmlPart]:
    """The parts of a document that have measures, in the order of the part list.

    Raises:
        FormatError: The document is no score, or has no measure, or more than any score has.
    """
    if root.tag not in ROOTS:
        hint = "it lists other files: open one of them" if root.tag == "opus" else "check the file's extension"
        raise FormatError(f"not a MusicXML score: the outermost element is <{root.tag:.40}>", hint=hint)
    headers = {node.get("id"): node for node in root.child("part-list") or () if node.tag == "score-part"}
    found: dict[str, XmlPart] = {}
    for outer in root.children:
        if root.tag == ROOTS[0] and outer.tag == "part":
            part = _part(found, headers, outer.get("id"))
            measures = outer.all("measure")
            part.measures += measures
            part.labels += measures
        elif root.tag == ROOTS[1] and outer.tag == "measure":
            for inner in outer.all("part"):
                part = _part(found, headers, inner.get("id"))
                part.measures.append(inner)
                part.labels.append(outer)
    order = {identity: number for number, identity in enumerate(headers)}
    parts = sorted(
        (part for part in found.values() if part.measures), key=lambda part: order.get(part.identity, len(order))
    )
    if not parts:
        raise FormatError("the score has no measures", hint="export the file again")
    for part in parts:
        if len(part.measures) > MAX_MEASURES:
            raise FormatError("the score is too large", hint=f"at most {MAX_MEASURES} measures")
        part.survey()
    return parts


def _part(found: dict[str, XmlPart], headers: dict[str, Node], identity: str) -> XmlPart:
    if identity not in found:
        header = headers.get(identity)
        name = "" if header is None else " ".join(header.word("part-name").split())[:60]
        found[identity] = XmlPart(identity, name, header)
    return found[identity]


def choose(parts: list[XmlPart], wanted: int | str | None, report: XmlReporter) -> XmlPart:
    """The part asked for by number, id or name; else the likeliest one, and which others there are is reported.

    Likeliest is a part with four courses, in fifths before others, then the first one with notes.

    Raises:
        FormatError: No such part, it is percussion, or it has more notes than any part has.
    """
    if wanted is None:
        chosen = _likeliest(parts)
        others = [f"{number} {part}" for number, part in enumerate(parts, 1) if part is not chosen]
        if others:
            shown = ", ".join(others[:8]) + (f" and {len(others) - 8} more" if len(others) > 8 else "")
            report.left_out(f"only part {parts.index(chosen) + 1} {chosen} is read; the others: {shown}")
    else:
        chosen = _asked_for(parts, str(wanted).strip())
    if not chosen.notes and chosen.unpitched:
        raise FormatError(
            f"the part {chosen} is percussion, without pitches to read", hint=f"the parts are: {_names(parts)}"
        )
    if chosen.size > MAX_NOTES:
        raise FormatError(f"the part {chosen} has {chosen.size} notes", hint=f"at most {MAX_NOTES} are read")
    return chosen


def _likeliest(parts: list[XmlPart]) -> XmlPart:
    def likely(part: XmlPart) -> tuple[bool, bool, bool]:
        return part.notes > 0, part.is_ours, part.is_ours and part.in_fifths

    return max(parts, key=likely)


def _asked_for(parts: list[XmlPart], wanted: str) -> XmlPart:
    """By number from 1, id, name, or the beginning of a name."""
    if wanted.isdecimal() and wanted.isascii() and 1 <= int(wanted[:6]) <= len(parts):
        return parts[int(wanted) - 1]
    folded = wanted.casefold()
    found = (
        [part for part in parts if part.identity == wanted]
        or [part for part in parts if part.name.casefold() == folded]
        or [part for part in parts if folded and part.name.casefold().startswith(folded)]
    )
    if found:
        return found[0]
    raise FormatError(f"no part '{wanted:.60}' in the score", hint=f"the parts are: {_names(parts)}")


def _names(parts: list[XmlPart]) -> str:
    return ", ".join(f"{number} {part}" for number, part in enumerate(parts[:20], 1))
