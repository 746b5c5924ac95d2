"""Layers: for each onset of a phrase, every grip that could play it, and the frames it can be held in."""

from __future__ import annotations

from functools import cached_property, lru_cache
from itertools import combinations, product
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.hand.bands import CRAMPED
from tabterm.hand.effort import IN_TURN_S, in_any_frame, in_frame, lying_over
from tabterm.hand.leisure import give_way
from tabterm.hand.neck import LOWEST_FRAME
from tabterm.hand.stops import Grip, Stop, Transition, Written
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.hand.neck import Neck
    from tabterm.hand.onsets import Onset, Phrase
    from tabterm.score.model import Note

FINGERS = (1, 2, 3, 4)  #: fingers; definition

SLACK = 2.2  #: points; tuned here
"""A frame is left out where holding the grip there takes so many points more than in its best frame."""

HIGHEST_MOVED = 13  #: fret; tuned here
"""Notes are not moved to frets above this one: the next course has them an easy seven frets lower."""

BELOW, ABOVE = 8, 2  #: frets; implementation limit
"""From so far below the lowest fret of a grip to less than so far above its highest frames are looked at."""

OPEN_FRAMES = range(1, 15)  #: frets; implementation limit
"""Frames that the hand may wait in while nothing is stopped."""

LEAST_GAP_S = 1e-4  #: s; implementation limit
"""Notes that are nearer to each other, as the shortest of many in the time of few can be, are taken as so near."""

MOST_GRIPS = 64  #: grips; implementation limit
"""Grips of one onset that are looked at, the easiest to hold (only thick chords have more)."""


class Wanted(NamedTuple):
    """What a note asks for.

    Attributes:
        places: The courses and frets it may be played at.
        finger: The finger that the player has set, or None.
        written: How it stands in the score.
    """

    places: tuple[tuple[int, int], ...]
    finger: int | None
    written: Written


class Demand(NamedTuple):
    """All that an onset asks of the left hand.

    Attributes:
        notes: The notes that begin or go on.
        held: Those that ring on from before.
        pulled: For each note, how many semitones lower the note is that is pulled off from it, and that
            note's set finger; or None.
        goes_on: Every note is tied.
    """

    notes: tuple[Wanted, ...]
    held: tuple[Wanted, ...]
    pulled: tuple[tuple[int, int | None] | None, ...]
    goes_on: bool = False


@dataclass(frozen=True, eq=False)
class Layer:
    """The grips of an onset and the states of the search: a grip in a frame.

    Attributes:
        grips: Every grip.
        states: Index of a grip, and a frame.
        points: For holding it, by state.
    """

    neck: Neck
    grips: tuple[Grip, ...]
    states: tuple[tuple[int, int], ...]
    points: tuple[float, ...]

    @cached_property
    def by_frame(self) -> dict[int, tuple[int, ...]]:
        """Numbers of the states in each frame."""
        groups: dict[int, list[int]] = {}
        for number, (_, frame) in enumerate(self.states):
            groups.setdefault(frame, []).append(number)
        return {frame: tuple(numbers) for frame, numbers in groups.items()}

    @cached_property
    def of_grip(self) -> tuple[int, ...]:
        """Index of the grip, by state."""
        return tuple(grip for grip, _ in self.states)

    @cached_property
    def is_open(self) -> tuple[bool, ...]:
        """Whether no finger is down, by grip."""
        return tuple(not grip.down for grip in self.grips)


def layers(neck: Neck, phrase: Phrase, *, keep_courses: bool) -> list[Layer]:
    """A layer for each onset of a phrase."""
    found = []
    for demand in list(_demands(neck, phrase, keep_courses=keep_courses)):
        give_way()
        found.append(layer_of(neck, demand))
    return found


def transition(before: Onset, onset: Onset) -> Transition:
    """What lies between two onsets, in tenths of a millisecond and never less than one."""
    return Transition(
        gap_s=max(round(onset.since_s, 4), LEAST_GAP_S),
        rest_s=round(onset.rest_s, 4),
        let_go=onset.let_go,
        opens=onset.opens,
        tied=tuple(note.tied for note in onset.notes),
        reached=tuple(note.reached for note in onset.notes),
        strokes=(before.stroke, onset.stroke),
        alternates=onset.returns and onset.since_s < IN_TURN_S,
    )


def written(note: Note) -> Written:
    """A note as the search looks at it."""
    return Written(note.course, note.fret, note.bend is not None)


# What the onsets ask for


def _demands(neck: Neck, phrase: Phrase, *, keep_courses: bool) -> Iterator[Demand]:
    ringing: list[Note] = []
    for number, onset in enumerate(phrase):
        if onset.rest_s:
            ringing = []
        rang = {note.course for note in ringing}  # what ends it stays on its course: elsewhere it would ring on
        ringing = [note for note in ringing if all(note.course != new.course for new in onset.notes)]
        taken = {note.course for note in ringing}
        following = phrase[number + 1].notes if number + 1 < len(phrase) else ()
        anywhere = not keep_courses and len(onset.notes) == len(following) == 1
        yield Demand(
            notes=tuple(
                Wanted(
                    _places(neck, note, taken, keep_courses=keep_courses or note.course in rang),
                    note.finger,
                    written(note),
                )
                for note in onset.notes
            ),
            held=tuple(Wanted(((note.course, note.fret),), note.finger, written(note)) for note in ringing),
            pulled=tuple(_pulled(neck, note, following, anywhere=anywhere) for note in onset.notes),
            goes_on=onset.goes_on,
        )
        ringing += [note for note in onset.notes if note.ring]


