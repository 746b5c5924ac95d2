"""Rules on slurs, slides and bends: what the left hand alone can sound, and a course that gives so much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.bends import bent, bounds
from tabterm.hand.finding import Finding, Severity
from tabterm.hand.rules import remedies
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Remedy, Situation
    from tabterm.score.model import Note


def _impossible(moment: Situation, code: str, note: Note, message: str, *ways: Remedy) -> Finding:
    numbers: dict[str, float | int | str] = {"fret": note.fret}
    source = moment.source(note)
    if source is not None:
        numbers["from_fret"] = source.fret
    return Finding(code, Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways)


def _slurred(moment: Situation, reached: Reached) -> Iterator[tuple[Note, Note]]:
    """Each note reached in a way, with the note of its course that it comes from."""
    for note in moment.event.notes:
        source = moment.source(note)
        if note.reached is reached and source is not None:
            yield note, source


def hammer_ons(moment: Situation) -> Iterator[Finding]:
    """A hammer-on goes up, from a note that sounds."""
    for note, source in _slurred(moment, Reached.HAMMER):
        if source.muted:
            message = "a hammer-on from a dead note makes no sound"
            yield _impossible(moment, "slur-from-nothing", note, message, remedies.strike(note))
        elif note.fret <= source.fret:
            message = f"a hammer-on from fret {source.fret} to fret {note.fret} does not go up"
            ways = [remedies.strike(note)]
            if note.fret < source.fret:
                ways.insert(0, remedies.reach_by(note, Reached.PULL, "make it a pull-off"))
            yield _impossible(moment, "hammer-on-downwards", note, message, *ways)


def pull_offs(moment: Situation) -> Iterator[Finding]:
    """A pull-off goes down, from a stopped note that sounds."""
    for note, source in _slurred(moment, Reached.PULL):
        if source.muted or source.fret == 0:
            what = "a dead note" if source.muted else "an open course"
            message = f"a pull-off from {what} has nothing to pull off"
            ways = [remedies.strike(note)]
            if note.fret > 0 and not source.muted:
                ways.insert(0, remedies.reach_by(note, Reached.HAMMER, "make it a hammer-on"))
            yield _impossible(moment, "pull-off-from-nothing", note, message, *ways)
        elif note.fret >= source.fret:
            message = f"a pull-off from fret {source.fret} to fret {note.fret} does not go down"
            ways = [remedies.strike(note)]
            if note.fret > source.fret:
                ways.insert(0, remedies.reach_by(note, Reached.HAMMER, "make it a hammer-on"))
            yield _impossible(moment, "pull-off-upwards", note, message, *ways)


def slides(moment: Situation) -> Iterator[Finding]:
    """A slide needs a finger at both ends, and a note that sounds."""
    for note, source in _slurred(moment, Reached.SLIDE):
        if source.muted:
            message = "a slide from a dead note makes no sound"
            yield _impossible(moment, "slur-from-nothing", note, message, remedies.strike(note))
        elif note.fret == 0 or source.fret == 0:
            end = "end" if note.fret == 0 else "start"
            message = f"a slide cannot {end} on an open course"
            ways = [remedies.strike(note)]
            if source.fret < note.fret:
                ways.insert(0, remedies.reach_by(note, Reached.HAMMER, "make it a hammer-on"))
            elif note.fret < source.fret:
                ways.insert(0, remedies.reach_by(note, Reached.PULL, "make it a pull-off"))
            yield _impossible(moment, "slide-open-course", note, message, *ways)


def slurs_across(moment: Situation) -> Iterator[Finding]:
    """A slur stays on its course."""
    letters = moment.head.instrument.course_letters()
    for note in moment.event.notes:
        if note.slurred and moment.source(note) is None:
            word = {"hammer": "hammer-on", "pull": "pull-off"}.get(note.reached.value, note.reached.value)
            message = f"a {word} to course {letters[note.course - 1]} cannot start on another course"
            yield _impossible(moment, "slur-across-courses", note, message, remedies.strike(note))


WHY = {
    "force": "no finger is strong enough",
    "room": "the neck has no room for it",
    "wire": "the string would break",
}


def open_bends(moment: Situation) -> Iterator[Finding]:
    """A bend needs a finger."""
    for note in moment.event.notes:
        if note.bend is not None and note.fret == 0:
            ways = (
                *remedies.slide_instead(note),
                *remedies.other_courses(moment.head, moment.event, note),
                remedies.unbend(note),
            )
            message = "an open course cannot be bent"
            numbers: dict[str, float | int | str] = {"fret": 0}
            yield Finding(
                "bend-open-course", Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways
            )


def far_bends(moment: Situation) -> Iterator[Finding]:
    """A bend beyond what the course gives, or beyond what is comfortable."""
    instrument = moment.head.instrument
    for note in moment.event.notes:
        if note.bend is None or note.fret == 0 or note.fret > instrument.frets or note.muted:
            continue
        limits = bounds(instrument, note.course, note.fret)
        cents = note.bend.cents
        if cents <= limits.comfortable_cents:
            continue
        push = bent(instrument, note.course, note.fret, cents)
        possible = cents <= limits.possible_cents
        reason = f"that is {push.force_n:.0f} N at the finger" if possible else WHY[limits.decides]
        message = (
            f"a bend of {cents} cents at fret {note.fret}: {reason} "
            f"(comfortable up to {limits.comfortable_cents:.0f} cents, possible up to {limits.possible_cents:.0f})"
        )
        numbers: dict[str, float | int | str] = {
            "cents": cents,
            "comfortable_cents": round(limits.comfortable_cents, 1),
            "possible_cents": round(limits.possible_cents, 1),
            "displacement_mm": round(push.displacement_mm, 2),
            "force_n": round(push.force_n, 1),
            "decides": limits.decides,
        }
        ways = (
            *remedies.slide_instead(note),
            *remedies.smaller_bend(note, limits.comfortable_cents),
            *remedies.other_courses(moment.head, moment.event, note),
            remedies.unbend(note),
        )
        severity = Severity.HARD if possible else Severity.IMPOSSIBLE
        yield Finding("bend-too-far", severity, moment.place, note.course, message, numbers, ways)
