"""Seams between two events: what a tie or a slur goes on from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from tabterm.score.line import Sounding
    from tabterm.score.model import Event, Note
    from tabterm.score.source import Tone


def partner(before: Event | None, note: Note) -> Note | None:
    """The note of the event before that a tied or slurred note goes on from: the one on its course."""
    return None if before is None else before.on_course(note.course)


def has_partner(before: Sounding | None, event: Sounding, note: Note | Tone) -> bool:
    """Whether a note's tie or slur has something to come from.

    A tie needs the same course and fret, or in a line the same pitch, in the event before, and neither of the two
    a dead note. A slur
    needs a sounding event before it (or a grace note of its own event); that the hand cannot do it from
    there is a finding, not an error.
    """
    if note.tied:
        return not note.muted and any(
            each.spot == note.spot and not each.muted for each in (before.notes if before is not None else ())
        )
    if note.slurred:
        return bool(event.grace) or (before is not None and not before.is_rest)
    return True


def check_seam(before: Event | None, event: Event) -> None:
    """Raise ScoreError when a tie or slur of `event` has no partner in the event before it."""
    for note in event.notes:
        if note.tied or note.reached is not Reached.STRUCK:
            if has_partner(before, event, note):
                continue
            what = "tie" if note.tied else note.reached.value
            raise ScoreError(
                f"the {what} on course {note.course} fret {note.fret} has no note to start from",
                hint="pick the note instead",
            )
