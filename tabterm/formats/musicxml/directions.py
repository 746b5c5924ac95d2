"""Tempo, swing, sections, words and schools of strokes: what stands over the staff."""

from __future__ import annotations

import re
from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.formats.musicxml.values import NAMES, number, whole, written_duration
from tabterm.score.kinds import Break, StrokeSchool
from tabterm.score.model import Swing
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.formats.musicxml.bars import Timed
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node
    from tabterm.score.duration import Duration
    from tabterm.score.model import Measure

SWING_UNITS = {"eighth": 8, "16th": 16}
SWING_NAMES = {unit: name for name, unit in SWING_UNITS.items()}
JUMPS = ("dacapo", "dalsegno", "tocoda", "fine", "segno", "coda")
SCHOOL = "strokes"
"""Type of `<other-play>` that holds a school of strokes, for which the standard has no element."""

BREAKS = {"new-page": Break.PAGE, "new-system": Break.SYSTEM}
"""Attributes of `<print>`, the first that is there counts."""

LONGEST_SECTION, LONGEST_REMARK = 40, 500
_PER_MINUTE = re.compile(r"\d{1,4}(?:\.\d{1,9})?", re.ASCII)


@dataclass(slots=True)
class Over:
    """What stands over a measure.

    Attributes:
        tempo: At its start, or None.
        later_tempo: The last one behind its start, or None.
        swing: As it is told last, None for straight.
        has_swing: Something is told of swing.
        school: Or None.
        sections: Rehearsal marks.
        words: Words.
    """

    tempo: Tempo | None = None
    later_tempo: Tempo | None = None
    swing: Swing | None = None
    has_swing: bool = False
    school: StrokeSchool | None = None
    sections: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    def section(self, report: XmlReporter, line: int) -> str:
        """The section mark of the measure."""
        return _cut(" ".join(self.sections), LONGEST_SECTION, report, line)

    def remark(self, report: XmlReporter, line: int) -> str:
        """The words of the measure."""
        return _cut("; ".join(self.words), LONGEST_REMARK, report, line)


def _cut(text: str, longest: int, report: XmlReporter, line: int) -> str:
    if len(text) > longest:
        report.left_out(f"text over a measure is cut after {longest} characters", line)
    return text[:longest]


def read_directions(timed: list[Timed], report: XmlReporter) -> Over:
    """What the directions and sounds of a measure say."""
    over = Over()
    for offset, node in timed:
        sound = node if node.tag == "sound" else node.child("sound")
        tempo = None
        if node.tag == "direction":
            for kind in node.children:
                if kind.tag == "direction-type":
                    tempo = _shown(over, kind, report) or tempo
                elif kind.tag != "sound":
                    report.leave_out(kind.tag, kind.line)
        if tempo is None and sound is not None:
            tempo = _played(sound, report)
        if tempo is not None:
            _set_tempo(over, tempo, offset)
        if sound is not None:
            _take_sound(over, sound, report)
    return over


def _set_tempo(over: Over, tempo: Tempo, offset: Fraction) -> None:
    if offset == 0:
        over.tempo = tempo
    else:
        over.later_tempo = tempo


def _shown(over: Over, kinds: Node, report: XmlReporter) -> Tempo | None:
    """Take words and marks; the tempo that a metronome mark shows, or None."""
    tempo = None
    for node in kinds.children:
        text = node.text if node.get("xml:space") == "preserve" else " ".join(node.text.split())
        if node.tag == "rehearsal":
            over.sections += [text] if text else []
        elif node.tag == "words":
            over.words += [text] if text else []
        elif node.tag == "metronome":
            tempo = _metronome(node, report) or tempo
        else:
            report.leave_out(node.tag, node.line)
    return tempo


def _metronome(node: Node, report: XmlReporter) -> Tempo | None:
    """The tempo of a metronome mark: a note value and a number; None for a relation of two note values."""
    beat = written_duration(node.word("beat-unit"), len(node.all("beat-unit-dot")), "", "")
    match = _PER_MINUTE.search(node.word("per-minute"))
    if beat is None or match is None:
        report.left_out("metronome marks without a number are left out", node.line)
        return None
    return _tempo(float(match.group()), report, node.line, beat=beat)


def _played(sound: Node, report: XmlReporter) -> Tempo | None:
    text = sound.get("tempo")
    value = number(text) if text else None
    return None if value is None else _tempo(float(value), report, sound.line)


def _tempo(per_minute: float, report: XmlReporter, line: int, **beat: Duration) -> Tempo:
    within = min(max(round(per_minute, 3), SLOWEST), FASTEST)
    if abs(within - per_minute) > 0.001:
        report.changed("tempos under 10 or over 400 are read as 10 or 400", line)
    return Tempo(within, **beat)


def _take_sound(over: Over, sound: Node, report: XmlReporter) -> None:
    if any(sound.get(jump) for jump in JUMPS):
        report.left_out(
            "jumps (da capo, dal segno, coda, fine) are left out; their words become remarks", sound.line
        )
    for node in sound.children:
        if node.tag == "swing":
            over.has_swing, over.swing = True, _swing(node, report)
        elif node.tag == "play":
            for each in node.all("other-play"):
                if each.get("type") == SCHOOL and each.text.strip() in set(StrokeSchool):
                    over.school = StrokeSchool(each.text.strip())


def _swing(node: Node, report: XmlReporter) -> Swing | None:
    """The ratio; None for straight, or where it is none that the model has."""
    if node.child("straight") is not None:
        return None
    long, short = whole(node.word("first")), whole(node.word("second"))
    unit = SWING_UNITS.get(node.word("swing-type") or "eighth")
    try:
        return Swing(unit=unit or 0, long=long or 0, short=short or 0)
    except (ValueError, ScoreError):
        report.left_out("an unknown swing is left out", node.line)
        return None


# Writing


def write_tempo(measure: Node, tempo: Tempo, swing: Swing | None = None) -> None:
    """Append a metronome mark that is played as well, and the swing."""
    direction = measure.add("direction", placement="above")
    metronome = direction.add("direction-type").add("metronome")
    metronome.add("beat-unit", NAMES[tempo.beat.value])
    for _ in range(tempo.beat.dots):
        metronome.add("beat-unit-dot")
    metronome.add("per-minute", repr(tempo.per_minute).removesuffix(".0"))
    sound = direction.add("sound", tempo=f"{tempo.quarters_per_minute:.6f}".rstrip("0").rstrip("."))
    if swing is not None:
        node = sound.add("swing")
        node.add("first", swing.long)
        node.add("second", swing.short)
        node.add("swing-type", SWING_NAMES[swing.unit])


def read_break(node: Node) -> Break | None:
    """What `<print>` begins with its measure; None where it says something else of the page."""
    begun = [each for name, each in BREAKS.items() if node.get(name) == "yes"]
    return begun[0] if begun else None


def write_break(node: Node, measure: Measure) -> None:
    """Append what begins with a measure on a printed page."""
    for name, begun in BREAKS.items():
        if measure.break_before is begun:
            node.add("print", **{name: "yes"})


def write_marks(node: Node, measure: Measure) -> None:
    """Append the section mark, the remark and the school of strokes of a measure."""
    for tag, text in (("rehearsal", measure.section), ("words", measure.remark)):
        if text:
            direction = node.add("direction", placement="above")
            direction.add("direction-type").add(tag, text, xml__space="preserve")
    if measure.school is not None:
        node.add("sound").add("play").add("other-play", measure.school.value, type=SCHOOL)
