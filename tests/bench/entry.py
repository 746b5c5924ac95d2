"""Keys per note: how few keys type whole solos, with rhythm, courses, slurs and chords.

The keys are worked out from the score by the rules of the editor, as a practised player would type them
(`tests.planner`; strokes and fingers are proposed), run through a session without a screen, and what they write is
compared with the score, note by note.
"""

from __future__ import annotations

from pathlib import Path

from tabterm.formats import native
from tabterm.piece.piece import blank
from tabterm.score.model import Score
from tabterm.score.operations.timeline import rests
from tests.bench.figure import Figure
from tests.end_to_end.test_tune import KEYS
from tests.planner import attacks_of, chord_keys, keys_for
from tests.typist import Typist

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))
GOAL = 1.7


def typed(score: Score, keys: list[str]) -> Score:
    """What the keys write into rests under the signs of a score."""
    lead = score.metres[0].length - score.measures[0].length
    measures = (
        measure.with_(events=tuple(rests(0 if number else lead, measure.length, metre)), source=())
        for number, (measure, metre) in enumerate(zip(score.measures, score.metres, strict=True))
    )
    return Typist(Score(head=score.head, measures=tuple(measures))).press(*keys).score


def heard(score: Score) -> list[tuple[object, ...]]:
    """Every note with its onset, its length, and how it is reached and bent."""
    return [
        (attack.place, attack.length, note.course, note.fret, note.reached, note.bend)
        for attack in attacks_of(score)
        for note in attack.event.notes
    ]


def bluehill() -> Score:
    """ "The Boys of Bluehill", O'Neill 1903, number 1700: 34 measures, the repeats written out."""
    typist = Typist(blank(measures=34))
    typist.run("metre", "2/4").run("pickup", "1/2")
    return typist.press("ctrl+home", "y", *(key for word in KEYS for key in word)).score


def figures() -> list[Figure]:
    """Keys per note of each solo, and of all together."""
    solos = {"The Boys of Bluehill": bluehill()}
    solos |= {path.stem: native.read(path.read_bytes()) for path in SAMPLES}
    found, all_keys, all_notes = [], 0, 0
    for name, score in solos.items():
        keys = keys_for(score)
        assert heard(typed(score, keys)) == heard(score), f"the keys do not write {name}"
        chords = len(chord_keys(score)) if any(measure.chords for measure in score.measures) else 0
        notes = len(heard(score))
        note = f"{len(keys)} keys for {notes} notes, {chords} for chords"
        found.append(Figure(f"keys per note: {name}", (len(keys) + chords) / notes, "keys", None, note))
        all_keys, all_notes = all_keys + len(keys) + chords, all_notes + notes
    return [*found, Figure("keys per note, with chords", all_keys / all_notes, "keys", GOAL, "all of them")]
