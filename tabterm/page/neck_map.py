"""A map of the neck, to scale: the notes of a pool, double stops or a position, in lines of text or drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.spelling import note_name
from tabterm.instrument import fret_distance_mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.harmony.dyads import Dyad
    from tabterm.harmony.pools import Pool
    from tabterm.instrument import Instrument

SHORT = "o"
"""What stands where there is no room for the words of a mark."""


class Mark(NamedTuple):
    """A note on the neck: what is written on it, and whether it is the root."""

    course: int
    fret: int
    text: str
    root: bool = False


@dataclass(frozen=True, slots=True)
class NeckMap:
    """What is marked on a neck.

    Attributes:
        title: What it shows.
        instrument: Whose neck.
        marks: Its notes.
        pairs: Marks that are played together, as the numbers of two of them.
        lowest: The fret that it begins with; 0 is the nut.
        highest: The last fret that is shown.
    """

    title: str
    instrument: Instrument
    marks: tuple[Mark, ...]
    pairs: tuple[tuple[int, int], ...] = ()
    lowest: int = 0
    highest: int = 12


def map_of_pool(
    pool: Pool, instrument: Instrument, *, lowest: int = 0, highest: int = 12, names: bool = False
) -> NeckMap:
    """Every note of a pool, with its degree or its name."""
    marks = [
        Mark(course, fret, _text(pool, pitch, names=names), (pitch - pool.root) % 12 == 0)
        for course in range(1, instrument.course_count + 1)
        for fret in range(lowest, min(highest, instrument.frets) + 1)
        if pool.degree(pitch := instrument.pitch(course, fret)) is not None
    ]
    return NeckMap(pool.name, instrument, tuple(marks), (), lowest, min(highest, instrument.frets))


def _text(pool: Pool, pitch: int, *, names: bool) -> str:
    degree = pool.degree(pitch) or ""
    if not names:
        return degree
    return note_name(_nearest(pool, pitch))


def _nearest(pool: Pool, pitch: int) -> int:
    """Where a tone of a pool is written on the line of fifths: by its degree above the root."""
    degree = pool.degree(pitch) or "1"
    number = (0, 2, 4, -1, 1, 3, 5)[(int(degree.strip("#b")) - 1) % 7]
    return pool.fifths + number + 7 * (degree.count("#") - degree.count("b"))


def map_of_stops(
    title: str, instrument: Instrument, stops: Iterable[tuple[int, int, int]], pool: Pool, *, highest: int = 12
) -> NeckMap:
    """A position: course, fret and finger of each note, with the fingers."""
    marks = tuple(
        Mark(course, fret, str(finger), (instrument.pitch(course, fret) - pool.root) % 12 == 0)
        for course, fret, finger in stops
    )
    return NeckMap(title, instrument, marks, (), 0, highest)


def map_of_dyads(
    title: str,
    instrument: Instrument,
    pairs: Sequence[tuple[Dyad, tuple[str, str]]],
    pool: Pool,
    *,
    highest: int = 12,
) -> NeckMap:
    """Double stops, with a text for the lower note and one for the higher."""
    numbers: dict[tuple[int, int], int] = {}
    marks: list[Mark] = []
    joined = []
    for pair, texts in pairs:
        ends = []
        for (course, fret), text in zip((pair.low, pair.high), texts, strict=True):
            if (course, fret) not in numbers:
                numbers[course, fret] = len(marks)
                root = (instrument.pitch(course, fret) - pool.root) % 12 == 0
                marks.append(Mark(course, fret, text, root))
            ends.append(numbers[course, fret])
        joined.append((ends[0], ends[1]))
    return NeckMap(title, instrument, tuple(marks), tuple(joined), 0, highest)


def wires(instrument: Instrument, highest: int, room: int) -> tuple[int, ...]:
    """Cell of the nut and of each fret up to one, to scale; the last is at the end of the room."""
    whole = fret_distance_mm(instrument.scale_length_mm, highest)
    return tuple(
        round(fret_distance_mm(instrument.scale_length_mm, fret) / whole * (room - 1))
        for fret in range(highest + 1)
    )


LEFT = 5
"""Cells before the nut: the course's letter, and what is open."""


