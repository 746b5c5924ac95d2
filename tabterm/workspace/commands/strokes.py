"""Commands on the pick strokes; the rules are those of `tabterm.hand.stroke_row`."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from tabterm.hand import stroke_row
from tabterm.hand.schools import school_named
from tabterm.printable import counted
from tabterm.score import operations as do
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.place import Span, describe
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.score.place import Place
    from tabterm.workspace.session import Session


def _set(stroke: Stroke, session: Session) -> None:
    place = _struck_here(session)
    session.edit(do.set_stroke(session.score, place, stroke), f"stroke {stroke.value}")
    _advance(session)


def _struck_here(session: Session) -> Place:
    """The event that a stroke key is about: the one here or, where that is slurred, the next struck one."""
    meant = session.here.event_meant()[0]
    place = stroke_row.struck_from(session.score, meant)[0]
    if place != meant:
        session.host.say(f"the note here is not picked; the stroke goes to {describe(session.score, place)}")
        if session.here.cursor.row.walks:
            session.here.go(place)
    return place


def _advance(session: Session) -> None:
    """On the stroke row each key goes on to the next note."""
    if session.here.cursor.row.walks:
        session.here.go_to_next_event()


for _name, _title, _stroke in (
    ("stroke-down", "Set a down-stroke", Stroke.DOWN),
    ("stroke-up", "Set an up-stroke", Stroke.UP),
    ("stroke-none", "Set no stroke", Stroke.NONE),
):
    command(_name, _title, Group.STROKES, rows=Rows.NOTES)(partial(_set, _stroke))


@command("confirm", "Accept the stroke shown and go on", Group.STROKES, rows=Rows.NOTES)
def confirm(session: Session) -> None:
    """Make the proposed stroke of one event, or of the selection, the player's own."""
    session.edit(stroke_row.accept(session.score, session.here.target()), "accept stroke")
    _advance(session)


@command("turn", "Reverse the stroke and go on", Group.STROKES, rows=Rows.NOTES)
def turn(session: Session) -> None:
    """Down becomes up, up becomes down."""
    session.edit(stroke_row.turn(session.score, _struck_here(session)), "reverse stroke")
    _advance(session)


@command("alternate", "Alternate strokes from here to the end of the measure", Group.STROKES)
def alternate(session: Session) -> None:
    """Strict alternation from the stroke shown here."""
    session.rework(stroke_row.alternate_from(session.score, _struck_here(session)), "alternate strokes")


@command("turn-all", "Reverse every stroke in the measure or selection", Group.STROKES)
def turn_all(session: Session) -> None:
    """All of them at once."""
    session.rework(stroke_row.turn_all(session.score, _stretch(session)), "reverse strokes")


@command("to-proposal", "Clear the set strokes in the measure or selection, and propose new ones", Group.STROKES)
def to_proposal(session: Session) -> None:
    """Forget set strokes."""
    session.rework(stroke_row.to_proposal(session.score, _stretch(session)), "clear strokes")


@command("silent-strokes", "Show or hide the silent strokes", Group.STROKES)
def silent_strokes(session: Session) -> None:
    """Turn the silent strokes of the stroke row on or off."""
    session.shown.silent_strokes = not session.shown.silent_strokes
    session.host.redraw()


@command(
    "school-here",
    "Choose the picking school of this measure or the selection",
    Group.STROKES,
    asks="school",
    choices=lambda _: tuple(StrokeSchool),
)
def school_here(session: Session, word: str) -> None:
    """Choose how strokes are proposed here; what follows keeps its own."""
    chosen = school_named(word)
    first, last = session.here.measures()
    session.rework(do.set_school_of(session.score, first, last, chosen), f"picking school {chosen}")
    say_idle(session, first, last)


@command(
    "school-of-section",
    "Choose the picking school of the section",
    Group.STROKES,
    asks="school",
    choices=lambda _: tuple(StrokeSchool),
)
def school_of_section(session: Session, word: str) -> None:
    """Choose how strokes are proposed from the section mark before the cursor to the next."""
    chosen, (first, last) = school_named(word), do.section_round(session.score, session.here.measures()[0])
    session.rework(do.set_school_of(session.score, first, last, chosen), f"picking school {chosen}")
    say_idle(session, first, last)


def say_idle(session: Session, first: int, last: int) -> None:
    """Say where the schools of some measures find nothing to do."""
    from tabterm.hand.strokes import idle_schools

    lines = idle_schools(session.score, first, last)
    if lines:
        more = f"; and in {counted(len(lines) - 1, 'more place')}" if len(lines) > 1 else ""
        session.host.say(lines[0] + more)


def _stretch(session: Session) -> Span:
    return session.here.selection() or Span.of_measures(*session.here.measures())
