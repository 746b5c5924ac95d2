"""Rules on bends: they need a finger, and a course that gives so much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.bends import bent, bounds
from tabterm.hand.finding import Finding, Severity
from tabterm.hand.rules import remedies

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Situation

WHY = {
    "force": "that takes more force than a finger has",
    "room": "there is no more room on the fingerboard",
    "wire": "the string would break",
}


def open_bends(moment: Situation) -> Iterator[Finding]:
    """A bend needs a finger."""
    for note in moment.event.notes:
        if note.bend is not None and note.fret == 0:
            ways = (remedies.unbend(note), *remedies.other_courses(moment.head, moment.event, note))
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
            f"a bend by {cents} cents at fret {note.fret}: {reason} "
            f"(comfortable up to {limits.comfortable_cents:.0f}, possible up to {limits.possible_cents:.0f})"
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
            *remedies.smaller_bend(note, limits.comfortable_cents),
            *remedies.other_courses(moment.head, moment.event, note),
            remedies.unbend(note),
        )
        severity = Severity.HARD if possible else Severity.IMPOSSIBLE
        yield Finding("bend-too-far", severity, moment.place, note.course, message, numbers, ways)
