"""Commands on the fingering: accepting proposals, other ways, why, and what the search may not move."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.score import operations as do
from tabterm.score.place import Place, Span, count_name, display_number
from tabterm.score.query import end_of, next_event
from tabterm.workspace.registry import Group, Rows, command

if TYPE_CHECKING:
    from tabterm.hand.alternatives import Alternative, Choice
    from tabterm.hand.stops import Stop
    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.session import Session

WAYS = 3
"""Fingerings that the key goes through."""

CHOICES_SHOWN = 3
"""Choices for one note that the reason names."""


@dataclass(frozen=True, slots=True)
class Audition:
    """Fingerings of a passage that are being gone through.

    Attributes:
        ways: All of them, the easiest first.
        shown: Number of the one that stands in the score.
        change: The change that put it there, None for the first.
    """

    ways: tuple[Alternative, ...]
    shown: int
    change: Change | None


@dataclass(frozen=True, slots=True)
class NoteAudition:
    """Fingers and courses of one note that are being gone through.

    Attributes:
        place: Where the note is.
        course: Its course in the first way.
        ways: All of them, the easiest first.
        shown: Number of the one that stands in the score.
        change: The change that put it there, None for the first.
    """

    place: Place
    course: int
    ways: tuple[Choice, ...]
    shown: int
    change: Change | None


@command("accept-fingers", "Accept the proposed fingers here or in the selection, and go on", Group.FINGERS)
def accept_fingers(session: Session) -> None:
    """Make proposed fingers the player's own; on the finger row go on to the next note."""
    from tabterm.hand import proposals

    session.edit(proposals.accept_fingers(session.score, session.here.target()), "accept fingers")
    if session.here.cursor.row.walks:
        session.here.go_to_next_event()


@command("accept-all-fingers", "Accept all proposed fingers in the score", Group.FINGERS)
def accept_all_fingers(session: Session) -> None:
    """All of them at once."""
    from tabterm.hand import proposals

    session.rework(proposals.accept_fingers(session.score, _whole(session.score)), "accept all fingers")


@command("free-fingers", "Clear the set fingers in the measure or selection, and propose new ones", Group.FINGERS)
def free_fingers(session: Session) -> None:
    """Forget set fingers."""
    from tabterm.hand import proposals

    span = session.here.selection() or Span.of_measures(*session.here.measures())
    session.rework(proposals.free_fingers(session.score, span), "clear fingers")


@command("other-finger", "Try the next best finger or course for the note here", Group.FINGERS)
def other_finger(session: Session) -> None:
    """Go through the choices for one note, and change no other; with a selection, through its fingerings."""
    from tabterm.hand import proposals
    from tabterm.hand.terms import TERMS

    if session.here.anchor is not None:
        other_fingering(session)
        return
    audition = session.hand.note_audition
    if audition is not None and _stands(session, audition.change):
        session.take_change(session.document.undo())
    else:
        audition = _choices_here(session)
    shown = (audition.shown + 1) % len(audition.ways)
    way = audition.ways[shown]
    if shown:
        changed = proposals.with_stop(session.score, audition.place, audition.course, way.stop)
        session.edit(changed, "other finger")
    change = session.document.latest if shown else None
    session.hand.note_audition = replace(audition, shown=shown, change=change)
    elsewhere = session.here.elsewhere(audition.place, audition.course)
    if session.here.cursor.row is COURSE:
        session.here.cursor = session.here.cursor.on(COURSE, way.stop.course)
    why = f"{way.extra:+.1f} ({TERMS[way.term].words})" if way.term else "the easiest"
    stop = named(way.stop, session.score.head.instrument.course_letters())
    session.host.say(f"choice {shown + 1} of {len(audition.ways)}: {stop}, {why}{elsewhere}")


def _choices_here(session: Session) -> NoteAudition:
    """The choices for the note here, but those on the course of another note that is struck with it."""
    from tabterm.hand.alternatives import choices

    place, note = session.here.note_meant()
    event = session.here.event_meant()[1]
    taken = {other.course for other in event.notes if other is not note}
    ways = tuple(
        way for way in choices(session.score, session.player, place, note.course) if way.stop.course not in taken
    )
    if len(ways) < 2:
        raise ScoreError("this note has no other finger", hint="select a phrase to try other fingerings")
    return NoteAudition(place, note.course, ways, 0, None)


