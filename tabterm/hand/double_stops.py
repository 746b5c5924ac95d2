"""Double stops under a hand: those of a pool that it can hold, a second note to a melody that can be played."""

from __future__ import annotations

from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.hand.finding import Severity
from tabterm.hand.neck import neck_of
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import findings
from tabterm.hand.shapes import FAR_MM, held
from tabterm.harmony.dyads import dyads
from tabterm.harmony.spelling import harmony_in_force
from tabterm.score.key import mode_tones
from tabterm.score.model import Event, Note
from tabterm.score.operations.draft import map_events
from tabterm.score.query import events_in, next_event

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from tabterm.hand.neck import Neck
    from tabterm.hand.player import Player
    from tabterm.hand.shapes import Held
    from tabterm.harmony.dyads import Dyad
    from tabterm.harmony.pools import Pool
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span


class PlayableDyad(NamedTuple):
    """A double stop, and the easiest way to hold it: fingers of the lower-pitched course and the higher one."""

    dyad: Dyad
    fingers: tuple[int, int]
    points: float


def playable(
    neck: Neck, pool: Pool, *, lowest: int = 0, highest: int = 12, apart: int = 1
) -> tuple[PlayableDyad, ...]:
    """The double stops of a pool that this hand holds without strain, from the lowest pair of courses up the neck.

    With a course between them the lower note has to be stopped: its finger leans on that course and mutes it
    (common practice, no source).
    """
    found = []
    for each in dyads(pool, neck.instrument, lowest=lowest, highest=highest, apart=apart):
        way = _way(neck, each)
        if way is not None:
            high, low = way.fingers
            found.append(PlayableDyad(each, (low, high), way.points))
    return tuple(found)


def _way(neck: Neck, each: Dyad) -> Held | None:
    if each.apart > 1 and not each.low[1]:
        return None
    return held(neck, (each.high, each.low))


class Harmony(StrEnum):
    """What a melody is harmonised in."""

    THIRDS = "thirds"
    SIXTHS = "sixths"
    CHORD = "chord"


#: steps; definition
STEPS = {Harmony.THIRDS: 2, Harmony.SIXTHS: 5}
"""Steps of the scale from the melody to the note with it."""

NEAREST, FARTHEST = 3, 16  #: semitones; common practice, no source
"""How near and how far a tone of the chord lies from the melody."""

TURNS = 4  #: turns; implementation limit
"""How often another pair is tried where the hand's search finds one hard; after that the note stays alone."""

ELSEWHERE = 0.5  #: points; tuned here
"""What it costs to play the melody on another course than it is written on."""


class Pair(NamedTuple):
    """The melody's note and the one with it, as course and fret, and what it costs to hold them."""

    melody: tuple[int, int]
    other: tuple[int, int]
    points: float
    mm: float


@dataclass(frozen=True, slots=True)
class Harmonised:
    """A score with a second note to a melody.

    Attributes:
        score: The changed score.
        left: Where a note stays alone: nothing with it lies within the hand's reach, or it is slurred.
    """

    score: Score
    left: tuple[Place, ...]


def harmonised(score: Score, player: Player, span: Span, harmony: Harmony, *, above: bool = False) -> Harmonised:
    """Put a second note to every single note of a span that is struck, below it or above.

    Every double stop can be held by the player without strain, and the way through all of them is the one of least
    effort and movement. What the hand's search then finds hard, and the melody alone not, is played otherwise or
    left alone. The melody keeps its pitches; it may go to another course.
    """
    neck = neck_of(score.head, player)
    layers: dict[Place, list[Pair]] = {}
    single = []
    for place, event in events_in(score, span):
        if len(event.notes) == 1 and not event.notes[0].tied and not event.notes[0].muted:
            single.append(place)
            pairs = list(_pairs(score, neck, place, event.notes[0], harmony, above=above))
            if pairs and not event.notes[0].slurred:
                layers[place] = pairs
    before = _hard(score, player)
    turn = 0
    while True:
        chosen = dict(zip(layers, _cheapest(list(layers.values())), strict=True))
        found = _with_pairs(score, span, chosen)
        hard = _hard(found, player) - before
        if not hard or not layers:
            return Harmonised(found, tuple(place for place in single if place not in chosen))
        for place in {_at_fault(chosen, place) for place, _ in hard} & layers.keys():
            layers[place].remove(chosen[place])
            if not layers[place] or turn >= TURNS:
                del layers[place]
        turn += 1


def _hard(score: Score, player: Player) -> set[tuple[Place, str]]:
    """Where the hand finds something hard or impossible, and what."""
    found = findings(with_hands(score, player), player)
    return {(each.place, each.code) for each in found if each.severity in {Severity.IMPOSSIBLE, Severity.HARD}}


def _at_fault(chosen: Iterable[Place], place: Place) -> Place:
    """The double stop at a place, or else the last one before it, or the first."""
    return max((each for each in chosen if each <= place), default=min(chosen))


