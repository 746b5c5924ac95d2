"""Lines of other instruments in a line of text, as a reader of foreign files gives them.

`D4/8 hE4/8 (E4/4 G3+B3/2 r/2 | ...`: pitches (joined by +; r for a rest), a stroke of the pen, the duration.
Before an event stand h p s for how its notes are reached and ( for tied; {D4} before it is a grace note, `^` an
accent.
"""

from __future__ import annotations

import re

from tabterm.instrument import parse_pitch
from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.line import Bar, Line, Moment, silent
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Note, Score
from tabterm.score.source import Tone

_WORD = re.compile(r"^(?:\{(\S+?)\})?([hps(^]*)(r|[^/]+)/(\S+)$")
_REACHED = {"h": Reached.HAMMER, "p": Reached.PULL, "s": Reached.SLIDE}


def line(text: str, metre: str = "4/4", sections: dict[int, str] | None = None, **head: object) -> Line:
    """The line that a reader gives."""
    bars = []
    for index, part in enumerate(text.split("|")):
        words = part.split()
        short = words[0] == "<"
        section = (sections or {}).get(index, "")
        bars.append(Bar(events=tuple(map(_moment, words[short:])), short=short, section=section))
    return Line(head=Head(metre=Metre.parse(metre), **head), measures=tuple(bars))


def arranged(text: str, metre: str = "4/4", **more: object) -> Score:
    """The score in which a line is played as it is written, each pitch on its lowest fret."""
    written = line(text, metre, **more)
    score = silent(written)
    measures = [
        measure.with_(events=tuple(_played(score.head.instrument, moment) for moment in bar.events))
        for measure, bar in zip(score.measures, written.measures, strict=True)
    ]
    return score.with_(measures=tuple(measures))


def _played(instrument, moment):
    notes, taken = [], set()
    for tone in moment.notes:
        place = instrument.free_place(tone.pitch, taken)
        if place is not None:
            taken.update(range(place[0] + 1))
            notes.append(Note(course=place[0], fret=place[1], tied=tone.tied, reached=tone.reached))
    return Event(duration=moment.duration, notes=tuple(notes), accent=moment.accent)


def _moment(word):
    grace, signs, names, length = _WORD.match(word).groups()
    duration = Duration.parse(length)
    if names == "r":
        return Moment(duration=duration)
    pitches = sorted(map(parse_pitch, names.split("+")), reverse=True)
    reached = next((how for sign, how in _REACHED.items() if sign in signs), Reached.STRUCK)
    return Moment(
        duration=duration,
        notes=tuple(Tone(pitch=pitch, reached=reached, tied="(" in signs) for pitch in pitches),
        grace=(Tone(pitch=parse_pitch(grace)),) if grace else (),
        accent="^" in signs,
    )


def played(score: Score) -> str:
    """Pitches and durations of a score in the same words."""
    pitch = score.head.instrument.pitch
    from tabterm.instrument import pitch_name

    return " | ".join(
        " ".join(
            f"{'+'.join(pitch_name(pitch(n.course, n.fret)) for n in e.notes) or 'r'}/{e.duration}"
            for e in measure.events
        )
        for measure in score.measures
    )
