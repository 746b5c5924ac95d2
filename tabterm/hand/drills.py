"""Speed drills: a score with a passage for each speed of the hand profile, to be played against the click."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import InstrumentError
from tabterm.hand.bands import band_of
from tabterm.instrument import stretch_mm
from tabterm.score.duration import Duration
from tabterm.score.kinds import Barline, Reached, Stroke
from tabterm.score.metre import COMMON_TIME
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.profile import HandProfile

SIXTEENTH = Duration(16)  #: note value; definition
A_BEAT = 4  #: sixteenths a quarter; definition
"""Sixteenths in a quarter."""

BEATS = 4  #: quarters a measure; common practice, no source
COURSE = 2  #: course; tuned here
"""The trills stand on the second course, where neither edge of the neck is in the way."""

LOWEST_FRET = 5  #: fret; tuned here
"""The trills stand here or higher: on the mandolin two frets a finger are natural there."""

TIMES = 4  #: times; common practice, no source
"""How often a drill is to be clean in a row."""

START = Tempo(60.0)  #: quarters a minute; common practice, no source
CAUTION = "Warm up first, stay loose, rest between drills. Stop at once when something hurts."
HOW = (
    f"Play each drill {TIMES} times in a row with the click. Raise the tempo while every note is clean and "
    "even. Your speed is the number of sixteenths a second at the highest clean tempo."
)

#: course; tuned here
STROKES: dict[str, tuple[str, str, tuple[tuple[tuple[int, Stroke], ...], ...]]] = {
    "course_change": (
        "Changing courses",
        "Down and up on two open courses: first from outside the pair, then from between. Both must be clean.",
        (((3, Stroke.DOWN), (2, Stroke.UP)), ((2, Stroke.DOWN), (3, Stroke.UP))),
    ),
    "strokes": ("Strokes", "Down and up on one open course.", (((2, Stroke.DOWN), (2, Stroke.UP)),)),
    "repeated": (
        "Equal strokes",
        "Only down-strokes on one open course.",
        (((2, Stroke.DOWN), (2, Stroke.DOWN)),),
    ),
}
"""The drills of the right hand by speed: section, what to do, and for each measure two open courses in turn."""

PAIRS = ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4))  #: fingers; definition: every pair


def notes_per_second(quarters_per_minute: float) -> float:
    """The rate of sixteenths at a tempo: 120 quarters in a minute are 8 in a second."""
    return quarters_per_minute * A_BEAT / 60.0


def drills(instrument: Instrument, hand: HandProfile) -> Score:
    """The drill set for an instrument and a hand.

    Raises:
        InstrumentError: The instrument has fewer than three courses or twelve frets.
    """
    if instrument.course_count < 3 or instrument.frets < 12:
        raise InstrumentError("the drills need at least three courses and twelve frets", place=instrument.name)
    measures: list[Measure] = []
    for low, high in PAIRS:
        events = _trill((low, high), _frets(instrument, (low, high), hand.span_mm))
        what = f"Hammer on and pull off with fingers {low} and {high}, one stroke a beat."
        measures += _drill(f"fingers_{low}{high}", f"Fingers {low} and {high}", what, (events,))
    for name, (section, what, patterns) in STROKES.items():
        measures += _drill(name, section, what, tuple(_strokes(pattern) for pattern in patterns))
    head = Head(
        title="Speed drills", credits=(HOW, CAUTION), instrument=instrument, metre=COMMON_TIME, tempo=START
    )
    return Score(head=head, measures=tuple(measures))


def _drill(name: str, section: str, what: str, passages: tuple[tuple[Event, ...], ...]) -> list[Measure]:
    """The measures of a drill, between repeats."""
    remark = f"{what} After {TIMES} clean times in a row: tabterm hand --tempo {name}=TEMPO. Stop when it hurts."
    measures = [Measure(events=events) for events in passages]
    measures[0] = measures[0].with_(section=section, remark=remark, repeat_start=True)
    measures[-1] = measures[-1].with_(repeat_times=TIMES, barline=Barline.DOUBLE)
    return measures


def _trill(fingers: tuple[int, int], frets: tuple[int, int]) -> tuple[Event, ...]:
    """A measure of hammer-ons and pull-offs: the lower finger is struck at each beat."""

    def event(which: int, reached: Reached) -> Event:
        note = Note(course=COURSE, fret=frets[which], finger=fingers[which], reached=reached)
        return Event(duration=SIXTEENTH, notes=(note,), stroke=Stroke.DOWN if reached is Reached.STRUCK else None)

    hammer = event(1, Reached.HAMMER)
    return (event(0, Reached.STRUCK), hammer, event(0, Reached.PULL), hammer) * BEATS


def _strokes(pattern: tuple[tuple[int, Stroke], ...]) -> tuple[Event, ...]:
    """A measure of open courses, each with its stroke."""
    turn = tuple(
        Event(duration=SIXTEENTH, notes=(Note(course=course, fret=0, finger=0),), stroke=stroke)
        for course, stroke in pattern
    )
    return turn * (BEATS * A_BEAT // len(turn))


def _frets(instrument: Instrument, fingers: tuple[int, int], span_mm: float) -> tuple[int, int]:
    """Two frets that are as near to the natural reach of two fingers as can be, where it is comfortable."""
    band, last = band_of(fingers, span_mm), instrument.frets
    for low in range(LOWEST_FRET, last):
        reaches = {high: stretch_mm(instrument.scale_length_mm, low, high) for high in range(low + 1, last + 1)}
        high = min(reaches, key=lambda each: abs(reaches[each] - band.natural_mm))
        if reaches[high] <= band.comfortable_mm:
            return low, high
    return last - 1, last
