"""Rules on the strokes that the player has set."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Finding, Severity
from tabterm.hand.rules import remedies
from tabterm.score.kinds import Stroke

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Moment
    from tabterm.score.model import Event


def strokes_on_slurs(moment: Moment) -> Iterator[Finding]:
    """A note that the left hand sounds, or that is tied, takes no stroke."""
    event = moment.event
    if event.notes and not event.takes_stroke and event.stroke in {Stroke.DOWN, Stroke.UP}:
        what = "a tied note" if any(note.tied for note in event.notes) else "a slurred note"
        message = f"{what} takes no stroke, but a {event.stroke}-stroke is set"
        ways = (remedies.free_stroke(), *(remedies.strike(note) for note in event.notes if note.slurred))
        yield Finding("stroke-on-slur", Severity.AWKWARD, moment.place, None, message, {}, ways)


def against_the_grid(moment: Moment) -> Iterator[Finding]:
    """Two set strokes in a row that are both turned from what the moving hand would do."""
    if moment.before is not None and _turned(moment.before) and _turned(moment.event):
        message = "two strokes in a row are set against the beat"
        yield Finding(
            "against-the-grid", Severity.REMARK, moment.place, None, message, {}, (remedies.free_stroke(),)
        )


def _turned(event: Event) -> bool:
    strokes = {event.stroke, event.proposed_stroke}
    return event.takes_stroke and strokes == {Stroke.DOWN, Stroke.UP}
