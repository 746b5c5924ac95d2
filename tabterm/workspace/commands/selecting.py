"""Commands that select, copy and move stretches of the music."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.score import operations as do
from tabterm.score.place import Place, Span
from tabterm.score.query import events_in, previous_event
from tabterm.workspace import cursor as cursors
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("mark", "Start a selection here, or drop it", Group.SELECT)
def mark(session: Session) -> None:
    """Moving the cursor then stretches the selection."""
    session.here.anchor = session.here.cursor.place if session.here.anchor is None else None


@command("select-right", "Stretch the selection one step to the right", Group.SELECT)
def select_right(session: Session) -> None:
    """Select on."""
    _start(session)
    session.here.go(cursors.to_right(session.score, session.here.cursor.place, session.next_note.step.length))


@command("select-left", "Stretch the selection one step to the left", Group.SELECT)
def select_left(session: Session) -> None:
    """Select back."""
    _start(session)
    session.here.go(cursors.to_left(session.score, session.here.cursor.place, session.next_note.step.length))


@command("select-measure", "Select the measure; again: the next one too", Group.SELECT)
def select_measure(session: Session) -> None:
    """Whole measures, one more each time."""
    first, last = session.here.measures()
    count = len(session.score.measures)
    if session.here.anchor is not None and session.here.anchor == Place(first) and _at_end(session, last):
        last = min(last + 1, count - 1)
    session.here.anchor = Place(first)
    session.here.go(Place(last, session.score.measures[last].onsets[-1]))


@command("select-phrase", "Select the phrase: from rest to rest, or between section marks", Group.SELECT)
def select_phrase(session: Session) -> None:
    """Everything around the cursor up to the nearest rests and section marks."""
    found = session.here.event()
    if found is None or found[1].is_rest:
        raise ScoreError("there is no note here", hint="go to a note of the phrase")
    first = last = found[0]
    while (before := previous_event(session.score, first)) is not None and not before[1].is_rest:
        if session.score.measures[first.measure].section and first.offset == 0:
            break
        first = before[0]
    for place, event in events_in(session.score, Span(last, Place(len(session.score.measures)))):
        new_section = place > last and place.offset == 0 and session.score.measures[place.measure].section
        if event.is_rest or new_section:
            break
        last = place
    session.here.anchor = first
    session.here.go(last)


@command("select-all", "Select the whole score", Group.SELECT)
def select_all(session: Session) -> None:
    """From the first event to the last."""
    session.here.anchor = Place(0)
    last = len(session.score.measures) - 1
    session.here.go(Place(last, session.score.measures[last].onsets[-1]))


@command("copy", "Copy the selection, or the event here", Group.SELECT)
def copy(session: Session) -> None:
    """Keep a copy of the music for pasting."""
    session.clip = do.copy(session.score, session.here.target())
    session.here.anchor = None
    session.host.say("copied")


@command("cut", "Cut the selection, or the event here, leaving rests", Group.SELECT)
def cut(session: Session) -> None:
    """Take the music out and keep it for pasting."""
    score, session.clip = do.cut(session.score, session.here.target())
    session.edit(score, "cut")
    session.here.anchor = None


@command("paste", "Paste here, over what stands here", Group.SELECT)
def paste(session: Session) -> None:
    """Write the copied music from the cursor on, and go behind it."""
    if session.clip is None:
        raise ScoreError("nothing has been copied", hint="select and copy first")
    session.edit(do.paste(session.score, session.here.cursor.place, session.clip), "paste")
    session.here.go_by(session.clip.length)


@command("once-more", "Duplicate the selection right behind it", Group.SELECT)
def once_more(session: Session) -> None:
    """Copy the selection (or the event) to the place after its end."""
    span = session.here.target()
    clip = do.copy(session.score, span)
    session.edit(do.paste(session.score, span.end, clip), "once more")
    session.here.anchor = None
    session.here.go(span.end)


@command(
    "to-higher-course",
    "Move the note, or the selection, to the next higher course, same pitch",
    Group.SELECT,
    rows=Rows.NOTES,
)
def to_higher_course(session: Session) -> None:
    """Same pitch, one course up on the page."""
    _move_course(session, -1)


@command(
    "to-lower-course",
    "Move the note, or the selection, to the next lower course, same pitch",
    Group.SELECT,
    rows=Rows.NOTES,
)
def to_lower_course(session: Session) -> None:
    """Same pitch, one course down on the page."""
    _move_course(session, 1)


def _move_course(session: Session, step: int) -> None:
    if session.here.anchor is not None:
        session.edit(do.move_course(session.score, session.here.target(), step), "other course")
        return
    found = session.here.note_or_before()
    if found is None:
        raise ScoreError("there is no note here", hint="go to a note first")
    place, note = found
    span = Span(place, session.here.end_of_event(place))
    session.edit(do.move_course(session.score, span, step, note.course), "other course")
    if place == session.here.cursor.place and session.here.cursor.row is COURSE:
        session.here.cursor = session.here.cursor.on(COURSE, note.course + step)


@command(
    "transpose",
    "Transpose the notes of the selection or the score by semitones; chords and keys stay",
    Group.SELECT,
    asks="semitones, such as -2",
)
def transpose(session: Session, text: str) -> None:
    """Up or down by semitones."""
    try:
        semitones = int(text)
    except ValueError:
        raise ScoreError(f"not a number of semitones: '{text}'", hint="such as 2 or -5") from None
    span = session.here.selection() or Span.of_measures(0, len(session.score.measures) - 1)
    session.edit(do.transpose(session.score, span, semitones), f"transpose {semitones}")


def _start(session: Session) -> None:
    if session.here.anchor is None:
        session.here.anchor = session.here.cursor.place


def _at_end(session: Session, index: int) -> bool:
    return session.here.cursor.place == Place(index, session.score.measures[index].onsets[-1])
