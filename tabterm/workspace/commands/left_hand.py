"""Commands on how a note is reached and sounds: slurs, slides, bends and other marks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.score.model import Bend
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.model import Event, Note, Score
    from tabterm.score.place import Place
    from tabterm.workspace.session import Session

BENDS = (None, Bend(cents=50), Bend(cents=100), Bend(cents=50, shape=BendShape.RISE_AND_FALL))
"""What the bend key goes through: none, a quarter tone, a semitone, a quarter tone and back."""


def _reach(session: Session, reached: Reached) -> None:
    """Make the note here slurred, or struck again; on an empty step say so of the next note."""
    found = session.here.note()
    if found is None:
        value = Reached.STRUCK if session.next_note.pending.reached is reached else reached
        session.next_note.expect(reached=value)
        return
    place, note = found
    value = Reached.STRUCK if note.reached is reached else reached
    session.edit(do.set_reached(session.score, place, note.course, value), value.value)


@command("hammer-on", "Hammer-on: the note here, or typed next, comes from the one before", Group.LEFT)
def hammer_on(session: Session) -> None:
    """Hammer-on to the note."""
    _reach(session, Reached.HAMMER)


@command("pull-off", "Pull-off: the note here, or typed next, comes from the one before", Group.LEFT)
def pull_off(session: Session) -> None:
    """Pull-off to the note."""
    _reach(session, Reached.PULL)


@command("slide", "Slide: the note here, or typed next, comes from the one before", Group.LEFT)
def slide(session: Session) -> None:
    """Slide to the note."""
    _reach(session, Reached.SLIDE)


@command("strike", "Strike the note with the pick instead of slurring it", Group.LEFT)
def strike(session: Session) -> None:
    """Make the note struck."""
    _reach(session, Reached.STRUCK)


@command("mute", "Dead note: the one here, or typed next", Group.LEFT)
def mute(session: Session) -> None:
    """Make the note a dead note, or let it sound."""
    found = session.here.note()
    if found is None:
        session.next_note.expect(muted=not session.next_note.pending.muted)
        return
    place, note = found
    session.edit(do.set_muted(session.score, place, note.course, not note.muted), "dead note")


@command(
    "bend",
    "Bend the note here or just written: quarter tone, semitone, quarter tone and back, none",
    Group.LEFT,
)
def bend(session: Session) -> None:
    """Go through the small bends such an instrument allows."""
    place, note = _note_or_before(session)
    index = BENDS.index(note.bend) + 1 if note.bend in BENDS else 0
    session.edit(do.set_bend(session.score, place, note.course, BENDS[index % len(BENDS)]), "bend")


@command("bend-by", "Bend the note by so many cents (5 to 400)", Group.LEFT, asks="cents, such as 30")
def bend_by(session: Session, cents: str) -> None:
    """Set a bend of any size."""
    place, note = _note_or_before(session)
    if not cents.isdecimal() or not 5 <= int(cents) <= 400:
        raise ScoreError(f"no bend of '{cents}' cents", hint="5 to 400")
    session.edit(do.set_bend(session.score, place, note.course, Bend(cents=int(cents))), "bend")


@command("slide-out", "Slide off the note, down or up, to no particular fret", Group.LEFT)
def slide_out(session: Session) -> None:
    """Go through: down, up, none."""
    place, note = _note_or_before(session)
    following = {None: Direction.DOWN, Direction.DOWN: Direction.UP, Direction.UP: None}[note.slide_out]
    session.edit(do.set_slide_out(session.score, place, note.course, following), "slide off")


@command("vibrato", "Vibrato on the note here or just written", Group.LEFT)
def vibrato(session: Session) -> None:
    """Shake the note, or leave it plain."""
    place, note = _note_or_before(session)
    session.edit(do.set_vibrato(session.score, place, note.course, not note.vibrato), "vibrato")


@command("let-ring", "Let the note here or just written ring on", Group.LEFT)
def let_ring(session: Session) -> None:
    """Let the note sound over what follows, or not."""
    place, note = _note_or_before(session)
    session.edit(do.set_ring(session.score, place, note.course, not note.ring), "let ring")


@command("accent", "Accent the event here or just written", Group.LEFT)
def accent(session: Session) -> None:
    """Stress the event, or not."""
    _turn_mark(session, do.set_accent, lambda event: event.accent, "accent")


@command("staccato", "Cut the event here or just written short", Group.LEFT)
def staccato(session: Session) -> None:
    """Play the event staccato, or not."""
    _turn_mark(session, do.set_staccato, lambda event: event.staccato, "staccato")


@command("tremolo", "Play the event here or just written as a tremolo", Group.LEFT)
def tremolo(session: Session) -> None:
    """Pick the event as a tremolo, or once."""
    _turn_mark(session, do.set_tremolo, lambda event: event.tremolo, "tremolo")


@command("roll", "Roll the courses of the double stop: downwards, upwards, not", Group.LEFT)
def roll(session: Session) -> None:
    """Go through: down, up, none."""
    place, event = session.here.event_or_before()
    following = {None: Direction.DOWN, Direction.DOWN: Direction.UP, Direction.UP: None}[event.roll]
    session.edit(do.set_roll(session.score, place, following), "roll")


def _turn_mark(
    session: Session,
    operation: Callable[[Score, Place, bool], Score],
    value: Callable[[Event], bool],
    label: str,
) -> None:
    place, event = session.here.event_or_before()
    session.edit(operation(session.score, place, not value(event)), label)


def _note_or_before(session: Session) -> tuple[Place, Note]:
    found = session.here.note_or_before()
    if found is None:
        raise ScoreError("there is no note here", hint="go to a note first")
    return found
