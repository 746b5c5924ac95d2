"""Pitches laid on the neck for the time being."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tabterm.formats.neck import MOST_NOTES, on_neck, within
from tabterm.instrument import PRESETS

MANDOLIN = PRESETS["mandolin"]


@given(st.integers(0, 127))
def test_one_pitch_always_finds_a_place_at_its_pitch_class(pitch):
    (note,) = on_neck(MANDOLIN, [pitch])
    sounding = MANDOLIN.pitch(note.course, note.fret)
    assert (sounding - pitch) % 12 == 0
    assert sounding == pitch or not 55 <= pitch <= 96
    assert not [place for place in MANDOLIN.places_of(sounding) if place[1] < note.fret]


@given(st.lists(st.integers(0, 127), max_size=8))
def test_a_chord_keeps_its_melody_and_uses_each_course_once(pitches):
    notes = on_neck(MANDOLIN, pitches)
    assert len(notes) == len(pitches)
    placed = [note for note in notes if note is not None]
    assert len({note.course for note in placed}) == len(placed) <= MOST_NOTES
    if pitches:
        top = max(within(MANDOLIN, pitch) for pitch in pitches)
        assert top in {MANDOLIN.pitch(note.course, note.fret) for note in placed}


def test_octaves_are_as_few_as_can_be():
    assert [within(MANDOLIN, pitch) for pitch in (54, 55, 96, 97, 0, 127)] == [66, 55, 96, 85, 60, 91]
