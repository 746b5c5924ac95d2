"""From played measures to sounds: one for each attack, lengthened by its ties and slides."""

from __future__ import annotations

import math
from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.performance.midi import BEND_RANGE
from tabterm.performance.model import Attack, Part, Pluck
from tabterm.performance.ringing import Ending, endings
from tabterm.performance.shading import Curve, shade
from tabterm.score.kinds import Direction, Reached, Stroke

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.instrument import Instrument
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.model import Event, Note, Score

VELOCITY = 86  #: MIDI velocity; tuned here
UP_STROKE_SOFTER = 6  #: MIDI velocity; tuned here
ACCENT_STRONGER = 24  #: MIDI velocity; tuned here
SLURRED_PART = 0.72  #: times the velocity; tuned here
MUTED_S = 0.05  #: s; tuned here
STAGGER_S = 0.008  #: s; tuned here
ROLL_S = 0.045  #: s; tuned here
GRACE_S = 0.065  #: s; tuned here
TREMOLO_PER_S = 11.0  #: strokes a second; tuned here, within the 10 to 14 that follow from Fujii et al. 2009
TREMOLO_OFF_S = 0.006  #: s; tuned here, so that strokes are 3 to 4 ms off on average
"""By so much at most a stroke of a tremolo comes before or behind its time; the first one never."""

TREMOLO_SWELL = 0.14  #: part of the velocity; tuned here
"""By so much a tremolo is softer behind its first stroke and at its end than in its middle."""

GOLDEN = (
    math.sqrt(5) - 1
) / 2  #: 1; definition: the golden section, whose multiples by squares are spread as by chance
TREMOLO_DIVISIONS = (2, 3, 4, 6, 8, 12, 16, 24, 32)  #: strokes a quarter; definition: binary and ternary ones
"""Strokes of a tremolo to a quarter: the one whose rate is nearest to `TREMOLO_PER_S` is taken."""


@dataclass(slots=True)
class Sound:
    """One attack and what becomes of it.

    Attributes:
        course: 1 = highest.
        pitch: MIDI note number of the attack.
        start_s: Attack.
        end_s: When it is stopped, as it is written.
        velocity: 1 to 127.
        attack: What sets it off.
        stopped: Pitch of the fret that it has slid to.
        until_s: When its event ends; a tie or slide goes on from there.
        ring: It sounds on until the next sound on its course.
        muted: Nothing can go on from it.
        fret: The one that it has come to.
        finger: The one on it, where that is known.
        lets_ring: It may ring on past its written end.
        ending: When it really ends, and how.
        curve: Its pitch over time.
    """

    course: int
    pitch: int
    start_s: float
    end_s: float
    velocity: int
    attack: Attack
    stopped: int
    until_s: float
    ring: bool
    muted: bool
    fret: int = 0
    finger: int | None = None
    lets_ring: bool = False
    ending: Ending = field(default_factory=lambda: Ending(0.0))
    curve: Curve = field(default_factory=Curve)

    @property
    def bends(self) -> list[tuple[float, float]]:
        """(time in s, cents from `pitch`), in order of time."""
        return self.curve

    def pluck(self) -> Pluck:
        """As it goes out."""
        curve = tuple(point for point in self.curve if point[0] < self.end_s)
        return Pluck(
            *(Part.SOLO, self.course, self.pitch, self.start_s, self.ending.until_s),
            *(self.velocity, self.attack, self.muted, curve, self.ending.release),
        )


@dataclass(slots=True)
class TimedEvent:
    """An event and its time in seconds; `begun_s` is when its own notes begin, behind its grace notes."""

    event: Event
    start_s: float
    begun_s: float
    end_s: float
    quarter_s: float

    def stop_s(self, attack_s: float) -> float:
        """When a note attacked then stops: half-way for staccato (common practice, no source)."""
        return (attack_s + self.end_s) / 2 if self.event.staccato else self.end_s

    @property
    def middle_s(self) -> float:
        """No attack of the event comes later."""
        return (self.begun_s + self.end_s) / 2


