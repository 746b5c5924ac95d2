"""Commands that move the cursor and change nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE, EDITABLE, row_named
from tabterm.score.place import Place, lead_in, measure_index
from tabterm.workspace import cursor as cursors
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.workspace.session import Session


@command("right", "Go one step right, or to the next event", Group.MOVE)
def right(session: Session) -> None:
    """One step later."""
    session.here.go(cursors.to_right(session.score, session.here.cursor.place, session.next_note.step.length))


@command("left", "Go one step left, or to the previous event", Group.MOVE)
def left(session: Session) -> None:
    """One step earlier."""
    session.here.go(cursors.to_left(session.score, session.here.cursor.place, session.next_note.step.length))


@command("up", "Go one row up", Group.MOVE, keeps_pending=True)
def up(session: Session) -> None:
    """One row up."""
    session.here.cursor = cursors.up(session.here.cursor, session.shown.rows)


@command("down", "Go one row down", Group.MOVE, keeps_pending=True)
def down(session: Session) -> None:
    """One row down."""
    count = session.score.head.instrument.course_count
    session.here.cursor = cursors.down(session.here.cursor, session.shown.rows, count)


@command("course", "Jump to a course (1 is the highest)", Group.MOVE, asks="course number", keeps_pending=True)
def course(session: Session, number: str) -> None:
    """To a course row."""
    count = session.score.head.instrument.course_count
    if not number.isdecimal() or not 1 <= int(number) <= count:
        raise ScoreError(f"no course {number}", hint=f"1 to {count}, from the highest")
    session.here.cursor = session.here.cursor.on(COURSE, int(number))
    session.next_note.expect(on=None)
    session.here.added = None


@command(
    "row",
    "Jump to a row: remark, chord, finger or stroke",
    Group.MOVE,
    asks="row",
    choices=lambda _: tuple(row.name for row in EDITABLE),
)
def row(session: Session, name: str) -> None:
    """To a row by name; shows it if it was hidden."""
    found = row_named(name, EDITABLE)
    if found is None:
        raise ScoreError(f"no row '{name}' to write on", hint=", ".join(each.name for each in EDITABLE))
    session.shown.hidden_rows -= {found}
    session.here.cursor = session.here.cursor.on(found)


@command("next-beat", "Go to the next beat", Group.MOVE)
def next_beat(session: Session) -> None:
    """One beat later, over the bar line."""
    session.here.go(_beat_after(session))


@command("previous-beat", "Go to the previous beat", Group.MOVE)
def previous_beat(session: Session) -> None:
    """The start of this beat or, from there, of the one before."""
    place = session.here.cursor.place
    if place.measure < len(session.score.measures):
        earlier = [beat for beat in _beats(session, place.measure) if beat < place.offset]
        if earlier:
            session.here.go(Place(place.measure, earlier[-1]))
            return
    if place.measure > 0:
        session.here.go(Place(place.measure - 1, _beats(session, place.measure - 1)[-1]))


@command("next-measure", "Go to the next measure", Group.MOVE)
def next_measure(session: Session) -> None:
    """Start of the next measure; after the last, the place that adds one."""
    session.here.go(Place(min(session.here.cursor.place.measure + 1, len(session.score.measures))))


@command("previous-measure", "Go to the start of this measure, then of the previous one", Group.MOVE)
def previous_measure(session: Session) -> None:
    """Start of this measure or, from there, of the one before."""
    place = session.here.cursor.place
    session.here.go(Place(place.measure if place.offset else max(place.measure - 1, 0)))


@command("measure-start", "Go to the start of the measure", Group.MOVE)
def measure_start(session: Session) -> None:
    """Start of the measure."""
    session.here.go(Place(session.here.cursor.place.measure))


@command("measure-end", "Go to the last event of the measure", Group.MOVE)
def measure_end(session: Session) -> None:
    """Last event of the measure."""
    index = min(session.here.cursor.place.measure, len(session.score.measures) - 1)
    session.here.go(Place(index, session.score.measures[index].onsets[-1]))


@command("score-start", "Go to the first measure", Group.MOVE)
def score_start(session: Session) -> None:
    """Start of the score."""
    session.here.go(Place(0))


@command("score-end", "Go past the end, where typing adds a measure", Group.MOVE)
def score_end(session: Session) -> None:
    """The place after the last measure, where writing adds one."""
    session.here.go(Place(len(session.score.measures)))


@command("page-down", "Go one screen down", Group.MOVE)
def page_down(session: Session) -> None:
    """As many measures on as the screen shows."""
    last = len(session.score.measures) - 1
    session.here.go(Place(min(session.here.cursor.place.measure + session.shown.measures, last)))


@command("page-up", "Go one screen up", Group.MOVE)
def page_up(session: Session) -> None:
    """As many measures back as the screen shows."""
    session.here.go(Place(max(session.here.cursor.place.measure - session.shown.measures, 0)))


@command("go-to", "Go to a measure by number", Group.MOVE, asks="measure number")
def go_to(session: Session, number: str) -> None:
    """To a measure by the number a player gives it."""
    index = measure_index(session.score, int(number)) if number.isdecimal() else None
    if index is None:
        raise ScoreError(f"no measure '{number}'", hint="use a number shown at the bar lines")
    session.here.go(Place(index))


@command("next-section", "Go to the next section mark", Group.MOVE)
def next_section(session: Session) -> None:
    """The next measure with a section mark."""
    for index in range(session.here.cursor.place.measure + 1, len(session.score.measures)):
        if session.score.measures[index].section:
            session.here.go(Place(index))
            return
    raise ScoreError("no section mark after this", hint="the command 'section' sets one")


def _beats(session: Session, index: int) -> list[Fraction]:
    """Beats of a measure; a pickup's are counted from its end."""
    measure, metre = session.score.measures[index], session.score.metres[index]
    missing = lead_in(session.score, index)
    return [beat - missing for beat in metre.beats if 0 <= beat - missing < measure.length]


def _beat_after(session: Session) -> Place:
    place = session.here.cursor.place
    if place.measure >= len(session.score.measures):
        return place
    later = [beat for beat in _beats(session, place.measure) if beat > place.offset]
    return Place(place.measure, later[0]) if later else Place(place.measure + 1)
