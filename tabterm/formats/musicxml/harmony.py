"""Chord symbols: the standard's roots, kinds and degrees, and the player's text."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.formats.musicxml.values import number, whole
from tabterm.harmony.chords import Chord, is_no_chord, parse_chord, spelled_root

if TYPE_CHECKING:
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node

LONGEST = 24
"""Characters of a chord symbol of the model."""

NO_CHORD_TEXT = "N.C."

Degree = tuple[int, int, str]
"""Degree, alteration in semitones, and what is done to it."""

TEXTS = {
    "major": "",
    "minor": "m",
    "augmented": "aug",
    "diminished": "dim",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "dim7",
    "augmented-seventh": "aug7",
    "half-diminished": "m7b5",
    "major-minor": "mmaj7",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "Neapolitan": "N6",
    "Italian": "It6",
    "French": "Fr6",
    "German": "Ger6",
    "pedal": "ped",
    "power": "5",
    "Tristan": "Tristan",
    "other": "",
    "none": "",
}
"""Every kind of MusicXML 4.0 (simple type `kind-value`) and how it is spelled where the file gives no text."""

SUSPENDED = {"suspended-fourth": "sus4", "suspended-second": "sus2"}
"""Kinds that a seventh goes before: a suspended fourth with a seventh is `7sus4`."""

ADDED = {
    1: (9, -1),
    2: (9, 0),
    3: (9, 1),
    4: (3, 0),
    5: (11, 0),
    6: (11, 1),
    7: (5, 0),
    8: (13, -1),
    9: (13, 0),
    10: (7, 0),
    11: (7, 1),
}
"""Degree and alteration of an interval that is added, against those of a dominant chord (`degree-alter`)."""

TAKEN = {2: 9, 3: 3, 4: 3, 5: 11, 6: 5, 7: 5, 8: 5, 9: 13, 10: 7, 11: 7}
"""Degree of an interval that is taken away."""

_SPELLED = str.maketrans({"♭": "b", "♯": "#", "\N{MINUS SIGN}": "-", "\N{EN DASH}": "-"})
_ROOT = r"[A-H](?:is(?!us)|es|s(?!us)|[#b♯♭]{0,2})"
_SYMBOL = re.compile(rf"^({_ROOT})(.*?)(?:/({_ROOT}))?$", re.DOTALL)
_ACCIDENTALS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}


# Reading


def read_harmony(node: Node, report: XmlReporter, *, is_own: bool) -> str:
    """The symbol of a `<harmony>`, or "" where it says none that can be carried.

    The text of the file is kept where it is understood, or where nothing else is; signs of another program for
    flat and sharp are spelled.
    """
    for child in node.children:
        if child.tag not in {"root", "kind", "bass", "degree", "staff", "offset", "inversion"}:
            report.leave_out(child.tag, child.line)
    kind = node.child("kind")
    name = "" if kind is None else kind.text.strip()
    text = "" if kind is None else "".join(kind.get("text").split())
    text = text if is_own else text.translate(_SPELLED)
    root = _step(node.child("root"), "root", is_own=is_own)
    if name == "none" or is_no_chord(text):
        return text if is_no_chord(text) else NO_CHORD_TEXT
    if not root:
        if node.child("root") is not None and text:  # written without a root to be read, as by us
            return text[:LONGEST]
        report.left_out("chord symbols without a root are left out", node.line)
        return ""
    bass = _step(node.child("bass"), "bass", is_own=is_own)
    over = f"/{bass}" if bass else ""
    degrees = [_degree(each) for each in node.all("degree")]
    words = "".join(map(_degree_text, degrees))
    plain = root + _quality(name, degrees) + over
    told = [f"{root}{text}{over}", f"{root}{text}{words}{over}"] if text else []
    symbols = told if name == "other" else [*_agreeing(told, plain), plain, *told]
    symbol = next((each for each in symbols if parse_chord(each) is not None), told[0] if told else plain)
    if len(symbol) > LONGEST:
        report.left_out("chord symbols of more than 24 characters are cut", node.line)
    return symbol[:LONGEST]


def _quality(kind: str, degrees: list[Degree]) -> str:
    """How a kind with its degrees is spelled."""
    seventh = (7, 0, "add")
    if kind in SUSPENDED and seventh in degrees:
        return "7" + "".join(_degree_text(each) for each in degrees if each != seventh) + SUSPENDED[kind]
    return TEXTS.get(kind, "") + "".join(map(_degree_text, degrees))


def _agreeing(told: list[str], plain: str) -> list[str]:
    """Spellings that mean what the kind means; where that is not understood, the longer one first."""
    meant = parse_chord(plain)
    return [each for each in told if _same(parse_chord(each), meant)] if meant is not None else told[::-1]


def _same(one: Chord | None, other: Chord | None) -> bool:
    """The same notes over the same bass."""
    if one is None or other is None:
        return False
    return (one.root, one.bass, set(one.intervals)) == (other.root, other.bass, set(other.intervals))


def _step(node: Node | None, prefix: str, *, is_own: bool) -> str:
    """A root or bass as `F#`, or as the player wrote it; "" where there is none, or the file shows none."""
    step = None if node is None else node.child(f"{prefix}-step")
    if node is None or step is None or step.attributes.get("text") == "":
        return ""
    if is_own and step.get("text"):
        return step.get("text")
    letter = step.text.strip().upper()
    alter = number(node.word(f"{prefix}-alter") or "0") or 0
    return letter + _ACCIDENTALS.get(round(alter), "") if letter in set("ABCDEFG") else ""


def _degree(node: Node) -> Degree:
    alter = round(number(node.word("degree-alter") or "0") or 0)
    return whole(node.word("degree-value")) or 0, alter, node.word("degree-type")


def _degree_text(degree: Degree) -> str:
    """`b9`, `add9`, `#11`, `no3` and the like."""
    value, alter, kind = degree
    if kind == "subtract":
        return f"no{value}"
    if (value, alter) == (7, 1):
        return "maj7"
    accidental = _ACCIDENTALS.get(alter, "")
    return f"{accidental}{value}" if accidental or kind == "alter" else f"add{value}"


# Writing


def write_harmony(measure: Node, symbol: str, offset: str = "", *, german: bool = False) -> None:
    """Append a `<harmony>` that says a symbol, with the player's text."""
    harmony = measure.add("harmony")
    match = _SYMBOL.match(symbol)
    if is_no_chord(symbol) or match is None:
        root = harmony.add("root")
        root.add("root-step", "C", text="")
        harmony.add("kind", "none" if is_no_chord(symbol) else "other", text=symbol)
    else:
        root_name, quality, bass_name = match.groups()
        _add_step(harmony, "root", root_name, german=german)
        kind, degrees = kind_of(symbol, german=german)
        harmony.add("kind", kind, text=quality)
        if bass_name:
            _add_step(harmony, "bass", bass_name, german=german)
        for value, alter, what in degrees:
            degree = harmony.add("degree", print_object="no")
            degree.add("degree-value", value)
            degree.add("degree-alter", alter)
            degree.add("degree-type", what)
    if offset:
        harmony.add("offset", offset)


