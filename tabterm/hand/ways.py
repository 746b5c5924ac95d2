"""Ways round a finding that are found in the whole phrase: other fingers, courses and shapes, another octave.

Each is an operation that is tried before it is offered; see `tabterm.hand.trial`.
"""

from __future__ import annotations

from functools import partial
from itertools import islice
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.alternatives import alternatives
from tabterm.hand.finding import Kind, Remedy
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.onsets import phrases
from tabterm.hand.shapes import nearest
from tabterm.harmony.spelling import harmony_in_force
from tabterm.score.model import Note
from tabterm.score.operations import map_events, remove_note, transpose
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.target import sounding_here
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import end_of, event_at, next_event

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from tabterm.hand.finding import Finding
    from tabterm.hand.fingering import Solved
    from tabterm.hand.player import Player
    from tabterm.hand.shapes import Places
    from tabterm.hand.stops import Stop
    from tabterm.harmony.chords import Chord
    from tabterm.score.model import Event, Score

MOST_GRIPS, MOST_SHAPES = 5, 6  #: ways; implementation limit
"""Grips of one onset, and shapes of one chord, that are tried."""

CHORD = 3  #: notes; definition
"""From so many notes on an event is a chord that has other shapes."""

OF_THE_LEFT_HAND = frozenset(
    {
        *("reach", "reach-next", "shift-no-time", "finger-switch", "finger-jump", "finger-roll"),
        *("slur-too-fast", "fingers-too-fast", "pull-off-unprepared", "too-much-in-a-beat"),
        *("set-fingers", "no-fingering", "too-few-fingers", "one-finger-two-frets", "beyond-the-neck"),
    }
)
"""Findings that other fingers, another course, another shape or another octave can mend."""

Stops = tuple["Stop", ...]
Spot = tuple[int, int]
"""Course and fret."""


# The same notes in another way


def other_grips(score: Score, player: Player, place: Place) -> Iterator[Remedy]:
    """Other fingers for the event at a place, then for the one before; first what is set there is given up.

    Those of the easiest phrase come first. Last what is set in the whole measure is given up.
    """
    for solved, number in _near(score, player, place, keep_courses=True):
        at, now = solved.phrase[number].place, solved.holds[number].grip.notes
        words, free = "" if at == place else " on the note before", (solved, number)
        given_up = _set(solved, number)
        if given_up:
            give_up = partial(_fingered, place, {at: given_up})
            yield Remedy(Kind.FINGER, f"clear the fingers set{words or ' here'}", give_up)
            free = fingering(give_up(score, place), player).at(at) or free
        for way in _ways(*free, lambda stops: stops):
            pairs = zip(way[free[1]], now, strict=True)
            fingers = {stop[:2]: stop.finger for stop, old in pairs if stop != old or stop[:2] in given_up}
            named = " and ".join(f"finger {finger} at fret {fret}" for (_, fret), finger in fingers.items())
            if fingers:
                yield Remedy(Kind.FINGER, named + words, partial(_fingered, place, {at: given_up | fingers}))
    if given_up_there := _set_in_measure(score, player, place):
        yield Remedy(
            Kind.FINGER, "clear the fingers set in this measure", partial(_fingered, place, given_up_there)
        )


def other_positions(score: Score, player: Player, place: Place) -> Iterator[Remedy]:
    """The measure of a place in the next best fingerings, what is set in it given up."""
    given_up = _set_in_measure(score, player, place)
    freed = _fingered(place, given_up, score, place) if given_up else score
    span = Span(Place(place.measure), Place(place.measure + 1))
    for other in alternatives(freed, player, span, keep_courses=True)[1:]:
        fingers = dict(given_up)
        for each in other.partings:
            if each.place in span:
                fingers[each.place] = fingers.get(each.place, {}) | {each.other[:2]: each.other.finger}
        yield Remedy(Kind.FINGER, "another position in this measure", partial(_fingered, place, fingers))


def _set(solved: Solved, number: int) -> dict[Spot, int | None]:
    """The notes of an onset that have a finger set, with none instead."""
    notes = solved.phrase[number].notes
    return {(note.course, note.fret): None for note in notes if note.finger is not None}


def _set_in_measure(score: Score, player: Player, place: Place) -> dict[Place, dict[Spot, int | None]]:
    """The same for each event of the measure of a place that belongs to its phrase."""
    solved = fingering(score, player).phrase_at(place)
    numbers = solved.numbers.items() if solved else ()
    found = {at: _set(solved, number) for at, number in numbers if solved and at.measure == place.measure}
    return {at: notes for at, notes in found.items() if notes}


