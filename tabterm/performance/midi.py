"""From sounds to MIDI messages: one channel for each course, bends in the range set by RPN 0.

Numbers are those of the MIDI 1.0 specification: note-off 8n, note-on 9n, control Bn, program Cn, bend En;
controllers 101, 100, 6 and 38 set the registered parameter 0 (bend range), and 127/127 deselects it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.performance.model import TimedMessage

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.instrument import Instrument
    from tabterm.performance.sounds import Sound

BEND_RANGE = 12
"""Semitones either way; enough for any slide that is not struck anew."""

CENTRE = 8192
CLICK_CHANNEL = 9
CLICK_HIGH, CLICK_LOW = 76, 77
"""High and low wood block of the General MIDI 1 percussion map, on channel 10."""

CLICK_S = 0.03
OCTAVE_SOFTER = 26
"""The upper string of an octave course sounds with the lower one, but softer (by ear, no source)."""


def channel_of(course: int) -> int:
    """MIDI channel of a course, counted from 0; never the channel of the percussion."""
    return course - 1 if course <= CLICK_CHANNEL else course


def setup(instrument: Instrument) -> tuple[bytes, ...]:
    """Program and bend range of every course's channel."""
    messages = []
    for course in range(1, instrument.course_count + 1):
        control = 0xB0 | channel_of(course)
        messages.append(bytes((0xC0 | channel_of(course), instrument.program)))
        for controller, value in ((101, 0), (100, 0), (6, BEND_RANGE), (38, 0), (101, 127), (100, 127)):
            messages.append(bytes((control, controller, value)))
        messages.append(bend_message(course, 0.0))
    return tuple(messages)


def bend_message(course: int, cents: float) -> bytes:
    """The pitch bend of a course's channel."""
    value = min(max(round(CENTRE + cents * CENTRE / (BEND_RANGE * 100)), 0), 16383)
    return bytes((0xE0 | channel_of(course), value & 0x7F, value >> 7))


def messages_of(sounds: Iterable[Sound], instrument: Instrument) -> list[TimedMessage]:
    """Note-ons, bends and note-offs in order of time; at one moment off, bend, on."""
    timed = [message for sound in sounds for message in _sound_messages(sound, instrument)]
    timed.sort(key=lambda entry: entry[:2])
    return [TimedMessage(time_s, data) for time_s, _, data in timed]


def _sound_messages(sound: Sound, instrument: Instrument) -> Iterator[tuple[float, int, bytes]]:
    channel = channel_of(sound.course)
    pitches = [(sound.pitch, sound.velocity)]
    if instrument.courses[sound.course - 1].octave and sound.pitch + 12 <= 127:
        pitches.append((sound.pitch + 12, max(sound.velocity - OCTAVE_SOFTER, 1)))
    at_attack = [cents for time_s, cents in sound.bends if time_s <= sound.start_s]
    yield sound.start_s, 1, bend_message(sound.course, at_attack[-1] if at_attack else 0.0)
    for time_s, cents in sound.bends:
        if time_s > sound.start_s:
            yield time_s, 1, bend_message(sound.course, cents)
    for pitch, velocity in pitches:
        yield sound.start_s, 2, bytes((0x90 | channel, pitch, velocity))
        yield (
            max(sound.end_s, sound.start_s),
            0 if sound.end_s > sound.start_s else 3,
            bytes((0x80 | channel, pitch, 0)),
        )


def click(time_s: float, *, first: bool) -> tuple[TimedMessage, TimedMessage]:
    """A stroke of the wood block; the first beat of a measure is higher and stronger."""
    note, velocity = (CLICK_HIGH, 110) if first else (CLICK_LOW, 80)
    return (
        TimedMessage(time_s, bytes((0x90 | CLICK_CHANNEL, note, velocity))),
        TimedMessage(time_s + CLICK_S, bytes((0x80 | CLICK_CHANNEL, note, 0))),
    )