def _with_pairs(score: Score, span: Span, chosen: Mapping[Place, Pair]) -> Score:
    """The score with double stops put where they are chosen; what is tied to one goes on as one."""
    going: Pair | None = None

    def changed(place: Place, event: Event) -> Event:
        nonlocal going
        if len(event.notes) != 1:
            going = None
            return event
        going = going if event.notes[0].tied else chosen.get(place)
        return event if going is None else _with_pair(event, event.notes[0], going)

    return map_events(score, span, changed)


def _with_pair(event: Event, note: Note, pair: Pair) -> Event:
    (course, fret), (beside, other) = pair.melody, pair.other
    moved = (
        note
        if note.spot == pair.melody
        else note.with_(course=course, fret=fret, finger=None, proposed_finger=None, course_set=False)
    )
    added = Note(course=beside, fret=other, tied=note.tied)
    return event.with_(notes=tuple(sorted((moved, added), key=lambda each: each.course)))


def _pairs(score: Score, neck: Neck, place: Place, note: Note, harmony: Harmony, *, above: bool) -> Iterator[Pair]:
    """Every way to play a note with the one that goes with it, on neighbouring courses."""
    pitch = score.head.instrument.pitch(*note.spot)
    for other in partners(score, place, pitch, harmony, above=above):
        found = [
            pair
            for spot in _spots(score, place, note)
            if (pair := _pair(neck, spot, spot[0] + (-1 if above else 1), other)) is not None
        ]
        if found:
            yield from (
                pair._replace(points=pair.points + ELSEWHERE * (pair.melody != note.spot)) for pair in found
            )
            return


def _pair(neck: Neck, spot: tuple[int, int], course: int, pitch: int) -> Pair | None:
    """A note held together with a pitch on another course; None where no hand can."""
    instrument = neck.instrument
    if not 1 <= course <= instrument.course_count:
        return None
    fret = pitch - instrument.courses[course - 1].pitch
    if not 0 <= fret <= instrument.frets:
        return None
    way = held(neck, (min(spot, (course, fret)), max(spot, (course, fret))))
    if way is None:
        return None
    stopped = [neck.mm(each) for each in (spot[1], fret) if each]
    return Pair(spot, (course, fret), way.points, sum(stopped) / len(stopped) if stopped else 0.0)


def _spots(score: Score, place: Place, note: Note) -> Sequence[tuple[int, int]]:
    """Where a note may be played: only where it is, if it is set there or if the next one hangs on it."""
    following = next_event(score, place)
    joined = following is not None and any(each.slurred or each.tied for each in following[1].notes)
    if note.course_set or note.finger is not None or joined or note.bend or note.slide_in or note.slide_out:
        return [note.spot]
    return score.head.instrument.places_of(score.head.instrument.pitch(*note.spot))


def partners(score: Score, place: Place, pitch: int, harmony: Harmony, *, above: bool) -> Iterator[int]:
    """The pitches that go with a note, the first choice first."""
    way = 1 if above else -1
    if harmony in STEPS:
        tones = scale_under(score, place)
        found = [each for each in range(pitch + way, pitch + way * 13, way) if each % 12 in tones]
        on_scale = pitch % 12 in tones
        if on_scale and len(found) >= STEPS[harmony]:
            yield found[STEPS[harmony] - 1]
            return
    chord = harmony_in_force(score, place)
    classes = (
        {chord.tone(each) for each in chord.intervals}
        if chord is not None and chord.intervals
        else {(score.keys[place.measure].tonic + each) % 12 for each in (0, 4, 7)}
    )
    yield from (
        each
        for each in range(pitch + way * NEAREST, pitch + way * FARTHEST, way)
        if each % 12 in classes and (each - pitch) % 12
    )


def scale_under(score: Score, place: Place) -> frozenset[int]:
    """The pitch classes of the key, with the tones of the chord for their neighbours: G# in A minor over E7."""
    key, chord = score.keys[place.measure], harmony_in_force(score, place)
    tones = {(key.tonic + each) % 12 for each in mode_tones(key.mode)}
    own = {chord.tone(each) for each in chord.intervals} if chord is not None else set()
    for tone in own - tones:
        beside = [each for each in ((tone - 1) % 12, (tone + 1) % 12) if each in tones and each not in own]
        tones = {*tones, tone} - {*beside[:1]}
    return frozenset(tones)


def _cheapest(layers: Sequence[Sequence[Pair]]) -> list[Pair]:
    """One pair of each layer, on the way of least effort and movement."""
    if not layers:
        return []
    totals, back = [pair.points for pair in layers[0]], list[list[int]]()
    for before, layer in pairwise(layers):
        ways = [
            [total + abs(one.mm - other.mm) / FAR_MM for one, total in zip(before, totals, strict=True)]
            for other in layer
        ]
        back.append([min(range(len(way)), key=way.__getitem__) for way in ways])
        totals = [min(way) + pair.points for way, pair in zip(ways, layer, strict=True)]
    at = min(range(len(totals)), key=totals.__getitem__)
    chosen = [layers[-1][at]]
    for layer, came in zip(reversed(layers[:-1]), reversed(back), strict=True):
        at = came[at]
        chosen.append(layer[at])
    return chosen[::-1]
