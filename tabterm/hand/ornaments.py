"""A melody ornamented: what a left hand adds to it.

What goes where is common practice, no source: slurs on weak notes, slides and second notes on strong ones,
approach notes before tones of the chord, long notes divided; the melody's notes stay where they are.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.double_stops import Harmony, partners
from tabterm.hand.shapes import held
from tabterm.harmony.craft import FOURTH, points
from tabterm.harmony.ground import moved
from tabterm.harmony.sketches import Note as Melodic
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Note
from tabterm.score.operations.timeline import ATTACK

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
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
        self.theme, self._neck = theme, neck
        self.played = [Played(note.at, note.length, note.event) for note in theme.notes]
        self.numbers = [number for number, note in enumerate(theme.notes) if note.pitch is not None]
        self.pulses: dict[int, Pulse] = dict(zip(self.numbers, theme.line.pulses, strict=True))

    def ornamented(self, random: Random) -> Iterator[Dressed]:
        """The melody with slurs, slides, approach notes or double stops, or some of each; then its long notes."""
        kinds: dict[str, Callable[[int, Random], list[Played] | None]] = {
            "slurs": self._slur,
            "slides": self._slide,
            "approach notes": self._approach,
            "double stops": self._double,
        }
        of_long: dict[str, Callable[[int, Random], list[Played] | None]] = {
            "neighbour notes": self._neighbour,
            "repeated notes": self._struck_again,
            "octaves": self._octave,
        }
        usual = [(share, names) for share in SHARES for names in (*([name] for name in kinds), list(kinds))]
        kinds |= of_long
        more = [(share, [name]) for share in (1.0, *SHARES) for name in of_long]
        yield from (each for share, names in (*usual, *more) for each in self._with(kinds, share, names, random))

    def _with(
        self,
        kinds: dict[str, Callable[[int, Random], list[Played] | None]],
        share: float,
        names: list[str],
        random: Random,
    ) -> Iterator[Dressed]:
        """The melody with ornaments of some kinds; nothing where they are too few to be heard."""
        done: dict[int, list[Played]] = {}
        told = []
        for name in random.sample(names, len(names)):
            count = self._some(kinds[name], share / len(names) ** 0.5, done, random)
            told += [f"{count} {name if count > 1 else name.rstrip('s')}"] if count else []
        if done and FEWEST * len(done) >= len(self.numbers):
            yield self.dressed(done, ", ".join(told))

    def _some(
        self,
        kind: Callable[[int, Random], list[Played] | None],
        share: float,
        done: dict[int, list[Played]],
        random: Random,
    ) -> int:
        """Put an ornament of a kind to some of the notes that can have it and have none."""
        free = [number for number in self.numbers if not {number - 1, number, number + 1} & done.keys()]
        able = [(number, made) for number in free if (made := kind(number, random)) is not None]
        random.shuffle(able)
        most = max(1, round(share * len(able)))
        count = 0
        for number, made in able:
            if count < most and not {number - 1, number, number + 1} & done.keys():
                done[number] = made
                count += 1
        return count

    def dressed(self, done: dict[int, list[Played]], told: str) -> Dressed:
        """The melody with what takes the place of some of its notes."""
        played = tuple(each for number, old in enumerate(self.played) for each in done.get(number, [old]))
        notes = [Melodic(each.at, each.length, self._top(each.event)) for each in played]
        return Dressed(played, told, points(self.theme.melody(notes)))

    def _top(self, event: Event | None) -> int | None:
        """The highest pitch of an event."""
        return max(map(self.pitch, event.notes), default=None) if event else None

    def _single(self, number: int) -> Note | None:
        """The note of a number where it is struck alone and plain, and nothing hangs on it."""
        event = self.played[number].event
        if event is None or len(event.notes) != 1 or event.grace or event.tremolo or event.notes[0].bend:
            return None
        note = event.notes[0]
        return note if note.is_struck and not note.muted and not note.slide_in else None

    def _leads_on(self, number: int) -> bool:
        """Whether the next event is slurred or tied from this one."""
        following = self.played[number + 1].event if number + 1 < len(self.played) else None
        return following is not None and any(each.slurred or each.tied for each in following.notes)

    def _slur(self, number: int, _: Random) -> list[Played] | None:
        """A weak note hammered or pulled off from the one before it on its course."""
        here, note = self.played[number], self._single(number)
        before = self._single(number - 1) if number and number - 1 in self.pulses else None
        if note is None or before is None or here.event is None or self.pulses[number].strength > 1:
            return None
        way = note.fret - before.fret
        if note.course != before.course or not 0 < abs(way) <= SLUR:
            return None
        slurred = note.with_(reached=Reached.HAMMER if way > 0 else Reached.PULL)
        return [here._replace(event=here.event.with_(notes=(slurred,), **ATTACK))]

    def _slide(self, number: int, _: Random) -> list[Played] | None:
        """A note on a beat slid into from the next tone of the scale below, or hammered from the open course."""
        here, note, pulse = self.played[number], self._single(number), self.pulses[number]
        if note is None or here.event is None or pulse.strength < 1 or not pulse.has(self.pitch(note)):
            return None
        below = next(
            (by for by in range(1, SLIDE + 1) if note.fret >= by and pulse.fits(self.pitch(note) - by)), 1
        )
        if note.fret < below:
            return None
        from_open = note.fret == below
        grace = Note(course=note.course, fret=note.fret - below)
        reached = note.with_(reached=Reached.HAMMER if from_open else Reached.SLIDE)
        return [here._replace(event=here.event.with_(notes=(reached,), grace=(grace,)))]

    def _approach(self, number: int, random: Random) -> list[Played] | None:
        """The end of a note, or of a rest, given to one that leads to the next tone of a chord."""
        here = self.played[number]
        following = number + 1
        if following not in self.pulses or self._leads_on(number) or here.event is None:
            return None
        pulse, goal = self.pulses[following], self.theme.notes[following].pitch
        old = self.theme.notes[number].pitch
        if goal is None or old is None or not pulse.strength or not pulse.has(goal):
            return None
        part = min(here.length / 2, pulse.beat / 2)
        if here.length < pulse.beat / 2 or part < Fraction(1, 4):
            return None
        steps = [by for by in (-2, -1, 1, 2) if by == -1 or pulse.fits(goal + by)]
        ways = [goal + by for by in steps if 0 < abs(goal + by - old) <= FOURTH]
        between = [each for each in ways if (each - old) * (goal - each) > 0]
        spots = [(each, self.spot(each)) for each in (between or ways)]
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
        here, note, pulse = self.played[number], self._single(number), self.pulses[number]
        if note is None or here.event is None or not pulse.strength or self._leads_on(number):
            return None
        instrument = self._neck.instrument
        if note.course == instrument.course_count:
            return None
        place = moved(self.theme.score, self.theme.span.start, here.at)
        for pitch in partners(self.theme.score, place, self.pitch(note), Harmony.CHORD, above=False):
            fret = pitch - instrument.courses[note.course].pitch
            if (
                0 <= fret <= instrument.frets
                and held(self._neck, (note.spot, (note.course + 1, fret))) is not None
            ):
                return [
                    here._replace(event=here.event.with_(notes=(note, Note(course=note.course + 1, fret=fret))))
                ]
        return None

    def _neighbour(self, number: int, random: Random) -> list[Played] | None:
        """A long note with the tone of the scale beside it in its second half, and itself again."""
        note = self._single(number)
        if note is None or not self.pulses[number].has(self.pitch(note)):
            return None
        fits = self.pulses[number].fits
        ways = [next((by for by in steps if fits(self.pitch(note) + by)), 0) for steps in ((1, 2), (-1, -2))]
        spots = [
            (note.course, note.fret + by) if note.fret + by >= 0 else self.spot(self.pitch(note) + by)
            for by in ways
            if by
        ]
        found = [spot for spot in spots if spot is not None]
        return self._divided(number, random.choice(found)) if found else None

    def _struck_again(self, number: int, _: Random) -> list[Played] | None:
        """A long note struck three times: long, short, short."""
        note = self._single(number)
        return None if note is None else self._divided(number, note.spot)

    def _divided(self, number: int, second: tuple[int, int]) -> list[Played] | None:
        """A note of a beat or more in three: itself, what is on a second place, and itself."""
        here, note = self.played[number], self._single(number)
        parts = (1, 1, 1) if here.length % Fraction(3, 2) == 0 else (2, 1, 1)
        part = here.length / sum(parts)
        if note is None or here.event is None or here.length < self.pulses[number].beat or self._leads_on(number):
            return None
        found, at = [here._replace(length=part * parts[0])], here.at + part * parts[0]
        for (course, fret), size in zip((second, note.spot), parts[1:], strict=True):
            event = Event(duration=here.event.duration, notes=(Note(course=course, fret=fret),))
            found.append(Played(at, part * size, event, free=True))
            at += part * size
        return found

    def _octave(self, number: int, _: Random) -> list[Played] | None:
        """The octave below a note on a beat, on the next course, where the hand holds both."""
        here, note, pulse = self.played[number], self._single(number), self.pulses[number]
        courses = self._neck.instrument.courses
        if note is None or here.event is None or not pulse.strength or note.course == len(courses):
            return None
        fret = self.pitch(note) - 12 - courses[note.course].pitch
        if self._leads_on(number) or fret < 0 or held(self._neck, (note.spot, (note.course + 1, fret))) is None:
            return None
        return [here._replace(event=here.event.with_(notes=(note, Note(course=note.course + 1, fret=fret))))]

    def pitch(self, note: Note) -> int:
        """MIDI note number."""
        return self._neck.instrument.pitch(note.course, note.fret)

    def spot(self, pitch: int) -> tuple[int, int] | None:
        """Course and fret where a pitch has its lowest fret."""
        return next(iter(self._neck.instrument.places_of(pitch)), None)