def other_places(score: Score, player: Player, place: Place) -> Iterator[Remedy]:
    """The event at a place, then the one before, on other courses, those of the easiest phrase first.

    What is tied or slurred to it goes along.
    """
    letters = score.head.instrument.course_letters()
    for solved, number in _near(score, player, place, keep_courses=False):
        now = tuple((note.course, note.fret) for note in solved.phrase[number].notes)
        words = "" if solved.phrase[number].place == place else "the note before on "
        for way in _ways(solved, number, _spots):
            spots = {n: _spots(way[n]) for n in _bound(solved, number)}
            if spots[number] == now:
                continue
            moved = {
                solved.phrase[n].place: dict(
                    zip(((note.course, note.fret) for note in solved.phrase[n].notes), to, strict=True)
                )
                for n, to in spots.items()
            }
            pairs = zip(now, spots[number], strict=True)
            named = ", ".join(f"course {letters[to[0] - 1]}, fret {to[1]}" for spot, to in pairs if spot != to)
            yield Remedy(Kind.COURSE, words + named, partial(_placed, place, moved))


def _near(score: Score, player: Player, place: Place, *, keep_courses: bool) -> Iterator[tuple[Solved, int]]:
    """The solved phrase and the numbers in it of the event at a place and of the one before."""
    found = fingering(score, player, keep_courses=keep_courses).at(place)
    if found is not None:
        solved, number = found
        yield found
        if number and solved.phrase[number - 1].grace is None:
            yield solved, number - 1


def _ways(solved: Solved, number: int, told_apart: Callable[[Stops], object]) -> Iterator[list[Stops]]:
    """The stops of all onsets on the easiest way through each different grip of one, the easiest first."""
    search, layer = solved.searching(), solved.layers[number]
    easiest: dict[object, tuple[float, int]] = {}
    for state, points in enumerate(search.least_through(number)):
        grip = told_apart(layer.grips[layer.states[state][0]].notes)
        if grip not in easiest or points < easiest[grip][0]:
            easiest[grip] = (points, state)
    for _, state in sorted(easiest.values())[: MOST_GRIPS + 1]:
        way = search.through(number, state, solved.way)
        yield [hold.grip.notes for hold in solved.holds_of(way)]


def _spots(stops: Stops) -> tuple[Spot, ...]:
    return tuple(stop[:2] for stop in stops)


def _bound(solved: Solved, number: int) -> range:
    """Numbers of the onsets that are tied or slurred together with the one of a number."""
    first = end = number
    while first > 0 and _joined(solved.phrase[first].notes):
        first -= 1
    while end + 1 < len(solved.phrase) and _joined(solved.phrase[end + 1].notes):
        end += 1
    return range(first, end + 1)


def _joined(notes: Iterable[Note]) -> bool:
    return any(note.tied or note.slurred for note in notes)


def _fingered(
    found: Place, fingers: Mapping[Place, Mapping[Spot, int | None]], score: Score, place: Place
) -> Score:
    """Fingers set, or given up, for the notes at these courses and frets of events near a finding."""

    def changed(at: Place, note: Note) -> Note:
        wanted = fingers.get(at, {})
        spot = note.course, note.fret
        return note.with_(finger=wanted[spot]) if spot in wanted else note

    return _each(found, fingers, score, place, changed)


def _placed(found: Place, spots: Mapping[Place, Mapping[Spot, Spot]], score: Score, place: Place) -> Score:
    """The notes at these courses and frets of events near a finding elsewhere."""

    def changed(at: Place, note: Note) -> Note:
        course, fret = spots.get(at, {}).get((note.course, note.fret), (note.course, note.fret))
        if (course, fret) == (note.course, note.fret):
            return note
        return note.with_(course=course, fret=fret, finger=None, proposed_finger=None)

    return _each(found, spots, score, place, changed)


def _each(
    found: Place, places: Iterable[Place], score: Score, place: Place, changed: Callable[[Place, Note], Note]
) -> Score:
    """The notes of some events changed; their places are seen from where a finding was, and it is at `place`."""
    by = place.measure - found.measure
    ordered = sorted(places)
    first, last = (Place(each.measure + by, each.offset) for each in (ordered[0], ordered[-1]))
    following = next_event(score, last)

    def event_changed(at: Place, event: Event) -> Event:
        seen = Place(at.measure - by, at.offset)
        notes = tuple(sorted((changed(seen, note) for note in event.notes), key=lambda note: note.course))
        return event if notes == event.notes else event.with_(notes=notes)

    return map_events(score, Span(first, following[0] if following else end_of(score)), event_changed)


