"""Which notes a plucked lead line has, by a trained net: proposals with how sure each is, never the truth.

The net was trained on synthetic bands only (`tests/recording/ear`). Real recordings with known notes were not to
be had, so how well it hears those is not measured. The player's ear decides.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import soxr

from tabterm.recording import net as nets
from tabterm.recording import spectra
from tabterm.recording.spectra import HOP, LOW, RATE_HZ

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    Maps = NDArray[np.float32]

SURE_ENOUGH = 0.7  #: likelihood 0..1; tuned here on clips whose timbres were kept back (tests/recording/ear)
STILL_SOUNDS = 0.3  #: likelihood 0..1; tuned here: a note ends where the net's answer for sounding falls below
ONE_NOTE_S = 0.035  #: s; tuned here: peaks of one pitch nearer than this are one note
WINDOW_S = 6.0  #: s; measured here: with all else a minute takes 140 MB
AT_ONSET = 2  #: frames; tuned here: how far from a known onset its answer is looked for
BEFORE = 8  #: frames, 93 ms; tuned here: silence put before a sound, so that a note at its very start is heard
OTHERS = 3  #: pitches; tuned here: how many others a note names


class Way(StrEnum):
    """How a note seems to be played."""

    STRUCK = "struck"
    SLURRED = "slurred"
    SLID = "slid"


class HeardNote(NamedTuple):
    """A note that was heard.

    Attributes:
        onset_s: When it begins.
        end_s: When it ends.
        pitch: MIDI pitch.
        sure: Likelihood, 0 to 1.
        others: The next likely pitches.
        way: How it is played, as far as that was listened for.
        bend_cents: How far it is bent up while it sounds.
    """

    onset_s: float
    end_s: float
    pitch: int
    sure: float
    others: tuple[int, ...]
    way: Way = Way.STRUCK
    bend_cents: int = 0

    def moved(self, by_s: float) -> HeardNote:
        """The same note so much later, never before the beginning."""
        return self._replace(onset_s=max(self.onset_s + by_s, 0.0), end_s=self.end_s + by_s)

    def stretched(self, times: float) -> HeardNote:
        """The same note where time goes so much slower."""
        return self._replace(onset_s=self.onset_s * times, end_s=self.end_s * times)


def notes(
    sound: Maps,
    *,
    net: nets.Net | None = None,
    sure: float = SURE_ENOUGH,
    cents: float = 0.0,
    progress: Callable[[float], bool] | None = None,
) -> list[HeardNote]:
    """The lead's notes in a mono sound at `spectra.RATE_HZ`, by onset.

    Args:
        sound: What is heard.
        net: Other weights than those that come along.
        sure: How likely a note must be.
        cents: How much higher than A4 = 440 Hz it is tuned; it is heard at that pitch.
        progress: Told the share done, 0 to 1; it stops the work by answering False: what was heard is returned.
    """
    longer = 2.0 ** (cents / 1200)
    silence = np.zeros(BEFORE * HOP, np.float32)
    in_tune = soxr.resample(sound, RATE_HZ, RATE_HZ * longer) if cents else sound
    answers = answered(np.concatenate([silence, in_tune]), net or nets.trained(), progress)
    return [note.moved(-BEFORE * HOP / RATE_HZ).stretched(1 / longer) for note in told(answers, sure)]


def answered(sound: Maps, net: nets.Net, progress: Callable[[float], bool] | None = None) -> Maps:
    """The net's answers for a whole sound, (4, frames, pitches), window by window."""
    frames, step = spectra.frames_of(len(sound)), round(WINDOW_S * RATE_HZ / HOP)
    done, along = [], net.along()
    for first in range(0, frames, step):
        last = min(first + step, frames)
        start, end = max(first - nets.REACH, 0), min(last + nets.REACH, frames)
        maps = spectra.picture(sound[start * HOP : end * HOP])
        done.append(along.answers(maps[:, first - start : last - start], last=last == frames))
        if progress and not progress(last / frames) and last < frames:
            done.append(along.answers(maps[:, :0], last=True))
            break
    return np.concatenate(done, axis=1)


def told(answers: Maps, sure: float) -> Iterator[HeardNote]:
    """Peaks of the lead's onsets, with how long each note sounds and what else it could be."""
    onsets, sounds = answers[nets.LEAD_ONSET], answers[nets.LEAD_SOUNDS]
    near = round(ONE_NOTE_S * RATE_HZ / HOP)
    around = np.pad(onsets, ((near, near), (0, 0)))
    highest = np.lib.stride_tricks.sliding_window_view(around, 2 * near + 1, axis=0).max(axis=-1)
    for frame, pitch in np.argwhere((onsets > sure) & (onsets == highest)):
        yield HeardNote(
            (frame + _between(onsets[:, pitch], frame)) * HOP / RATE_HZ,
            _end(sounds[:, pitch], onsets[:, pitch], frame, near, sure) * HOP / RATE_HZ,
            LOW + int(pitch),
            float(onsets[frame, pitch]),
            tuple(other for other in candidates(answers, frame * HOP / RATE_HZ) if other != LOW + pitch)[:OTHERS],
        )


def candidates(answers: Maps, onset_s: float) -> tuple[int, ...]:
    """The likeliest pitches of the lead at a known onset, best first."""
    frame = round(onset_s * RATE_HZ / HOP)
    here = answers[:, max(frame - AT_ONSET, 0) : frame + AT_ONSET + 1].max(axis=1)
    after = answers[nets.LEAD_SOUNDS, frame : frame + 4 * AT_ONSET].mean(axis=0)
    order = np.argsort(-(here[nets.LEAD_ONSET] + after / 2))
    return tuple(LOW + int(pitch) for pitch in order[: OTHERS + 1])


def _between(onsets: Maps, frame: int) -> float:
    """How far from its frame the peak lies, by the parabola through its neighbours; -0.5 to 0.5 frames."""
    if not 0 < frame < len(onsets) - 1:
        return 0.0
    before, here, after = (float(value) for value in onsets[frame - 1 : frame + 2])
    bend = before - 2 * here + after
    return float(np.clip((before - after) / (2 * bend), -0.5, 0.5)) if bend < 0 else 0.0


def _end(sounds: Maps, onsets: Maps, frame: int, near: int, sure: float) -> int:
    """The frame in which a note no longer sounds, or is struck again."""
    over = (sounds < STILL_SOUNDS) | (onsets > sure)
    ends = np.flatnonzero(over[frame + near + 1 :])
    return frame + near + 1 + int(ends[0]) if len(ends) else len(sounds)
