"""Rules on the right hand: strokes that are set, and what the tempo leaves of time for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Finding, Severity
from tabterm.hand.right_hand import course_of, leaves, rate_limit, strain
from tabterm.hand.rules import remedies
from tabterm.hand.strokes import OF_ROLL
from tabterm.score.kinds import Stroke

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Situation
    from tabterm.score.model import Event

SLACK = 1.25  #: times; common practice, no source
"""Strokes faster than the limit by more than this are hard, else awkward."""


def strokes_on_slurs(moment: Situation) -> Iterator[Finding]:
    """A note that the left hand sounds, or that is tied, takes no stroke."""
    event = moment.event
    if event.notes and not event.takes_stroke and event.stroke in {Stroke.DOWN, Stroke.UP}:
        what = "a tied note" if any(note.tied for note in event.notes) else "a slurred note"
        message = f"{what} takes no stroke, but a {event.stroke}-stroke is set"
        ways = (remedies.free_stroke(), *(remedies.strike(note) for note in event.notes if note.slurred))
        yield Finding("stroke-on-slur", Severity.AWKWARD, moment.place, None, message, {}, ways)


def against_the_grid(moment: Situation) -> Iterator[Finding]:
    """Two set strokes in a row that are both turned from what the moving hand would do."""
    if moment.before is not None and _turned(moment.before) and _turned(moment.event):
        message = "two strokes in a row are set against the beat"
        yield Finding(
            "against-the-grid", Severity.REMARK, moment.place, None, message, {}, (remedies.free_stroke(),)
        )


def _turned(event: Event) -> bool:
    strokes = {event.stroke, event.proposed_stroke}
    return event.takes_stroke and strokes == {Stroke.DOWN, Stroke.UP}


def against_the_roll(moment: Situation) -> Iterator[Finding]:
    """A set stroke that goes the other way than the roll."""
    event = moment.event
    if (
        event.roll is not None
        and event.stroke in {Stroke.DOWN, Stroke.UP}
        and event.stroke is not OF_ROLL[event.roll]
    ):
        towards = "higher" if event.roll.value == "up" else "lower"
        message = (
            f"a roll towards the {towards} courses is a {OF_ROLL[event.roll]}-stroke, "
            f"but the set stroke is {event.stroke}"
        )
        yield Finding(
            "stroke-against-roll", Severity.AWKWARD, moment.place, None, message, {}, (remedies.free_stroke(),)
        )


def too_fast(moment: Situation) -> Iterator[Finding]:
    """Two strokes in a row that come faster than the player's hand: equal ones have to come back in between."""
    before, event = moment.before, moment.event
    if before is None or not _one_after_the_other(before, event):
        return
    one = (leaves(before, before.stroke_shown), before.stroke_shown)
    other = (course_of(event, event.stroke_shown), event.stroke_shown)
    speeds = moment.neck.hand.speeds
    over = strain(speeds, one, other, moment.gap_s)
    if over <= 1.0:
        return
    limit, equal = rate_limit(speeds, one, other), one[1] is other[1]
    what = f"two {event.stroke_shown}-strokes" if equal else _alternating(on_one_course=one[0] == other[0])
    message = f"{what} {moment.gap_s * 1000:.0f} ms apart: {over * limit:.1f} a second; your limit is {limit:g}"
    numbers: dict[str, float | int | str] = {
        "gap_ms": round(moment.gap_s * 1000),
        "rate_per_s": round(over * limit, 2),
        "limit_per_s": limit,
    }
    ways = (
        *(remedies.turn_stroke() if equal else ()),
        *remedies.slur_instead(moment),
        *remedies.other_schools(),
        *remedies.strike_less(moment),
        *remedies.slower(moment.tempo, over),
    )
    code = "stroke-return" if equal else "strokes-too-fast"
    severity = Severity.HARD if over > SLACK else Severity.AWKWARD
    yield Finding(code, severity, moment.place, None, message, numbers, ways)


def _one_after_the_other(before: Event, event: Event) -> bool:
    """Both are single strokes, with nothing struck in between."""
    ways = {Stroke.DOWN, Stroke.UP}
    if not (before.takes_stroke and event.takes_stroke and {before.stroke_shown, event.stroke_shown} <= ways):
        return False
    graces_between = event.is_struck and any(grace.is_struck for grace in event.grace)
    return not (before.tremolo_shown or event.tremolo_shown or graces_between)


def _alternating(*, on_one_course: bool) -> str:
    return "strokes" if on_one_course else "strokes on two courses"