# Another shape, another octave


def other_shapes(score: Score, player: Player, place: Place) -> Iterator[Remedy]:
    """The chord at a place in other shapes: the same highest note, the same notes by name, the nearest first."""
    _, event = event_at(score, place) or (None, None)
    after = next_event(score, place)
    if event is None or len(event.notes) < CHORD or _is_bound(event) or (after and _joined(after[1].notes)):
        return
    instrument, neck = score.head.instrument, neck_of(score.head, player)
    pitches = [instrument.pitch(note.course, note.fret) for note in event.notes]
    names = {pitch % 12 for pitch in pitches}
    written = tuple((note.course, note.fret) for note in event.notes)
    at_mm = neck.mm(min((note.fret for note in event.notes if note.fret), default=0))
    shapes = (
        shape.held.places
        for shape in nearest(neck, pitches, harmony_in_force(score, place), at_mm=at_mm)
        if {pitch % 12 for pitch in shape.pitches} == names and shape.held.places != written
    )
    for places in islice(shapes, MOST_SHAPES):
        frets = "-".join(str(fret) for _, fret in reversed(places))
        yield Remedy(Kind.SHAPE, f"the shape {frets}", partial(_shaped, places))


def _is_bound(event: Event) -> bool:
    marked = (note.ring or note.bend or note.muted or note.course_set for note in event.notes)
    return _joined(event.notes) or any(marked)


def _shaped(places: Places, score: Score, place: Place) -> Score:
    onset, event = sounding_here(score, place, "chord")
    notes = tuple(Note(course=course, fret=fret) for course, fret in places)
    return change_event(score, onset, event.with_(notes=notes))


def by_octaves(_score: Score, _player: Player, _place: Place) -> Iterator[Remedy]:
    """The whole phrase an octave lower or higher."""
    for semitones, label in ((-12, "move the phrase an octave down"), (12, "move the phrase an octave up")):
        yield Remedy(Kind.REGISTER, label, partial(_by_octave, semitones))


def _by_octave(semitones: int, score: Score, place: Place) -> Score:
    for phrase in phrases(score):
        if phrase[0].place <= place <= phrase[-1].place:
            following = next_event(score, phrase[-1].place)
            end = following[0] if following else end_of(score)
            return transpose(score, Span(phrase[0].place, end), semitones)
    raise ScoreError("no phrase here", place=describe(score, place), hint="move to a note")


def without_a_note(score: Score, _player: Player, place: Place) -> Iterator[Remedy]:
    """A chord or double stop without the note that is missed least; never without its highest."""
    _, event = event_at(score, place) or (None, None)
    if event is None or len(event.notes) < 2:
        return
    letters, chord = score.head.instrument.course_letters(), harmony_in_force(score, place)
    for note in sorted(event.notes[1:], key=partial(_missed, score, event, chord)):
        label = f"leave out course {letters[note.course - 1]}, fret {note.fret}"
        yield Remedy(Kind.PITCH, label, partial(_without, note.course))


def _missed(score: Score, event: Event, chord: Chord | None, note: Note) -> tuple[int, int]:
    """How much a note is missed: one that is doubled least, then the fifth and the root, then the rest."""
    pitch = score.head.instrument.pitch
    names = [pitch(each.course, each.fret) % 12 for each in event.notes]
    name = pitch(note.course, note.fret) % 12
    if names.count(name) > 1:
        return 0, -note.course
    if chord is None or chord.root is None:
        return 2, -note.course
    tones = [chord.fifth, 0]
    interval = (name - chord.root) % 12
    return (1 + tones.index(interval) if interval in tones else 3), -note.course


def _without(course: int, score: Score, place: Place) -> Score:
    return remove_note(score, place, course)


WAYS: Mapping[Kind, tuple[Callable[[Score, Player, Place], Iterator[Remedy]], ...]] = {
    Kind.FINGER: (other_grips, other_positions),
    Kind.COURSE: (other_places,),
    Kind.SHAPE: (other_shapes,),
    Kind.REGISTER: (by_octaves,),
    Kind.PITCH: (without_a_note,),
}
"""Where each kind is looked for; fingers in the second place only where the first has none that helps."""


def searches(score: Score, player: Player, finding: Finding, kind: Kind) -> Iterator[Iterator[Remedy]]:
    """What there is of a kind against a finding of the left hand, beside what its rule knows; search by search."""
    if finding.code in OF_THE_LEFT_HAND:
        for search in WAYS.get(kind, ()):
            yield search(score, player, finding.place)
