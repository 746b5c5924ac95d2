"""Rules on the neck itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Finding, Severity
from tabterm.hand.rules import remedies

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Situation


def beyond_the_neck(moment: Situation) -> Iterator[Finding]:
    """A fret that the instrument does not have."""
    instrument = moment.head.instrument
    for note in (*moment.event.grace, *moment.event.notes):
        if note.fret > instrument.frets:
            message = f"fret {note.fret} is beyond the neck: this {instrument.name} has {instrument.frets}"
            numbers: dict[str, float | int | str] = {"fret": note.fret, "frets": instrument.frets}
            ways = tuple(remedies.other_courses(moment.head, moment.event, note))
            yield Finding(
                "beyond-the-neck", Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways
            )


def two_frets_one_course(moment: Situation) -> Iterator[Finding]:
    """A note that is to ring on while its own course is stopped elsewhere by the very next event."""
    if moment.before is None or moment.before_place is None:
        return
    for note in moment.event.notes:
        earlier = moment.before.on_course(note.course)
        if earlier is None or not earlier.ring or note.tied or note.slurred or earlier.fret == note.fret:
            continue
        message = f"fret {earlier.fret} is to ring on while fret {note.fret} is played on the same course"
        numbers: dict[str, float | int | str] = {"ringing_fret": earlier.fret, "fret": note.fret}
        ways = (
            *remedies.other_courses(moment.head, moment.event, note),
            remedies.let_not_ring(earlier, moment.before_place),
        )
        yield Finding(
            "two-frets-one-course", Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways
        )
