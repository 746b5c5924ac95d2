"""Commands that write and take away notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.instrument import pitch_name
from tabterm.instrument.model import MAX_FRETS
from tabterm.page.rows import COURSE, FINGER
from tabterm.score import operations as do
from tabterm.score.model import Note
from tabterm.score.operations.target import check_on_neck
from tabterm.score.place import Place, Span
from tabterm.score.query import attack_of, move_by, previous_event, whole_length
from tabterm.workspace.commands.rhythm import take_taps
from tabterm.workspace.here import NOTHING_PENDING, Pending
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.score.model import Event
    from tabterm.workspace.session import Session


@command("digit", "Write a fret; on the finger row, a finger (0 to 4)", Group.WRITE, asks="number")
def digit(session: Session, number: str) -> None:
    """What the row makes of a number: a fret, or a finger."""
    if not number.isdecimal():
        raise ScoreError(f"not a fret: '{number}'", hint="type a number")
    row = session.here.cursor.row
    if row is FINGER:
        _write_finger(session, int(number))
    elif row is COURSE:
        _write_fret(session, int(number))
    else:
        raise ScoreError(f"the {row.name} row takes no numbers", hint="go to a course first")


def _write_finger(session: Session, finger: int) -> None:
    found = session.here.note()
    if found is None:
        raise ScoreError("no note here to finger", hint="go to a note first")
    if finger > 4:
        raise ScoreError(f"not a finger: {finger}", hint="1 index to 4 little finger, 0 open")
    place, note = found
    session.edit(do.set_finger(session.score, place, note.course, finger), f"finger {finger}")
    if note.proposed_finger not in {None, finger}:
        session.lessons.add(place.measure)
    session.here.go_to_next_event()


def _write_fret(session: Session, number: int) -> None:
    pending = session.next_note.pending
    fret = number + pending.tens
    if fret > MAX_FRETS:
        raise ScoreError(f"fret too high: {fret}", hint=f"0 to {MAX_FRETS}")
    note = Note(
        course=pending.on or session.here.cursor.course,
        fret=fret,
        reached=pending.reached,
        muted=pending.muted,
        slide_in=pending.slide_in,
    )
    if pending.grace:
        _write_grace(session, note)
    elif pending.stack:
        written, place = session.here.just_written(), session.here.event_meant()[0]
        session.edit(do.put_note(session.score, place, note, session.next_note.step), f"add fret {fret}")
        if written is None:
            session.here.go_behind(place)
        session.here.added = pending.on
    else:
        write_notes(session, (note,), f"fret {fret}", pending.graces)


def write_notes(session: Session, notes: tuple[Note, ...], label: str, grace: tuple[Note, ...] = ()) -> None:
    """Write notes over the step at the cursor, or over the beat of the rhythm that is typed to, and go on."""
    take_taps(session)
    score, place, following = session.score, session.here.cursor.place, session.next_note
    beat = None if following.rhythm is None else following.rhythm.at(score, place)
    value = following.step if beat is None else beat.value
    length = value.length if beat is None else beat.length
    session.edit(do.write_notes(score, place, notes, value, grace, length), label)
    found = None if following.rhythm is None else following.rhythm.after(session.score, place)
    session.here.go_by(length if found is None else found[0])
    session.here.wrote(place)
    if found is None and following.rhythm is not None:
        following.rhythm = None
        session.host.say("the rhythm ends here")


def _write_grace(session: Session, note: Note) -> None:
    """Keep a grace note for the note typed next; where a note stands here, it gets it too."""
    check_on_neck(session.score, session.here.cursor.place, (note,))
    if session.here.just_written() is None and (found := session.here.note()) is not None:
        session.edit(do.add_grace(session.score, found[0], note), "grace note")
    pending = session.next_note.pending
    session.next_note.pending = Pending(graces=(*pending.graces, note))


@command(
    "midi-input",
    "Write notes from a MIDI keyboard, one step each; keys held together make a double stop",
    Group.WRITE,
    asks="part of a port's name; virtual: a port to connect to; off",
    choices=lambda _: ("virtual", "off"),
)
def midi_input(session: Session, name: str) -> None:
    """Open a port, or let it go."""
    if session.midi_input is not None:
        session.midi_input.close()
        session.midi_input = None
    if name.strip() in {"", "off"}:
        session.host.say("MIDI input is off")
        return
    from tabterm.sound.midi_input import MidiInput

    held = set[int]()

    def take(pitch: int, begins: bool) -> None:
        if begins:
            together = bool(held)
            held.add(pitch)
            session.host.soon(lambda: play_in(session, pitch, together=together))
        else:
            held.discard(pitch)

    session.midi_input = MidiInput(name.strip(), take)
    session.host.say(f"writing notes from {session.midi_input.name}")


def play_in(session: Session, pitch: int, *, together: bool = False) -> None:
    """Write a pitch where the cursor is: on its course or the nearest; `together`, into the event just written."""
    here, instrument = session.here, session.score.head.instrument
    written = here.just_written() if together else None
    taken = {note.course for note in written[1].notes} if written is not None else set()
    spots = [spot for spot in instrument.places_of(pitch) if spot[0] not in taken]
    if here.cursor.row is not COURSE:
        session.host.say(f"the {here.cursor.row.name} row takes no notes (go to a course first)", trouble=True)
    elif not spots:
        session.host.say(f"{pitch_name(pitch)} is not on this {instrument.name}", trouble=True)
    else:
        course, fret = min(spots, key=lambda spot: (abs(spot[0] - here.cursor.course), spot[1]))
        note = Note(course=course, fret=fret)
        if written is not None:
            session.edit(do.put_note(session.score, written[0], note, session.next_note.step), f"add fret {fret}")
        else:
            write_notes(session, (note,), f"fret {fret}")
            here.cursor = here.cursor.on(COURSE, course)


@command("ten", "Add ten to the next fret typed (twice: twenty)", Group.WRITE, rows=Rows.COURSES)
def ten(session: Session) -> None:
    """Frets of two digits without waiting for a second key."""
    session.next_note.expect(tens=(session.next_note.pending.tens + 10) % 30)


@command(
    "stack",
    "Double stop: put the next fret a course below the note just written, or here",
    Group.WRITE,
    rows=Rows.COURSES,
)
def stack(session: Session) -> None:
    """Build a double stop without going back; on the course of a note here change its fret alone."""
    _stack(session, 1)


@command(
    "stack-above",
    "Double stop above: put the next fret a course above the note just written",
    Group.WRITE,
    rows=Rows.COURSES,
)
def stack_above(session: Session) -> None:
    """Build a double stop upwards without going back."""
    _stack(session, -1)


def _stack(session: Session, step: int) -> None:
    """Have the next fret added to the event; on the nearest free course, where it was just written on this one."""
    pending, written = session.next_note.pending, session.here.just_written()
    course = session.here.cursor.course
    taken = {note.course for note in written[1].notes} if written is not None else set()
    while course in taken:
        course += step
    if not 1 <= course <= session.score.head.instrument.course_count:
        raise ScoreError("no free course there", hint="go to another course first")
    on = None if course == session.here.cursor.course else course
    again = pending.stack and pending.on == on
    session.next_note.expect(stack=not again, on=None if again else on)


@command(
    "grace",
    "Make the next fret typed a grace note, before the note here or the one after",
    Group.WRITE,
    rows=Rows.COURSES,
)
def grace(session: Session) -> None:
    """Type grace notes in the order in which they are played."""
    session.next_note.expect(grace=not session.next_note.pending.grace)


@command("clear-grace", "Remove the grace notes of the event", Group.WRITE, rows=Rows.NOTES)
def clear_grace(session: Session) -> None:
    """Remove every grace note of the event at the cursor."""
    session.edit(do.clear_grace(session.score, session.here.target().start), "clear grace notes")


@command("rest", "Write a rest of one step", Group.WRITE, rows=Rows.COURSES)
def rest(session: Session) -> None:
    """A rest, and on."""
    session.edit(do.write(session.score, session.here.cursor.place, session.next_note.step), "rest")
    session.here.go_by(session.next_note.step.length)


@command("hold", "Extend the note before through this step", Group.WRITE, rows=Rows.COURSES)
def hold(session: Session) -> None:
    """Lengthen the note before up to the end of this step, and go on."""
    held = do.hold(session.score, session.here.cursor.place, session.next_note.step)
    session.rework(held, "hold", quiet=True)
    session.here.go_by(session.next_note.step.length)
    before = session.here.before()
    if before is not None:
        session.here.wrote(before[0])


@command(
    "tie",
    "Tie the note here to the one before, or write that one again, tied",
    Group.WRITE,
    rows=Rows.COURSES,
)
def tie(session: Session) -> None:
    """On an empty step write a tied note of one step; on a note tie it to the one before, or untie it."""
    found, place = session.here.event(), session.here.cursor.place
    if found and found[0] == place and not found[1].is_rest and not session.here.just_written():
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
    session.here.wrote(place)


@command("delete", "Delete what is here: note, finger, stroke, chord or remark", Group.WRITE)
def delete(session: Session) -> None:
    """Remove what the row shows at the cursor; with a selection, its notes become rests."""
    selected = session.here.selection()
    if selected is not None:
        session.rework(do.erase(session.score, selected), "erase")
        session.here.anchor = None
    else:
        _delete_on_row(session)


def _delete_on_row(session: Session) -> None:
    row, place, course = session.here.cursor.row, session.here.cursor.place, session.here.cursor.course
    if row.of_note:
        found = session.here.note()
        if found is None:
            raise ScoreError("nothing here to delete")
        place, course = found[0], found[1].course
    if row.clear is not None:
        session.edit(row.clear.operation(session.score, place, course), row.clear.label)


@command("again", "Repeat the last event", Group.WRITE, rows=Rows.COURSES)
def again(session: Session) -> None:
    """The event just written, or before the cursor, with its value and all its notes."""
    _write_again(session, 0)


@command(
    "shape-here",
    "Repeat the last shape with its highest note on this course",
    Group.WRITE,
    rows=Rows.COURSES,
)
def shape_here(session: Session) -> None:
    """The same frets on other courses."""
    _, event = _last_event(session)
    _write_again(session, session.here.cursor.course - event.notes[0].course)


def _last_event(session: Session) -> tuple[Place, Event]:
    """The event just written, or the last one before the cursor that sounds."""
    found = session.here.just_written() or session.here.before()
    while found is not None and found[1].is_rest:
        found = previous_event(session.score, found[0])
    if found is None:
        raise ScoreError("no note before this to repeat", hint="write a note first")
    return attack_of(session.score, found[0]) or found


def _write_again(session: Session, by: int) -> None:
    place, event = _last_event(session)
    at, length = session.here.cursor.place, whole_length(session.score, place)
    session.edit(do.write_again(session.score, place, at, by), "other courses" if by else "again")
    session.here.go_by(length)
    session.here.wrote(at)
    if by:
        session.here.cursor = session.here.cursor.on(COURSE, event.notes[0].course + by)


@command("take-back", "Go back to the previous event and delete it", Group.WRITE)
def take_back(session: Session) -> None:
    """Undo the typing of one event: its notes become a rest, the cursor stands on it."""
    if session.here.cursor.place == Place(0):
        return
    before = session.here.before()
    if before is None:
        return
    place, event = before
    if not event.is_rest:
        end = move_by(session.score, place, whole_length(session.score, place))
        session.edit(do.erase(session.score, Span(place, end)), "delete the event before")
    session.here.go(place)


@command("insert-time", "Push the rest of the measure or selection right by one step", Group.WRITE)
def insert_time(session: Session) -> None:
    """Put an empty step here; what is pushed out is told."""
    step, end = _step_and_end(session)
    session.rework(do.insert_time(session.score, step, end), f"insert 1/{session.next_note.step}")


@command("delete-time", "Pull the rest of the measure or selection left by one step", Group.WRITE)
def delete_time(session: Session) -> None:
    """Take the step out of the music; what stood on it is told."""
    step, end = _step_and_end(session)
    session.rework(do.delete_time(session.score, step, end), f"remove 1/{session.next_note.step}")


@command("push-all", "Push all later music right by one step or the selection's length", Group.WRITE)
def push_all(session: Session) -> None:
    """Put an empty stretch here; notes and chords move over the bar lines."""
    span = session.here.selection() or _step_and_end(session)[0]
    session.rework(do.push_all(session.score, span), "push all later music")
    session.here.anchor = None


@command("pull-all", "Remove the step or selection and pull all later music left", Group.WRITE)
def pull_all(session: Session) -> None:
    """Close up over a stretch; notes and chords move over the bar lines."""
    span = session.here.selection() or _step_and_end(session)[0]
    session.rework(do.pull_all(session.score, span), "pull all later music")
    session.here.anchor = None


def _step_and_end(session: Session) -> tuple[Span, Place]:
    """The step at the cursor and the end of the measure; or the first of the selection, and its end."""
    selected, place = session.here.selection(), session.here.cursor.place
    if place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is past the last measure", hint="go back to the music")
    start, end = (place, Place(place.measure + 1)) if selected is None else (selected.start, selected.end)
    return Span(start, move_by(session.score, start, session.next_note.step.length)), end


@command(
    "drop",
    "Clear the selection and the settings for the next note, or go to the courses",
    Group.WRITE,
)
def drop(session: Session) -> None:
    """Call off a prefix or a selection."""
    said = (
        session.here.anchor,
        session.next_note.rhythm or session.next_note.taps_s or None,
        session.next_note.pending,
    )
    session.here.anchor = session.next_note.rhythm = None
    session.next_note.taps_s = ()
    session.next_note.pending = NOTHING_PENDING
    if said == (None, None, NOTHING_PENDING):
        session.here.cursor = session.here.cursor.on(COURSE)
