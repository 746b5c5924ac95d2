"""Courses and frets for a line: laid on the lowest frets first, then where the fingering search has them."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.adapt.articulation import WORDS, breaches
from tabterm.hand.adapt.bending import without_bends
from tabterm.hand.adapt.chords import together
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.proposals import carried_out
from tabterm.harmony.spelling import pitch_words
from tabterm.score.kinds import Reached
from tabterm.score.operations import map_events
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, events_in
from tabterm.score.report import Kind, Remark

if TYPE_CHECKING:
    from tabterm.hand.fingering import Fingering, Hold
    from tabterm.hand.neck import Neck
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Note, Score

MOST_ROUNDS = 6  #: rounds; implementation limit
"""Each round mends what the last one left; a second one is seldom needed."""

MOST_FREE = 2  #: notes; definition: a double stop
"""Notes that the search may move to other courses together; more are a shape, and stay in it."""

OnsetName = tuple[Place, int | None]


@dataclass(frozen=True, slots=True)
class Placed:
    """A line on the neck.

    Attributes:
        score: With courses, frets and proposed fingers.
        done: The articulations that were replaced.
        hand: The fingering that it was taken from.
    """

    score: Score
    done: tuple[Remark, ...]
    hand: Fingering


def placed(score: Score, player: Player) -> Placed:
    """The score with every note where the search has it; whatever slur that cannot be played there, picked."""
    free = player.unbound
    neck = neck_of(score.head, free)
    struck: dict[OnsetName, str] = {}
    pinned = _shapes(score)
    draft = _pinned(score, pinned, stay=True)
    hand = fingering(draft, free, keep_courses=False)
    for _ in range(MOST_ROUNDS):
        found = _breaches(hand)
        gaps = {} if found else _gaps(neck, hand, pinned)
        if not found and not gaps:
            break
        struck |= found
        pinned.update(gaps)
        draft = _mended(draft, found, gaps)
        hand = fingering(draft, free, keep_courses=False)
    result = _pinned(carried_out(draft, hand.holds()), pinned, stay=False)
    done = [*_picked(score, struck), *_struck_anew(draft, result)]
    slid, unbent = without_bends(result)
    if unbent:
        hand = fingering(slid, free)
        slid = carried_out(slid, hand.holds())
    return Placed(slid, (*done, *unbent), hand)


def _breaches(hand: Fingering) -> dict[OnsetName, str]:
    """The onsets whose slurs cannot be played, and why."""
    return {
        (onset.place, onset.grace): why
        for solved in hand.phrases
        for number, onset in enumerate(solved.phrase)
        if (why := breaches(solved, number))
    }


def _gaps(neck: Neck, hand: Fingering, pinned: set[Place]) -> dict[Place, tuple[Note, ...]]:
    """Double stops that the search has on courses apart or crossed, with notes in a shape that is not."""
    found = {}
    for hold in hand.holds():
        if _is_apart(neck, hold) and hold.onset.place not in pinned:
            notes = hold.onset.notes
            pitches = tuple(neck.instrument.pitch(note.course, note.fret) for note in notes)
            places = together(neck, pitches)
            if places is not None:
                found[hold.onset.place] = tuple(
                    note.with_(course=course, fret=fret, course_set=True)
                    for note, (course, fret) in zip(notes, places, strict=True)
                )
    return found


def _is_apart(neck: Neck, hold: Hold) -> bool:
    """Whether notes are not on neighbouring courses, the higher note on the higher one."""
    stops = sorted(hold.grip.notes)
    return any(
        low.course - high.course > 1
        or neck.instrument.pitch(low.course, low.fret) > neck.instrument.pitch(high.course, high.fret)
        for high, low in pairwise(stops)
    )


def _shapes(score: Score) -> set[Place]:
    """Where chords of three notes and more are."""
    return {place for place, event in events_in(score, _everything(score)) if len(event.notes) > MOST_FREE}


def _pinned(score: Score, places: set[Place], *, stay: bool) -> Score:
    """The score with the notes at some places held to their courses, or no longer."""
    if not places:
        return score

    def change(place: Place, event: Event) -> Event:
        if place not in places:
            return event
        return event.with_(notes=tuple(note.with_(course_set=stay) for note in event.notes))

    return map_events(score, _everything(score), change)


def _mended(score: Score, struck: dict[OnsetName, str], gaps: dict[Place, tuple[Note, ...]]) -> Score:
    def change(place: Place, event: Event) -> Event:
        if place in gaps:
            return event.with_(notes=gaps[place])
        if (place, None) in struck:
            event = event.with_(notes=tuple(map(_struck, event.notes)))
        if any((place, number) in struck for number in range(len(event.grace))):
            event = event.with_(
                grace=tuple(
                    _struck(note) if (place, number) in struck else note for number, note in enumerate(event.grace)
                )
            )
        return event

    return map_events(score, _everything(score), change)


def _struck(note: Note) -> Note:
    return note.with_(reached=Reached.STRUCK) if note.slurred else note


def _picked(score: Score, struck: dict[OnsetName, str]) -> list[Remark]:
    """What is said of the slurs that are picked."""
    done = []
    for place, event in events_in(score, _everything(score)):
        for number, notes in ((None, event.notes), *((n, (note,)) for n, note in enumerate(event.grace))):
            for note in notes:
                if (place, number) in struck and note.slurred:
                    what = f"the {WORDS[note.reached]} to {_name(score, place, note)}"
                    done.append(Remark(Kind.CHANGED, f"{what} is picked: {struck[place, number]}", place=place))
    return done


def _struck_anew(draft: Score, result: Score) -> list[Remark]:
    """What is said of ties that did not hold: a note that had to change its place."""
    done = []
    everything = _everything(draft)
    pairs = zip(events_in(draft, everything), events_in(result, everything), strict=True)
    for (place, event), (_, after) in pairs:
        lost = sum(note.tied for note in event.notes) - sum(note.tied for note in after.notes)
        if lost > 0:
            done.append(Remark(Kind.CHANGED, "a tied note is struck again: it has to change course", place=place))
    return done


def _name(score: Score, place: Place, note: Note) -> str:
    return pitch_words(score.head.instrument.pitch(note.course, note.fret), score.keys[place.measure])


def _everything(score: Score) -> Span:
    return Span(Place(0), end_of(score))
