"""Notation read from the SVG of a page as a musician reads it: clef, key, accidentals that last for a measure.

Nothing but the shapes and their places is used. That an accidental holds for its line or space until the bar line,
and the key for every octave, are rules of notation (Gould 2011, "Behind Bars", from memory).
"""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from tests.sheet.drawn import SVG, lines, shown

LOWEST = {"gClef": ("E", 4), "gClef8vb": ("E", 3), "fClef": ("G", 2)}
"""What stands on the lowest line under each clef."""

LETTERS = "CDEFGAB"
ALTERS = {
    "accidentalSharp": 1,
    "accidentalFlat": -1,
    "accidentalNatural": 0,
    "accidentalDoubleSharp": 2,
    "accidentalDoubleFlat": -2,
}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def bars(svg):
    """Place and height of the top of every bar line of a page, in mm."""
    found = []
    for node in ET.fromstring(svg).iter(f"{SVG}path"):
        if node.get("class") == "barline":
            x, top, _, bottom = map(float, re.findall(r"-?[\d.]+", node.get("d")))
            found.append((x, top, bottom))
    return found


def ties(svg):
    """Where each tie of a page ends, in mm."""
    found = []
    for node in ET.fromstring(svg).iter(f"{SVG}path"):
        if node.get("class") == "tie":
            numbers = list(map(float, re.findall(r"-?[\d.]+", node.get("d"))))
            found.append((numbers[6], numbers[7]))
    return found


def measures_on(pages):
    """For each measure of each staff of notation: its moments, each as the pitches (MIDI note numbers) on it."""
    measures, last = [], {}
    for page in pages:
        marks, bar_lines, staves, tied = shown(page.svg), bars(page.svg), lines(page.svg, "staff"), ties(page.svg)
        for staff in staves:
            mine = [
                each
                for each in marks
                if (each.kind in {"notehead", "grace", "key", "accidental"} or each.text in LOWEST)
                and min(staves, key=lambda other, y=each.y: abs((other[0] + other[-1]) / 2 - y)) is staff
            ]
            own = [x for x, top, _ in bar_lines if abs(top - staff[0]) < 0.1]
            read, last = _measures(mine, staff, (staff[-1] - staff[0]) / 4, own, tied, last)
            measures += read
    return measures


def _measures(marks, staff, space, bar_lines, tied, last):
    clef = next(each for each in marks if each.kind == "clef" and each.text in LOWEST)
    letter, octave = LOWEST[clef.text]
    bottom = octave * 7 + LETTERS.index(letter)
    key, carried, found, moment, before, now = {}, {}, [[]], None, None, last
    items = [(each.x, each) for each in marks if each is not clef] + [(x, None) for x in bar_lines]
    for x, each in sorted(items, key=lambda item: item[0]):
        if each is None:
            carried, moment, before = {}, None, None
            if found[-1]:
                found.append([])
            continue
        step = bottom + round((staff[-1] - each.y) / (space / 2))
        if each.kind == "key":
            key = key if before == "key" else {}
            key[LETTERS[step % 7]] = ALTERS[each.text]
        elif each.kind == "accidental":
            carried[step] = ALTERS[each.text]
        else:
            if moment is None or x - moment > 1.5 * space or "grace" in {each.kind, before}:
                found[-1].append([])
                moment, last, now = x, now, {}
            held = step in last and any(_ends_at(tie, each, space, marks) for tie in tied)
            alter = last[step] if held else carried.get(step, key.get(LETTERS[step % 7], 0))
            now[step] = alter
            pitch = 12 * (step // 7 + 1) + SEMITONES[LETTERS[step % 7]] + alter
            found[-1][-1].append((step, pitch))
        before = each.kind if each.kind != "accidental" else before
    return [[sorted(pitch for _, pitch in each) for each in measure] for measure in found if measure], now


def _ends_at(tie, head, space, marks):
    """Whether a tie ends at a head: above or below its middle, with no other head of its height before it."""
    if not (0 <= head.x - tie[0] < 7 * space and abs(head.y - tie[1]) < 0.75 * space):
        return False
    return not any(
        each.kind in {"notehead", "grace"} and each.y == head.y and tie[0] < each.x < head.x for each in marks
    )
