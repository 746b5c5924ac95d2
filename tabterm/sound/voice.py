"""One attack on a course as it sounds: its strings, the noise of what set them off, and how they are stopped."""

from __future__ import annotations

import math
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.sound.excitation import (
    NOISE_POWER,
    REFERENCE_VELOCITY,
    STAGGER_S,
    TOUCHES,
    VARIANTS,
    arrival,
    brightness_of,
    bursts,
    level_of,
    sides,
    spectrum,
    sympathy,
)
from tabterm.sound.tone import Series, StringTone, count_of, ratios_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tabterm.performance.model import Pluck
    from tabterm.sound.tone import Cents
    from tabterm.sound.voicing import PartVoice, StringVoice


NEVER = 1 << 62  #: frames; implementation limit


class Stops:
    """The fades of a voice, which take it away together: its release, and what cuts it before or meanwhile."""

    def __init__(self) -> None:
        self._release = (NEVER, 1)
        self._cuts: list[tuple[int, int]] = []

    def release(self, at: int, length: int) -> None:
        """Fade from frame `at` on, instead of from where it was to."""
        self._release = (at, max(length, 1))

    def cut(self, at: int, length: int) -> None:
        """Fade from `at` on as well."""
        self._cuts.append((at, max(length, 1)))

    @property
    def end(self) -> int:
        """The frame from which on nothing is left."""
        return min(at + length for at, length in (self._release, *self._cuts))

    def envelope(self, first: int, last: int) -> NDArray[np.float32] | None:
        """Factors for the frames of a range; None where all are 1."""
        envelope = None
        for at, length in (self._release, *self._cuts):
            if at < last:
                part = _fade(first - at, last - at, length)
                envelope = part if envelope is None else envelope * part
        return envelope


def _fade(first: int, last: int, length: int) -> NDArray[np.float32]:
    """A part of a fade that begins at 0: 1 before it, 0 after it."""
    inside = _curve(length)[max(first, 0) : max(last, 0)]
    before = max(min(last, 0) - first, 0)
    after = last - first - before - len(inside)
    return np.concatenate((np.ones(before, np.float32), inside, np.zeros(after, np.float32)))


@lru_cache(maxsize=64)
def _curve(length: int) -> NDArray[np.float32]:
    """From 1 to 0: the quick fall of a damped string, brought to nothing along a squared cosine."""
    part = (np.arange(length) + 1) / (length + 1)
    return (np.cos(part * math.pi / 2) ** 2 * np.exp(-2.0 * part)).astype(np.float32)


DAMPING_SEMITONES = 36.0  #: semitones; tuned here
"""A string so much lower takes twice the time to be damped."""

CHOKE_S = 0.004  #: s; tuned here, by ear
"""A pick that comes to a sounding string silences it in this time."""

MUTED_LOSS_PER_S, MUTED_LOSS_PER_S_KHZ = 55.0, 45.0  #: 1/s, 1/s a kHz; tuned here, by ear
"""What a hand laid on the strings takes from them: a thump with a hint of pitch."""

MUTED_KNOCK = 2.5  #: times; tuned here, by ear
"""And it knocks louder."""

MOST_INHARMONICITY = 0.004  #: B; tuned here
"""The rule for stopped strings is not followed beyond this."""


ANSWER_RISE_S, ANSWER_LINGERS_S, ANSWER_FADES_S = 0.02, 0.05, 0.15  #: s; tuned here, within the tail of a file
"""Open courses answer so much later, and are heard so much longer than the course that was struck."""

MOST_OFF = (0.04, 0.03, 0.15)  #: parts; tuned here
"""By what part strength, place and time between the strings of two strokes differ."""


class Sounding(NamedTuple):
    """A string of the course: frames until it is met, its samples, its level on either side."""

    delay: int
    tone: StringTone
    left: np.float32
    right: np.float32


class Chance(NamedTuple):
    """What no two attacks have alike: factors of strength, place and time between strings, and which noise."""

    strength: float
    place: float
    late: float
    noise: int


def hertz_of(pitch: float) -> float:
    """Equal temperament, A4 = 440 Hz, of a MIDI note number with its parts of a semitone."""
    return float(440.0 * 2.0 ** ((pitch - 69) / 12.0))


