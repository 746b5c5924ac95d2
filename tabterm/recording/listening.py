"""What is heard in a part of a recording, in its own seconds: notes, beats, chords and how it is tuned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.recording import beats, chords, ear, tuning
from tabterm.recording.articulation import articulated
from tabterm.recording.spectra import RATE_HZ

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.recording.audio import Recording
    from tabterm.recording.beats import Beats
    from tabterm.recording.chords import BeatChord
    from tabterm.recording.ear import HeardNote
    from tabterm.recording.spectra import Samples
    from tabterm.score.key import Key
    from tabterm.score.metre import Metre

AROUND_S = 0.5  #: s; tuned here: listened to on either side, so that a note that rings there does not begin
EARLY_S = 0.03  #: s; tuned here: how much before its part a note may begin and still belong to it
TOGETHER_S = 0.04  #: s; tuned here: onsets so near are one stroke
DOUBLE_SEMITONES = 15  #: semitones; common practice, no source: a double stop is at most a tenth


def _lead(notes: Sequence[HeardNote]) -> list[HeardNote]:
    """Without what lies further under a note of the same stroke than a double stop reaches: the bass."""
    return [
        note
        for note in notes
        if not any(
            abs(other.onset_s - note.onset_s) < TOGETHER_S and other.pitch - note.pitch > DOUBLE_SEMITONES
            for other in notes
        )
    ]


@dataclass(frozen=True, slots=True)
class Listening:
    """A part of a recording that has been read, to be listened to.

    Attributes:
        sound: Mono, at `spectra.RATE_HZ`.
        start_s: Where the part begins.
        end_s: Where it ends.
        from_s: Where the sound begins.
        cents: How much higher than A4 = 440 Hz it is tuned.
    """

    sound: Samples
    start_s: float
    end_s: float
    from_s: float
    cents: float

    @classmethod
    def to(cls, recording: Recording, start_s: float, end_s: float, *, cents: float | None = None) -> Listening:
        """Read a part; how it is tuned is estimated where nothing is given.

        Raises:
            StorageError: The file is gone.
            FormatError: It is damaged there.
        """
        from_s = max(0.0, start_s - AROUND_S)
        sound = recording.mono(from_s, end_s + AROUND_S, RATE_HZ)
        return cls(sound, start_s, end_s, from_s, (tuning.cents_off(sound) or 0.0) if cents is None else cents)

    def notes(self, progress: Callable[[float], bool] | None = None) -> tuple[HeardNote, ...]:
        """The notes of the lead that begin in the part, with how they are played; `progress` as in `ear.notes`."""
        found = sorted(ear.notes(self.sound, cents=self.cents, progress=progress), key=lambda note: note.onset_s)
        told = (note.moved(self.from_s) for note in articulated(self.sound, _lead(found), self.cents))
        return tuple(note for note in told if self.start_s - EARLY_S <= note.onset_s < self.end_s - EARLY_S)

    def beats(
        self,
        metre: Metre,
        *,
        bpm: float | None = None,
        downbeat_s: float | None = None,
        taps_s: Sequence[float] = (),
    ) -> Beats:
        """The beats, as `beats.tracked` finds them."""
        found = beats.tracked(
            self.sound,
            metre,
            bpm=bpm,
            downbeat_s=None if downbeat_s is None else downbeat_s - self.from_s,
            taps=[tap - self.from_s for tap in taps_s],
        )
        return beats.Beats(tuple(moment + self.from_s for moment in found.moments_s), found.first, metre)

    def chords(self, found: Beats, key: Key | None = None) -> list[BeatChord]:
        """The chord of each beat but the last."""
        moments = [moment - self.from_s for moment in found.moments_s]
        count = len(found.metre.beats)
        return chords.chords_of(self.sound, moments, cents=self.cents, key=key, first=found.first, beats=count)