class PlayedCourses:
    """The courses of an instrument while a score is played: what each of them did last."""

    def __init__(self, instrument: Instrument) -> None:
        self.sounds: list[Sound] = []
        self.silences: list[float] = []
        self._instrument = instrument
        self._last: dict[int, Sound] = {}

    def play(self, event: Event, start_s: float, end_s: float, quarter_s: float) -> None:
        """Sound an event: its grace notes on the beat, then its notes, in the order the stroke meets them.

        Grace notes take their time from the event that they stand before, so that the beat is where the
        hand moves and nothing begins before the start of a selection.
        """
        if not event.notes or event.damp:
            self.silences.append(end_s if event.notes else start_s)
        each_s = min(GRACE_S, (end_s - start_s) / (2 * len(event.grace))) if event.grace else 0.0
        moment = TimedEvent(event, start_s, start_s + each_s * len(event.grace), end_s, quarter_s)
        for number, note in enumerate(event.grace):
            at_s = start_s + number * each_s
            velocity = _velocity(event, note, slurred=note.slurred)
            self._sound(note, velocity, at_s, at_s + each_s, _attack(event, note))
        struck = 0
        for note in _in_stroke_order(event):
            if self._goes_on(note, moment):
                continue
            delay_s = struck * (ROLL_S if event.roll else STAGGER_S) if not note.slurred else 0.0
            struck += not note.slurred
            self._strike(note, moment, min(moment.begun_s + delay_s, moment.middle_s))

    def _goes_on(self, note: Note, moment: TimedEvent) -> bool:
        """Lengthen the sound before where a tie or slide goes on from it; False when there is none."""
        before = self._last.get(note.course)
        if before is None or before.muted or note.muted or before.until_s < moment.start_s:
            return False
        pitch = self._instrument.pitch(note.course, note.fret)
        tied = note.tied and before.stopped == pitch and not moment.event.tremolo_shown
        slid = note.reached is Reached.SLIDE and abs(pitch - before.pitch) <= BEND_RANGE
        if slid:
            before.curve.arrive(before.start_s, moment.begun_s, (pitch - before.pitch) * 100.0)
        if tied or slid:
            before.stopped, before.ring = pitch, note.ring
            before.fret, before.finger, before.lets_ring = note.fret, note.finger_shown, _lets_ring(moment.event)
            before.end_s, before.until_s = moment.stop_s(moment.begun_s), moment.end_s
            shade(before.curve, note, moment.begun_s, before.end_s, fresh=False)
        return tied or slid

    def _strike(self, note: Note, moment: TimedEvent, at_s: float) -> None:
        """A new attack, or the many of a tremolo."""
        event, stop_s = moment.event, moment.stop_s(at_s)
        velocity = _velocity(event, note, slurred=note.slurred and bool(self.sounds))
        if not event.tremolo_shown or note.muted:
            sound = self._sound(note, velocity, at_s, moment.end_s, _attack(event, note), stop_s)
            sound.lets_ring = _lets_ring(event) and not note.muted
            return
        strokes = _strokes_to_a_quarter(moment.quarter_s) / moment.quarter_s
        count = max(round(round((stop_s - at_s) * strokes, 6)), 2)  # a half rounds the same at any time
        each_s = (stop_s - at_s) / count
        curve = Curve()
        shade(curve, note, at_s, stop_s, fresh=True)
        starts_s = [at_s + number * each_s + _off_s(number, each_s) for number in range(count)] + [stop_s]
        for number, (start_s, until_s) in enumerate(pairwise(starts_s)):
            softer, attack = (UP_STROKE_SOFTER, Attack.UP) if number % 2 else (0, Attack.DOWN)
            swelled = velocity * _swell(number, count) - softer
            sound = self._sound(note, min(max(round(swelled), 1), 127), start_s, until_s, attack)
            sound.curve[:] = curve
        sound.end_s, sound.until_s = stop_s, moment.end_s

    def _sound(
        self,
        note: Note,
        velocity: int,
        start_s: float,
        until_s: float,
        attack: Attack,
        stop_s: float | None = None,
    ) -> Sound:
        pitch = self._instrument.pitch(note.course, note.fret)
        stop_s = until_s if stop_s is None else stop_s
        end_s = min(start_s + MUTED_S, stop_s) if note.muted else stop_s
        sound = Sound(
            *(note.course, pitch, start_s, end_s, velocity, attack, pitch, until_s),
            ring=note.ring,
            muted=note.muted,
            fret=note.fret,
            finger=note.finger_shown,
        )
        if not note.muted:
            shade(sound.curve, note, start_s, end_s, fresh=True)
        self.sounds.append(sound)
        self._last[note.course] = sound
        return sound