class Voice:
    """An attack on a course; made cheaply, worked out when it is first heard.

    Args:
        pluck: The attack.
        start: Its frame.
        part: What its part sounds like.
        rate: Frames a second.
        seed: What chance goes by.
        before: What sounds on the course when a finger comes down or leaves.
        period: Frames after which the same strokes come again, alike in what chance gives them; 0 is never.
    """

    def __init__(
        self,
        pluck: Pluck,
        start: int,
        part: PartVoice,
        rate: int,
        seed: int,
        before: Voice | None = None,
        period: int = 0,
    ) -> None:
        self.pluck, self.start = pluck, start
        self._moment = start % period if period else start
        self._part, self._rate, self._seed, self._before = part, rate, seed, before
        self._course = part.course(pluck.course, pluck.pitch)
        self._stops = Stops()
        self._strings: tuple[Sounding, ...] | None = None
        self._answers: tuple[Sounding, ...] = ()
        self._answers_stop = Stops()
        self._noise = np.zeros((2, 0), np.float32)
        self.release(start + max(round((pluck.end_s - pluck.start_s) * rate), 1))

    def release(self, at: int) -> None:
        """Damp the strings from a frame on, instead of when the pluck says: higher ones are silent sooner."""
        damping_s = self._part.timbre.damping_s * 2.0 ** ((69 - self.pluck.pitch) / DAMPING_SEMITONES)
        self._stops.release(at, round(damping_s * self._rate))
        lingers, fades = round(ANSWER_LINGERS_S * self._rate), round(ANSWER_FADES_S * self._rate)
        self._answers_stop.release(at + lingers, fades)

    def choke(self, at: int) -> None:
        """Silence its course, which is struck again at a frame."""
        self._stops.cut(at, round(CHOKE_S * self._rate))

    def cut(self, at: int, fade_s: float) -> None:
        """Silence all of it from a frame on."""
        for stops in (self._stops, self._answers_stop):
            stops.cut(at, round(fade_s * self._rate))

    @property
    def end(self) -> int:
        """The frame from which on nothing sounds: stopped, or died away as far as that is known."""
        if self._strings is None:
            return max(self._stops.end, self._answers_stop.end)
        strings = min(self._stops.end, max(self._died(self._strings), self.start + self._noise.shape[1]))
        return max(strings, min(self._answers_stop.end, self._died(self._answers)))

    @property
    def stopped(self) -> int:
        """The frame from which on its own course is silent; what has answered it may go on."""
        return self._stops.end

    def _died(self, strings: Sequence[Sounding]) -> int:
        """When the last of some strings has died away; `NEVER` while that is not known."""
        ends = [NEVER if each.tone.end is None else self.start + each.delay + each.tone.end for each in strings]
        return max(ends, default=0)

    def add(self, bus: NDArray[np.float32], first: int) -> None:
        """Add what it sounds to a block (2, frames) that begins at frame `first`."""
        last = first + bus.shape[1]
        if self.start >= last or self.end <= first:
            return
        if self._strings is None:
            self._strings, self._noise = tuple(self._struck()), self._picked()
            self._answers = tuple(self._answering())
            self._before = None
        for strings, stops in ((self._strings, self._stops), (self._answers, self._answers_stop)):
            for string in strings:
                self._add_string(bus, first, string, stops)
        low, high = max(first, self.start), min(last, self.start + self._noise.shape[1], self._stops.end)
        if low < high:
            noise, envelope = self._noise[:, low - self.start : high - self.start], self._stops.envelope(low, high)
            bus[:, low - first : high - first] += noise if envelope is None else noise * envelope

    def _add_string(self, bus: NDArray[np.float32], first: int, string: Sounding, stops: Stops) -> None:
        attack = self.start + string.delay
        low, high = max(first, attack), min(first + bus.shape[1], stops.end)
        if low >= high:
            return
        samples, envelope = string.tone.samples(low - attack, high - attack), stops.envelope(low, high)
        if envelope is not None:
            samples = samples * envelope
        bus[0, low - first : high - first] += samples * string.left
        bus[1, low - first : high - first] += samples * string.right

    def _struck(self) -> list[Sounding]:
        """Set the strings off; the pick meets them one after the other."""
        touch, count = TOUCHES[self.pluck.attack], len(self._course.strings)
        sounding = []
        for number, string in enumerate(self._course.strings):
            turn = count - 1 - number if touch.upwards else number
            delay = round(STAGGER_S * touch.stagger * self._chance.late * self._rate) * turn
            level = self._level * string.level * (touch.second if turn else 1.0)
            sounding.append(Sounding(delay, self._tone(number, string, level, delay), *sides(string.pan)))
        return sounding

    def _answering(self) -> Iterator[Sounding]:
        """The other courses, open, as they answer a stroke."""
        share = self._part.timbre.sympathy
        if not (share and TOUCHES[self.pluck.attack].by_pick) or self.pluck.muted:
            return
        struck_hz = hertz_of(self.pluck.pitch)
        for course in self._part.courses:
            if course is self._course:
                continue
            string = course.strings[0]
            hertz = hertz_of(course.pitch + string.semitones)
            partials = sympathy(hertz, struck_hz, count_of(hertz / self._rate, string.inharmonicity))
            losses = self._losses(hertz, string)
            series = Series(hertz / self._rate, string.inharmonicity, len(partials), losses)
            start = np.asarray(-1j * self._level * share * partials)
            tone = StringTone(series, start, rise=round(ANSWER_RISE_S * self._rate))
            yield Sounding(0, tone, *sides(string.pan))

    def _losses(self, hertz: float, string: StringVoice) -> tuple[float, float, float]:
        """What a string of the part loses a frame, as a series takes it."""
        still, rising, steep = (string.loss * loss for loss in self._part.timbre.losses(hertz))
        if self.pluck.muted:
            still, rising = still + MUTED_LOSS_PER_S, rising + MUTED_LOSS_PER_S_KHZ
        return still / self._rate, rising / 1000.0, steep * self._rate / 1e6

    def _picked(self) -> NDArray[np.float32]:
        """The noise of what sets them off."""
        timbre, touch = self._part.timbre, TOUCHES[self.pluck.attack]
        noises, answers = bursts(timbre, self._rate, self._seed)
        knock = timbre.knock * touch.knock * (MUTED_KNOCK if self.pluck.muted else 1.0)
        noise = timbre.pick_noise * touch.noise * (self.pluck.velocity / REFERENCE_VELOCITY) ** NOISE_POWER
        samples = answers[self._chance.noise] * np.float32(knock * self._level)
        samples[: noises.shape[1]] += noises[self._chance.noise] * np.float32(noise * self._level)
        pans = [string.pan for string in self._course.strings]
        return np.outer(sides(sum(pans) / len(pans)), samples)

    @property
    def _level(self) -> float:
        """Amplitude of the attack."""
        touch = TOUCHES[self.pluck.attack]
        return self._part.level * level_of(self.pluck.velocity) * touch.level * self._chance.strength

    @cached_property
    def _chance(self) -> Chance:
        """What sets this attack apart from others alike."""
        generator = np.random.default_rng((self._seed, self.pluck.course, self._moment))
        strength, place, late = (1.0 + most * generator.uniform(-1.0, 1.0) for most in MOST_OFF)
        return Chance(strength, place, late, int(generator.integers(VARIANTS)))

    def _tone(self, number: int, string: StringVoice, level: float, delay: int) -> StringTone:
        """A string of the course from its attack on."""
        pluck, timbre, touch, rate = self.pluck, self._part.timbre, TOUCHES[self.pluck.attack], self._rate
        hertz = hertz_of(pluck.pitch + string.semitones + string.cents / 100.0)
        shorter = 2.0 ** (max(pluck.pitch - self._course.pitch, 0) / 12.0)
        stiff = min(string.inharmonicity * shorter**2, MOST_INHARMONICITY)
        highest = max((cents for _, cents in pluck.curve), default=0.0)
        count = count_of(hertz / rate * 2.0 ** (max(highest, 0.0) / 1200.0), stiff)
        losses = self._losses(hertz, string)
        where = touch.place or self._left_fret()
        if touch.by_pick:
            where = timbre.pick_mm * self._chance.place * touch.place * shorter / self._course.length_mm
        bright_hz = timbre.bright_hz * touch.bright * brightness_of(pluck.velocity)
        partials = level * spectrum(timbre, hertz, stiff, count, where, bright_hz)
        partials *= arrival(hertz * ratios_of(stiff, count), delay / rate, touch.rise_s)
        if touch.keeps and self._before is not None:
            going = self._before.state(number, self.start)[:count]
            partials[: len(going)] += touch.keeps * going
        return StringTone(
            Series(hertz / rate, stiff, count, losses), partials, self._cents(delay), round(touch.rise_s * rate)
        )

    def state(self, number: int, at: int) -> NDArray[np.complex128]:
        """The partials of a string at a frame, as complex amplitudes; none where it is silent."""
        if self._strings is None or at >= self._stops.end or number >= len(self._strings):
            return np.zeros(0, np.complex128)
        delay, tone, _, _ = self._strings[number]
        return tone.state(max(at - self.start - delay, 0))

    def _left_fret(self) -> float:
        """Where a finger leaves the string that it stopped: how far from the bridge, of what is free then."""
        fell = self._before.pluck.pitch - self.pluck.pitch if self._before is not None else 0
        return math.exp2(-max(fell, 1) / 12.0)

    def _cents(self, delay: int) -> Cents | None:
        """The curve of the pluck over samples of a tone."""
        pluck = self.pluck
        if not pluck.curve:
            return None
        points = [((time_s - pluck.start_s) * self._rate - delay, cents) for time_s, cents in pluck.curve]
        if points[0][0] > -delay:
            points.insert(0, (-delay, 0.0))
        times, values = np.array(points).T
        return lambda at: np.asarray(np.interp(at, times, values))
