"""MusicXML files of the installed package music21, and their notes by that independent reader.

Nothing of the collection is copied: where the package is not installed there are no files. Run as a module
(`python -m tests.formats.musicxml_corpus`) it reads them all, compares every one and prints what differs.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from importlib.util import find_spec
from pathlib import Path

from tabterm.errors import FormatError
from tabterm.formats import musicxml

ENDINGS = (".xml", ".mxl", ".musicxml")

Sounding = tuple[Fraction, Fraction, int]
"""Offset in the measure and length, in quarters, and sounding MIDI note number. What is tied as a whole to what is
before it in the measure is joined to it."""


def files() -> list[Path]:
    """Every MusicXML file in the package, the scores of its corpus and the cases of its tests."""
    found = find_spec("music21")
    if found is None:
        return []
    folder = Path(found.submodule_search_locations[0])
    return sorted(path for path in folder.rglob("*") if path.suffix in ENDINGS)


def sample(count: int) -> list[Path]:
    """A fixed choice of the smaller files."""
    small = [path for path in files() if path.stat().st_size < 20_000]
    return random.Random(7).sample(small, min(count, len(small)))


def ours(score) -> list[Counter[Sounding]]:
    """The line as written, measure by measure."""
    measures = []
    for measure in score.measures:
        joined: list[list] = []
        at = Fraction(0)
        for event in measure.source or measure.events:
            pitches = _pitches(score, event)
            tied = event.tied if measure.source else bool(event.notes) and all(n.tied for n in event.notes)
            onset, length = _exact(at), _exact(at + event.duration.length) - _exact(at)
            if tied and joined and joined[-1][2] == pitches and joined[-1][0] + joined[-1][1] == onset:
                joined[-1][1] += length
            elif pitches:
                joined.append([onset, length, pitches])
            at += event.duration.length
        measures.append(Counter((at, length, pitch) for at, length, pitches in joined for pitch in pitches))
    return measures


def _pitches(score, event) -> tuple[int, ...]:
    if hasattr(event, "pitches"):
        return event.pitches
    return tuple(score.head.instrument.pitch(note.course, note.fret) for note in event.notes)


EXPLAINED = {
    "01d-Pitches-Microtones.xml": "a quarter tone is rounded up here, down there",
    "21f-Chord-ElementInBetween.xml": "a chord goes on over a direction in it; there its notes follow each other",
    "32c-MultipleNotationChildren.xml": "an accidental without `alter` does not change the pitch; there it does",
    "43d-MultiStaff-StaffChange.xml": "a voice is followed over to the other staff; there it is not",
    "k525OMRMvt1.xml": "scanned music with overfull measures, whose durations contradict the written values",
    "testTab.xml": "notes without pitch or rest, which the schema does not allow",
}
"""Files of one voice that differ, and why, by their names in the package."""

FOLDED = (
    *("opus19/movement6.mxl", "polonaise_op1n1.mxl", "polonaise_op1n4.mxl", "opus1no1/movement3.mxl"),
    *("k155/movement3.mxl", "rinaldo/Lascia_chio_pianga.mxl"),
)
"""Files with measures of several voices that differ: one line can hold notes of another voice only where the first
one's begin, and only as long as those are. With their folder where others have the same name."""


FOLDED_LARGE = (
    *("opus18no1/movement2.mxl", "opus18no4.mxl", "opus59no2/movement2.mxl", "opus59no3/movement1.mxl"),
    *("opus59no3/movement2.mxl", "h186.mxl", "layoutTestMore.xml", "opus41no1/movement4.mxl"),
    *("opus41no1/movement5.mxl",),
)
"""The same of those over 20 kB; over 150 kB none has been looked at."""


def name_of(path: Path) -> str:
    """A file as the tables above have it."""
    long = f"{path.parent.name}/{path.name}"
    return long if long in FOLDED + FOLDED_LARGE else path.name


@dataclass
class Theirs:
    """A part as music21 reads it: the notes of each measure, by voice, the first voice apart."""

    measures: list[Counter[Sounding]] = field(default_factory=list)
    voices: list[int] = field(default_factory=list)