def text_of(shown: NeckMap, width: int = 78) -> list[str]:
    """The neck in lines: fret numbers, then the courses, the highest on top; `o` where a text has no room."""
    instrument, at = shown.instrument, wires(shown.instrument, shown.highest, width - LEFT)
    numbers = [" "] * width
    for fret in range(1, shown.highest + 1):
        _put(numbers, LEFT + _middle(at, fret, len(str(fret))), str(fret), at[fret] - at[fret - 1])
    lines = ["".join(numbers).rstrip()]
    for course, letter in enumerate(instrument.course_letters(), 1):
        line = [" "] * LEFT + ["-"] * (width - LEFT)
        line[0] = letter
        for x in at:
            line[LEFT + x] = "|"
        for mark, x, text in placed(shown, width):
            if mark.course == course:
                line[x : x + len(text)] = text
        lines.append("".join(line))
    return lines


def placed(shown: NeckMap, width: int = 78) -> Iterator[tuple[Mark, int, str]]:
    """Each note with the cell where it stands on the line of its course, and what stands there."""
    at = wires(shown.instrument, shown.highest, width - LEFT)
    for mark in shown.marks:
        if mark.fret <= shown.highest:
            gap = at[mark.fret] - at[mark.fret - 1] if mark.fret else LEFT - 1
            text = mark.text if len(mark.text) < gap else SHORT
            yield mark, LEFT + _middle(at, mark.fret, len(text)) if mark.fret else LEFT - 1 - len(text), text


def in_words(shown: NeckMap) -> list[str]:
    """The same course by course, for those who listen: `E: 3 at fret 2, 1 at fret 3`."""
    lines = []
    for course, letter in enumerate(shown.instrument.course_letters(), 1):
        told = [
            f"{mark.text} {f'at fret {mark.fret}' if mark.fret else 'open'}"
            for mark in sorted(shown.marks, key=lambda each: each.fret)
            if mark.course == course
        ]
        lines.append(f"{letter}: {', '.join(told) or 'nothing'}")
    return lines


def _middle(at: tuple[int, ...], fret: int, wide: int) -> int:
    """Where something so wide stands in the middle of a fret."""
    return (at[fret - 1] + at[fret] + 2 - wide) // 2


def _put(line: list[str], x: int, text: str, gap: int) -> None:
    if len(text) < gap:
        line[x : x + len(text)] = text


# The drawing

SCALE, MARGIN, TOP = 3.6, 54.0, 44.0
"""Pixels to a millimetre; where the nut is, and the highest course."""

ACROSS = 2.9
"""Pixels to a millimetre across the neck."""

RADIUS = 9.5
STYLE = """
  .neck-map text { font: 12px sans-serif; fill: #4a4a4a; text-anchor: middle; }
  .neck-map .title { font-weight: bold; text-anchor: start; }
  .neck-map .wire { stroke: #8a8a8a; stroke-width: 1.5; } .neck-map .nut { stroke: #4a4a4a; stroke-width: 5; }
  .neck-map .course { stroke: #a8a8a8; stroke-width: 1.5; }
  .neck-map .pair { stroke: #3f6fa8; stroke-width: 5; stroke-opacity: 0.35; }
  .neck-map .note { fill: #ffffff; stroke: #3f6fa8; stroke-width: 1.5; }
  .neck-map .root { fill: #3f6fa8; } .neck-map .on-root { fill: #ffffff; font-weight: bold; }
  @media (prefers-color-scheme: dark) {
    .neck-map text { fill: #c8c8c8; } .neck-map .nut { stroke: #c8c8c8; } .neck-map .note { fill: #1e1e1e; }
    .neck-map .root { fill: #3f6fa8; } .neck-map .on-root { fill: #ffffff; }
  }
"""


