"""Short exercises fingered by printed sources or by stated common practice, against the search.

Each file in `exercises/` names its source in its credits. The fingers and strokes that it sets are taken away,
worked out anew, and compared. Courses are held (`@`) where the exercise is about a position;
`python -m tests.hand.test_exercises` prints the table.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tabterm.formats import text
from tabterm.hand.proposals import free_fingers, with_hands
from tabterm.hand.strokes import to_proposal
from tabterm.score.place import Span

FOLDER = Path(__file__).parent / "exercises"
FILES = sorted(FOLDER.glob("*.tab"))

TARGET = 0.9

MISSES = {
    (
        "closed-from-finger-4",
        "finger",
    ): "the first note stands alone: the ring finger reaches it as well, and is stronger",
    ("crossing-courses", "finger"): "finger 3 spares finger 2 the hop from one course and fret to another",
    (
        "double-stops",
        "finger",
    ): "the long form, 65 mm: sources give 1-4 or 1-3, the search takes the stronger finger",
    ("octaves", "finger"): "one shape, fingers 2 and 1, is moved along; the position table would change fingers",
}
"""What differs from the source, and why; by exercise and what differs."""


def compare(path):
    """Counts of what agrees and what there is, by kind: finger, course, stroke."""
    score = text.read(path.read_bytes()).score
    whole = Span.of_measures(0, len(score.measures))
    bare = to_proposal(free_fingers(score, whole), whole)
    kept, moved = with_hands(bare), with_hands(bare, keep_courses=False)
    agree, total = Counter(), Counter()
    for wanted, given, free in zip(*(each.measures for each in (score, kept, moved)), strict=True):
        for one, other, third in zip(wanted.events, given.events, free.events, strict=True):
            for note, answer in zip(one.notes, other.notes, strict=True):
                if note.finger is not None:
                    total["finger"] += 1
                    agree["finger"] += note.finger == answer.proposed_finger
                if not note.course_set:
                    total["course"] += 1
                    agree["course"] += third.on_course(note.course) is not None
            if one.stroke is not None:
                total["stroke"] += 1
                agree["stroke"] += one.stroke is other.proposed_stroke
    return agree, total


@pytest.fixture(scope="module")
def compared():
    return {path.stem: compare(path) for path in FILES}


def test_there_are_enough_of_them():
    assert len(FILES) >= 12
    for path in FILES:
        assert text.read(path.read_bytes()).score.head.credits, f"{path.name} names no source"


@pytest.mark.parametrize("kind", ["finger", "course", "stroke"])
def test_agreement(compared, kind):
    agree = sum(each[0][kind] for each in compared.values())
    total = sum(each[1][kind] for each in compared.values())
    assert agree / total >= TARGET, f"{kind}: {agree} of {total}"


def test_every_miss_is_explained(compared):
    missed = {
        (name, kind) for name, (agree, total) in compared.items() for kind in total if agree[kind] < total[kind]
    }
    assert missed - set(MISSES) == set(), "explain these"
    assert set(MISSES) - missed == set(), "these agree now"


if __name__ == "__main__":
    for path in FILES:
        agree, total = compare(path)
        print(f"{path.stem:32}" + "  ".join(f"{kind} {agree[kind]}/{total[kind]}" for kind in total))