def _places(neck: Neck, note: Note, taken: set[int], *, keep_courses: bool) -> tuple[tuple[int, int], ...]:
    """Where a note may be played: where it stands, and at the same pitch on courses that are free."""
    written = (note.course, note.fret)
    if keep_courses or note.course_set or note.ring or note.fret > neck.instrument.frets:
        return (written,)
    places = [each for each in neck.instrument.places_of(neck.instrument.pitch(*written)) if each[0] not in taken]
    lowest = min(fret for _, fret in places)
    return tuple(each for each in places if each[1] <= max(HIGHEST_MOVED, lowest) or each == written)


def _pulled(neck: Neck, note: Note, following: Sequence[Note], *, anywhere: bool) -> tuple[int, int | None] | None:
    """What is pulled off from a note: on its course, or `anywhere` where both may still move to one course."""
    pitch = neck.instrument.pitch
    for other in following:
        falls = pitch(note.course, note.fret) - pitch(other.course, other.fret)
        if other.reached is Reached.PULL and falls > 0 and (anywhere or other.course == note.course):
            return falls, other.finger
    return None


# The grips


@lru_cache(maxsize=4096)
def layer_of(neck: Neck, demand: Demand) -> Layer:
    """The layer for what an onset asks; equal questions get the same object."""
    notes = tuple(note.written for note in demand.notes)
    grips = list(dict.fromkeys(_possible(neck, demand))) or list(dict.fromkeys(_all(demand)))
    rated = [(grip, _frames(neck, grip, notes)) for grip in grips]
    if len(rated) > MOST_GRIPS:
        rated = sorted(rated, key=lambda each: min(points for _, points in each[1]))[:MOST_GRIPS]
    states = [(number, frame, points) for number, (_, frames) in enumerate(rated) for frame, points in frames]
    return Layer(
        neck=neck,
        grips=tuple(grip for grip, _ in rated),
        states=tuple((number, frame) for number, frame, _ in states),
        points=tuple(
            0.0 if demand.goes_on and not rated[number][0].ready else points for number, _, points in states
        ),
    )


def ways_to_hold(neck: Neck, places: tuple[tuple[int, int], ...]) -> list[tuple[float, Grip]]:
    """Every grip for courses and frets held together, with its points in its best frame; none if no hand can."""
    notes = tuple(Written(*place) for place in places)
    demand = Demand(tuple(Wanted((place,), None, Written(*place)) for place in places), (), (None,) * len(places))
    grips = dict.fromkeys(_possible(neck, demand))
    return [(min(points for _, points in _frames(neck, grip, notes)), grip) for grip in grips]


def _all(demand: Demand) -> Iterator[Grip]:
    """Every grip for a demand, possible or not."""
    for places in product(*(note.places for note in demand.notes)):
        if len({course for course, _ in places}) < len(places):
            continue
        notes = [_stops(place, note.finger) for place, note in zip(places, demand.notes, strict=True)]
        held = [_stops(note.places[0], note.finger) for note in demand.held]
        ready = [
            _stops((course, fret - pulled[0]), pulled[1])
            for (course, fret), pulled in zip(places, demand.pulled, strict=True)
            if pulled is not None and fret > pulled[0]
        ]
        count, kept = len(notes), len(notes) + len(held)
        for stops in product(*notes, *held, *ready):
            yield Grip(stops[:count], stops[count:kept], stops[kept:])


def _stops(place: tuple[int, int], finger: int | None) -> list[Stop]:
    course, fret = place
    if finger is not None:
        return [Stop(course, fret, finger)]
    return [Stop(course, fret, each) for each in (FINGERS if fret else (0,))]


def _possible(neck: Neck, demand: Demand) -> Iterator[Grip]:
    """The grips that a hand can hold."""
    for grip in _all(demand):
        if all((stop.fret == 0) == (stop.finger == 0) for stop in grip.notes) and all(
            _fit(neck, one, other, grip) for one, other in combinations(grip.down, 2)
        ):
            yield grip


def _fit(neck: Neck, one: Stop, other: Stop, grip: Grip) -> bool:
    """Whether two fingers can be down together; one finger only at one fret, over courses that it stops too."""
    if one.finger == other.finger:
        over = lying_over(grip, one, other)
        return one.fret == other.fret and all(fret is not None and fret >= one.fret for fret in over)
    low, high = sorted((one, other), key=lambda stop: stop.finger)
    return neck.pair(low.finger, high.finger, neck.mm(high.fret) - neck.mm(low.fret)) < CRAMPED


def _frames(neck: Neck, grip: Grip, notes: tuple[Written, ...]) -> list[tuple[int, float]]:
    """The frames that a grip can be held in, with their points."""
    down = grip.down
    frets = [stop.fret for stop in down]
    frames: Iterable[int] = (
        range(max(LOWEST_FRAME, min(frets) - BELOW), max(max(frets) + ABOVE, 2)) if down else OPEN_FRAMES
    )
    always = neck.weights.total(in_any_frame(neck, grip, notes))
    rated = [(frame, always + neck.weights.total(in_frame(neck, grip, frame))) for frame in frames]
    best = min(points for _, points in rated)
    return [(frame, points) for frame, points in rated if points <= best + SLACK]
