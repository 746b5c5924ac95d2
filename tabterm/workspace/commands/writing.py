"""Commands that write and take away notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.instrument.model import MAX_FRETS
from tabterm.page.rows import FINGER
from tabterm.score import operations as do
from tabterm.score.kinds import Direction, Reached
from tabterm.score.model import Note
from tabterm.score.place import Place, Span
from tabterm.score.query import event_at, move_by
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("digit", "Write a fret on a course, a finger (0 to 4) on the finger row", Group.WRITE, asks="number")
def digit(session: Session, number: str) -> None:
    """What the row makes of a number: a fret, or a finger."""
    if not number.isdecimal():
        raise ScoreError(f"not a fret: '{number}'", hint="type a number")
    if session.here.cursor.row is FINGER:
        _write_finger(session, int(number))
    else:
        _write_fret(session, int(number))


def _write_finger(session: Session, finger: int) -> None:
    found = session.here.note()
    if found is None:
        raise ScoreError("no note here to give a finger", hint="go to a note first")
    if finger > 4:
        raise ScoreError(f"there is no finger {finger}", hint="1 index to 4 little finger, 0 open")
    place, note = found
    session.edit(do.set_finger(session.score, place, note.course, finger), f"finger {finger}")
    if note.proposed_finger not in {None, finger}:
        session.lessons.add(place.measure)
    session.here.go_to_next_event()


def _write_fret(session: Session, number: int) -> None:
    pending = session.next_note.pending
    fret = number + pending.tens
    if fret > MAX_FRETS:
        raise ScoreError(f"no neck has a fret {fret}", hint=f"0 to {MAX_FRETS}")
    note = Note(
        course=session.here.cursor.course,
        fret=fret,
        reached=pending.reached,
        muted=pending.muted,
        slide_in=pending.slide_in,
    )
    if pending.grace:
        found = session.here.event()
        if found is None:
            raise ScoreError("no event here to put a grace note before")
        session.edit(do.add_grace(session.score, found[0], note), "grace note")
        return
    place = session.here.cursor.place
    if pending.stack:
        before = session.here.event_before()
        if before is None or before[1].is_rest:
            raise ScoreError("no note before this to add to", hint="write a note first")
        session.edit(do.put_note(session.score, before[0], note, before[1].duration), "double stop")
        return
    session.edit(do.put_note(session.score, place, note, session.next_note.step), f"fret {note.fret}")
    written = event_at(session.score, place)
    session.here.go_by(written[1].length if written and written[0] == place else session.next_note.step.length)


@command("ten", "Add ten to the fret typed next (twice: twenty)", Group.WRITE)
def ten(session: Session) -> None:
    """Frets of two digits without waiting for a second key."""
    session.next_note.expect(tens=(session.next_note.pending.tens + 10) % 30)


@command("stack", "The fret typed next joins the event before: a double stop", Group.WRITE)
def stack(session: Session) -> None:
    """Build a double stop without going back."""
    session.next_note.expect(stack=not session.next_note.pending.stack)


@command("grace", "The fret typed next is a grace note before the event here", Group.WRITE)
def grace(session: Session) -> None:
    """Put a grace note before the event at the cursor."""
    session.next_note.expect(grace=not session.next_note.pending.grace)


@command("clear-grace", "Take the grace notes of the event away", Group.WRITE)
def clear_grace(session: Session) -> None:
    """Remove every grace note of the event at the cursor."""
    session.edit(do.clear_grace(session.score, session.here.target().start), "clear grace notes")


@command("rest", "Write a rest of one step", Group.WRITE)
def rest(session: Session) -> None:
    """A rest, and on."""
    session.edit(do.write(session.score, session.here.cursor.place, session.next_note.step), "rest")
    session.here.go_by(session.next_note.step.length)


@command("hold", "Let the note before last through this step", Group.WRITE)
def hold(session: Session) -> None:
    """Lengthen the note before up to the end of this step, and go on."""
    session.edit(do.hold(session.score, session.here.cursor.place, session.next_note.step), "hold")
    session.here.go_by(session.next_note.step.length)


@command("tie", "Tie: repeat the note before without striking it, or tie the note here to it", Group.WRITE)
def tie(session: Session) -> None:
    """On an empty step write a tied note of one step; on a note tie it to the one before, or untie it."""
    found = session.here.event()
    place = session.here.cursor.place
    if found is not None and found[0] == place and not found[1].is_rest:
        session.edit(do.toggle_tie(session.score, place), "tie")
        return
    before = session.here.event_before()
    if before is None or before[1].is_rest:
        raise ScoreError("no note before this to tie to")
    notes = tuple(
        Note(course=note.course, fret=note.fret, finger=note.finger, tied=True) for note in before[1].notes
    )
    session.edit(do.write(session.score, place, session.next_note.step, notes), "tie")
    session.here.go_by(session.next_note.step.length)


@command("delete", "Take away what stands here: note, finger, stroke, chord or remark", Group.WRITE)
def delete(session: Session) -> None:
    """Remove what the row shows at the cursor; with a selection, its notes become rests."""
    selected = session.here.selection()
    if selected is not None:
        session.edit(do.erase(session.score, selected), "erase")
        session.here.anchor = None
    else:
        _delete_on_row(session)


def _delete_on_row(session: Session) -> None:
    row, place, course = session.here.cursor.row, session.here.cursor.place, session.here.cursor.course
    if row.of_note:
        found = session.here.note()
        if found is None:
            raise ScoreError("nothing stands here")
        place, course = found[0], found[1].course
    if row.clear is not None:
        session.edit(row.clear.operation(session.score, place, course), row.clear.label)


@command("take-back", "Go back to the event before and take it away", Group.WRITE)
def take_back(session: Session) -> None:
    """Undo the typing of one event: its notes become a rest, the cursor stands on it."""
    if session.here.cursor.place == Place(0):
        return
    before = session.here.event_before()
    if before is None:
        return
    place, event = before
    if not event.is_rest:
        end = Span(place, Place(place.measure, place.offset + event.length))
        session.edit(do.erase(session.score, end), "take back")
    session.here.go(place)


@command("insert-time", "Push what follows one step to the right", Group.WRITE)
def insert_time(session: Session) -> None:
    """Put an empty step, or an empty copy of the selection, here."""
    session.edit(do.insert_time(session.score, _stretch(session)), "insert time")


@command("delete-time", "Pull what follows one step to the left, over what stands here", Group.WRITE)
def delete_time(session: Session) -> None:
    """Take the step, or the selection, out of the music."""
    session.edit(do.delete_time(session.score, _stretch(session)), "delete time")
    session.here.anchor = None


def _stretch(session: Session) -> Span:
    selected = session.here.selection()
    if selected is not None:
        return selected
    place = session.here.cursor.place
    if place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is after the last measure", hint="go back onto the music")
    return Span(place, move_by(session.score, place, session.next_note.step.length))


@command("drop", "Forget what was said about the next note, and the selection", Group.WRITE)
def drop(session: Session) -> None:
    """Call off a prefix or a selection."""
    session.here.anchor = None
    session.next_note.expect(reached=Reached.STRUCK, tens=0, stack=False, muted=False, slide_in=None, grace=False)


@command("slide-into", "The note here, or typed next, is slid into from below", Group.WRITE)
def slide_into(session: Session) -> None:
    """A slide from no particular fret."""
    found = session.here.note()
    if found is None:
        session.next_note.expect(slide_in=None if session.next_note.pending.slide_in else Direction.UP)
        return
    place, note = found
    value = None if note.slide_in else Direction.UP
    session.edit(do.set_slide_in(session.score, place, note.course, value), "slide into")
