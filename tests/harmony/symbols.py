"""Chord symbols as people write them, with their notes, spelled from the definitions named above each group.

Definitions: kinds of MusicXML 4.0 (simple type `kind-value`, whose documentation names their tones), else the
shorthands and added degrees of Harte, Sandler, Abdallah and Gomez 2005, "Symbolic representation of musical
chords", ISMIR. That a thirteenth leaves the eleventh out, and the spellings: common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

TABLE = Path(__file__).with_suffix(".txt").read_text(encoding="utf-8")

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def _pitch_class(name: str) -> int:
    return (STEPS[name[0]] + name.count("#") - name.count("b")) % 12


def _entry(line: str) -> tuple[str, tuple[int, set[int], int]]:
    symbol, _, tones = line.partition(" = ")
    notes, _, bass = tones.partition(" / ")
    classes = [_pitch_class(each) for each in notes.split()]
    return symbol, (classes[0], set(classes), _pitch_class(bass) if bass else classes[0])


SYMBOLS = dict(_entry(line) for line in TABLE.splitlines() if " = " in line)
"""Root, tones and bass of each symbol, as pitch classes."""
