"""Commands on what the music is made of: a phrase explained, chords proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.printable import counted
from tabterm.score import operations as do
from tabterm.score.operations.draft import map_events
from tabterm.score.place import Place, Span
from tabterm.workspace.invention import Invention
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.harmony.dyads import Dyad
    from tabterm.harmony.explaining import Explained
    from tabterm.harmony.harmonising import ChordProposal
    from tabterm.score.model import Event
    from tabterm.workspace.session import Session


@command("explain", "Explain this phrase in a remark over it", Group.THEORY)
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
        raise ScoreError(
            "the remarks already explain this, or are full", hint="delete a remark to have it rewritten"
        )
    session.rework(score, "explain")


def _phrases(session: Session) -> tuple[Explained, ...]:
    from tabterm.harmony.explaining import explained

    selected, place = session.here.selection(), session.here.cursor.place
    if place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is past the last measure", hint="go back to the music")
    span = selected or Span(place, Place(place.measure, session.score.measures[place.measure].length))
    found = explained(session.score, span)
    if not found:
        raise ScoreError("no notes in this phrase", hint="go to a note first")
    return found if selected else found[:1]


@command(
    "propose-chord",
    "Choose a chord that fits this measure, with the reasons",
    Group.THEORY,
    asks="chord",
    choices=lambda session: [_told(each) for each in _proposals(session)[session.here.measures()[0]]],
)
def propose_chord(session: Session, words: str) -> None:
    """The chord is written at the beginning of the measure."""
    symbol = words.split(maxsplit=1)[0] if words.split() else ""
    place = Place(session.here.measures()[0])
    session.rework(do.set_chord(session.score, place, symbol or None), "chord")


@command("propose-chords", "Write the best-fitting chords over measures without chords", Group.THEORY)
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


WAYS = tuple(f"{harmony} {side}" for harmony in ("thirds", "sixths", "chord") for side in ("below", "above"))


@command(
    "harmonise",
    "Add a second note to the melody here or in the selection",
    Group.THEORY,
    asks="in what",
    choices=lambda _: WAYS,
)
def harmonise(session: Session, words: str) -> None:
    """Double stops that the hand holds without strain; what has none in reach stays alone."""
    from tabterm.hand.double_stops import Harmony, harmonised

    harmony, _, side = words.strip().partition(" ")
    if harmony not in [*Harmony] or side not in {"", "below", "above"}:
        raise ScoreError(f"cannot harmonise with '{words.strip()}'", hint=f"one of: {', '.join(WAYS)}")
    span = session.here.target()
    found = harmonised(session.score, session.player, span, Harmony(harmony), above=side == "above")
    if found.score is session.score:
        raise ScoreError("no second note is within reach here", hint="try another interval or the other side")
    alone = len(found.left)
    session.rework(found.score, "harmonise", told=f"; {counted(alone, 'note')} left alone" if alone else "")


@command("dyad-along", "Move this double stop along the scale", Group.THEORY, asks="steps, such as 1 or -1")
def dyad_along(session: Session, word: str) -> None:
    """Both notes so many steps of the key, on their courses."""
    from tabterm.harmony.dyads import along
    from tabterm.harmony.pools import scale

    place, pair = _dyad(session)
    key = session.score.keys[place.measure]
    name = key.mode if key.mode in {"major", "minor", "dorian", "mixolydian", "lydian", "phrygian"} else "major"
    instrument = session.score.head.instrument
    _put(session, place, along(pair, scale(name, key.tonic_fifths), instrument, _whole(word)), "along the scale")


@command("dyad-frets", "Move this double stop by frets, keeping its shape", Group.THEORY, asks="frets, such as -2")
def dyad_frets(session: Session, word: str) -> None:
    """The message says what it is to the chord now."""
    from tabterm.harmony.dyads import in_parallel, moved
    from tabterm.harmony.spelling import chord_in_force

    place, pair = _dyad(session)
    frets, instrument = _whole(word), session.score.head.instrument
    symbol = chord_in_force(session.score, place)
    told = moved(pair, symbol, instrument, frets) if symbol else None
    words = f"; {told.degrees} of {symbol} now, as of {told.sounds}" if told else ""
    _put(session, place, in_parallel(pair, instrument, frets), "by frets", words)


def _whole(word: str) -> int:
    try:
        return int(word)
    except ValueError:
        raise ScoreError(f"not a number: '{word.strip()}'", hint="write 1, 2, -1 ...") from None


def _dyad(session: Session) -> tuple[Place, Dyad]:
    """The double stop at the cursor."""
    from tabterm.harmony.dyads import dyad

    place, event = session.here.event_meant()
    if len(event.notes) != 2:
        raise ScoreError("not a double stop", hint="go to an event of two notes")
    high, low = event.notes
    return place, dyad(session.score.head.instrument, low.spot, high.spot)


def _put(session: Session, place: Place, pair: Dyad | None, label: str, told: str = "") -> None:
    if pair is None:
        raise ScoreError("that would leave the neck or the scale")
    frets = dict((pair.high, pair.low))

    def changed(at: Place, event: Event) -> Event:
        if at != place:
            return event
        notes = (note.with_(fret=frets[note.course], finger=None, proposed_finger=None) for note in event.notes)
        return event.with_(notes=tuple(notes))

    score = map_events(session.score, Span(place, session.here.end_of_event(place)), changed)
    session.rework(score, f"move double stop {label}", told=told)


@command(
    "invent",
    "Make new phrases from this one, hear them in place, insert one",
    Group.THEORY,
    asks="how: ornamented, over Am7, or a scale (empty: as last time)",
    choices=lambda _: _ways(),
)
def invent(session: Session, words: str) -> None:
    """Of the selection or the phrase at the cursor; space plays, Enter takes, n shows others."""
    from tabterm.piece.inventing import asked

    if words.strip():
        told = words.partition("  ")[0].strip()
        asked(told)
        session.invention = Invention(told)
    session.host.open_panel("invent")


def _ways() -> tuple[str, ...]:
    from tabterm.harmony.inventing import WORDS, Way
    from tabterm.piece.inventing import PLAIN_WAYS

    return tuple(f"{way}  {WORDS[Way(way)]}" for way in PLAIN_WAYS)


@command("neck-map", "Show the chord, the scale, double stops and positions on the whole neck", Group.THEORY)
def neck_map(session: Session) -> None:
    """Those of the chord at the cursor and of its phrase."""
    session.host.open_panel("neck")
