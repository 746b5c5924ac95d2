"""What the fingerings of ten violinists say of a left hand: the counts that bands, terms and pages name.

`python -m tests.hand.violin FOLDER` prints them. FOLDER holds the TNUA violin fingering dataset (Jen, Kao, Su and
others 2021, "Positioning Left-hand Movement in Violin Performance", IUI, doi 10.1145/3397481.3450661), published
at github.com/Tsung-Ping/Violin-Fingering-Generation, folder TNUA_violin_fingering_dataset. It carries no licence,
so this project holds none of it. A file is one player's labels of one work, `vio1_bach1.csv`:

    pitch,start,duration,beat_type,string,position,finger

with MIDI pitches, strings from 1 (G) to 4 (E), positions from 0 (half position) and fingers from 0 (open). Notes
of different players belong together by their order in the work, since `start` begins anew with each measure.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np

from tabterm.hand.bands import BANDS

OPEN = {1: 55, 2: 62, 3: 69, 4: 76}
STRING_MM = 328.0
"""Sounding length of a violin's string, nominal (from memory)."""


class Label(NamedTuple):
    """A note as a player labelled it."""

    pitch: int
    string: int
    position: int
    finger: int

    @property
    def semitones(self) -> int:
        """How far above the open string it is stopped."""
        return self.pitch - OPEN[self.string]

    @property
    def mm(self) -> float:
        """Its distance from the nut."""
        return STRING_MM * (1.0 - 2.0 ** (-self.semitones / 12.0))


Labels = Mapping[tuple[str, str], list[Label]]
"""By player and work."""


def read(folder: Path) -> Labels:
    """All labels of the folder."""
    found = {}
    for path in sorted(folder.glob("vio*_*.csv")):
        player, _, work = path.stem.partition("_")
        with path.open(encoding="utf-8", newline="") as file:
            rows = csv.DictReader(file)
            found[player, work] = [Label(*(int(float(row[name] or 0)) for name in Label._fields)) for row in rows]
    return found


def stopped_pairs(labels: Labels) -> Iterator[tuple[Label, Label]]:
    """Two notes in a row, both stopped."""
    for notes in labels.values():
        for one, other in pairwise(notes):
            if one.finger and other.finger and one.string and other.string:
                yield one, other


def reaches(labels: Labels) -> dict[tuple[int, int], list[float]]:
    """Mm from the lower finger to the higher, of two different ones in a row in one position, by pair."""
    found = defaultdict(list)
    for one, other in stopped_pairs(labels):
        if one.position == other.position and one.finger != other.finger:
            low, high = sorted((one, other), key=lambda label: label.finger)
            found[low.finger, high.finger].append(high.mm - low.mm)
    return found


def one_finger_on_two_strings(labels: Labels) -> tuple[int, int]:
    """Of two notes in a row at one height on neighbouring strings: those by one finger, and all."""
    same = [
        one.finger == other.finger
        for one, other in stopped_pairs(labels)
        if abs(one.string - other.string) == 1 and one.semitones == other.semitones
    ]
    return sum(same), len(same)


def fingers_of_first_position(labels: Labels) -> dict[int, Counter[int]]:
    """How often each finger stops a semitone above the open string, in first position."""
    found: dict[int, Counter[int]] = defaultdict(Counter)
    for label in (label for notes in labels.values() for label in notes):
        if label.position == 1 and label.finger and label.string:
            found[label.semitones][label.finger] += 1
    return found


def agreement(labels: Labels, fields: Iterable[str]) -> float:
    """In what part of their notes any two players have the same labels, over all pairs of players and works.

    Of a work of which two have another number of notes that pair is left out: its notes cannot be told apart.
    """
    names, same, total = tuple(fields), 0, 0
    for work in {work for _, work in labels}:
        players = [notes for (_, its), notes in labels.items() if its == work]
        for one, other in combinations(players, 2):
            for mine, yours in zip(one, other, strict=True) if len(one) == len(other) else ():
                same += all(getattr(mine, name) == getattr(yours, name) for name in names)
                total += 1
    return same / total if total else 0.0


def report(labels: Labels) -> Iterator[str]:
    """Lines of all counts, with the bands of the program beside them."""
    players = {player for player, _ in labels}
    yield f"{sum(map(len, labels.values()))} labels in {len(labels)} files of {len(players)} players"
    yield "fingers      n    5 %   50 %   95 %   99 %   natural  comfortable (mm)"
    for pair, found in sorted(reaches(labels).items()):
        points = "".join(f"{mm:7.1f}" for mm in np.percentile(found, (5, 50, 95, 99)))
        band = BANDS[pair]
        yield f"{pair[0]}-{pair[1]}  {len(found):9}{points}{band.natural_mm:10g}{band.comfortable_mm:13g}"
    same, total = one_finger_on_two_strings(labels)
    yield f"one finger on two strings at one height: {same} of {total}"
    for semitones, fingers in sorted(fingers_of_first_position(labels).items()):
        shares = (f"{finger}: {count / fingers.total():.1%}" for finger, count in fingers.most_common(3))
        yield f"first position, {semitones} semitones: {', '.join(shares)}"
    for fields in (("finger",), ("string",), ("string", "finger"), ("string", "position", "finger")):
        yield f"any two players agree on {' and '.join(fields)}: {agreement(labels, fields):.1%}"


if __name__ == "__main__":
    if len(sys.argv) != 2 or not (found := read(Path(sys.argv[1]))):
        sys.exit("usage: python -m tests.hand.violin FOLDER, with the vio*_*.csv files of the TNUA data set in it")
    print(*report(found), sep="\n")
