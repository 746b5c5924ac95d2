"""Keys per note: how few keys type a whole solo, with rhythm, courses, slurs and chords.

The keys are worked out from the score by the rules of the editor, as a practised player would type them (strokes
proposed, fingers left out), run through a session without a screen, and the result compared with the score.
"""

from __future__ import annotations

from pathlib import Path

from tabterm.formats import native
from tabterm.hand.strokes import with_proposals
from tabterm.score import operations as do
from tabterm.score.duration import EIGHTH
from tabterm.score.kinds import Bend
from tabterm.score.model import Score
from tabterm.score.operations.timeline import rest_measure
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.bench.figure import Figure
from tests.build import PLAYER

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"
COURSE_KEYS = "asdf"
SLURS = {"hammer": "h", "pull": "p", "slide": "/"}


class Quiet:
    """A host without a screen."""

    def say(self, text, *, trouble=False):
        assert not trouble, text

    def ask(self, question, suggestion, answer): ...
    def open_panel(self, name): ...
    def redraw(self): ...
    def leave(self): ...


def keys_of(score: Score) -> list[str]:
    """The keys of the notes of a score, typed from its start in steps of an eighth."""
    keys: list[str] = []
    course = 1
    for measure in score.measures:
        for event in measure.events:
            steps = event.length / EIGHTH.length
            assert steps.denominator == 1
            if event.is_rest:
                keys += ["r"] * int(steps)
                continue
            for number, note in enumerate(sorted(event.notes, key=lambda note: note.course != course)):
                if number:
                    keys.append("+")
                if note.course != course:
                    keys.append(COURSE_KEYS[note.course - 1])
                    course = note.course
                keys += [SLURS[note.reached.value]] if note.slurred else []
                keys += ["'"] if note.fret > 9 else []
                keys.append(str(note.fret % 10))
                keys += ["b"] if note.bend == Bend() else []
            keys += ["-"] * (int(steps) - 1)
    while keys[-1] == "r":  # what is not written is rests already
        keys.pop()
    return keys


def chord_keys(score: Score) -> int:
    """Keys of the chord row: `c` once, each symbol and the Tab that keeps it and goes on, Tabs over the rest.

    A symbol inside a measure takes one key more, to the beat.
    """
    marks = [mark for measure in score.measures for mark in measure.chords]
    inside = sum(mark.offset > 0 for mark in marks)
    return 1 + sum(len(mark.symbol) for mark in marks) + len(score.measures) - 1 + inside


def typed(score: Score, keys: list[str]) -> Score:
    """What the keys write into an empty score of the same head."""
    pickup = rest_measure(score.head.metre)
    empty = Score(head=score.head, measures=(pickup,))
    empty = do.set_pickup(empty, score.measures[0].length)
    document = Document(Path("bench.tabterm"), empty, PLAYER, with_proposals)
    session = Session(document, Quiet(), Transport())
    keymap = Keymap()
    for key in keys:
        name, _, word = keymap.find(session.here.cursor.row.name, key).partition(" ")
        session.run(REGISTRY[name], word or None)
    return session.score


def figures() -> list[Figure]:
    """Keys per note of the sample's whole break."""
    score = native.read(SAMPLE.read_bytes())
    keys = keys_of(score)
    written = typed(score, keys)
    wanted = [(n.course, n.fret, n.reached, n.bend) for m in score.measures for e in m.events for n in e.notes]
    got = [
        (n.course, n.fret, n.reached, n.bend)
        for m in written.measures
        for e in m.events
        for n in e.notes
        if not n.tied
    ]
    assert got == wanted, "the keys do not write the score"
    notes = len(wanted)
    total = len(keys) + chord_keys(score)
    return [
        Figure("keys per note, notes and rhythm", len(keys) / notes, "keys", None, f"{notes} notes"),
        Figure(
            "keys per note, with chords", total / notes, "keys", 1.9, f"{total} keys, 16 measures and a pickup"
        ),
    ]
