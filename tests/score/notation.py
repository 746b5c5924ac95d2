"""Music in a line of text, so that tests of operations can be read: `2.3/4 r/4 1.0+2.2/8 ~2.2/4. | ...`.

An event is its notes (course.fret, joined by +; r for a rest), a stroke of the pen, and its duration. Before a
note stand ~ for tied, h p s for how it is reached, x for muted. `<` begins a measure that is declared short.
"""

from __future__ import annotations

from fractions import Fraction

from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.place import Place

_REACHED = {"h": Reached.HAMMER, "p": Reached.PULL, "s": Reached.SLIDE}
_SIGNS = {how: sign for sign, how in _REACHED.items()} | {Reached.STRUCK: ""}


def music(text, metre="4/4", **head):
    """The score that a line of text stands for."""
    measures = []
    for part in text.split("|"):
        words = part.split()
        short = words[0] == "<"
        measures.append(Measure(events=tuple(map(_event, words[short:])), short=short))
    return Score(head=Head(metre=Metre.parse(metre), **head), measures=tuple(measures))


def text(score):
    """The line of text for a score."""
    return " | ".join(
        " ".join(["<"] * measure.short + [_word(event) for event in measure.events]) for measure in score.measures
    )


def note(word):
    """One note: `2.3`, `~2.3`, `h2.3`."""
    signs, rest = word.rstrip("0123456789."), word.lstrip("~hpsx")
    course, fret = map(int, rest.split("."))
    reached = next((how for sign, how in _REACHED.items() if sign in signs), Reached.STRUCK)
    return Note(course=course, fret=fret, tied="~" in signs, muted="x" in signs, reached=reached)


def duration(text):
    return Duration.parse(text)


def place(measure, offset=0):
    """A place by measure from 1, and offset in quarters from its start (`place(2, "1/2")`)."""
    return Place(measure - 1, Fraction(offset))


def sounds(score):
    """What is heard: by time and course, the fret and how long it lasts with all that is tied to it.

    A dead note has no length, since a cut one is not struck on.
    """
    heard, going_on, at = {}, {}, Fraction(0)
    for event in (event for measure in score.measures for event in measure.events):
        started = {}
        for each in event.notes:
            start = going_on[each.course] if each.tied else (at, each.course)
            fret, length = heard.get(start, (each.fret, Fraction(0)))
            heard[start] = (fret, Fraction(0) if each.muted else length + event.length)
            started[each.course] = start
        going_on = started
        at += event.length
    return heard


def _event(word):
    notes, _, length = word.partition("/")
    struck = () if notes == "r" else tuple(note(each) for each in notes.split("+"))
    return Event(duration=Duration.parse(length), notes=struck)


def _word(event):
    notes = "+".join(
        "~" * each.tied + "x" * each.muted + _SIGNS[each.reached] + f"{each.course}.{each.fret}"
        for each in event.notes
    )
    return f"{notes or 'r'}/{event.duration}"
