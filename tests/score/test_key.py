"""Keys, their tonics and signatures."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score.key import Key


# Signatures of the keys by the circle of fifths (common practice).
@pytest.mark.parametrize(
    ("word", "tonic", "fifths"),
    [
        ("C", 0, 0),
        ("G", 7, 1),
        ("D", 2, 2),
        ("A", 9, 3),
        ("F#", 6, 6),
        ("F", 5, -1),
        ("Bb", 10, -2),
        ("Gb", 6, -6),
        ("Am", 9, 0),
        ("Em", 4, 1),
        ("Dm", 2, -1),
        ("F#m", 6, 3),
        ("A mixolydian", 9, 2),
        ("D dorian", 2, 0),
        ("E phrygian", 4, 0),
        ("F lydian", 5, 0),
        ("B locrian", 11, 0),
    ],
)
def test_text_tonic_and_signature(word, tonic, fifths):
    key = Key.parse(word)
    assert (str(key), key.tonic, key.fifths) == (word, tonic, fifths)
    assert Key.parse(word) is key


def test_modes_in_words():
    assert Key.parse("Bb minor") == Key.parse("Bbm")
    assert Key.parse("G major") == Key.parse("G")


@pytest.mark.parametrize("word", ["", "H", "g", "G##", "Gm7", "G ionian", "G  minor"])
def test_what_is_no_key(word):
    with pytest.raises(ScoreError, match="not a key"):
        Key.parse(word)
