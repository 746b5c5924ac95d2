"""The original line as a score: at its own pitches, in the measures of the arrangement."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.instrument import PRESETS, pitch_name
from tabterm.performance import perform
from tabterm.score.original import source_score
from tests.build import score
from tests.foreign import arranged, played


def test_what_fits_the_neck_is_played_on_it():
    tune = arranged("D4/4 hE4/4 G4+B4/2 | (G4+B4/2 r/2")
    original = source_score(tune)
    assert original.head.instrument == PRESETS["mandolin"]
    assert played(original).split(" | ")[0] == "D4/4 E4/4 B4+G4/2"
    assert all(note.tied for note in original.measures[1].events[0].notes)


def test_what_does_not_fit_sounds_as_written():
    assert played(source_score(arranged("E2/4 G2/4 C3+E3+G3+Bb3/2"))) == "E2/4 G2/4 A#3+G3+E3+C3/2"


@example([{94, 95, 96}])  # on no neck together, and above where 36 frets end
@settings(max_examples=50, deadline=None)
@given(st.lists(st.sets(st.integers(36, 96), min_size=1, max_size=3), min_size=1, max_size=8))
def test_every_pitch_is_heard(chords):
    """Anything from C2 to C7, up to three notes at once, at its own pitch."""
    words = ["+".join(pitch_name(pitch) for pitch in sorted(chord)) + "/8" for chord in chords]
    tune = arranged(" ".join([*words, *["r/8"] * (8 - len(words))]))
    messages = perform(source_score(tune)).messages
    on = sorted(m.data[1] for m in messages if m.data[0] & 0xF0 == 0x90 and m.data[2])
    assert on == sorted(pitch for chord in chords for pitch in chord)


def test_no_original_no_score():
    with pytest.raises(ScoreError, match="there is no original line"):
        source_score(score("1 2.0"))
