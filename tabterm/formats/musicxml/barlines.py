"""Bar lines, repeats and endings."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.musicxml.values import whole
from tabterm.score.kinds import Barline
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.musicxml.bars import XmlBar
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node
    from tabterm.score.model import Measure

STYLES = {
    "light-light": Barline.DOUBLE,
    "light-heavy": Barline.FINAL,
    "heavy": Barline.FINAL,
    "heavy-heavy": Barline.FINAL,
    "heavy-light": Barline.FINAL,
}
PLAIN = frozenset({"", "regular", "none"})
WRITTEN = {Barline.DOUBLE: "light-light", Barline.FINAL: "light-heavy"}
MOST_PASSES = 99
_NUMBERS = re.compile(r"\d{1,2}", re.ASCII)


@dataclass(slots=True)
class BarSigns:
    """What the bar lines of a measure say."""

    barline: Barline = Barline.SINGLE
    repeat_start: bool = False
    repeat_times: int = 0
    endings: tuple[int, ...] = ()


def read_barlines(bars: Sequence[XmlBar], report: XmlReporter) -> list[BarSigns]:
    """What the bar lines of each measure say; a bracket holds for every measure under it.

    A repeat sign has a final bar line in it: at the end of the piece it means one.
    """
    found: list[BarSigns] = []
    bracket: tuple[int, ...] = ()
    following = BarSigns()
    for bar in bars:
        signs, following = following, BarSigns()
        closes = False
        for node in bar.barlines:
            ending = node.child("ending")
            if ending is not None and ending.get("type") == "start":
                bracket = _passes(ending)
            elif ending is not None:
                closes = True
            _read_barline(node, signs, report, found, following)
        signs.endings = bracket
        found.append(signs)
        if closes or (bracket and signs.repeat_times):
            bracket = ()
    if found and found[-1].repeat_times:
        found[-1].barline = Barline.FINAL
    return found


def _passes(ending: Node) -> tuple[int, ...]:
    """The passes of a bracket: by its number, or by what is printed; the first where neither says any."""
    for text in (ending.get("number"), ending.text):
        numbers = sorted({int(each) for each in _NUMBERS.findall(text)} - {0})
        if numbers:
            return tuple(numbers)
    return (1,)


def _read_barline(
    node: Node, signs: BarSigns, report: XmlReporter, found: list[BarSigns], following: BarSigns
) -> None:
    """Take what a bar line says of its measure, of the one before, which is the last found, and of the next."""
    repeat = node.child("repeat")
    style = node.word("bar-style")
    location = node.get("location", "right") or "right"
    if repeat is not None:
        if repeat.get("direction") == "forward":
            (following if node.get("location") == "right" else signs).repeat_start = True
        else:
            times = min(max(whole(repeat.get("times") or "2") or 2, 2), MOST_PASSES)
            if location == "left" and found:
                found[-1].repeat_times = times
            else:
                signs.repeat_times = times
    elif location == "middle":
        report.left_out("bar lines inside a measure are left out", node.line)
    elif location == "left":
        if found and style in STYLES:
            found[-1].barline = STYLES[style]
    else:
        signs.barline = STYLES.get(style, Barline.SINGLE)
        if style not in STYLES and style not in PLAIN:
            report.changed("other bar line styles are read as single", node.line)
    for child in node.children:
        if child.tag not in {"bar-style", "repeat", "ending"}:
            report.leave_out(child.tag, child.line)


# Writing


def write_left(node: Node, measures: Sequence[Measure], index: int) -> None:
    """Append the bar line before a measure where a repeat or a bracket begins."""
    measure = measures[index]
    begins = _begins(measures, index)
    if not measure.repeat_start and not begins:
        return
    barline = node.add("barline", location="left")
    if measure.repeat_start:
        barline.add("bar-style", "heavy-light")
    if begins:
        barline.add("ending", number=_number(measure), type="start")
    if measure.repeat_start:
        barline.add("repeat", direction="forward")


def write_right(node: Node, measures: Sequence[Measure], index: int, report: XmlReporter) -> None:
    """Append the bar line behind a measure where it is more than a single one."""
    measure = measures[index]
    ends = bool(measure.endings) and (index + 1 == len(measures) or _begins(measures, index + 1, after=True))
    times = measure.repeat_times
    if measure.barline is Barline.SINGLE and not times and not ends:
        return
    barline = node.add("barline", location="right")
    if times:
        barline.add("bar-style", "light-heavy")
        meant = Barline.FINAL if index + 1 == len(measures) else Barline.SINGLE
        if measure.barline is not meant:
            message = f"a {measure.barline} bar line at the end of a repeat is written as the repeat sign"
            report.changed(message, place=Place(index))
    elif measure.barline is not Barline.SINGLE:
        barline.add("bar-style", WRITTEN[measure.barline])
    if ends:
        barline.add("ending", number=_number(measure), type="stop" if times else "discontinue")
    if times:
        barline.add("repeat", direction="backward", **({"times": times} if times != 2 else {}))


def _begins(measures: Sequence[Measure], index: int, *, after: bool = False) -> bool:
    """Whether a bracket begins at a measure or, with `after`, the one before has its end there."""
    measure, before = measures[index], measures[index - 1] if index else None
    goes_on = before is not None and before.endings == measure.endings and not before.repeat_times
    return not goes_on and (after or bool(measure.endings))


def _number(measure: Measure) -> str:
    return ", ".join(map(str, measure.endings))
