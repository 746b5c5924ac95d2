"""What a remedy changes: as lines of text tab before and after, and event by event in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.errors import TabtermError
from tabterm.piece.piece import cut_out
from tabterm.score.change import Change
from tabterm.score.kinds import Reached
from tabterm.score.place import Place
from tabterm.score.query import written

if TYPE_CHECKING:
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Note, Score

MOST_MEASURES = 2
"""Measures that a preview shows."""

SIGNS = {Reached.STRUCK: "", Reached.HAMMER: "h", Reached.PULL: "p", Reached.SLIDE: "/"}


class Changed(NamedTuple):
    """What differs at a place: in the words of a tab, before and after."""

    place: Place
    before: str
    after: str


def preview(score: Score, player: Player, finding: Finding, remedy: Remedy, width: int = 70) -> list[str]:
    """The lines that a remedy changes, `-` as they are and `+` as they would be; or why it cannot be done."""
    from tabterm.hand.proposals import with_hands

    try:
        after = with_hands(remedy.operation(score, finding.place), player)
    except TabtermError as error:
        return [str(error)]
    change = Change.between(with_hands(score, player), after)
    if change is None:
        return ["nothing would change"]
    first = min(max(change.first, finding.place.measure - 1), len(score.measures) - 1)
    last = min(first + MOST_MEASURES, change.first + max(len(change.inserted), 1), len(after.measures)) - 1
    old, new = (_lines(each, player, first, max(last, first), width) for each in (score, after))
    differing = [(one, other) for one, other in zip(old, new, strict=False) if one != other]
    if len(old) != len(new):
        differing = [*((line, "") for line in old), *(("", line) for line in new)]
    differing = differing or [pair[1:] for pair in changes(score, after, player)]
    return [
        f"{sign} {line}" for sign, lines in (("-", 0), ("+", 1)) for pair in differing if (line := pair[lines])
    ]


def _lines(score: Score, player: Player, first: int, last: int, width: int) -> list[str]:
    """Courses, fingers and strokes of some measures."""
    from tabterm.formats.text import write
    from tabterm.hand.proposals import with_hands

    piece = with_hands(score, player)
    page = write(cut_out(piece, first, last), width=width, rows=("finger", "stroke")).decode().splitlines()
    return [line for line in page if "|" in line or line.startswith(("finger", "stroke"))]


def changes(before: Score, after: Score, player: Player) -> list[Changed]:
    """What a remedy changes: tempos, schools of strokes, and events with the fingers that are set or proposed."""
    from tabterm.hand.proposals import with_hands

    letters = before.head.instrument.course_letters()
    hands = [with_hands(each, player).measures for each in (before, after)]
    found = []
    for index, (old, new) in enumerate(zip(before.measures, after.measures, strict=True)):
        tempos = before.tempos[index], after.tempos[index]
        if tempos[0] != tempos[1] and (not index or after.tempos[index - 1] != tempos[1]):
            found.append(Changed(Place(index), *map(str, tempos)))
        schools = before.schools[index], after.schools[index]
        if schools[0] is not schools[1]:
            found.append(Changed(Place(index), *(f"strokes {each.value}" for each in schools)))
        events = zip(old.events, new.events, hands[0][index].events, hands[1][index].events, strict=True)
        for offset, (one, other, *shown) in zip(old.onsets, events, strict=True):
            if written(one) != written(other):
                found.append(Changed(Place(index, offset), *(_event(letters, each) for each in shown)))
    return found


def _event(letters: tuple[str, ...], event: Event) -> str:
    """An event in words: `E 3 finger 2 + A 7 finger 4?, down`; grace notes in brackets, `?` what is proposed."""
    graces = [f"[{_note(letters, note)}]" for note in event.grace]
    stroke = [event.stroke_shown.value] if event.stroke_shown and event.takes_stroke else []
    notes = " + ".join(_note(letters, note) for note in event.notes)
    return ", ".join([" ".join([*graces, notes]), *stroke, *(["staccato"] if event.staccato else [])])


def _note(letters: tuple[str, ...], note: Note) -> str:
    finger = f" finger {note.finger_shown}{'' if note.finger else '?'}" if note.finger_shown else ""
    tie, bend = "tied " if note.tied else "", f" bent {note.bend.cents} cents" if note.bend else ""
    return f"{tie}{SIGNS[note.reached]}{letters[note.course - 1]} {note.fret}{bend}{finger}"
