"""Commands that select, copy and move stretches of the music."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.piece.piece import span_of
from tabterm.printable import counted
from tabterm.score import operations as do
from tabterm.score.place import Place, Span
from tabterm.score.query import events_in
from tabterm.workspace import cursor as cursors
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.score.model import Score
    from tabterm.score.operations import Clip
    from tabterm.workspace.session import Session


@command("mark", "Start a selection here, or drop it", Group.SELECT)
def mark(session: Session) -> None:
    """Moving the cursor then stretches the selection."""
    session.here.anchor = session.here.cursor.place if session.here.anchor is None else None


@command("select-right", "Extend the selection one step right", Group.SELECT)
def select_right(session: Session) -> None:
    """Select on."""
    _start(session)
    session.here.go(cursors.to_right(session.score, session.here.cursor.place, session.next_note.step.length))


@command("select-left", "Extend the selection one step left", Group.SELECT)
def select_left(session: Session) -> None:
    """Select back."""
    _start(session)
    session.here.go(cursors.to_left(session.score, session.here.cursor.place, session.next_note.step.length))


@command("select-measure", "Select the measure, then the next ones too", Group.SELECT)
def select_measure(session: Session) -> None:
    """Whole measures, one more each time."""
    first, last = session.here.measures()
    count = len(session.score.measures)
    if session.here.anchor is not None and session.here.anchor == Place(first) and _at_end(session, last):
        last = min(last + 1, count - 1)
    session.here.anchor = Place(first)
    session.here.go(Place(last, session.score.measures[last].onsets[-1]))


@command("select-phrase", "Select the phrase at the cursor, as played in one breath", Group.SELECT)
def select_phrase(session: Session) -> None:
    """The phrase around the cursor, from its first note to its last."""
    from tabterm.harmony.phrases import phrases

    here = session.here.cursor.place
    around = (each for each in phrases(session.score) if each.start <= here < each.end)
    played = [place for span in around for place, event in events_in(session.score, span) if event.notes]
    if not played:
        raise ScoreError("no note here", hint="go to a note of the phrase")
    session.here.anchor = played[0]
    session.here.go(played[-1])


@command("select-all", "Select the whole score", Group.SELECT)
def select_all(session: Session) -> None:
    """From the first event to the last."""
    session.here.anchor = Place(0)
    last = len(session.score.measures) - 1
    session.here.go(Place(last, session.score.measures[last].onsets[-1]))


NAMES = tuple("123456789")
"""What copies can be kept under beside the one that is not named."""


@command("copy", "Copy the selection or the event here", Group.SELECT)
def copy(session: Session) -> None:
    """Keep a copy of the music for pasting."""
    _keep(session, "")


@command("copy-to", "Copy the selection or the event here under a number", Group.SELECT, asks="number, 1 to 9")
def copy_to(session: Session, name: str) -> None:
    """Keep a copy beside others."""
    _keep(session, _named(name))


def _keep(session: Session, name: str) -> None:
    clip = session.clips[name] = do.copy(session.score, session.here.target())
    session.here.anchor = None
    session.host.say(f"copied {_notes(clip)}{f' to {name}' if name else ''}")


@command("cut", "Cut the selection or the event here, leaving rests", Group.SELECT)
def cut(session: Session) -> None:
    """Take the music out and keep it for pasting."""
    score, session.clips[""] = do.cut(session.score, session.here.target())
    session.rework(score, "cut")
    session.here.anchor = None


@command("paste", "Paste over what is here; chord symbols stay", Group.SELECT)
def paste(session: Session) -> None:
    """Write the copied music from the cursor on, and go behind it."""
    _paste(session, "", chords=False)


@command("paste-with-chords", "With chord symbols: paste over what is here", Group.SELECT)
def paste_with_chords(session: Session) -> None:
    """Write the copied music and its chords from the cursor on, and go behind it."""
    _paste(session, "", chords=True)


@command(
    "paste-from",
    "Paste the copy kept under a number",
    Group.SELECT,
    asks="number, 1 to 9",
    choices=lambda session: sorted(name for name in session.clips if name),
)
def paste_from(session: Session, name: str) -> None:
    """Write one of the copies from the cursor on, and go behind it."""
    _paste(session, _named(name), chords=False)


def _named(name: str) -> str:
    if name.strip() not in NAMES:
        raise ScoreError(f"not the number of a copy: '{name:.20}'", hint="type 1 to 9")
    return name.strip()


def _paste(session: Session, name: str, *, chords: bool) -> None:
    clip = session.clips.get(name)
    if clip is None:
        raise ScoreError(f"nothing copied{f' to {name}' if name else ''} yet", hint="select and copy first")
    pasted = do.paste(session.score, session.here.cursor.place, clip, chords=chords)
    session.rework(pasted, "paste with chords" if chords else "paste")
    session.here.go_by(clip.length)


@command("duplicate", "Duplicate the selection right after it; chord symbols stay", Group.SELECT)
def duplicate(session: Session) -> None:
    """Copy the selection (or the event) to the place after its end."""
    _duplicate(session, chords=False)


@command("duplicate-with-chords", "With chord symbols: duplicate the selection right after it", Group.SELECT)
def duplicate_with_chords(session: Session) -> None:
    """Copy the selection (or the event) and its chords to the place after its end."""
    _duplicate(session, chords=True)


def _duplicate(session: Session, *, chords: bool) -> None:
    span = session.here.target()
    copied = do.paste(session.score, span.end, do.copy(session.score, span), chords=chords)
    session.rework(copied, "duplicate with chords" if chords else "duplicate")
    session.here.anchor = None
    session.here.go(span.end)


@command(
    "measures-again",
    "Copy other measures here; chord symbols stay",
    Group.SELECT,
    asks="measures, such as 3 or 3-6",
)
def measures_again(session: Session, numbers: str) -> None:
    """Repeat a phrase by the numbers of its measures, and go behind it."""
    _measures_again(session, numbers, chords=False)


@command(
    "form-again",
    "With chord symbols: copy other measures here",
    Group.SELECT,
    asks="measures, such as 3 or 3-6",
)
def form_again(session: Session, numbers: str) -> None:
    """Repeat a part with its chords by the numbers of its measures, and go behind it."""
    _measures_again(session, numbers, chords=True)


def _measures_again(session: Session, numbers: str, *, chords: bool) -> None:
    first, _, last = numbers.replace(" ", "").partition("-")
    if not (first.isdecimal() and (last or first).isdecimal()):
        raise ScoreError(f"not measures: '{numbers:.20}'", hint="numbers shown at the bar lines, such as 3 or 3-6")
    span = span_of(session.score, int(first), int(last or first))
    clip = do.copy(session.score, span or Span.of_measures(0, len(session.score.measures) - 1))
    pasted = do.paste(session.score, session.here.cursor.place, clip, chords=chords)
    session.rework(pasted, f"m{numbers.strip()} again")
    session.here.go_by(clip.length)


@command(
    "swap-measures", "Swap this measure with the next, or the halves of the selection; chords stay", Group.SELECT
)
def swap_measures(session: Session) -> None:
    """Exchange the music of two measures, or of two phrases of as many measures each."""
    _swap(session, chords=False)


@command(
    "swap-with-chords",
    "With chord symbols: swap this measure and the next, or the halves of the selection",
    Group.SELECT,
)
def swap_with_chords(session: Session) -> None:
    """Exchange music and chords of two measures, or of two phrases of as many measures each."""
    _swap(session, chords=True)


def _swap(session: Session, *, chords: bool) -> None:
    first, last = session.here.measures()
    count = (last - first + 1) // 2 if session.here.anchor is not None else 1
    if session.here.anchor is not None and (last - first) % 2 == 0:
        raise ScoreError("cannot halve an odd number of measures", hint="select an even number")
    swapped = do.swap_measures(session.score, first, count, chords=chords)
    session.rework(swapped, "swap with chords" if chords else "swap")
    session.here.anchor = None
    session.here.go(Place(first))


@command(
    "to-higher-course",
    "Move the note or selection one course higher, same pitch",
    Group.SELECT,
    rows=Rows.NOTES,
)
def to_higher_course(session: Session) -> None:
    """Same pitch, one course up on the page."""
    _move_course(session, -1)


@command(
    "to-lower-course",
    "Move the note or selection one course lower, same pitch",
    Group.SELECT,
    rows=Rows.NOTES,
)
def to_lower_course(session: Session) -> None:
    """Same pitch, one course down on the page."""
    _move_course(session, 1)


def _move_course(session: Session, step: int) -> None:
    if session.here.anchor is not None:
        span = session.here.target()
        rework_courses(session, do.move_course(session.score, span, step), span, "other course")
        return
    place, note = session.here.note_meant()
    moved = do.move_slur(session.score, place, step, note.course)
    rework_courses(session, moved, Span(place, session.here.end_of_event(place)), "other course")
    if place == session.here.cursor.place and session.here.cursor.row is COURSE:
        session.here.cursor = session.here.cursor.on(COURSE, note.course + step)


def rework_courses(session: Session, moved: Score, span: Span, label: str) -> None:
    """Make a change of courses, and say which slurs it has split over two of them."""
    split = do.slurs_over_courses(moved, span) - do.slurs_over_courses(session.score, span)
    told = f"; {counted(split, 'slur')} split over two courses" if split > 0 else ""
    session.rework(moved, label, told=told)


@command(
    "transpose",
    "Transpose the selection or the score by semitones; chords and keys stay",
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
    rework_courses(session, do.transpose(session.score, span, semitones), span, f"transpose {semitones}")


def _notes(clip: Clip) -> str:
    return counted(sum(len(each.event.notes) for each in clip.events if each.event is not None), "note")


def _start(session: Session) -> None:
    if session.here.anchor is None:
        session.here.anchor = session.here.cursor.place


def _at_end(session: Session, index: int) -> bool:
    return session.here.cursor.place == Place(index, session.score.measures[index].onsets[-1])
