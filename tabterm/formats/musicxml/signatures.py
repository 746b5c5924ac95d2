"""Keys and time signatures, and which notes show an accidental."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, lcm
from typing import TYPE_CHECKING, NamedTuple

from tabterm.errors import ScoreError
from tabterm.formats.musicxml.values import number, whole
from tabterm.harmony.spelling import spell_pitch
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.metre import Metre

if TYPE_CHECKING:
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node


OTHER_MODES = {"ionian": "major", "aeolian": "minor", "none": "major", "": "major"}
STEPS = "FCGDAEB"
"""On the line of fifths, from F."""

SHARPEST = 7
COMMON, CUT = "common", "cut"
SIGNS = {"C": COMMON, "C|": CUT}
FINEST_UNIT = 64
GRIDS = tuple(Fraction(4, 1 << power) for power in range(6, -1, -1))
"""Quarters that metres can end on: of few units each sixteenth of one, of many only coarser ones."""


def read_key(node: Node, report: XmlReporter) -> Key | None:
    """The key of a `<key>`; None where it is none that the model has, which is reported."""
    fifths = whole(node.word("fifths"))
    mode = node.word("mode").lower()
    if fifths is None and node.child("key-step") is not None:
        alters = [number(each.text.strip()) or Fraction(0) for each in node.all("key-alter")]
        fifths = sum(1 if alter > 0 else -1 for alter in alters if alter)
        sharps = {each.text.strip() for each in node.all("key-step")}
        if sharps != set(_altered(fifths)):
            report.changed(
                "a custom key signature is read as the usual one with as many sharps or flats", node.line
            )
    mode = OTHER_MODES.get(mode, mode)
    if fifths is None or mode not in MODE_FIFTHS or abs(fifths) > 2 * SHARPEST:
        report.left_out("an unknown key is left out", node.line)
        return None
    key = _key(fifths, mode)
    if key is None:
        report.changed("a key with too many sharps or flats is read as the one that sounds the same", node.line)
        key = _key(fifths - 12 if fifths > 0 else fifths + 12, mode)
    return key


def _altered(fifths: int) -> str:
    return STEPS[:fifths] if fifths >= 0 else STEPS[fifths:]


def _key(fifths: int, mode: str) -> Key | None:
    """The key of a mode whose signature has so many sharps; None where its tonic would need two accidentals."""
    alter, step = divmod(fifths - MODE_FIFTHS[mode] + 1, 7)
    return Key.parse(str(Key(STEPS[step], alter, mode))) if -1 <= alter <= 1 else None


def write_key(attributes: Node, key: Key) -> None:
    """Append a `<key>`."""
    node = attributes.add("key")
    node.add("fifths", key.fifths)
    node.add("mode", key.mode)


def read_metre(node: Node, report: XmlReporter) -> Metre | None:
    """The metre of a `<time>`; None where it has none, or none that the model has, which is reported.

    Additive signatures keep their groups; several in a row become one over the smallest unit.
    """
    if node.child("senza-misura") is not None:
        report.changed("music without a metre keeps the file's measures", node.line)
        return None
    for child in node.children:
        if child.tag not in {"beats", "beat-type"}:
            report.leave_out(child.tag, child.line)
    pairs = [
        (_groups(beats.text), whole(unit.text.strip()))
        for beats, unit in zip(node.all("beats"), node.all("beat-type"), strict=False)
    ]
    known = [(groups, unit) for groups, unit in pairs if groups and unit and 0 < unit <= FINEST_UNIT]
    try:
        if known and len(known) == len(pairs):
            return _metre(known, node.get("symbol"))
    except ScoreError:
        pass
    report.left_out("an unknown time signature is left out", node.line)
    return None


def _metre(pairs: list[tuple[list[int], int]], symbol: str) -> Metre:
    unit = lcm(*(unit for _, unit in pairs))
    groups = [size * unit // own for sizes, own in pairs for size in sizes]
    for sign, name in SIGNS.items():
        metre = Metre.parse(sign)
        if symbol == name and (metre.count, metre.unit) == (sum(groups), unit):
            return metre
    written = f"({'+'.join(map(str, groups))})" if len(groups) > 1 else ""
    return Metre.parse(f"{sum(groups)}/{unit}{written}")


def _groups(text: str) -> list[int]:
    """The numbers of `3+2`; [] where there is anything else."""
    numbers = [whole(part.strip()) for part in text.split("+")]
    return [each for each in numbers if each is not None and each > 0] if None not in numbers else []


def metre_holding(length: Fraction, like: Metre) -> Metre | None:
    """The shortest metre that lasts so many quarters or more, with the unit of another one where that can be."""
    lengths = (length, *(ceil(length / step) * step for step in GRIDS))
    return next((metre for each in lengths if (metre := _metre_of_length(each, like)) is not None), None)


def _metre_of_length(length: Fraction, like: Metre) -> Metre | None:
    """A metre that lasts exactly so many quarters."""
    for unit in sorted({like.unit, 4, 8, 16, 32, FINEST_UNIT, 2, 1}, key=lambda unit: (unit < like.unit, unit)):
        count = length * unit / 4
        if count.denominator == 1 and 1 <= count <= 99:
            return Metre.parse(f"{count}/{unit}")
    return None


def write_metre(attributes: Node, metre: Metre) -> None:
    """Append a `<time>`."""
    node = attributes.add("time", **({"symbol": SIGNS[metre.sign]} if metre.sign else {}))
    node.add("beats", "+".join(map(str, metre.groups)) if metre.groups else metre.count)
    node.add("beat-type", metre.unit)


NAMES = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
HIGHEST_OCTAVE = 9
"""Octaves of the standard are 0 to 9."""

Spelled = tuple[str, int, int]
"""Step, alteration in semitones, octave."""


def spelled(pitch: int, key: Key) -> Spelled:
    """A MIDI note number as a key writes it; the octave is that of the step (Cb5 sounds B4)."""
    name = spell_pitch(pitch, key)
    alter = name.count("#") - name.count("b")
    return name[0], alter, (pitch - alter) // 12 - 1


class Shown(NamedTuple):
    """The accidental that a note shows: its name, "" for none, and whether it is a courtesy."""

    name: str
    is_courtesy: bool = False


class Accidentals:
    """Remembers what has been shown in a measure, and what the one before altered.

    A note that is back in the key, after an altered one on its line or space in the measure before, shows it as a
    courtesy: common practice, no source.
    """

    def __init__(self) -> None:
        self._key: Key | None = None
        self._in_force: dict[str, int] = {}
        self._before: dict[tuple[str, int], int] = {}
        self._shown: dict[tuple[str, int], int] = {}
        self._last: dict[tuple[str, int], int] = {}

    def begin(self, key: Key) -> None:
        """Begin a measure; a new key says all that a courtesy would."""
        self._before = self._last if key == self._key else {}
        self._key, self._shown, self._last = key, {}, {}
        self._in_force = {step: (key.fifths - at + 6) // 7 for at, step in enumerate(STEPS)}

    def name(self, note: Spelled, *, tied: bool = False) -> Shown:
        """The accidental that a note shows; none where it is held."""
        step, alter, octave = note
        place = step, octave
        self._last[place] = alter
        if tied:
            return Shown("")
        is_new = self._shown.get(place, self._in_force[step]) != alter
        is_courtesy = not is_new and place not in self._shown and self._before.get(place, alter) != alter
        self._shown[place] = alter
        return Shown(NAMES.get(alter, "") if is_new or is_courtesy else "", is_courtesy)
