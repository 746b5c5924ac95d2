"""What stands on the page in words, for those who hear it: notes, events, measures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Reached, Stroke
from tabterm.score.place import display_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.duration import Duration
    from tabterm.score.model import Event, Measure, Note, Score

REACHED = {Reached.HAMMER: "hammered on", Reached.PULL: "pulled off", Reached.SLIDE: "slid into"}
STROKES = {Stroke.DOWN: "down", Stroke.UP: "up", Stroke.NONE: "no stroke"}
OF_EVENTS = {
    "accent": "accent",
    "staccato": "staccato",
    "damp": "damped",
    "tremolo_shown": "tremolo",
    "roll": "rolled",
}
STEPS = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd", 64: "64th"}
OF_NOTES = {"tied": "tied", "bend": "bent", "muted": "muted", "ring": "let ring", "vibrato": "vibrato"}


def step_name(step: Duration) -> str:
    """A note value in words: `eighth`, `dotted quarter`, `eighth 3:2`."""
    dots = ("", "dotted ", "double-dotted ")[step.dots]
    return f"{dots}{STEPS.get(step.value, step.value)}{f' {step.tuplet}' if step.tuplet else ''}"


def note_words(note: Note) -> list[str]:
    """Fret, how it is reached, finger and marks of a note."""
    parts = [f"fret {note.fret}" if note.fret else "open"]
    parts += [REACHED[note.reached]] if note.slurred else []
    parts += [f"finger {note.finger_shown}"] if note.finger_shown is not None and note.fret else []
    return parts + [word for field, word in OF_NOTES.items() if getattr(note, field)]


def event_words(event: Event) -> list[str]:
    """Marks and stroke of an event."""
    parts = [word for field, word in OF_EVENTS.items() if getattr(event, field)]
    parts += ["grace note before"] if event.grace else []
    stroke = event.stroke_shown
    return [*parts, STROKES[stroke]] if stroke is not None else parts


def marks_words(measure: Measure) -> list[str]:
    """What is written at a measure's start: section, break of the sheet, repeat."""
    parts = [f"section {measure.section}"] if measure.section else []
    parts += [f"new {measure.break_before} of the sheet"] if measure.break_before else []
    parts += ["repeat begins"] if measure.repeat_start else []
    return parts + (["repeat ends with this measure"] if measure.repeat_times else [])


def measures_in_words(score: Score, first: int, last: int) -> str:
    """A sentence for each measure between two indices, both included.

    `Measure 5, section A: chord G, eighth, D course, fret 2, finger 1, down; quarter, rest.` A note value is said
    where it changes.
    """
    return " ".join(_measure_in_words(score, index) for index in range(first, last + 1))


def _measure_in_words(score: Score, index: int) -> str:
    measure = score.measures[index]
    changes = ((measure.metre, "metre"), (measure.key, "key"), (measure.tempo, "tempo"))
    opening = [f"Measure {display_number(score, index)}", *marks_words(measure)]
    opening += [f"{name} {value}" for value, name in changes if value is not None]
    opening += [f"ending {', '.join(map(str, measure.endings))}"] if measure.endings else []
    opening += [measure.remark] if measure.remark else []
    return f"{', '.join(opening)}: {'; '.join(_events_in_words(score, measure))}."


def _events_in_words(score: Score, measure: Measure) -> Iterator[str]:
    letters, chords = score.head.instrument.course_letters(), {mark.offset: mark.symbol for mark in measure.chords}
    before = None
    for onset, event in measure.timed():
        parts = [f"chord {chords.pop(each)}" for each in sorted(chords) if each <= onset]
        parts += [step_name(event.duration)] if event.duration != before else []
        before = event.duration
        if event.is_rest:
            parts.append("rest")
        for note in event.notes:
            parts += [f"{letters[note.course - 1]} course", *note_words(note)]
        yield ", ".join(parts + event_words(event))
    yield from (f"chord {symbol}" for symbol in chords.values())