def kind_of(symbol: str, *, german: bool = False) -> tuple[str, list[Degree]]:
    """The kind of a symbol by what it means, with the fewest degrees; `other` where it is not understood."""
    chord = parse_chord(symbol, german=german)
    if chord is None:
        return "other", []
    written = [
        (kind, _difference(set(base.intervals), set(chord.intervals)))
        for kind, text in TEXTS.items()
        if kind not in {"other", "none"} and (base := parse_chord(f"C{text}")) is not None
    ]
    return min(written, key=lambda each: len(each[1]))


def _difference(base: set[int], wanted: set[int]) -> list[Degree]:
    """The degrees that make of the intervals of a kind those that are wanted."""
    new, gone = wanted - base, base - wanted
    degrees: list[Degree] = []
    fifths = new & {6, 8}
    if 7 in gone and len(fifths) == 1:
        degrees.append((5, fifths.pop() - 7, "alter"))
        new, gone = new - {6, 8}, gone - {7}
    degrees += [(*ADDED[interval], "add") for interval in sorted(new)]
    return degrees + [(TAKEN[interval], 0, "subtract") for interval in sorted(gone)]


def _add_step(harmony: Node, name: str, written: str, *, german: bool) -> None:
    """A root or bass; where it is written otherwise than the standard spells it, with that as its text."""
    step, alter = spelled_root(written, german=german)
    own = {} if written == step + _ACCIDENTALS[alter] else {"text": written}
    node = harmony.add(name)
    node.add(f"{name}-step", step, **own)
    if alter:
        node.add(f"{name}-alter", alter, **({"print_object": "no"} if own else {}))
