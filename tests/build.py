"""Music in lines of text, so that tests can be read: `8 2.3, 4. h1.0 2.2, 4 | < 2`.

An event is its duration, then its notes as course.fret; none is a rest. Before a note stand ( for tied, h p / for
how it is reached, x for muted; behind it the finger that is set (`2.3.1`) and a bend in cents (`2.3b200`). `down`
and `up` are set strokes, notes in brackets are grace notes. Measures are parted by |, and `<` begins one that is
declared short.
"""

from __future__ import annotations

from fractions import Fraction

from tabterm.hand.player import Player
from tabterm.score.duration import Duration
from tabterm.score.kinds import Reached, Stroke
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.place import Place
from tabterm.score.source import Bend

PLAYER = Player()
"""One of whom nothing is known."""

HOW = {"h": Reached.HAMMER, "p": Reached.PULL, "/": Reached.SLIDE}
SIGNS = {how: sign for sign, how in HOW.items()} | {Reached.STRUCK: ""}


STROKES = {"down": Stroke.DOWN, "up": Stroke.UP}


def note(word: str) -> Note:
    """One note: `2.3`, `(2.3`, `h2.3`, `2.3.1`, `2.3b200`."""
    signs, (place_on_neck, _, cents) = word[: -len(word.lstrip("(hp/x"))], word.lstrip("(hp/x").partition("b")
    course, fret, *finger = map(int, place_on_neck.split("."))
    return Note(
        course=course,
        fret=fret,
        finger=finger[0] if finger else None,
        tied="(" in signs,
        muted="x" in signs,
        reached=next((how for sign, how in HOW.items() if sign in signs), Reached.STRUCK),
        bend=Bend(cents=int(cents)) if cents else None,
    )


def event(text: str, **fields: object) -> Event:
    """An event from `8 2.3 h3.0`, `8 [2.1] h2.3 up`."""
    length, *words = text.split()
    stroke = next((STROKES[word] for word in words if word in STROKES), None)
    graces = tuple(note(word[1:-1]) for word in words if word.startswith("["))
    notes = tuple(note(word) for word in words if word not in STROKES and not word.startswith("["))
    return Event(duration=Duration.parse(length), notes=notes, **{"stroke": stroke, "grace": graces} | fields)


def measure(text: str, **fields: object) -> Measure:
    """A measure from events parted by commas."""
    return Measure(events=tuple(event(part) for part in text.split(",")), **fields)


def score(*measures: str | Measure, metre: str = "4/4", **head: object) -> Score:
    """A score from measures."""
    built = tuple(measure(each) if isinstance(each, str) else each for each in measures)
    return Score(head=Head(metre=Metre.parse(metre), **head), measures=built)


def music(text: str, metre: str = "4/4", **head: object) -> Score:
    """The score that a line of text stands for."""
    parts = [part.strip() for part in text.split("|")]
    built = [measure(part.removeprefix("<"), short=part.startswith("<")) for part in parts]
    return score(*built, metre=metre, **head)


def text(score: Score) -> str:
    """The line of text for a score."""
    return " | ".join("< " * measure.short + ", ".join(map(_word, measure.events)) for measure in score.measures)


def _word(event: Event) -> str:
    graces = (f"[{_note(each)}]" for each in event.grace)
    stroke = [word for word, stroke in STROKES.items() if event.stroke is stroke]
    return " ".join([str(event.duration), *graces, *map(_note, event.notes), *stroke])


def _note(note: Note) -> str:
    finger = f".{note.finger}" if note.finger else ""
    bend = f"b{note.bend.cents}" if note.bend else ""
    return "(" * note.tied + "x" * note.muted + SIGNS[note.reached] + f"{note.course}.{note.fret}{finger}{bend}"


def duration(text: str) -> Duration:
    """A duration from its text."""
    return Duration.parse(text)


def place(measure: int, offset: object = 0) -> Place:
    """A place by measure from 1, and offset in quarters from its start (`place(2, "1/2")`)."""
    return Place(measure - 1, Fraction(offset))


def sounds(score: Score) -> dict[tuple[Fraction, int], tuple[int, Fraction]]:
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
