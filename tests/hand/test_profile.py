"""What stands behind a hand profile, and how far it reaches on a neck."""

from __future__ import annotations

import pytest

from tabterm.hand.profile import EVIDENCE, bounds, frets_above, value_of
from tabterm.instrument import PRESETS
from tabterm.score.profile import REFERENCE_HAND, HandProfile, Speeds


def test_every_value_has_its_evidence():
    values = [name for name in HandProfile.model_fields if name != "speeds"]
    assert list(EVIDENCE) == [*values, *Speeds.model_fields]
    for evidence in EVIDENCE.values():
        assert "20" in evidence.source or "no source" in evidence.source


@pytest.mark.parametrize("name", [name for name in EVIDENCE if name != "weak"])
def test_the_bounds_are_those_of_the_model(name):
    for value in bounds(name):
        fields = {name: value} if name == "span_mm" else {"speeds": {name: value}}
        assert value_of(HandProfile(**fields), name) == value
    assert bounds(name)[0] < value_of(REFERENCE_HAND, name) < bounds(name)[1]


def test_the_defaults_keep_the_order_that_was_measured():
    """Aoki, Furuya and Kinoshita 2005: ring and little finger are slower than index and middle finger.

    Fujii et al. 2009: 5 to 7 Hz for one hand to and fro, so 10 to 14 strokes both ways and 5 to 7 one way.
    """
    speeds = Speeds()
    assert speeds.fingers_12 == max(speeds.fingers(low, high) for low in (1, 2, 3) for high in range(low + 1, 5))
    assert speeds.fingers_34 == min(speeds.fingers(low, high) for low in (1, 2, 3) for high in range(low + 1, 5))
    assert 10 <= speeds.strokes <= 14
    assert 5 <= speeds.repeated <= 7


# Worked out by hand from the fret distances of d(n) = S - S / 2^(n/12) and the limits 34.5, 64 and 79 mm
# (comfortable), 49, 73 and 118 mm (hard) of fingers 1-2, 1-3 and 1-4.
REACHES = [
    ("mandolin", 1, [(1, 2), (3, 4), (4, 7)]),
    ("mandolin", 2, [(2, 2), (3, 4), (5, 8)]),
    ("mandolin", 5, [(2, 3), (4, 5), (6, 10)]),
    ("mandolin", 7, [(2, 4), (5, 6), (7, 12)]),
    ("mandola", 7, [(2, 3), (4, 5), (5, 9)]),
    ("octave-mandolin", 2, [(1, 1), (2, 2), (2, 4)]),
    ("tenor-banjo", 2, [(1, 1), (2, 2), (2, 4)]),
    ("tenor-banjo", 7, [(1, 2), (3, 3), (3, 6)]),
]


@pytest.mark.parametrize(("word", "fret", "expected"), REACHES)
def test_frets_above_the_index_finger(word, fret, expected):
    span_mm = REFERENCE_HAND.span_mm
    assert [frets_above(PRESETS[word], span_mm, fret, finger) for finger in (2, 3, 4)] == expected


def test_a_reach_ends_with_the_neck():
    assert frets_above(PRESETS["mandolin"], 220, 19, 4) == (1, 1)
    assert frets_above(PRESETS["mandolin"], 220, 20, 4) == (0, 0)
