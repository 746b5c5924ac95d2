"""Short ways to write scores in tests."""

from __future__ import annotations

from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score

HOW = {"h": Reached.HAMMER, "p": Reached.PULL, "/": Reached.SLIDE}


def event(text: str, **fields: object) -> Event:
    """An event from `8 2.3 h3.0`: a duration, then notes as course.fret, slurred with h, p or /; `(2.3` ties."""
    duration, *words = text.split()
    notes = []
    for word in words:
        how = HOW.get(word[0], Reached.STRUCK)
        course, fret = word.lstrip("hp/(").split(".")
        notes.append(Note(course=int(course), fret=int(fret), reached=how, tied=word.startswith("(")))
    return Event(duration=Duration.parse(duration), notes=tuple(notes), **fields)


def measure(text: str, **fields: object) -> Measure:
    """A measure from events parted by commas."""
    return Measure(events=tuple(event(part) for part in text.split(",")), **fields)


def score(*measures: str | Measure, metre: str = "4/4", **head: object) -> Score:
    """A score from measures."""
    built = tuple(measure(each) if isinstance(each, str) else each for each in measures)
    return Score(head=Head(metre=Metre.parse(metre), **head), measures=built)