def theirs(path: Path, index: int) -> Theirs:
    """The part of a number, from 0, or its first staff."""
    from music21 import converter, harmony

    parsed = converter.parse(path, forceSource=True, storePickle=False)
    part = [each for each in parsed.parts if not re.search(r"-Staff[2-9]$", str(each.id))][index]
    if any(each.transposition is not None for each in part.recurse().getElementsByClass("Instrument")):
        part = part.toSoundingPitch()
    found = Theirs()
    for measure in part.getElementsByClass("Measure"):
        voices = list(measure.voices) or [measure]
        notes: Counter[Sounding] = Counter()
        for voice in voices:
            notes += _joined(note for note in voice.notes if not isinstance(note, harmony.Harmony))
        found.measures.append(notes)
        found.voices.append(sum(bool(voice.notes) for voice in voices))
    return found


def _joined(elements) -> Counter[Sounding]:
    """Notes of a voice with what is tied to them in the measure."""
    going: dict[int, list] = {}
    every: list[list] = []
    for element in elements:
        if element.duration.isGrace or not hasattr(element, "pitches"):
            continue
        offset, end = _exact(element.offset), _exact(element.offset + element.quarterLength)
        notes = getattr(element, "notes", (element,))
        tied = all(note.tie is not None and note.tie.type in ("stop", "continue") for note in notes)
        length = end - offset
        for note in notes:
            pitch = round(note.pitch.ps)
            before = going.get(pitch)
            if tied and before is not None and before[0] + before[1] == offset:
                before[1] += length
            else:
                going[pitch] = [offset, length, pitch]
                every.append(going[pitch])
    return Counter(tuple(each) for each in every)


def _exact(number) -> Fraction:
    """A moment on a grid of 96 parts of a quarter: both readers round what a file's divisions do not go into."""
    return Fraction(round(number * 96), 96)


@dataclass
class Comparison:
    """How a file compares: how many measures, which of them differ, and in which of these one voice is not all."""

    measures: int
    differing: list[int]
    several_voices: list[int]
    shown: str = ""


def compare(path: Path) -> Comparison:
    """Read a file both ways."""
    reading = musicxml.read(path.read_bytes())
    own, other = ours(reading.music), theirs(path, chosen_part(path))
    differing = [
        index
        for index in range(max(len(own), len(other.measures)))
        if index >= len(own) or index >= len(other.measures) or set(own[index]) != set(other.measures[index])
    ]
    several = [index for index in differing if index < len(other.voices) and other.voices[index] > 1]
    shown = ""
    rest = [index for index in differing if index not in several]
    if rest:
        index = rest[0]
        mine = own[index] if index < len(own) else None
        their = other.measures[index] if index < len(other.measures) else None
        shown = f"measure {index}: ours {_show(mine, their)}, theirs {_show(their, mine)}"
    return Comparison(max(len(own), len(other.measures)), differing, several, shown)


def _show(one, other) -> str:
    if one is None:
        return "no such measure"
    left = sorted(set(one) - set(other or ()))
    return (
        ", ".join(f"{float(at):g}+{float(length):g} {pitch}" for at, length, pitch in left[:4]) or "nothing more"
    )


def chosen_part(path: Path) -> int:
    """The number, from 0, of the part that is read by default."""
    from tabterm.formats.musicxml.archive import unpacked
    from tabterm.formats.musicxml.parts import choose, parts_of
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import parse

    parts = parts_of(parse(unpacked(path.read_bytes())))
    return parts.index(choose(parts, None, XmlReporter()))


def main(paths: list[Path]) -> None:
    """Compare files and print the figures."""
    start = time.perf_counter()
    totals: dict[str, int] = defaultdict(int)
    for path in paths:
        try:
            found = compare(path)
        except FormatError as error:
            totals["refused"] += 1
            print(f"refused {path.name}: {error}")
            continue
        except Exception as error:  # noqa: BLE001
            totals["not read by music21"] += 1
            print(f"{path.name}: {error!r:.150}")
            continue
        totals["files"] += 1
        totals["measures"] += found.measures
        totals["measures that differ"] += len(found.differing)
        totals["of these with several voices"] += len(found.several_voices)
        totals["files that are equal"] += not found.differing
        excused = found.several_voices if name_of(path) in FOLDED + FOLDED_LARGE else []
        wrong = found.differing != excused and name_of(path) not in EXPLAINED
        totals["files that differ and are not named"] += wrong
        if wrong:
            print(f"NOT NAMED {path.name}: measures {found.differing}, several voices in {found.several_voices}")
        if found.shown:
            count = len(found.differing) - len(found.several_voices)
            print(f"{path.name}: {count} of {found.measures}; {found.shown}", flush=True)
    print(dict(totals), f"{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]] or files())
