"""One attack on a course as it sounds: its strings, the noise of what set them off, and how they are stopped."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.sound.excitation import (
    LEFT_BRIGHT_HZ,
    LEFT_PARTIALS,
    LEFT_RISE_S,
    NOISE_POWER,
    REFERENCE_VELOCITY,
    RELEASES,
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
from tabterm.sound.layer import Layer, Sounding
from tabterm.sound.tone import Series, StringTone, count_of, ratios_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tabterm.performance.model import Pluck
    from tabterm.sound.tone import Cents
    from tabterm.sound.voicing import PartVoice, StringVoice

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
        self._struck, self._answers, self._left = Layer(start), Layer(start), Layer(start)
        if pluck.release not in RELEASES:
            self._left.fill(())
        self.release(start + max(round((pluck.end_s - pluck.start_s) * rate), 1))

    def release(self, at: int) -> None:
        """Damp the strings from a frame on, instead of when the pluck says: higher ones are silent sooner."""
        damping_s = self._part.timbre.damping_s * 2.0 ** ((69 - self.pluck.pitch) / DAMPING_SEMITONES)
        self._struck.stops.release(at, round(damping_s * self._rate))
        lingers, fades = round(ANSWER_LINGERS_S * self._rate), round(ANSWER_FADES_S * self._rate)
        self._answers.stops.release(at + lingers, fades)
        if self._left.strings is None:
            self._left.start = at
            self._left.stops.release(at, fades)

    def choke(self, at: int) -> None:
        """Silence its course, which is struck again at a frame."""
        for layer in (self._struck, self._left):
            layer.stops.cut(at, round(CHOKE_S * self._rate))

    def cut(self, at: int, fade_s: float) -> None:
        """Silence all of it from a frame on."""
        for layer in self._layers:
            layer.stops.cut(at, round(fade_s * self._rate))

    @property
    def end(self) -> int:
        """The frame from which on nothing sounds: stopped, or died away as far as that is known."""
        return max(layer.end for layer in self._layers)

    @property
    def stopped(self) -> int:
        """The frame from which on its own course is silent; what has answered it may go on."""
        return self._struck.stops.end

    @property
    def _layers(self) -> tuple[Layer, ...]:
        return self._struck, self._answers, self._left

    def add(self, bus: NDArray[np.float32], first: int) -> None:
        """Add what it sounds to a block (2, frames) that begins at frame `first`."""
        last = first + bus.shape[1]
        if self.start >= last or self.end <= first:
            return
        if self._struck.strings is None:
            self._struck.fill(self._picked(), self._noise())
            self._answers.fill(self._answering())
            self._before = None
        if self._left.strings is None and self._left.start < last:
            self._left.fill(self._freed(), self._let_go())
        for layer in self._layers:
            layer.add(bus, first)

    def _picked(self) -> list[Sounding]:
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

    def _freed(self) -> Iterator[Sounding]:
        """The open string that a finger sets off a little as it leaves."""
        touch = RELEASES.get(self.pluck.release)
        if touch is None or not touch.open_string:
            return
        string, rate = self._course.strings[0], self._rate
        hertz = hertz_of(self._course.pitch + string.semitones)
        count = min(count_of(hertz / rate, string.inharmonicity), LEFT_PARTIALS)
        where = math.exp2(min(self._course.pitch - self.pluck.pitch, -1) / 12.0)
        partials = spectrum(self._part.timbre, hertz, string.inharmonicity, count, where, LEFT_BRIGHT_HZ)
        series = Series(hertz / rate, string.inharmonicity, count, self._losses(hertz, string))
        start = np.asarray(self._level * touch.open_string * partials)
        yield Sounding(0, StringTone(series, start, rise=round(LEFT_RISE_S * rate)), *sides(string.pan))

    def _let_go(self) -> NDArray[np.float32] | None:
        """The noise of a finger on the strings that it lets go."""
        touch = RELEASES.get(self.pluck.release)
        if touch is None:
            return None
        samples, rise = self._burst(touch.noise, touch.knock, 1), round(LEFT_RISE_S * self._rate)
        samples[:rise] *= np.linspace(0.0, 1.0, rise, dtype=np.float32)
        return self._sides(samples)

    def _losses(self, hertz: float, string: StringVoice) -> tuple[float, float, float]:
        """What a string of the part loses a frame, as a series takes it."""
        still, rising, steep = (string.loss_at(hertz) * loss for loss in self._part.timbre.losses(hertz))
        if self.pluck.muted:
            still, rising = still + MUTED_LOSS_PER_S, rising + MUTED_LOSS_PER_S_KHZ
        return still / self._rate, rising / 1000.0, steep * self._rate / 1e6

    def _noise(self) -> NDArray[np.float32]:
        """The noise of what sets them off."""
        timbre, touch = self._part.timbre, TOUCHES[self.pluck.attack]
        knock = timbre.knock * touch.knock * (MUTED_KNOCK if self.pluck.muted else 1.0)
        noise = timbre.pick_noise * touch.noise * (self.pluck.velocity / REFERENCE_VELOCITY) ** NOISE_POWER
        return self._sides(self._burst(noise, knock))

    def _burst(self, noise: float, knock: float, other: int = 0) -> NDArray[np.float32]:
        """A noise, and what the body answers to it, at levels against that of the attack."""
        noises, answers = bursts(self._part.timbre, self._rate, self._seed)
        which = (self._chance.noise + other) % VARIANTS
        samples: NDArray[np.float32] = answers[which] * np.float32(knock * self._level)
        samples[: noises.shape[1]] += noises[which] * np.float32(noise * self._level)
        return samples

    def _sides(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """From where the course is: (2, frames)."""
        pans = [string.pan for string in self._course.strings]
        return np.stack([samples * side for side in sides(sum(pans) / len(pans))])

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
        strings = self._struck.strings
        if strings is None or at >= self._struck.stops.end or number >= len(strings):
            return np.zeros(0, np.complex128)
        delay, tone, _, _ = strings[number]
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
