"""Commands on how a note is reached and sounds: slurs, slides, bends and other marks."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.score.source import Bend
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.model import Score
    from tabterm.workspace.session import Session

T = TypeVar("T")

TURNED = (False, True)
"""What a mark goes through that is there or not."""

BENDS = (None, Bend(cents=50), Bend(cents=100), Bend(cents=50, shape=BendShape.RISE_AND_FALL))
"""What the bend key goes through: none, a quarter tone, a semitone, a quarter tone and back."""

DIRECTIONS = (None, Direction.DOWN, Direction.UP)
"""What sliding off and rolling go through."""


def _after(value: T, values: tuple[T, ...]) -> T:
    """The value that follows, round and round; of one that is not among them, the first."""
    return values[(values.index(value) + 1) % len(values)] if value in values else values[0]


def _next(
    field: str, set_field: Callable[..., Score], values: tuple[Any, ...], label: str, session: Session
) -> None:
    """Mark the note here or, where there is none or another was just written, the one typed next.

    Without a label the value has its own word.
    """
    found = None if session.here.just_written() else session.here.note()
    if found is None:
        value = _after(getattr(session.next_note.pending, field), values)
        session.next_note.expect(**{field: value})
    else:
        place, note = found
        value = _after(getattr(note, field), values)
        session.edit(set_field(session.score, place, note.course, value), label or value.value)


def _note(
    field: str, set_field: Callable[..., Score], values: tuple[Any, ...], label: str, session: Session
) -> None:
    """Mark the note here or just written."""
    place, note = session.here.note_meant()
    value = _after(getattr(note, field), values)
    session.edit(set_field(session.score, place, note.course, value), label)
    _tell(session, label if value else f"no {label}", session.here.elsewhere(place, note.course))


def _event(
    field: str, set_field: Callable[..., Score], values: tuple[Any, ...], label: str, session: Session
) -> None:
    """Mark the event here or just written."""
    place, event = session.here.event_meant()
    value = _after(getattr(event, field), values)
    session.edit(set_field(session.score, place, value), label)
    _tell(session, label if value else f"no {label}", session.here.elsewhere(place))


def _tell(session: Session, label: str, elsewhere: str) -> None:
    """Name the place of a mark that was set elsewhere than under the cursor."""
    if elsewhere:
        session.host.say(label + elsewhere)


def _bend_by(session: Session, cents: str) -> None:
    """Set a bend of any size."""
    place, note = session.here.note_meant()
    if not cents.isdecimal() or not 5 <= int(cents) <= 400:
        raise ScoreError(f"not a bend: '{cents}' cents", hint="5 to 400")
    session.edit(do.set_bend(session.score, place, note.course, Bend(cents=int(cents))), "bend")
    _tell(session, f"bend of {cents} cents", session.here.elsewhere(place, note.course))


def _slur(how: Reached) -> Callable[[Session], None]:
    return partial(_next, "reached", do.set_reached, (how, Reached.STRUCK), "")


_INTO = partial(_next, "slide_in", do.set_slide_in, (None, Direction.UP), "slide into")
_TO = "to the note here or the next one typed"
_BEND = "Bend the note here or just written: quarter tone, semitone, quarter tone and back, off"
_ROLL = "Roll the double stop: down, up, off"
_OFF = "Slide off the note to no particular fret: down, up, off"
_RING = "Let the note here or just written ring"
_CUT = "Play the event here or just written short"
_DAMP = "Damp everything at the end of the event here or just written"
_TREMOLO = "Play the event here or just written as tremolo"

for _name, _title, _asks, _run in (
    ("hammer-on", f"Hammer on {_TO}", "", _slur(Reached.HAMMER)),
    ("pull-off", f"Pull off {_TO}", "", _slur(Reached.PULL)),
    ("slide", f"Slide {_TO}", "", _slur(Reached.SLIDE)),
    ("strike", "Pick the note instead of slurring it", "", _slur(Reached.STRUCK)),
    (
        "mute",
        "Make the note here or the next one typed a dead note",
        "",
        partial(_next, "muted", do.set_muted, TURNED, "dead note"),
    ),
    ("slide-into", "Slide from below into the note here or the next one typed", "", _INTO),
    ("bend", _BEND, "", partial(_note, "bend", do.set_bend, BENDS, "bend")),
    ("bend-by", "Bend the note by a number of cents (5 to 400)", "cents, such as 30", _bend_by),
    ("slide-out", _OFF, "", partial(_note, "slide_out", do.set_slide_out, DIRECTIONS, "slide off")),
    (
        "vibrato",
        "Vibrato on the note here or just written",
        "",
        partial(_note, "vibrato", do.set_vibrato, TURNED, "vibrato"),
    ),
    ("let-ring", _RING, "", partial(_note, "ring", do.set_ring, TURNED, "let ring")),
    (
        "accent",
        "Accent the event here or just written",
        "",
        partial(_event, "accent", do.set_accent, TURNED, "accent"),
    ),
    ("staccato", _CUT, "", partial(_event, "staccato", do.set_staccato, TURNED, "staccato")),
    ("damp", _DAMP, "", partial(_event, "damp", do.set_damp, TURNED, "damp")),
    ("tremolo", _TREMOLO, "", partial(_event, "tremolo", do.set_tremolo, TURNED, "tremolo")),
    ("roll", _ROLL, "", partial(_event, "roll", do.set_roll, DIRECTIONS, "roll")),
):
    command(_name, _title, Group.LEFT, asks=_asks, rows=Rows.NOTES)(_run)
