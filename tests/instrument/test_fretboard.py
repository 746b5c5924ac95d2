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


# The rule d = S - S / 2^(n/12) worked out apart from this program, in hundredths of a mm: frets 1, 5, 7, 12.
@pytest.mark.parametrize(
    ("scale_length_mm", "distances_mm"),
    [
        (330.2, (18.53, 82.83, 109.82, 165.10)),
        (352.425, (19.78, 88.40, 117.21, 176.21)),
        (431.8, (24.24, 108.32, 143.61, 215.90)),
        (508.0, (28.51, 127.43, 168.95, 254.00)),
        (584.2, (32.79, 146.54, 194.29, 292.10)),
        (328.0, (18.41, 82.28, 109.09, 164.00)),
    ],
)
def test_golden_rows(scale_length_mm, distances_mm):
    found = [fret_distance_mm(scale_length_mm, fret) for fret in (1, 5, 7, 12)]
    assert found == pytest.approx(distances_mm, abs=0.01)


# Gaps from fret to fret on a scale of 13 7/8 in, worked out in the same way.
MANDOLIN_GAPS_MM = (
    19.78, 18.67, 17.62, 16.63, 15.70, 14.82, 13.99, 13.20, 12.46, 11.76, 11.10, 10.48,
    9.89, 9.33, 8.81, 8.32, 7.85, 7.41, 6.99, 6.60, 6.23, 5.88, 5.55, 5.24,
)  # fmt: skip


@pytest.mark.parametrize(("fret", "gap_mm"), list(enumerate(MANDOLIN_GAPS_MM, 1)))
def test_gaps_on_a_mandolin(fret, gap_mm):
    assert fret_gap_mm(352.425, fret) == pytest.approx(gap_mm, abs=0.01)


def test_a_stretch_is_the_distance_between_two_frets():
    assert stretch_mm(352.425, 2, 7) == pytest.approx(117.21 - 38.45, abs=0.01)
    assert stretch_mm(352.425, 7, 2) == -stretch_mm(352.425, 2, 7)
    assert fret_distance_mm(352.425, 0) == 0


def test_the_nut_has_no_gap():
    with pytest.raises(ValueError, match="the nut has no gap"):
        fret_gap_mm(352.425, 0)
