"""A player who knows what is to stand there, and has nothing but the keys to write it with: random music."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from tabterm.hand.review import findings
from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.operations.timeline import rests
from tabterm.score.query import music
from tabterm.score.source import Bend
from tests.build import PLAYER
from tests.planner import keys_for
from tests.typist import Typist

BEATS = ["4", "8 8", "8. 16", "16 16 8", "8 16 16", "16 16 16 16", "8(3:2) 8(3:2) 8(3:2)", "r4", "r8 8", "8 r8"]
HALVES = ["2", "4. 8", "8 4 8", "2(3:2) 4(3:2)", "r2"]
WEIGHTS = [6, 12, 2, 2, 2, 3, 3, 1, 2, 1]


def rhythm(choose):
    """The values of a measure of 4/4, rests with an r before them."""
    halves = []
    for _ in range(2):
        if choose.random() < 0.3:
            halves.append(choose.choice(HALVES))
        else:
            halves += choose.choices(BEATS, WEIGHTS, k=2)
    return " ".join(halves).split()


def line(choose, count):
    """Random music on the neck of a mandolin: steps and leaps, double stops, slurs, ties, marks, grace notes."""
    course, fret, before, measures = choose.randint(1, 4), choose.randint(0, 5), None, []
    values = rhythm(choose)
    for _ in range(count):
        values = values if choose.random() < 0.3 else rhythm(choose)
        events, at, silence = [], Fraction(0), Fraction(0)
        for value in values:
            duration = Duration.parse(value.lstrip("r"))
            if value.startswith("r"):
                silence += duration.length
            else:
                events += rests(at - silence, silence, Metre.parse("4/4")) if silence else []
                silence = Fraction(0)
                if choose.random() < 0.35:
                    course = min(max(course + choose.choice([-1, 1]), 1), 4)
                fret = min(max(fret + choose.randint(-3, 3), 0), 14)
                before = event(choose, duration, course, fret, events[-1] if events else before)
                events.append(before)
            at += duration.length
        events += rests(at - silence, silence, Metre.parse("4/4")) if silence else []
        before = events[-1]
        measures.append(Measure(events=tuple(events)))
    return Score(head=Head(), measures=tuple(measures))


def event(choose, duration, course, fret, before):
    """A note or double stop, perhaps gone on to from the one before."""
    sounding = before is not None and bool(before.notes)
    if sounding and choose.random() < 0.06:
        notes = tuple(
            Note(course=each.course, fret=each.fret, tied=True) for each in before.notes if not each.muted
        )
        if len(notes) == len(before.notes):
            return Event(duration=duration, notes=notes)
    if sounding and not before.grace and choose.random() < 0.05:
        copied = tuple(Note(course=each.course, fret=each.fret) for each in before.notes)
        return Event(duration=duration, notes=copied)
    slurs = [Reached.HAMMER, Reached.PULL, Reached.SLIDE] if sounding else []
    reached = choose.choice(slurs) if slurs and choose.random() < 0.15 else Reached.STRUCK
    marks = {name: True for name in ("muted", "ring", "vibrato") if choose.random() < 0.03}
    bend = Bend() if choose.random() < 0.03 and "muted" not in marks else None
    notes = [Note(course=course, fret=fret, reached=reached, bend=bend, **marks)]
    for other in (course - 1, course + 1):
        if 1 <= other <= 4 and choose.random() < 0.08:
            notes.append(Note(course=other, fret=max(fret + choose.randint(-2, 2), 0)))
    grace = (Note(course=course, fret=min(fret + 2, 16)),) if choose.random() < 0.04 else ()
    event_marks = {name: True for name in ("accent", "staccato") if choose.random() < 0.03}
    return Event(
        duration=duration, notes=tuple(sorted(notes, key=lambda note: note.course)), grace=grace, **event_marks
    )


@pytest.mark.parametrize("seed", range(10))
def test_random_music_is_typed_as_it_is_written(seed):
    """Twenty measures a time, 200 in all: equal to the target, nothing refused, no finding that it has not."""
    target = line(random.Random(seed), 20)
    blank = Measure(events=tuple(rests(Fraction(0), Fraction(4), Metre.parse("4/4"))))
    typist = Typist(Score(head=Head(), measures=(blank,) * 20), propose=None)
    typist.press(*keys_for(target, exact=True))
    assert music(typist.score.measures) == music(target.measures)
    assert not typist.troubles
    if seed == 0:
        assert told(typist.score) == told(target) != []


def told(score):
    """The findings of a score, without their remedies."""
    return [(each.code, each.place, each.course, each.message) for each in findings(score, PLAYER)]
