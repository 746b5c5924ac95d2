"""Beams: where the stems of a chord end, flat or slanted, and the bars that join them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.sheet.extents import HEAD
from tabterm.sheet.ink import Shape

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.sheet.reading import Chord

STEM, THICK, APART = 0.12, 0.5, 0.25
"""Thickness of stems and beams, and the room between beams (Bravura 1.392, `engravingDefaults`)."""

LENGTH, SHORTEST = 3.5, 2.6
"""Length of a stem, an octave, and the least under a beam: Gould 2011, from memory."""

STEEPEST = 1.25
"""Staff spaces that a beam rises at most; tuned here."""


TREMBLING = 2.4
"""Room of three strokes of a tremolo along a stem."""


def trembles(chord: Chord) -> bool:
    """Whether its stem holds strokes of a tremolo."""
    return chord.event is not None and chord.event.tremolo_shown


def tremolo_from(chord: Chord) -> float:
    """Where on the stem of a chord there is room for a tremolo, beyond its outermost head and ledger lines."""
    if chord.stem_up:
        return min(chord.high.y - 0.6, 4.6 if chord.high.has_ledger or chord.low.has_ledger else 50.0)
    return max(chord.low.y + 0.6, -0.6 if chord.low.has_ledger or chord.high.has_ledger else -50.0)


class Stem(NamedTuple):
    """A stem: its place, where it leaves the outermost notehead, where it ends."""

    x: float
    start: float
    end: float


def stem_x(chord: Chord, x: float) -> float:
    """Where the stem of a chord stands whose zero line is at x."""
    return x + HEAD - STEM / 2 if chord.stem_up else x + STEM / 2


def single_stem(chord: Chord, x: float) -> Stem:
    """The stem of a chord on its own: an octave long, and to the middle line from far outside."""
    up = chord.stem_up
    near, far = (chord.low.y, chord.high.y) if up else (chord.high.y, chord.low.y)
    length = LENGTH + max(0, chord.flags - 2) * 0.75 + (0.3 if chord.flags else 0.0)
    outside = far < 2 if up else far > 2
    if outside and not chord.flags:
        length = max(LENGTH - 0.25 * abs(far - 2), SHORTEST)
    end = far - length if up else far + length
    reach = 1.6 if chord.flags else 2.0
    end = min(end, reach) if up else max(end, 4.0 - reach)
    if trembles(chord):
        room = TREMBLING + chord.flags * 1.1 + (0.5 if chord.flags else 0.0)
        end = min(end, tremolo_from(chord) - room) if up else max(end, tremolo_from(chord) + room)
    attach = -0.168 if up else 0.168
    return Stem(stem_x(chord, x), near + attach, end)


def beamed_stems(
    chords: Sequence[Chord], xs: Sequence[float], graces: Sequence[tuple[float, float]] = ()
) -> list[Stem]:
    """The stems of chords under one beam, all ending on one line beyond the grace notes among them."""
    up = chords[0].stem_up
    way = -1.0 if up else 1.0
    places = [stem_x(chord, x) for chord, x in zip(chords, xs, strict=True)]
    fars = [chord.high.y if up else chord.low.y for chord in chords]
    need = [far + way * _least(chord) for far, chord in zip(fars, chords, strict=True)]
    slope = _slope(fars, places, way)
    ideal = [far + way * (LENGTH + 0.5 * max(0, chord.flags - 2)) for far, chord in zip(fars, chords, strict=True)]
    x0 = places[0]
    edges = [0, len(fars) - 1]
    pick = min if up else max
    base = pick(ideal[edge] - slope * (places[edge] - x0) for edge in edges)
    base = pick(base, *(each - slope * (x - x0) for each, x in zip(need, places, strict=True)))
    bars = 1.3 + (THICK + APART) * max(chord.flags for chord in chords)
    base = pick([base, *(y + way * bars - slope * (x - x0) for x, y in graces)])
    middle = base + slope * (places[-1] - x0) / 2
    if (up and middle > 2) or (not up and middle < 2):
        base += 2 - middle
    attach = -0.168 if up else 0.168
    return [
        Stem(x, (chord.low.y if up else chord.high.y) + attach, base + slope * (x - x0))
        for chord, x in zip(chords, places, strict=True)
    ]


def _least(chord: Chord) -> float:
    far = chord.high.y if chord.stem_up else chord.low.y
    bars = (THICK + APART) * chord.flags
    trembling = abs(tremolo_from(chord) - far) + TREMBLING + bars if trembles(chord) else 0.0
    signed = 2.4 + bars if any(head.accidental for head in chord.heads) else 0.0
    return max(SHORTEST + bars - THICK - APART, trembling, signed)


def _slope(fars: Sequence[float], places: Sequence[float], way: float) -> float:
    """Rise for each staff space: flat where the notes turn back or stand alike."""
    if len(fars) < 2 or places[-1] <= places[0]:
        return 0.0
    rise = fars[-1] - fars[0]
    inner = fars[1:-1]
    if inner and rise:
        low, high = min(fars[0], fars[-1]), max(fars[0], fars[-1])
        beyond = min(inner) < low if way < 0 else max(inner) > high
        if beyond:
            return 0.0
    span = places[-1] - places[0]
    return max(-STEEPEST, min(STEEPEST, rise * 0.5, span * 0.18), -span * 0.18) / span if rise else 0.0


def bars(chords: Sequence[Chord], stems: Sequence[Stem], *, up: bool) -> Iterator[Shape]:
    """The bars over (or under) some stems, the outermost first."""
    way = 1.0 if up else -1.0
    x0, y0 = stems[0].x, stems[0].end
    slope = (stems[-1].end - y0) / (stems[-1].x - x0) if stems[-1].x > x0 else 0.0

    def bar(left: float, right: float, level: int) -> Shape:
        shift = way * level * (THICK + APART)
        near, far = (y0 + slope * (x - x0) + shift for x in (left, right))
        thick = way * THICK
        tops = (near, far) if up else (near + thick, far + thick)
        lows = (near + thick, far + thick) if up else (near, far)
        return Shape(((left, tops[0]), (right, tops[1]), (right, lows[1]), (left, lows[0])))

    for level in range(max(chord.flags for chord in chords)):
        start: float | None = None
        for chord, stem in zip(chords, stems, strict=True):
            state = chord.beams[level] if level < len(chord.beams) else ""
            if state == "begin":
                start = stem.x - STEM / 2
            elif state == "end" and start is not None:
                yield bar(start, stem.x + STEM / 2, level)
                start = None
            elif state == "forward hook":
                yield bar(stem.x - STEM / 2, stem.x + HEAD, level)
            elif state == "backward hook":
                yield bar(stem.x - HEAD, stem.x + STEM / 2, level)
