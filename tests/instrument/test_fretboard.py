"""Where the frets are, against published figures."""

from __future__ import annotations

import pytest

from tabterm.instrument import PRESETS, fret_distance_mm, fret_gap_mm, stretch_mm

# Distance nut to fret as a part of the scale length: noah.org, "fret positioning", rev. 2015-04-18, table.
PUBLISHED_FACTORS = (
    0.056126, 0.109101, 0.159104, 0.206291, 0.250847, 0.292893, 0.332580, 0.370039,
    0.405396, 0.438769, 0.470268, 0.500000, 0.528063, 0.554551, 0.579552, 0.603150,
    0.625423, 0.646447, 0.666290, 0.685020, 0.702698, 0.719385, 0.735134, 0.750000,
)  # fmt: skip

# Martin Koch, Building Electric Guitars, "Calculating fret distances - The fret constant 17.817".
FRET_CONSTANT = 17.817


@pytest.mark.parametrize("word", list(PRESETS))
@pytest.mark.parametrize("fret", range(1, 25))
def test_the_published_table_on_every_neck(word, fret):
    # Six figures of the factor leave up to half a millionth of the scale length.
    scale_length_mm = PRESETS[word].scale_length_mm
    expected = PUBLISHED_FACTORS[fret - 1] * scale_length_mm
    assert fret_distance_mm(scale_length_mm, fret) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("fret", range(1, 25))
def test_each_gap_is_the_rest_of_the_string_by_the_fret_constant(fret):
    rest_mm = 352.425 - fret_distance_mm(352.425, fret - 1)
    assert fret_gap_mm(352.425, fret) == pytest.approx(rest_mm / FRET_CONSTANT, abs=0.01)


def test_a_stretch_is_the_distance_between_two_frets():
    published_mm = (PUBLISHED_FACTORS[6] - PUBLISHED_FACTORS[1]) * 352.425
    assert stretch_mm(352.425, 2, 7) == pytest.approx(published_mm, abs=0.01)
    assert stretch_mm(352.425, 7, 2) == -stretch_mm(352.425, 2, 7)
    assert fret_distance_mm(352.425, 0) == 0


def test_the_nut_has_no_gap():
    with pytest.raises(ValueError, match="the nut has no gap"):
        fret_gap_mm(352.425, 0)