def svg_of(shown: NeckMap, font: str = "sans-serif") -> str:
    """The neck as a drawing: frets, courses and how they spread are to scale."""
    from html import escape

    instrument = shown.instrument
    end = fret_distance_mm(instrument.scale_length_mm, shown.highest)
    bottom = _y(instrument, instrument.course_count, end)
    height, width = bottom + 40, MARGIN + end * SCALE + 16
    parts = [f'<text class="title" x="8" y="18">{escape(shown.title)}, {escape(instrument.name)}</text>']
    for fret in range(shown.highest + 1):
        mm = fret_distance_mm(instrument.scale_length_mm, fret)
        x, kind = MARGIN + mm * SCALE, "wire" if fret else "nut"
        top, low = _y(instrument, 1, mm) - 8, _y(instrument, instrument.course_count, mm) + 8
        parts.append(f'<line class="{kind}" x1="{x:.1f}" y1="{top:.1f}" x2="{x:.1f}" y2="{low:.1f}"/>')
        if fret:
            parts.append(f'<text x="{_x(instrument, fret):.1f}" y="{bottom + 28:.1f}">{fret}</text>')
    for course, letter in enumerate(instrument.course_letters(), 1):
        here, there, right = _y(instrument, course, 0), _y(instrument, course, end), MARGIN + end * SCALE
        parts.append(f'<line class="course" x1="{MARGIN}" y1="{here:.1f}" x2="{right:.1f}" y2="{there:.1f}"/>')
        parts.append(f'<text x="12" y="{here + 4:.1f}">{letter.upper()}</text>')
    for one, other in shown.pairs:
        (x1, y1), (x2, y2) = (_at(instrument, shown.marks[number]) for number in (one, other))
        parts.append(f'<line class="pair" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>')
    for mark in shown.marks:
        x, y = _at(instrument, mark)
        root, on = (" root", ' class="on-root"') if mark.root else ("", "")
        parts.append(f'<circle class="note{root}" cx="{x:.1f}" cy="{y:.1f}" r="{RADIUS}"/>')
        parts.append(f'<text{on} x="{x:.1f}" y="{y + 4:.1f}">{escape(mark.text)}</text>')
    style = STYLE.replace("sans-serif", font)
    words = ", ".join(f"{mark.text} at fret {mark.fret} of course {mark.course}" for mark in shown.marks)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="neck-map" role="img" '
        f'viewBox="0 0 {width:.0f} {height:.0f}">\n'
        f"<title>{escape(shown.title)} on the neck</title>\n<desc>{escape(words)}</desc>\n<style>{style}</style>\n"
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _x(instrument: Instrument, fret: int) -> float:
    """Where a finger stands: just behind its fret, left of the nut for an open course."""
    if not fret:
        return MARGIN - 18
    before, here = (fret_distance_mm(instrument.scale_length_mm, each) for each in (fret - 1, fret))
    return MARGIN + (here - min((here - before) / 2, 4.5)) * SCALE


def _y(instrument: Instrument, course: int, mm: float) -> float:
    """A course, where it is so far from the nut: they spread towards the bridge."""
    part = mm / instrument.scale_length_mm
    pitch = instrument.course_pitch_nut_mm * (1 - part) + instrument.course_pitch_bridge_mm * part
    middle = TOP + ACROSS * instrument.course_pitch_bridge_mm * (instrument.course_count - 1) / 2
    return middle + ACROSS * pitch * (course - 1 - (instrument.course_count - 1) / 2)


def _at(instrument: Instrument, mark: Mark) -> tuple[float, float]:
    mm = fret_distance_mm(instrument.scale_length_mm, mark.fret)
    return _x(instrument, mark.fret), _y(instrument, mark.course, mm)