def _stands(session: Session, change: Change | None) -> bool:
    """Whether a change that put something into the score is the last one."""
    return change is not None and session.document.latest is change


@command("other-fingering", "Try the next best fingering of the selection or phrase", Group.FINGERS)
def other_fingering(session: Session) -> None:
    """Go through the best fingerings; the one shown is accepted, and one undo takes it back."""
    from tabterm.hand import proposals
    from tabterm.hand.alternatives import alternatives

    audition = session.hand.audition
    if audition is None or not _stands(session, audition.change):
        span = session.here.selection() or phrase_at(session.score, session.here.cursor.place)
        ways = alternatives(session.score, session.player, span, WAYS)
        if len(ways) < 2:
            raise ScoreError("no other fingering found", hint="clear some set fingers, or select more")
        audition = Audition(ways, 0, None)
    else:
        session.take_change(session.document.undo())
    shown = (audition.shown + 1) % len(audition.ways)
    way = audition.ways[shown]
    if shown:
        session.edit(
            proposals.carried_out(session.score, way.holds, chosen=True),
            f"fingering {shown + 1} of {len(audition.ways)}",
        )
    session.hand.audition = Audition(audition.ways, shown, session.document.latest if shown else None)
    session.host.say(f"fingering {shown + 1} of {len(audition.ways)}: {_told(session.score, way)}")


def _told(score: Score, way: Alternative) -> str:
    if not way.partings:
        return "the easiest"
    letters = score.head.instrument.course_letters()
    parts = "; ".join(
        f"m{display_number(score, parting.place.measure)} {count_name(score, parting.place)} "
        f"{named(parting.other, letters)}, not {named(parting.first, letters, parting.other)}"
        for parting in way.partings
    )
    return f"{way.extra:+.1f} ({way.reason}): {parts}"


FINGERS = ("open", "index", "middle", "ring", "little")
"""Fingers as a teacher calls them, by their numbers."""


def named(stop: Stop, letters: tuple[str, ...], beside: Stop | None = None) -> str:
    """A stop in words: `middle at fret 3 of A`, `open A`; beside another at the same place `middle` alone."""
    if not stop.finger:
        return f"open {letters[stop.course - 1]}"
    same = beside is not None and beside.finger and (beside.course, beside.fret) == (stop.course, stop.fret)
    return FINGERS[stop.finger] + ("" if same else f" at fret {stop.fret} of {letters[stop.course - 1]}")


def phrase_at(score: Score, place: Place) -> Span:
    """The phrase of the hand at a place, or else the one after it, or the last."""
    from tabterm.hand.onsets import phrases

    span = None
    for phrase in phrases(score):
        following = next_event(score, phrase[-1].place)
        span = Span(phrase[0].place, following[0] if following else end_of(score))
        if place < span.end:
            break
    if span is None:
        raise ScoreError("no phrase here", hint="write some notes first")
    return span


@command("why-finger", "Explain this finger: the choices and what each costs", Group.FINGERS)
def why_finger(session: Session) -> None:
    """Name the best choices for the note at the cursor, with their price in points and the reason."""
    from tabterm.hand.alternatives import choices
    from tabterm.hand.terms import TERMS

    place, note = session.here.note_meant()
    letters = session.score.head.instrument.course_letters()
    ranked = choices(session.score, session.player, place, note.course)[:CHOICES_SHOWN]
    if not ranked:
        raise ScoreError("no finger to explain here", hint="go to a note that sounds")
    first, *others = ranked
    words = [f"{named(first.stop, letters)} is easiest"]
    words += [
        f"{named(other.stop, letters, first.stop)} {other.extra:+.1f}"
        + (f" ({TERMS[other.term].words})" if other.term else "")
        for other in others
    ]
    session.host.say("; ".join(words) + session.here.elsewhere(place, note.course))


@command("hold-course", "Keep the note on its course, or let it move", Group.FINGERS, rows=Rows.NOTES)
def hold_course(session: Session) -> None:
    """Set, or free, the course of the note here or just written."""
    place, note = session.here.note_meant()
    session.edit(do.set_course_held(session.score, place, note.course, not note.course_set), "keep course")
    if not note.course_set:
        session.lessons.add(place.measure)
    told = "the note may move to another course" if note.course_set else "the note stays on its course"
    session.host.say(told + session.here.elsewhere(place, note.course))


def _whole(score: Score) -> Span:
    return Span.of_measures(0, len(score.measures) - 1)
