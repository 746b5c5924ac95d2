"""What a page shows, read back from its SVG alone: words and signs with their places, lines of the staves."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import tabterm

SAMPLES = Path(__file__).parents[2] / "samples"
NATIVE = sorted(SAMPLES.glob("*.tabterm"))
SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Shown:
    """A sign or word: its class, what it is or says, its zero point in mm, its scale in mm."""

    kind: str
    text: str
    x: float
    y: float
    scale: float


def shown(svg: str) -> list[Shown]:
    """Every word and every sign of music of a page."""
    found = []
    for node in ET.fromstring(svg).iter():
        kind = node.get("class", "")
        if node.tag == f"{SVG}text":
            found.append(
                Shown(
                    kind, node.text or "", float(node.get("x")), float(node.get("y")), float(node.get("font-size"))
                )
            )
        elif node.tag == f"{SVG}use":
            x, y, scale = map(float, re.findall(r"[-\d.]+", node.get("transform")))
            found.append(Shown(kind, node.get("href")[1:], x, y, scale))
    return found


def lines(svg: str, kind: str) -> list[list[float]]:
    """Heights in mm of the lines of each staff of a kind (`staff`, `courses`), from the top of the page down."""
    staves = []
    for node in ET.fromstring(svg).iter(f"{SVG}path"):
        if node.get("class") == kind:
            heights = re.findall(r"M[-\d.]+ ([-\d.]+)", node.get("d"))
            staves.append(sorted({float(height) for height in heights}))
    return sorted(staves)


@cache
def opened(path):
    """A sample with fingers and strokes."""
    return tabterm.open(path, player=tabterm.Player()).fingered().score


CROSS = "\N{MULTIPLICATION SIGN}"


def digits_on(pages):
    """Course and text of every digit as it stands on the lines, system by system from left to right."""
    found = []
    for page in pages:
        staves, digits = lines(page.svg, "courses"), [each for each in shown(page.svg) if each.kind == "digit"]
        for staff in staves:
            middles = [(each.x, each.y - 0.67 * each.scale / 2, each.text) for each in digits]
            near = [each for each in middles if staff[0] - 0.5 < each[1] < staff[-1] + 0.5]
            placed = [(x, min(range(4), key=lambda at, y=y: abs(staff[at] - y)), y, text) for x, y, text in near]
            assert all(abs(staff[course] - y) < 0.15 for _, course, y, _ in placed)
            found += [(course + 1, text) for _, course, _, text in sorted(placed, key=lambda each: each[0])]
    return found


def digits_of(score):
    """The same of a score, the notes of a chord in any order."""
    for measure in score.measures:
        for event in measure.events:
            yield [
                (note.course, "\N{MULTIPLICATION SIGN}" if note.muted else str(note.fret)) for note in event.notes
            ]
