"""Commands on the original line that an arrangement keeps beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.harmony.differences import difference_words
from tabterm.piece.practice import Heard
from tabterm.score.comparison import differences, has_source
from tabterm.score.key import KEYS
from tabterm.score.place import Span
from tabterm.score.report import Kind
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.score.comparison import Difference
    from tabterm.workspace.session import Session


@command("hear-original", "Play the original of the selection or this measure, or stop", Group.ORIGINAL)
def hear_original(session: Session) -> None:
    """The line as it was written, at its own pitch."""
    _play(session, Heard.ORIGINAL)


@command("hear-both", "Play the original, then the arrangement, or stop", Group.ORIGINAL)
def hear_both(session: Session) -> None:
    """One after the other, to be compared; in a loop they take turns."""
    _play(session, Heard.BESIDE)


def _play(session: Session, heard: Heard) -> None:
    if session.transport.playing:
        session.transport.stop()
        return
    span = session.here.selection() or Span.of_measures(*session.here.measures())
    session.host.say(session.rehearsal.play(span, heard))


@command("next-departure", "Go to the next note that differs from the original", Group.ORIGINAL)
def next_departure(session: Session) -> None:
    """Forward, from the end back to the beginning; what departs is said."""
    found = _departures(session)
    here = session.here.cursor.place
    after = next((each for each in found if each.place > here), found[0])
    session.here.go(after.place)
    at = [each for each in found if each.place == after.place]
    session.host.say("; ".join(difference_words(session.score, each) for each in at))


@command("restore", "Restore the original here or in the selection", Group.ORIGINAL)
def restore_here(session: Session) -> None:
    """Whatever departs from the original there, as the original has it, on the course that suits best."""
    from tabterm.hand.adapt import restore

    restored = restore(session.score, session.player, session.here.target())
    if restored is session.score:
        raise ScoreError(
            "nothing differs from the original here",
            hint="the command 'next-departure' goes to the next difference",
        )
    session.rework(restored, "restore the original")


@command(
    "fit",
    "Fit the original line to the neck again, in its key or another",
    Group.ORIGINAL,
    asks="key, such as G or Em, or easiest (empty: its own)",
    choices=lambda _: ("easiest", *KEYS),
)
def fit(session: Session, key: str) -> None:
    """The whole arrangement is made anew from the original; undo brings the old one back."""
    if not has_source(session.score):
        raise ScoreError("the score has no original line", hint="open a MIDI, MusicXML or ABC file")
    from tabterm.hand.adapt import adapt

    fitted = adapt(session.score, session.player, key=key.strip() or None)
    session.rework(fitted.score, "fit to the neck")
    session.host.say("; ".join(fitted.report.only(Kind.WHOLE).lines(fitted.score)))


def _departures(session: Session) -> tuple[Difference, ...]:
    found = differences(session.score)
    if not found:
        raise ScoreError("nothing differs from the original")
    return found
