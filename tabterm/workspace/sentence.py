"""Where the cursor is and what stands there, as one sentence that a screen reader can say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Reached, Stroke
from tabterm.score.place import count_name, display_number
from tabterm.workspace.cursor import Row

if TYPE_CHECKING:
    from tabterm.score.model import Event, Note, Score
    from tabterm.workspace.cursor import Cursor
    from tabterm.workspace.session import Session

PARTS_OF_BEATS = {"&": " and", "e": " e", "a": " a"}
REACHED = {Reached.HAMMER: "hammered on", Reached.PULL: "pulled off", Reached.SLIDE: "slid into"}
STROKES = {Stroke.DOWN: "down", Stroke.UP: "up", Stroke.NONE: "no stroke"}
OF_EVENTS = {"accent": "accent", "staccato": "staccato", "tremolo_shown": "tremolo", "roll": "rolled"}
OF_NOTES = {"tied": "tied", "bend": "bent", "muted": "muted", "ring": "let ring", "vibrato": "vibrato"}


def sentence(session: Session) -> str:
    """The place, the row, what stands there, what holds of the measure: `m5 beat 2, d course, fret 4, down`."""
    score, cursor = session.score, session.cursor
    if cursor.place.measure >= len(score.measures):
        return f"after the end, {_row(score, cursor)}"
    parts = [_place(score, cursor), _row(score, cursor), *_standing(session)]
    measure = score.measures[cursor.place.measure]
    parts += [f"chord {mark.symbol}" for mark in measure.chords if mark.offset == cursor.place.offset]
    if not cursor.place.offset:
        parts += [f"section {measure.section}"] if measure.section else []
        parts += ["repeat begins"] if measure.repeat_start else []
        parts += ["repeat ends with this measure"] if measure.repeat_times else []
    parts += ["selecting"] if session.anchor is not None else []
    return ", ".join(parts)


def _place(score: Score, cursor: Cursor) -> str:
    count = count_name(score, cursor.place)
    number = display_number(score, cursor.place.measure)
    return f"m{number} beat {count[:-1] + PARTS_OF_BEATS[count[-1]] if count[-1] in PARTS_OF_BEATS else count}"


def _row(score: Score, cursor: Cursor) -> str:
    if cursor.row is not Row.COURSE:
        return f"{cursor.row.value} row"
    return f"{score.head.instrument.course_letters()[cursor.course - 1]} course"


def _standing(session: Session) -> list[str]:
    """What is played at the cursor, the note on its own course first."""
    score, cursor = session.score, session.cursor
    found = session.event()
    if found is None:
        return []
    place, event = found
    if event.is_rest:
        return ["rest"]
    begun = [] if place == cursor.place else ["goes on"]
    letters = score.head.instrument.course_letters()
    parts: list[str] = []
    for note in sorted(event.notes, key=lambda each: each.course != cursor.course):
        named = note.course == cursor.course and cursor.row is Row.COURSE
        parts += [*([] if named else [f"{letters[note.course - 1]} course"]), *_note(note)]
    if cursor.row is Row.COURSE and event.on_course(cursor.course) is None:
        parts.insert(0, "empty")
    return begun + parts + _event(event)


def _note(note: Note) -> list[str]:
    parts = [f"fret {note.fret}" if note.fret else "open"]
    parts += [REACHED[note.reached]] if note.slurred else []
    parts += [f"finger {note.finger_shown}"] if note.finger_shown is not None and note.fret else []
    return parts + [word for field, word in OF_NOTES.items() if getattr(note, field)]


def _event(event: Event) -> list[str]:
    parts = [word for field, word in OF_EVENTS.items() if getattr(event, field)]
    parts += ["grace note before"] if event.grace else []
    stroke = event.stroke_shown
    return [*parts, STROKES[stroke]] if stroke is not None else parts
