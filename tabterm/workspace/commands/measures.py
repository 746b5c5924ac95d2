"""Commands on measures: their number, their marks, and what changes from one on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.key import KEYS, Key
from tabterm.score.kinds import Barline, Break
from tabterm.score.metre import METRES, Metre
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.score.model import Measure
    from tabterm.workspace.session import Session


def _measure(session: Session) -> Measure:
    return session.score.measures[session.here.measures()[0]]


@command("insert-measure", "Insert an empty measure before this one", Group.MEASURES)
def insert_measure(session: Session) -> None:
    """One measure of rest, and the cursor on it; none goes before a pickup."""
    index = session.here.cursor.place.measure
    if index == 0 and session.score.measures[0].short:
        raise ScoreError("cannot insert a measure before the pickup", hint="insert it before measure 1")
    session.rework(do.insert_measures(session.score, index), "insert measure")
    session.here.go(Place(index))


@command("delete-measures", "Delete this measure or the selected measures", Group.MEASURES)
def delete_measures(session: Session) -> None:
    """Take whole measures out."""
    first, last = session.here.measures()
    session.rework(do.delete_measures(session.score, first, last), "delete measures", taken=(first, last))
    session.here.anchor = None
    session.here.go(Place(first))


@command("repeat-start", "Start a repeat at this measure, or remove the start", Group.MEASURES)
def repeat_start(session: Session) -> None:
    """Turn the mark on or off."""
    first, _ = session.here.measures()
    value = not session.score.measures[first].repeat_start
    session.rework(do.set_repeat_start(session.score, first, value), "repeat start")


@command("repeat-end", "End a repeat with this measure: twice, three times, off", Group.MEASURES)
def repeat_end(session: Session) -> None:
    """Go through: played twice, three times, no repeat."""
    _, last = session.here.measures()
    times = {0: 2, 2: 3}.get(session.score.measures[last].repeat_times, 0)
    session.rework(do.set_repeat_times(session.score, last, times), "repeat end")


@command(
    "ending",
    "Play this measure or the selection only on some passes",
    Group.MEASURES,
    asks="passes, such as 1 or 1,2 (empty: all)",
)
def ending(session: Session, text: str) -> None:
    """Number an ending; an empty answer takes the number away."""
    words = text.replace(",", " ").split()
    if not all(word.isdecimal() and int(word) > 0 for word in words):
        raise ScoreError(f"not a list of passes: '{text}'", hint="such as 1 or 1,2")
    first, last = session.here.measures()
    session.rework(do.set_endings(session.score, first, last, tuple(sorted(set(map(int, words))))), "ending")


@command("barline", "Change the bar line after this measure: single, double, final", Group.MEASURES)
def barline(session: Session) -> None:
    """Go through the three."""
    _, last = session.here.measures()
    kinds = tuple(Barline)
    following = kinds[(kinds.index(session.score.measures[last].barline) + 1) % len(kinds)]
    session.rework(do.set_barline(session.score, last, following), "bar line")


@command("break", "Break the printed sheet before this measure: new system, new page, none", Group.MEASURES)
def break_before(session: Session) -> None:
    """Go through: a system, a page, wherever it falls."""
    first, _ = session.here.measures()
    following = {None: Break.SYSTEM, Break.SYSTEM: Break.PAGE}.get(session.score.measures[first].break_before)
    session.rework(do.set_break(session.score, first, following), "break")


@command(
    "section",
    "Mark the start of a section",
    Group.MEASURES,
    asks="section, such as A or Bridge",
    suggests=lambda session: _measure(session).section,
)
def section(session: Session, text: str) -> None:
    """Name the section that starts here; an empty answer takes the name away."""
    session.rework(do.set_section(session.score, session.here.measures()[0], text.strip()), "section")


@command(
    "remark",
    "Write a remark over the measure",
    Group.MEASURES,
    asks="remark",
    suggests=lambda session: _measure(session).remark,
)
def remark(session: Session, text: str) -> None:
    """The teacher's words; an empty answer takes them away."""
    session.rework(do.set_remark(session.score, session.here.measures()[0], text.strip()), "remark")


@command(
    "chord",
    "Write a chord symbol here",
    Group.MEASURES,
    asks="chord symbol, such as G7 or N.C. (empty: none)",
)
def chord(session: Session, symbol: str) -> None:
    """Put a chord symbol over the cursor; an empty word takes it away."""
    session.rework(do.set_chord(session.score, session.here.cursor.place, symbol.strip() or None), "chord")


@command(
    "metre",
    "Change the metre from this measure on",
    Group.MEASURES,
    asks="metre, such as 6/8",
    choices=lambda _: METRES,
    suggests=lambda session: str(session.score.metres[session.here.measures()[0]]),
)
def metre(session: Session, text: str) -> None:
    """Bar the music anew in another metre."""
    session.rework(do.set_metre(session.score, session.here.measures()[0], Metre.parse(text)), f"metre {text}")


@command(
    "key",
    "Change the key from this measure on",
    Group.MEASURES,
    asks="key, such as G, Em or A mixolydian",
    choices=lambda _: KEYS,
    suggests=lambda session: str(session.proposals.key or session.score.keys[session.here.measures()[0]]),
)
def key(session: Session, text: str) -> None:
    """Another key; the notes stay."""
    session.rework(do.set_key(session.score, session.here.measures()[0], Key.parse(text)), f"key {text}")
    session.proposals.key = None


@command(
    "tempo",
    "Change the tempo from this measure on",
    Group.MEASURES,
    asks="tempo, such as 104 or 3/8=112",
    suggests=lambda session: str(session.score.tempos[session.here.measures()[0]]),
)
def tempo(session: Session, text: str) -> None:
    """Another metronome mark."""
    mark = Tempo.parse(text)
    session.rework(do.set_tempo(session.score, session.here.measures()[0], mark), f"tempo {mark}")
