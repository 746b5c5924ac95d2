"""A melody ornamented, or made plainer: what a left hand adds to it, and what a learner can leave out.

What goes where is common practice, no source: slurs on weak notes, slides and second notes on strong ones,
approach notes before tones of the chord; the melody's notes stay where they are. A plainer melody keeps its beats.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.double_stops import Harmony, partners
from tabterm.hand.shapes import held
from tabterm.harmony.craft import FOURTH, points
from tabterm.harmony.ground import moved
from tabterm.harmony.sketches import Note as Melodic
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Note
from tabterm.score.operations.timeline import ATTACK
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from random import Random

    from tabterm.hand.neck import Neck
    from tabterm.harmony.ground import Pulse
    from tabterm.harmony.sketches import Theme

SLUR, SLIDE = 3, 2  #: frets; common practice, no source
"""How far a slur and a slide into a note go at most."""

#: parts of the notes; tuned here
SHARES = (0.5, 0.35, 0.35, 0.25, 0.25, 0.15, 0.15, 0.1)
"""How many of the notes that could have an ornament get one, time after time: fewer where more are too much."""

FEWEST = 16  #: notes; tuned here
"""One note in so many gets an ornament at least, or there is too little to hear."""


#: quarters; common practice, no source
GRIDS = {
    False: (((Fraction(0), Fraction(1)), "in quarters"), ((Fraction(0), Fraction(2)), "in halves")),
    True: (((Fraction(0), Fraction(1), Fraction(3, 2)), "long and short"),),
}
"""Moments that a plainer rhythm keeps, and how often they come again, by whether beats divide in three."""


class Played(NamedTuple):
    """What happens at a moment of a phrase.

    Attributes:
        at: Quarters from its start.
        length: Quarters.
        event: None for a rest.
        free: The search may choose another course for its notes.
    """

    at: Fraction
    length: Fraction
    event: Event | None
    free: bool = False


class Dressed(NamedTuple):
    """A melody with ornaments, or plainer: what happens, what was done, and how much a teacher would mend."""

    played: tuple[Played, ...]
    told: str
    points: float


class Dresser:
    """The melody of a theme, and what can be done with each of its notes."""

    def __init__(self, theme: Theme, neck: Neck) -> None:
        """Take a theme on a neck."""
        self._theme, self._neck = theme, neck
        self._played = [Played(note.at, note.length, note.event) for note in theme.notes]
        self._numbers = [number for number, note in enumerate(theme.notes) if note.pitch is not None]
        self._pulses: dict[int, Pulse] = dict(zip(self._numbers, theme.line.pulses, strict=True))

    # More

    def ornamented(self, random: Random) -> Iterator[Dressed]:
        """The melody with slurs, slides, approach notes or double stops, and with some of each."""
        kinds: dict[str, Callable[[int, Random], list[Played] | None]] = {
            "slurs": self._slur,
            "slides": self._slide,
            "approach notes": self._approach,
            "double stops": self._double,
        }
        for share in SHARES:
            for names in (*([name] for name in kinds), list(kinds)):
                done: dict[int, list[Played]] = {}
                told = []
                for name in random.sample(names, len(names)):
                    count = self._some(kinds[name], share / len(names) ** 0.5, done, random)
                    told += [f"{count} {name if count > 1 else name.rstrip('s')}"] if count else []
                if FEWEST * len(done) >= len(self._numbers):
                    yield self._dressed(done, ", ".join(told))

    def _some(
        self,
        kind: Callable[[int, Random], list[Played] | None],
        share: float,
        done: dict[int, list[Played]],
        random: Random,
    ) -> int:
        """Put an ornament of a kind to some of the notes that can have it and have none."""
        free = [number for number in self._numbers if not {number - 1, number, number + 1} & done.keys()]
        able = [(number, made) for number in free if (made := kind(number, random)) is not None]
        random.shuffle(able)
        most = max(1, round(share * len(able)))
        count = 0
        for number, made in able:
            if count < most and not {number - 1, number, number + 1} & done.keys():
                done[number] = made
                count += 1
        return count

    def _dressed(self, done: dict[int, list[Played]], told: str) -> Dressed:
        played = tuple(each for number, old in enumerate(self._played) for each in done.get(number, [old]))
        notes = [Melodic(each.at, each.length, self._top(each.event)) for each in played]
        return Dressed(played, told, points(self._theme.melody(notes)))

    def _top(self, event: Event | None) -> int | None:
        """The highest pitch of an event."""
        return max(map(self._pitch, event.notes), default=None) if event else None

    def _single(self, number: int) -> Note | None:
        """The note of a number where it is struck alone and plain, and nothing hangs on it."""
        event = self._played[number].event
        if event is None or len(event.notes) != 1 or event.grace or event.tremolo or event.notes[0].bend:
            return None
        note = event.notes[0]
        return note if note.is_struck and not note.muted and not note.slide_in else None

    def _leads_on(self, number: int) -> bool:
        """Whether the next event is slurred or tied from this one."""
        following = self._played[number + 1].event if number + 1 < len(self._played) else None
        return following is not None and any(each.slurred or each.tied for each in following.notes)

    def _slur(self, number: int, _: Random) -> list[Played] | None:
        """A weak note hammered or pulled off from the one before it on its course."""
        here, note = self._played[number], self._single(number)
        before = self._single(number - 1) if number and number - 1 in self._pulses else None
        if note is None or before is None or here.event is None or self._pulses[number].strength > 1:
            return None
        way = note.fret - before.fret
        if note.course != before.course or not 0 < abs(way) <= SLUR:
            return None
        slurred = note.with_(reached=Reached.HAMMER if way > 0 else Reached.PULL)
        return [here._replace(event=here.event.with_(notes=(slurred,), **ATTACK))]

    def _slide(self, number: int, _: Random) -> list[Played] | None:
        """A note on a beat slid into from the next tone of the scale below, or hammered from the open course."""
        here, note, pulse = self._played[number], self._single(number), self._pulses[number]
        if note is None or here.event is None or pulse.strength < 1 or not pulse.has(self._pitch(note)):
            return None
        below = next(
            (by for by in range(1, SLIDE + 1) if note.fret >= by and pulse.fits(self._pitch(note) - by)), 1
        )
        if note.fret < below:
            return None
        from_open = note.fret == below
        grace = Note(course=note.course, fret=note.fret - below)
        reached = note.with_(reached=Reached.HAMMER if from_open else Reached.SLIDE)
        return [here._replace(event=here.event.with_(notes=(reached,), grace=(grace,)))]

    def _approach(self, number: int, random: Random) -> list[Played] | None:
        """The end of a note, or of a rest, given to one that leads to the next tone of a chord."""
        here = self._played[number]
        following = number + 1
        if following not in self._pulses or self._leads_on(number) or here.event is None:
            return None
        pulse, goal = self._pulses[following], self._theme.notes[following].pitch
        old = self._theme.notes[number].pitch
        if goal is None or old is None or not pulse.strength or not pulse.has(goal):
            return None
        part = min(here.length / 2, pulse.beat / 2)
        if here.length < pulse.beat / 2 or part < Fraction(1, 4):
            return None
        steps = [by for by in (-2, -1, 1, 2) if by == -1 or pulse.fits(goal + by)]
        ways = [goal + by for by in steps if 0 < abs(goal + by - old) <= FOURTH]
        between = [each for each in ways if (each - old) * (goal - each) > 0]
        spots = [(each, self._spot(each)) for each in (between or ways)]
        fitting = [spot for _, spot in spots if spot is not None]
        if not fitting:
            return None
        course, fret = random.choice(fitting)
        added = Event(duration=here.event.duration, notes=(Note(course=course, fret=fret),))
        return [
            here._replace(length=here.length - part),
            Played(here.at + here.length - part, part, added, free=True),
        ]

    def _double(self, number: int, _: Random) -> list[Played] | None:
        """A tone of the chord below a note on a beat, on the next course, where the hand holds both."""
        here, note, pulse = self._played[number], self._single(number), self._pulses[number]
        if note is None or here.event is None or not pulse.strength or self._leads_on(number):
            return None
        instrument = self._neck.instrument
        if note.course == instrument.course_count:
            return None
        place = moved(self._theme.score, self._theme.span.start, here.at)
        for pitch in partners(self._theme.score, place, self._pitch(note), Harmony.CHORD, above=False):
            fret = pitch - instrument.courses[note.course].pitch
            if (
                0 <= fret <= instrument.frets
                and held(self._neck, (note.spot, (note.course + 1, fret))) is not None
            ):
                return [
                    here._replace(event=here.event.with_(notes=(note, Note(course=note.course + 1, fret=fret))))
                ]
        return None

    def _pitch(self, note: Note) -> int:
        return self._neck.instrument.pitch(note.course, note.fret)

    def _spot(self, pitch: int) -> tuple[int, int] | None:
        return next(iter(self._neck.instrument.places_of(pitch)), None)

    # Less

    def plainer(self, random: Random) -> Iterator[Dressed]:
        """The melody without ornaments, then on its beats alone, then with some of the weak notes left out."""
        weak = [number for number in self._numbers if not self._pulses[number].strength]
        passing = [number for number in weak if not self._pulses[number].has(self._theme.notes[number].pitch or 0)]
        off_beats: dict[int, list[int]] = {}
        for number in weak:
            off_beats.setdefault(self._beat(number), []).append(number)
        beats, compound = sorted(off_beats), self._theme.score.metres[self._theme.span.start.measure].compound
        some = [sorted(random.sample(beats, size)) for size in range(1, len(beats)) for _ in range(2)]
        ways: list[tuple[Sequence[int], str]] = [
            ((), "no ornaments"),
            (self._again(), "repeated notes held"),
            (passing, "without passing notes"),
            *((self._between(grid), told) for grid, told in GRIDS[compound]),
            *(([at for beat in each for at in off_beats[beat]], f"one note on {_beats(each)}") for each in some),
            (weak, "only the notes on a beat"),
            (
                [number for number in self._numbers if self._pulses[number].strength < 2],
                "only the notes on strong beats",
            ),
        ]
        for dropped, told in ways:
            for low in (False, True):
                left = {*dropped} - {self._numbers[0]}
                yield self._less(left, f"{told}, low on the neck" if low else told, low=low)

    def _again(self) -> list[int]:
        """The weak notes that repeat the one before."""
        pitches = {number: self._theme.notes[number].pitch for number in self._numbers}
        return [
            number
            for number in self._numbers
            if self._pulses[number].strength < 2 and pitches.get(number - 1) == pitches[number]
        ]

    def _between(self, kept: Sequence[Fraction]) -> list[int]:
        """The weak notes at other moments of each stretch of the last of some moments."""
        *moments, size = kept
        start = self._theme.span.start.offset
        return [
            number
            for number in self._numbers
            if not self._pulses[number].strength and (self._theme.notes[number].at + start) % size not in moments
        ]

    def _beat(self, number: int) -> int:
        """The number of the beat that a note lies in, from 1."""
        theme = self._theme
        place = moved(theme.score, theme.span.start, theme.notes[number].at)
        index = min(place.measure, len(theme.score.measures) - 1)
        return theme.score.metres[index].beat_at(place.offset + lead_in(theme.score, index))[0] + 1

    def _less(self, dropped: set[int], told: str, *, low: bool) -> Dressed:
        """The melody without some notes, the ones before them held; `low`: where it has the lowest frets."""
        kept: list[Played] = []
        for number, here in enumerate(self._played):
            pitch = self._theme.notes[number].pitch
            if number in dropped and kept:
                kept[-1] = kept[-1]._replace(length=kept[-1].length + here.length)
            elif here.event is None or pitch is None:
                kept.append(here._replace(event=None))
            else:
                kept.append(here._replace(event=self._plain(here.event, pitch, low=low), free=low))
        return self._dressed({number: [] for number in range(len(self._played))} | {0: kept}, told)

    def _plain(self, event: Event, pitch: int, *, low: bool) -> Event:
        """The highest note of an event, struck and without any mark; a bent one as it is bent to."""
        note = next(each for each in event.notes if self._pitch(each) == pitch)
        to = ceil(note.bend.cents / 100) if note.bend else 0
        spot = (self._spot(pitch + to) if low else None) or (note.course, note.fret + to)
        bare = Note(course=spot[0], fret=spot[1], course_set=note.course_set and spot == note.spot)
        return Event(duration=event.duration, notes=(bare,))


def _beats(numbers: Sequence[int]) -> str:
    return f"beat{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
