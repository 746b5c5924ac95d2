"""What stands over a system: sections, tempo and swing, remarks wrapped to their measures, endings, numbers."""

from __future__ import annotations

from functools import partial
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from tabterm.score.place import display_number
from tabterm.sheet import fonts
from tabterm.sheet.extents import words_width
from tabterm.sheet.ink import Glyph, Group, Rule, Words
from tabterm.sheet.panel import Spot
from tabterm.sheet.rows import Item

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.score.model import Score, Swing
    from tabterm.score.tempo import Tempo
    from tabterm.sheet.spacing import Placed

SECTION_EM, TEMPO_EM, REMARK_EM, NUMBER_EM, ENDING_EM = 2.3, 1.9, 1.75, 1.5, 1.7
LEADING = 1.25
"""Distance of two lines of a remark in ems."""

NOTES = {1: "metNoteWhole", 2: "metNoteHalfUp", 4: "metNoteQuarterUp", 8: "metNote8thUp", 16: "metNote16thUp"}
"""Signs of what a metronome mark counts (SMuFL 1.4, "Metronome marks")."""


def _start(system: Sequence[Placed], placed: Placed) -> float:
    return 0.0 if placed is system[0] else placed.left


def heading_items(score: Score, system: Sequence[Placed], width: float, *, first: bool) -> list[Item]:
    """Section, tempo and swing at the beginning of their measures, further left where the line ends too soon."""
    items: list[Item] = []
    for placed in system:
        measure, swing = score.measures[placed.index], score.head.swing
        at_start = first and placed is system[0]
        tempo = measure.tempo or (score.tempos[placed.index] if at_start else None)
        marks: list[tuple[str, Callable[[float, float], Group], str]] = []
        if measure.section:
            lines = wrapped(measure.section, width - 1.0, SECTION_EM, "bold")
            marks.append(("section", partial(_boxed, lines), measure.section))
        if tempo is not None:
            marks.append(("tempo", partial(tempo_mark, tempo), str(tempo)))
        if swing is not None and at_start:
            marks.append(("swing", partial(swing_mark, swing), f"{swing.long}:{swing.short}"))
        x = _start(system, placed)
        for kind, drawn, text in marks:
            own = drawn(0.0, 0.0).bounds[2]
            left = max(0.0, min(x, width - own))
            items.append(Item(kind, partial(drawn, left), Spot(placed.index), text))
            x = left + own + 1.4
    return items


def _boxed(lines: Sequence[str], x: float, y: float) -> Group:
    step = SECTION_EM * LEADING
    words = [
        Words(line, x + 0.5, y - (len(lines) - 1 - number) * step, SECTION_EM, "bold")
        for number, line in enumerate(lines)
    ]
    right, top, low = max(each.bounds[2] for each in words) + 0.5, words[0].bounds[1] - 0.5, y + 0.5
    corners = ((x, top), (right, top), (right, low), (x, low), (x, top))
    return Group((Rule(tuple(pairwise(corners)), 0.16), *words))


def tempo_mark(tempo: Tempo, x: float, y: float) -> Group:
    """A metronome mark: the note that is counted, and how many a minute."""
    parts, x = _note(tempo.beat.value, tempo.beat.dots, x, y)
    return Group((*parts, Words(f"= {tempo.per_minute:g}", x + 0.35, y, TEMPO_EM)))


def _note(value: int, dots: int, x: float, y: float) -> tuple[tuple[Glyph, ...], float]:
    size, name = 0.75, NOTES[value]
    parts = [Glyph(name, x, y - 0.1, size)]
    x += fonts.sign_width(name) * size
    for _ in range(dots):
        parts.append(Glyph("metAugmentationDot", x + 0.15, y - 0.1, size))
        x += 0.55
    return tuple(parts), x


def swing_mark(swing: Swing, x: float, y: float) -> Group:
    """How pairs are swung: two of their notes, and the ratio of long to short."""
    first, x1 = _note(swing.unit, 0, x, y)
    second, x2 = _note(swing.unit, 0, x1 + 0.2, y)
    text = f"= {swing.long}:{swing.short}  swing"
    return Group((*first, *second, Words(text, x2 + 0.35, y, TEMPO_EM, "italic")))


def remark_items(score: Score, system: Sequence[Placed], width: float) -> list[Item]:
    """Remarks, each in as many lines as its measures have room for until the next one."""
    remarked = [placed for placed in system if score.measures[placed.index].remark]
    items = []
    following = (*remarked[1:], None) if remarked else ()
    for placed, after in zip(remarked, following, strict=True):
        x = _start(system, placed)
        end = width if after is None else after.left - 0.8
        lines = wrapped(score.measures[placed.index].remark, max(end - x, 6.0))
        items.append(
            Item(
                "remark",
                partial(_lines, lines, x),
                Spot(placed.index),
                " ".join(lines),
            )
        )
    return items


def _lines(lines: Sequence[str], x: float, y: float) -> Group:
    last = len(lines) - 1
    return Group(
        tuple(
            Words(line, x, y - (last - number) * LEADING * REMARK_EM, REMARK_EM, "italic")
            for number, line in enumerate(lines)
        )
    )


def wrapped(text: str, width: float, em: float = REMARK_EM, style: fonts.Style = "italic") -> list[str]:
    """A text in lines of a width; words that are wider are cut."""
    lines, line = [], ""
    for word in text.split():
        while words_width(word, em, style) > width and len(word) > 1:
            room = next(
                n for n in range(len(word) - 1, 0, -1) if n == 1 or words_width(word[:n], em, style) <= width
            )
            lines += [line] if line else []
            lines.append(word[:room])
            line, word = "", word[room:]  # noqa: PLW2901 - what is left of the word is looked at again
        longer = f"{line} {word}" if line else word
        if words_width(longer, em, style) <= width:
            line = longer
        else:
            lines.append(line)
            line = word
    return [*lines, line] if line or not lines else lines


def ending_items(score: Score, system: Sequence[Placed]) -> list[Item]:
    """A bracket over the measures of each ending, with its numbers where it begins."""
    items = []
    for endings, run in groupby(system, key=lambda placed: score.measures[placed.index].endings):
        if not endings:
            continue
        held = list(run)
        first, last = held[0], held[-1]
        index = first.index
        begins = index == 0 or score.measures[index - 1].endings != endings
        closed = bool(score.measures[last.index].repeat_times)
        text = ", ".join(f"{number}." for number in endings) if begins else ""
        items.append(
            Item(
                "ending",
                partial(_bracket, text, first.left + 0.2, last.right - 0.3, closed=closed),
                Spot(index),
                text,
            )
        )
    return items


def _bracket(text: str, x0: float, x1: float, y: float, *, closed: bool) -> Group:
    top = y - 2.0
    pieces = [((x0, top), (x1, top))]
    pieces += [((x0, y), (x0, top))] if text else []
    pieces += [((x1, top), (x1, y))] if closed else []
    rules = tuple(Rule((piece,), 0.16) for piece in pieces)
    return Group((*rules, Words(text, x0 + 0.5, y - 0.25, ENDING_EM)) if text else rules)


def number_items(score: Score, system: Sequence[Placed]) -> list[Item]:
    """The number of the first measure of a system, as the editor counts."""
    number = str(display_number(score, system[0].index))
    if system[0].index == 0:
        return []
    return [
        Item("number", partial(Words, number, 0.0, size=NUMBER_EM, style="italic"), Spot(system[0].index), number)
    ]
