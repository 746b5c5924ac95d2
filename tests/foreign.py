"""Lines of other instruments in a line of text, as a reader of foreign files gives them.

`D4/8 hE4/8 (E4/4 G3+B3/2 r/2 | ...`: pitches (joined by +; r for a rest), a stroke of the pen, the duration.
Before an event stand h p s for how its notes are reached and ( for tied; {D4} before it is a grace note, `^` an
accent.
"""

from __future__ import annotations

import re

from tabterm.formats.neck import on_neck, source_of
from tabterm.instrument import PRESETS, parse_pitch
from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Score

_WORD = re.compile(r"^(?:\{(\S+?)\})?([hps(^]*)(r|[^/]+)/(\S+)$")
_REACHED = {"h": Reached.HAMMER, "p": Reached.PULL, "s": Reached.SLIDE}


def line(text: str, metre: str = "4/4", sections: dict[int, str] | None = None, **head: object) -> Score:
    """The score that a reader gives for a line: laid naively, the original kept as source."""
    instrument = head.get("instrument", PRESETS["mandolin"])
    measures = []
    for index, part in enumerate(text.split("|")):
        words = part.split()
        short = words[0] == "<"
        made = [_event(instrument, word) for word in words[short:]]
        events = tuple(event for event, _ in made)
        source = source_of(events, [pitches for _, pitches in made])
        section = (sections or {}).get(index, "")
        measures.append(Measure(events=events, short=short, source=source, section=section))
    return Score(head=Head(metre=Metre.parse(metre), **head), measures=tuple(measures))


def _event(instrument, word):
    grace, signs, names, length = _WORD.match(word).groups()
    duration = Duration.parse(length)
    if names == "r":
        return Event(duration=duration), ()
    pitches = [parse_pitch(name) for name in names.split("+")]
    reached = next((how for sign, how in _REACHED.items() if sign in signs), Reached.STRUCK)
    notes = [note.with_(reached=reached, tied="(" in signs) for note in on_neck(instrument, pitches) if note]
    before = [note for note in on_neck(instrument, [parse_pitch(grace)]) if note] if grace else []
    event = Event(
        duration=duration,
        notes=tuple(sorted(notes, key=lambda note: note.course)),
        grace=tuple(before),
        accent="^" in signs,
    )
    return event, pitches


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
