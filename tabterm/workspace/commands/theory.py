"""Commands on what the music is made of: a phrase explained, chords proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.place import Place, Span
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.harmony.explaining import Explained
    from tabterm.harmony.harmonising import ChordProposal
    from tabterm.workspace.session import Session


@command("explain", "Explain this phrase: put a teacher's sentences over it, as a remark", Group.THEORY)
def explain(session: Session) -> None:
    """The phrase at the cursor, or those that are selected; what a remark says already stays before it."""
    score, found = session.score, _phrases(session)
    for each in found:
        index = each.phrase.span.start.measure
        before = session.score.measures[index].remark
        words = each.remark(before)
        if words == before:
            continue
        score = do.set_remark(score, index, words)
    if score is session.score:
        raise ScoreError("the remarks say it already, or are full", hint="delete a remark to have it written anew")
    session.rework(score, "explain")


def _phrases(session: Session) -> tuple[Explained, ...]:
    from tabterm.harmony.explaining import explained

    selected, place = session.here.selection(), session.here.cursor.place
    if place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is after the last measure", hint="go back onto the music")
    span = selected or Span(place, Place(place.measure, session.score.measures[place.measure].length))
    found = explained(session.score, span)
    if not found:
        raise ScoreError("nothing sounds in this phrase", hint="go to a note first")
    return found if selected else found[:1]


@command(
    "propose-chord",
    "Choose a chord for this measure, of those that fit the line, with the reasons",
    Group.THEORY,
    asks="chord",
    choices=lambda session: [_told(each) for each in _proposals(session)[session.here.measures()[0]]],
)
def propose_chord(session: Session, words: str) -> None:
    """The chord is written at the beginning of the measure."""
    symbol = words.split(maxsplit=1)[0] if words.split() else ""
    place = Place(session.here.measures()[0])
    session.rework(do.set_chord(session.score, place, symbol or None), "chord")


@command("propose-chords", "Write the chords that fit best over the measures that have none", Group.THEORY)
def propose_chords(session: Session) -> None:
    """In the selection, or in all; a chord that goes on is not written again."""
    score, selected = session.score, session.here.selection()
    first, last = session.here.measures() if selected else (0, len(score.measures) - 1)
    proposed, before = _proposals(session), ""
    for index in range(first, last + 1):
        measure = score.measures[index]
        if measure.chords:
            before = measure.chords[-1].symbol
        elif any(event.notes for event in measure.events) and proposed[index][0].symbol != before:
            before = proposed[index][0].symbol
            score = do.set_chord(score, Place(index), before)
    if score is session.score:
        raise ScoreError("every measure here has a chord, or is silent")
    session.rework(score, "propose chords")


def _proposals(session: Session) -> tuple[tuple[ChordProposal, ...], ...]:
    from tabterm.harmony.harmonising import proposals

    return proposals(session.score)


def _told(each: ChordProposal) -> str:
    return f"{each.symbol}  {each.roman}: {', '.join(each.reasons)}"
