"""Whether trackers that know nothing of the program hear eight phrases as they are written.

One is that of the tests (`tests.sound.analysis`: spectral flux; the pitch whose partials are strongest together).
The other is aubio (Brossier, P. (2006), Automatic annotation of musical audio for interactive applications), where
the package `aubio-ledfx` is installed: its detector by Kullback-Leibler divergence, and its pitch by `mcomb`.
"""

from __future__ import annotations

import importlib
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

import tabterm
from tabterm.performance import Options, Part, Pluck, perform
from tabterm.score.place import Span
from tabterm.sound.rendering import Rendering
from tabterm.sound.voicing import voicing_of
from tests.bench.figure import Figure
from tests.build import PLAYER
from tests.sound.analysis import RATE, mono, onsets_s, salient_pitch
from tests.sound.test_files import PEAK, SAMPLES, STAGGER_S

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    Samples = NDArray[np.float64]

PHRASES = (
    ("quarry-road-breakdown.tabterm", 0),
    ("quarry-road-breakdown.tabterm", 8),
    ("ferrymans-jig.tabterm", 0),
    ("ferrymans-jig.tabterm", 8),
    ("cinder-lane-two-step.tabterm", 0),
    ("lantern-waltz.tabterm", 0),
    ("boil-them-cabbage-down.abc", 0),
    ("tollgate-reel.abc", 0),
)
"""Samples, and the measure by its index at which eight of them begin."""

NEAR_S = 0.005
NEAR_S_OF_OTHERS = 0.05
"""As onset detectors are judged (MIREX, from memory)."""

BEHIND_S = 0.015
"""So long after its attack a pitch is looked for."""

LEAST_S = 0.12
"""A shorter note is not looked at for its pitch."""


class Phrase(NamedTuple):
    """What sounds, when strokes begin, and the single notes with their pitch, each with the frames of it alone."""

    samples: Samples
    strokes_s: Samples
    alone: list[tuple[int, Samples]]


def figures() -> list[Figure]:
    """Onsets and pitches of all phrases together."""
    phrases = list(rendered())
    found = [*_told("tests", phrases, onsets_s, _salient, NEAR_S)]
    try:
        aubio = importlib.import_module("aubio")
    except ImportError:
        return found
    return [*found, *_told("aubio", phrases, _onsets_of(aubio), _pitch_of(aubio), NEAR_S_OF_OTHERS)]


def rendered() -> Iterator[Phrase]:
    """The phrases, each counted in, so that something stands before its first attack."""
    for name, first in PHRASES:
        score = tabterm.open(SAMPLES / name, player=PLAYER).stroked().score
        performance = perform(score, span=Span.of_measures(first, first + 7), options=Options(count_in=1))
        voicing = voicing_of(score.head.instrument)
        samples = mono(np.concatenate(list(Rendering(performance, voicing, parts=[Part.SOLO]).blocks())))
        samples *= PEAK / np.abs(samples).max()
        plucks = [each for each in performance.plucks if each.part is Part.SOLO]
        times = np.array(sorted({each.start_s for each in plucks}))
        strokes = times[np.concatenate(([True], np.diff(times) > STAGGER_S))]
        yield Phrase(samples, strokes, list(_alone(samples, plucks, [*times, performance.duration_s])))


def _alone(samples: Samples, plucks: list[Pluck], times: list[float]) -> Iterator[tuple[int, Samples]]:
    ends = dict(pairwise(times))
    for each in plucks:
        end_s = ends[each.start_s]
        others = [other for other in plucks if -STAGGER_S < other.start_s - each.start_s < end_s - each.start_s]
        if len(others) == 1 and not each.muted and not each.curve and end_s - each.start_s >= LEAST_S:
            yield each.pitch, samples[round((each.start_s + BEHIND_S) * RATE) : round(end_s * RATE)]


def _told(
    who: str,
    phrases: list[Phrase],
    onsets: Callable[[Samples], Samples],
    pitch: Callable[[Samples], float],
    near_s: float,
) -> list[Figure]:
    """Figures of a tracker; goals are shares that must not be missed, so what is missed is given."""
    due = heard = right = 0
    for phrase in phrases:
        found = onsets(phrase.samples)
        due, heard = due + len(phrase.strokes_s), heard + len(found)
        right += sum(bool(len(found)) and np.abs(found - at).min() <= near_s for at in phrase.strokes_s)
    notes = [(pitch(samples), is_pitch) for phrase in phrases for is_pitch, samples in phrase.alone]
    hit = sum(abs(told - is_pitch) < 0.5 for told, is_pitch in notes)
    measure = 2 * right / (due + heard)
    return [
        Figure(
            f"onsets of eight phrases, by {who}: 1 - F",
            1 - measure,
            "",
            0.0005,
            f"F {measure:.3f}; {right} of {due} within {near_s * 1000:g} ms, {heard - right} others",
        ),
        Figure(
            f"pitches of them, by {who}: missed", 100 * (1 - hit / len(notes)), "%", 1, f"{hit} of {len(notes)}"
        ),
    ]


def _salient(samples: Samples) -> float:
    return float(salient_pitch(samples, range(40, 96)))


def _onsets_of(aubio: Any) -> Callable[[Samples], Samples]:
    def onsets(samples: Samples) -> Samples:
        detector = aubio.onset("kl", 1024, 256, RATE)
        detector.set_minioi_ms(50)
        short = samples.astype(np.float32)
        hops = range(0, len(short) - 256, 256)
        return np.array([detector.get_last_s() for at in hops if detector(short[at : at + 256])])

    return onsets


def _pitch_of(aubio: Any) -> Callable[[Samples], float]:
    def pitch(samples: Samples) -> float:
        tracker = aubio.pitch("mcomb", 2048, 512, RATE)
        tracker.set_unit("midi")
        short = samples.astype(np.float32)
        told = [tracker(short[at : at + 512])[0] for at in range(0, len(short) - 512, 512)]
        return float(np.median(told[3:] or told))

    return pitch
