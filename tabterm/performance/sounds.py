"""From played measures to sounds: one for each attack, with its bends, lengthened by its ties and slides."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tabterm.score.model import BendShape, Direction, Reached, Stroke

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator, Sequence

    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.model import Event, Note, Score

# Lengths and strengths of the trade's practice; no source, chosen by ear.
VELOCITY = 86
UP_STROKE_SOFTER = 6
ACCENT_STRONGER = 24
SLURRED_PART = 0.72
MUTED_S = 0.05
STAGGER_S = 0.008
ROLL_S = 0.045
GRACE_S = 0.065
GLIDE_S = 0.12
BEND_S = 0.22
VIBRATO_HZ, VIBRATO_CENTS, VIBRATO_AFTER_S = 5.5, 14.0, 0.12
TREMOLO_PER_S = 11.0
STEP_S = 0.01
"""Bends are sent in steps of this length."""

SLIDE_LIMIT_CENTS = 1200
"""A slide that goes farther than the bend range is struck anew."""


@dataclass(slots=True)
class Sound:
    """One attack and what becomes of it.

    Attributes:
        course: 1 = highest; also its MIDI channel, counted from 1.
        pitch: MIDI note number of the attack.
        start_s: Attack.
        end_s: When it is stopped.
        velocity: 1 to 127.
        bends: (time in s, cents from `pitch`), in order of time.
        held: It may ring until the next sound on its course.
    """

    course: int
    pitch: int
    start_s: float
    end_s: float
    velocity: int
    bends: list[tuple[float, float]] = field(default_factory=list)
    held: bool = False

    @property
    def cents(self) -> float:
        """Where its last bend leaves it."""
        return self.bends[-1][1] if self.bends else 0.0

    def glide(self, start_s: float, end_s: float, cents: float) -> None:
        """Bend evenly from where it is to `cents` between two moments."""
        first = self.cents
        steps = max(int((end_s - start_s) / STEP_S), 1)
        self.bends += [
            (start_s + (end_s - start_s) * n / steps, first + (cents - first) * n / steps)
            for n in range(1, steps + 1)
        ]


def sounds_of(score: Score, played: Sequence[PlayedMeasure]) -> list[Sound]:
    """Every sound of the played measures, in order of attack for each course."""
    last: dict[int, Sound] = {}
    sounds: list[Sound] = []
    for measure in played:
        for event, start_s, end_s in events_of(score, measure):
            for sound in _event_sounds(score, event, start_s, end_s, last):
                sounds.append(sound)
                last[sound.course] = sound
    if played:
        _cut_overlaps(sounds, played[-1].end_s)
    return sounds


def events_of(score: Score, measure: PlayedMeasure) -> Iterator[tuple[Event, float, float]]:
    """The events of a played measure with their start and end in seconds; cut events are left out."""
    for offset, event in score.measures[measure.index].timed():
        if measure.low <= offset < measure.high:
            end = min(offset + event.length, measure.high)
            yield event, measure.at(offset), measure.at(end)


def _event_sounds(
    score: Score, event: Event, start_s: float, end_s: float, last: dict[int, Sound]
) -> Iterator[Sound]:
    """New sounds of an event; ties and slides lengthen the sound before instead."""
    begun_s = yield from _grace_sounds(score, event, start_s, end_s, last)
    notes = _in_stroke_order(event)
    spread = ROLL_S if event.roll else STAGGER_S
    struck = 0
    for note in notes:
        stop_s = start_s + (end_s - start_s) / 2 if event.staccato else end_s
        before = last.get(note.course)
        pitch = score.head.instrument.pitch(note.course, note.fret)
        if note.tied and before is not None and not event.tremolo:
            before.end_s, before.held = stop_s, note.ring
            _shade(before, note, start_s, stop_s)
        elif note.reached is Reached.SLIDE and before is not None and _within(before, pitch):
            _slide(before, pitch, start_s, stop_s)
            before.held = note.ring
            _shade(before, note, start_s, stop_s)
        else:
            delay = struck * spread if not note.slurred else 0.0
            struck += not note.slurred
            attack_s = min(begun_s + delay, (start_s + end_s) / 2)
            yield from _attacks(event, note, pitch, attack_s, stop_s)


def _grace_sounds(
    score: Score, event: Event, start_s: float, end_s: float, last: dict[int, Sound]
) -> Generator[Sound, None, float]:
    """Grace notes fall on the beat and the event right behind them; returns when the event may begin."""
    if not event.grace:
        return start_s
    each_s = min(GRACE_S, (end_s - start_s) / (2 * len(event.grace)))
    for number, note in enumerate(event.grace):
        at_s = start_s + number * each_s
        pitch = score.head.instrument.pitch(note.course, note.fret)
        sound = Sound(note.course, pitch, at_s, at_s + each_s, _velocity(event, note))
        last[note.course] = sound
        yield sound
    return start_s + len(event.grace) * each_s


def _in_stroke_order(event: Event) -> list[Note]:
    """A down-stroke meets the lowest course first, an up-stroke the highest; a roll goes its own way."""
    up = event.stroke_shown is Stroke.UP
    if event.roll is not None:
        up = event.roll is Direction.DOWN
    return list(event.notes) if up else list(reversed(event.notes))


def _attacks(event: Event, note: Note, pitch: int, start_s: float, end_s: float) -> Iterator[Sound]:
    velocity = _velocity(event, note)
    if note.muted:
        yield Sound(note.course, pitch, start_s, min(start_s + MUTED_S, end_s), velocity)
        return
    if event.tremolo:
        count = max(round((end_s - start_s) * TREMOLO_PER_S), 2)
        each_s = (end_s - start_s) / count
        for number in range(count):
            softer = UP_STROKE_SOFTER if number % 2 else 0
            at_s = start_s + number * each_s
            yield Sound(note.course, pitch, at_s, at_s + each_s, max(velocity - softer, 1))
        return
    sound = Sound(note.course, pitch, start_s, end_s, velocity, held=note.ring)
    if note.slide_in is not None:
        sound.bends.append((start_s, -200.0 if note.slide_in is Direction.UP else 200.0))
        sound.glide(start_s, min(start_s + GLIDE_S, end_s), 0.0)
    _shade(sound, note, start_s, end_s)
    yield sound


def _velocity(event: Event, note: Note) -> int:
    velocity = float(VELOCITY + (ACCENT_STRONGER if event.accent else 0))
    if event.stroke_shown is Stroke.UP:
        velocity -= UP_STROKE_SOFTER
    if note.slurred:
        velocity *= SLURRED_PART
    return min(max(round(velocity), 1), 127)


def _within(sound: Sound, pitch: int) -> bool:
    return abs(pitch - sound.pitch) * 100 <= SLIDE_LIMIT_CENTS


def _slide(sound: Sound, pitch: int, start_s: float, end_s: float) -> None:
    """Glide to a pitch so as to arrive when its note begins, and sound on until it ends."""
    leave_s = max(start_s - GLIDE_S, (sound.start_s + start_s) / 2)
    while sound.bends and sound.bends[-1][0] > leave_s:
        sound.bends.pop()
    sound.glide(leave_s, start_s, (pitch - sound.pitch) * 100.0)
    sound.end_s = end_s


def _shade(sound: Sound, note: Note, start_s: float, end_s: float) -> None:
    """Bend, vibrato and slide-off of a note between two moments."""
    base, length_s = sound.cents, end_s - start_s
    if note.bend is not None:
        top, travel_s = base + note.bend.cents, min(BEND_S, length_s * 0.4)
        if note.bend.shape is BendShape.FALL:
            sound.bends.append((start_s, top))
            sound.glide(start_s + travel_s, start_s + 2 * travel_s, base)
        else:
            sound.glide(start_s + travel_s / 4, start_s + travel_s, top)
            if note.bend.shape is BendShape.RISE_AND_FALL:
                sound.glide(end_s - travel_s, end_s - travel_s / 4, base)
    if note.vibrato and note.bend is None:
        _vibrato(sound, start_s, end_s, base)
    if note.slide_out is not None:
        away = base + (200.0 if note.slide_out is Direction.UP else -200.0)
        sound.glide(max(end_s - GLIDE_S, (start_s + end_s) / 2), end_s - STEP_S / 2, away)


def _vibrato(sound: Sound, start_s: float, end_s: float, base: float) -> None:
    """Triangular shaking below and above the pitch."""
    half_s, at_s, side = 0.5 / VIBRATO_HZ, start_s + VIBRATO_AFTER_S, 1
    while at_s + half_s < end_s:
        sound.glide(at_s, at_s + half_s, base + side * VIBRATO_CENTS)
        at_s, side = at_s + half_s, -side
    sound.bends.append((end_s - STEP_S / 2, base))


def _cut_overlaps(sounds: list[Sound], end_s: float) -> None:
    """Let held sounds ring to the next attack on their course, and stop every sound there at the latest."""
    following: dict[int, float] = {}
    for sound in sorted(sounds, key=lambda each: each.start_s, reverse=True):
        limit = following.get(sound.course, end_s)
        sound.end_s = limit if sound.held else min(sound.end_s, limit)
        sound.bends = [bend for bend in sound.bends if bend[0] < sound.end_s]
        following[sound.course] = sound.start_s
