"""From sounds to MIDI messages: one channel for each course, bends in the range set by RPN 0.

Numbers are those of the MIDI 1.0 specification: note-off 8n, note-on 9n, control Bn, program Cn, bend En;
controllers 101, 100, 6 and 38 set the registered parameter 0 (bend range), and 127/127 deselects it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from tabterm.performance.model import Part, TimedMessage

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.instrument import Instrument
    from tabterm.performance.model import Performance, Pluck
    from tabterm.performance.sounds import Sound

NOTE_OFF, NOTE_ON, CONTROL, PROGRAM, BEND = 0x80, 0x90, 0xB0, 0xC0, 0xE0  #: status byte; MIDI 1.0

BEND_RANGE = 12  #: semitones; tuned here: an octave
"""Semitones either way; a slide that goes farther is struck anew."""

CENTRE = 8192  #: bend value; MIDI 1.0
#: MIDI channel from 0; click: General MIDI 1; others: free ones
CHANNELS = {Part.CLICK: 9, Part.CHORDS: 10, Part.BASS: 11}
"""Channels, from 0, of the parts that have one each: percussion is on channel 10 in General MIDI 1."""

OCTAVE_SOFTER = 26  #: MIDI velocity; tuned here
"""The upper string of an octave course sounds with the lower one, but softer."""

_RANK = {NOTE_OFF: 0, BEND: 1, NOTE_ON: 2}  #: order; definition: of messages at one time


PAN, MIDDLE = 10, 64  #: controller, value; MIDI 1.0
"""The controller of a channel's place between left and right, and its value in the middle."""

PARTS = ("solo", "chords", "bass", "click")


class MidiManners(NamedTuple):
    """How a synthesiser behind an output wants the parts.

    Attributes:
        parts: Those that are sent; the others it does not sound.
        programs: General MIDI or its own programs, counted from 0, in place of ours.
        pans: -63 left to 63 right; a part that is not named stays where the synthesiser has it.
    """

    parts: frozenset[str] = frozenset(PARTS)
    programs: tuple[tuple[str, int], ...] = ()
    pans: tuple[tuple[str, int], ...] = ()


def with_manners(performance: Performance, manners: MidiManners) -> Performance:
    """The same music as an output wants its messages."""
    part_of = dict.fromkeys(range(performance.instrument.course_count), "solo")
    part_of |= {channel: part.value for part, channel in CHANNELS.items()}
    programs, pans = dict(manners.programs), dict(manners.pans)

    def wanted(data: bytes) -> bool:
        return part_of.get(data[0] & 0x0F, "solo") in manners.parts

    setup = [
        bytes((data[0], programs.get(part_of.get(data[0] & 0x0F, ""), data[1]))) if _is_program(data) else data
        for data in performance.setup
        if wanted(data)
    ]
    told = {data[0] & 0x0F for data in setup if _is_program(data)}
    for channel, part in sorted(part_of.items()):
        if part in programs and channel not in told and part in manners.parts:
            setup.append(bytes((PROGRAM | channel, programs[part])))
        if part in pans and part in manners.parts:
            setup.append(bytes((CONTROL | channel, PAN, MIDDLE + pans[part])))
    messages = tuple(message for message in performance.messages if wanted(message.data))
    return replace(performance, setup=tuple(setup), messages=messages)


def _is_program(data: bytes) -> bool:
    return data[0] & 0xF0 == PROGRAM


def channel_of(course: int) -> int:
    """MIDI channel of a course, counted from 0; there are at most eight courses, so never the percussion's."""
    return course - 1


def setup(instrument: Instrument) -> tuple[bytes, ...]:
    """Program and bend range of every course's channel."""
    messages = []
    for course in range(1, instrument.course_count + 1):
        control = CONTROL | channel_of(course)
        messages.append(bytes((PROGRAM | channel_of(course), instrument.program)))
        for controller, value in ((101, 0), (100, 0), (6, BEND_RANGE), (38, 0), (101, 127), (100, 127)):
            messages.append(bytes((control, controller, value)))
        messages.append(bend_message(course, 0.0))
    return tuple(messages)


def bend_message(course: int, cents: float) -> bytes:
    """The pitch bend of a course's channel."""
    value = min(max(round(CENTRE + cents * CENTRE / (BEND_RANGE * 100)), 0), 2 * CENTRE - 1)
    return bytes((BEND | channel_of(course), value & 0x7F, value >> 7))


def messages_of(sounds: Iterable[Sound], instrument: Instrument, end_s: float) -> list[TimedMessage]:
    """Note-ons, bends and note-offs in order of time, every bend let down at the end."""
    timed = [message for sound in sounds for message in _sound_messages(sound, instrument)]
    centres = [bend_message(course, 0.0) for course in range(1, instrument.course_count + 1)]
    timed += [TimedMessage(end_s, centre) for centre in centres]
    timed.sort(key=in_order)
    return list(_without_idle_bends(timed, {centre[0]: centre for centre in centres}))


def in_order(message: TimedMessage) -> tuple[float, int]:
    """The order of messages; at one moment what sounds is stopped before the channel is bent and struck."""
    return message.time_s, _RANK[message.data[0] & 0xF0]


def _without_idle_bends(messages: Iterable[TimedMessage], last: dict[int, bytes]) -> Iterator[TimedMessage]:
    """Leave out bends that would change nothing; `last` is the bend of each channel at the start."""
    for message in messages:
        status = message.data[0]
        if status & 0xF0 == BEND:
            if last[status] == message.data:
                continue
            last[status] = message.data
        yield message


def _sound_messages(sound: Sound, instrument: Instrument) -> Iterator[TimedMessage]:
    channel = channel_of(sound.course)
    before = [cents for time_s, cents in sound.bends if time_s <= sound.start_s]
    yield TimedMessage(sound.start_s, bend_message(sound.course, before[-1] if before else 0.0))
    for time_s, cents in sound.bends:
        if sound.start_s < time_s < sound.end_s:
            yield TimedMessage(time_s, bend_message(sound.course, cents))
    pitches = [(sound.pitch, sound.velocity)]
    if instrument.courses[sound.course - 1].octave and sound.pitch + 12 <= 127:
        pitches.append((sound.pitch + 12, max(sound.velocity - OCTAVE_SOFTER, 1)))
    for pitch, velocity in pitches:
        yield TimedMessage(sound.start_s, bytes((NOTE_ON | channel, pitch, velocity)))
        yield TimedMessage(sound.end_s, bytes((NOTE_OFF | channel, pitch, 0)))


def program_message(part: Part, program: int) -> bytes:
    """The program of a part that has a channel of its own."""
    return bytes((PROGRAM | CHANNELS[part], program))


def pluck_messages(pluck: Pluck) -> tuple[TimedMessage, TimedMessage]:
    """The note-on and the note-off of a part that has a channel of its own."""
    channel = CHANNELS[pluck.part]
    return (
        TimedMessage(pluck.start_s, bytes((NOTE_ON | channel, pluck.pitch, pluck.velocity))),
        TimedMessage(pluck.end_s, bytes((NOTE_OFF | channel, pluck.pitch, 0))),
    )