def sounds_of(score: Score, played: Sequence[PlayedMeasure]) -> list[Sound]:
    """Every sound of the played measures; on each course in order, none over the next."""
    strings = PlayedCourses(score.head.instrument)
    for measure in played:
        timed = measure.timed(score.measures[measure.index])
        ends = [*(start_s for _, start_s, _ in timed[1:]), measure.end_s]
        for (_, start_s, event), end_s in zip(timed, ends, strict=False):
            strings.play(event, start_s, end_s, measure.quarter_s)
    end_s = played[-1].end_s
    _cut_overlaps(strings.sounds, end_s)
    for sound, ending in zip(strings.sounds, endings(strings.sounds, strings.silences, end_s), strict=True):
        sound.ending = ending
    return strings.sounds


def _off_s(number: int, each_s: float) -> float:
    """How far a stroke of a tremolo is off its time, the same each time it is played."""
    most_s = min(TREMOLO_OFF_S, each_s / 4)
    return most_s * (2 * (number**2 * GOLDEN % 1) - 1) if number else 0.0


def _swell(number: int, count: int) -> float:
    """How loud a stroke of a tremolo is: the first speaks, then it grows to the middle and fades."""
    return 1.0 if number == 0 else 1.0 - TREMOLO_SWELL * (1.0 - math.sin(math.pi * number / count))


def _lets_ring(event: Event) -> bool:
    """Neither cut short nor picked over and over."""
    return not (event.staccato or event.tremolo_shown)


def _in_stroke_order(event: Event) -> list[Note]:
    """A down-stroke meets the lowest course first, an up-stroke the highest; a roll goes its own way."""
    highest_first = event.stroke_shown is Stroke.UP if event.roll is None else event.roll is Direction.DOWN
    return list(event.notes) if highest_first else list(reversed(event.notes))


def _attack(event: Event, note: Note) -> Attack:
    """A slide with nothing to slide from is set off by the finger that stops it, like a hammer-on."""
    if note.slurred:
        return Attack.PULL if note.reached is Reached.PULL else Attack.HAMMER
    return Attack.UP if event.stroke_shown is Stroke.UP else Attack.DOWN


def _velocity(event: Event, note: Note, *, slurred: bool) -> int:
    velocity = float(VELOCITY + (ACCENT_STRONGER if event.accent else 0))
    if event.stroke_shown is Stroke.UP and not note.slurred:
        velocity -= UP_STROKE_SOFTER
    return min(max(round(velocity * (SLURRED_PART if slurred else 1.0)), 1), 127)


def _strokes_to_a_quarter(quarter_s: float) -> int:
    return min(TREMOLO_DIVISIONS, key=lambda strokes: abs(strokes / quarter_s - TREMOLO_PER_S))


def _cut_overlaps(sounds: Sequence[Sound], end_s: float) -> None:
    """Let ringing sounds last to the next attack on their course, and stop every sound there at the latest."""
    following: dict[int, float] = {}
    for sound in reversed(sounds):
        limit = following.get(sound.course, end_s)
        sound.end_s = limit if sound.ring and not sound.muted else min(sound.end_s, limit)
        following[sound.course] = sound.start_s
