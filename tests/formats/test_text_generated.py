"""Tabs of every habit, made by a seed, are read with the right pitches and rhythm."""

from __future__ import annotations

from random import Random

import pytest

from tests.formats.tab_habits import EVEN, PATTERNS, habits_by, tune_by, write
from tests.formats.test_text_habits import read
from tests.formats.test_text_spacing import lengths

TABS = 60
"""Of each kind."""

GIVEN = {"letters": 0.99, "figures": 0.99, "count": 0.99, "even": 0.99, "spacing": 0.99}
"""What says the rhythm, and the part of the measures that must be read right."""


def written_by(seed, given):
    """A text by a seed, and what it must give."""
    random = Random(seed)
    metre = random.choice(sorted(PATTERNS))
    patterns = EVEN[metre] if given == "even" else PATTERNS[metre]
    if given == "even":
        patterns = (random.choice(patterns),)
    pickup = random.random() < 0.2 and given != "even"
    habits = habits_by(random, given)
    tune = tune_by(random, metre, patterns, pickup=pickup, marks=random.random() < 0.7)
    return write(tune, metre, habits, declared=metre != "4/4" or random.random() < 0.5)


def pitches(score):
    """(course, fret) of the notes of each event of each measure."""
    return [
        [
            {(note.course, note.fret) for note in event.notes}
            for event in measure.events
            if any(not note.tied for note in event.notes)
        ]
        for measure in score.measures
    ]


@pytest.mark.parametrize("given", GIVEN)
def test_tabs_of_every_habit(given):
    right = whole = 0
    for seed in range(TABS):
        written = written_by(seed, given)
        score = read(written.text).music
        assert pitches(score) == written.pitches, written.text
        found = lengths(score)
        whole += len(found)
        right += sum(one == other for one, other in zip(found, written.lengths, strict=True))
    print(f"{given}: {right} of {whole} measures")
    assert right / whole >= GIVEN[given]
