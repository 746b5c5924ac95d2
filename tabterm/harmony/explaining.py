"""A phrase in a teacher's sentences: its chords, what its notes are made of, where it goes and what colours it."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.harmony.analysis import NoteClass, analyse
from tabterm.harmony.differences import interval_name
from tabterm.harmony.dyads import dyads_in_words, placed_dyads
from tabterm.harmony.keys import key_guesses, regions
from tabterm.harmony.patterns import named
from tabterm.harmony.phrases import phrase_of, phrases
from tabterm.harmony.pools import CHORD_POOL
from tabterm.harmony.progression import Role, functions, sounding_chords
from tabterm.harmony.spelling import chord_in_force, note_name
from tabterm.score.place import Place, display_number
from tabterm.score.query import move_by

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.analysis import Standing
    from tabterm.harmony.patterns import NamedMove
    from tabterm.harmony.phrases import Phrase, Target
    from tabterm.harmony.progression import ChordFunction, SoundingChord
    from tabterm.score.model import Score
    from tabterm.score.place import Span

DEGREE_WORDS = {
    "1": "root",
    "b2": "flat second",
    "2": "second",
    "#2": "sharp second",
    "b3": "minor third",
    "3": "third",
    "4": "fourth",
    "#4": "sharp fourth",
    "b5": "flat fifth",
    "5": "fifth",
    "#5": "sharp fifth",
    "b6": "minor sixth",
    "6": "sixth",
    "bb7": "diminished seventh",
    "b7": "seventh",
    "7": "major seventh",
    "b9": "flat ninth",
    "9": "ninth",
    "#9": "sharp ninth",
    "11": "eleventh",
    "#11": "sharp eleventh",
    "b13": "flat thirteenth",
    "13": "thirteenth",
    "#1": "sharp first",
}
"""What a degree is called aloud."""

MOST_EVENTS = 3
"""Notes of which more is said than where they belong."""

MOST_CHORDS = 5
"""Chords of a move that are named one by one."""

DOUBT = 0.03  #: points; tuned here (python -m tests.harmony.tunes keys)
"""A key that fits better than the written one by more than this is named."""

HOLDS = 500
"""Characters of a remark."""


@dataclass(frozen=True, slots=True)
class Explained:
    """A phrase and what a teacher says of it.

    Attributes:
        phrase: What is heard of it.
        chords: Its chords.
        functions: What each does.
        moves: The moves among them that have a name.
        sentences: What is said, a sentence each.
    """

    phrase: Phrase
    chords: tuple[SoundingChord, ...]
    functions: tuple[ChordFunction, ...]
    moves: tuple[NamedMove, ...]
    sentences: tuple[str, ...]

    def remark(self, before: str = "") -> str:
        """As many of its sentences as a remark holds behind what it says already, those left out that it has."""
        kept = before
        stop = "." if before and before[-1] not in ".!?:" else ""
        for each in self.sentences:
            longer = f"{kept}{stop} {each}".strip()
            if each in before:
                continue
            if len(longer) > HOLDS:
                break
            kept, stop = longer, ""
        return kept


def overview(score: Score) -> tuple[str, ...]:
    """What is said of the whole: its key, where it seems to be in another, and forms of the blues."""
    guesses, written = key_guesses(score), score.head.key
    if not guesses:
        return ()
    first = guesses[0]
    own = next((each for each in guesses if each.key == written), None)
    sentences = [f"It is written in {written}: {listed(own.reasons)}."] if own else []
    if own is None or (first.key != written and first.points - own.points > DOUBT):
        sentences.append(f"It sounds more like {first.key}: {listed(first.reasons)}.")
    for each in regions(score):
        if each.is_modulation:
            numbers = f"{display_number(score, each.first)} to {display_number(score, each.last)}"
            sentences.append(f"Measures {numbers} seem to be in {each.key}, not {each.written}.")
    forms = (move for move in named(score, sounding_chords(score)) if len(move.chords) > MOST_CHORDS)
    return (*sentences, *(_of_form(score, move) for move in forms))


def _of_form(score: Score, move: NamedMove) -> str:
    first, last = (display_number(score, at) for at in (move.span.start.measure, move.span.end.measure - 1))
    return f"Measures {first} to {last} are {_a(move.name)}."


def explained(score: Score, span: Span | None = None) -> tuple[Explained, ...]:
    """Every phrase that sounds, or those that a span touches."""
    cut = [each for each in phrases(score) if span is None or (each.start < span.end and span.start < each.end)]
    heard = (phrase_of(score, each) for each in cut)
    return tuple(explain(score, phrase) for phrase in heard if phrase is not None)


def explain(score: Score, phrase: Phrase) -> Explained:
    """What a teacher says of a phrase."""
    chords = _chords_in(score, phrase.span)
    does, moves = functions(chords), named(score, chords)
    sentences = (
        *_of_chords(score, chords, does, moves),
        _of_pool(phrase),
        _of_line(phrase),
        _of_targets(phrase.targets),
        *_of_colours(score, phrase),
        *filter(None, [dyads_in_words(placed_dyads(score, phrase.span))]),
        *([f"The rhythm is {phrase.rhythm}."] if phrase.rhythm else []),
    )
    return Explained(phrase, chords, does, moves, tuple(dict.fromkeys(sentences)))


def _chords_in(score: Score, span: Span) -> tuple[SoundingChord, ...]:
    """The chords of a span, cut to it."""
    return tuple(
        each._replace(place=max(each.place, span.start))
        for each in sounding_chords(score)
        if each.place < span.end and move_by(score, each.place, each.length) > span.start
    )


def listed(words: Sequence[str]) -> str:
    """`A`, `A and B`, `A, B and C`."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _of_chords(
    score: Score, chords: Sequence[SoundingChord], does: Sequence[ChordFunction], moves: Sequence[NamedMove]
) -> Iterator[str]:
    """The chords by their numerals, what is not plain among them, and the moves with a name."""
    if not chords:
        return
    key = chords[0].key
    if len(chords) == 1:
        yield f"It stays on {chords[0].symbol}, {does[0].roman} in {key}."
    else:
        yield (
            f"The chords are {listed([each.symbol for each in chords])}: "
            f"{listed([each.roman for each in does])} in {key}."
        )
    yield from _of_roles(chords, does)
    for move in moves:
        if "cadence" in move.name and move is not moves[-1]:
            continue
        if "cadence" in move.name and move.chords[-1] != chords[-1].symbol:
            continue
        if len(move.chords) > MOST_CHORDS:
            yield _of_form(score, move)
        else:
            yield f"{listed(move.chords)} make {_a(_said(move))}."


def _said(move: NamedMove) -> str:
    """The name of a move; a cadence with its own numerals, `cadence V7 I`."""
    kind, cadence, _ = move.name.partition("cadence")
    return f"{kind}cadence {' '.join(move.romans)}" if cadence else move.name


def _end_of(score: Score, chords: Sequence[SoundingChord]) -> Place:
    """Where the last chord ends."""
    return move_by(score, chords[-1].place, chords[-1].length)


def _a(words: str) -> str:
    return f"{'an' if words[0] in 'aeo8' else 'a'} {words}"


def _of_roles(chords: Sequence[SoundingChord], does: Sequence[ChordFunction]) -> Iterator[str]:
    borrowed = []
    for number, (here, function) in enumerate(zip(chords, does, strict=True)):
        goal = chords[number + 1].symbol if number + 1 < len(chords) else ""
        if function.role is Role.SECONDARY:
            yield f"{here.symbol} is the dominant of {goal}."
        elif function.role is Role.SUBSTITUTE:
            yield f"{here.symbol} replaces {note_name(here.chord.root_fifths + 6)}7, a tritone away."
        elif function.role is Role.LEADING:
            yield f"{here.symbol} leads up to {goal} by a semitone."
        elif function.role is Role.BORROWED and here.symbol not in borrowed:
            borrowed.append(here.symbol)
    if borrowed:
        tonic = note_name(chords[0].key.tonic_fifths)
        yield f"{listed(borrowed)} {'are' if len(borrowed) > 1 else 'is'} borrowed from {tonic} minor."


def _of_pool(phrase: Phrase) -> str:
    pool = phrase.pools[0]
    outside = list(dict.fromkeys(each.name for each in pool.outside))
    several = len(outside) > 1
    lie = f"{listed(outside)} {'lie' if several else 'lies'} outside" if outside else ""
    if pool.name == CHORD_POOL:
        theirs = f"the chord {'they are' if several else 'it is'} played over"
        return f"Almost every note is a chord tone; {lie} {theirs}." if outside else "Every note is a chord tone."
    return f"The notes are from {pool.name}" + (f"; {lie}." if outside else ".")


def _of_line(phrase: Phrase) -> str:
    """How it goes, with the notes where it turns."""
    line, names = phrase.line, phrase.names
    first, last, low, high = (names[line.index(each)] for each in (line[0], line[-1], min(line), max(line)))
    there = "" if first == last else f" to {last}"
    back = "back" if first == last else f"to {last}"
    ways = {
        "stays level": f"stays level, between {low} and {high}",
        "circles round its first note": f"circles round {first}, between {low} and {high}",
        "rises": f"rises from {first} to {last}",
        "falls": f"falls from {first} to {last}",
        "rises and falls": f"rises from {first} to {high} and falls {back}",
        "falls and rises": f"falls from {first} to {low} and rises {back}",
        "rises and falls below its first note": f"rises from {first} to {high} and falls to {last}",
        "falls and rises above its first note": f"falls from {first} to {low} and rises to {last}",
        "rises, falls and rises again": f"rises from {first} to {high}, falls to {low} and comes back{there}",
        "falls, rises and falls again": f"falls from {first} to {low}, rises to {high} and comes back{there}",
    }
    way = ways[phrase.contour]
    compass = "" if "between" in way else f", {interval_name(max(line) - min(line))} in all"
    return f"The line {way}{compass}."


def _of_targets(targets: Sequence[Target]) -> str:
    """The notes that begin its measures, those of one chord together, and where it ends."""
    begin = [each for each in targets if each.place.offset == 0]
    last = targets[-1]
    groups = [(symbol, list(same)) for symbol, same in groupby(begin, key=lambda each: each.symbol)]
    told = [f"the {listed(list(dict.fromkeys(map(_degree, same))))} of {_over(symbol)}" for symbol, same in groups]
    if not told:
        return f"It ends on the {_degree(last)} of {_over(last.symbol)}."
    if last.place.offset == 0 or (last.symbol, _degree(last)) == (begin[-1].symbol, _degree(begin[-1])):
        return f"It aims at {listed(told)}, and ends there."
    chord = "" if last.symbol == begin[-1].symbol else f" of {_over(last.symbol)}"
    return f"It aims at {listed(told)} and ends on the {_degree(last)}{chord}."


def _degree(each: Target) -> str:
    return DEGREE_WORDS.get(each.standing.to_chord, each.standing.to_chord)


def _over(symbol: str | None) -> str:
    return symbol or "the key"


def _of_colours(score: Score, phrase: Phrase) -> Iterator[str]:
    """What the notes do that are outside the pool, and blue thirds."""
    pool = phrase.pools[0]
    strays = set() if pool.name == CHORD_POOL else {each.place for each in pool.outside}
    line = list(_line(score, phrase.span))
    told: list[str] = []
    for number, (place, here) in enumerate(line):
        if here.kind is not NoteClass.BLUE_THIRD and (place not in strays or here.name in told):
            continue
        around = [line[at][1] if 0 <= at < len(line) else None for at in (number - 1, number + 1, number + 2)]
        words = _colour(here, chord_in_force(score, place), *around)
        if words:
            told.append(here.name)
            yield f"{words} (measure {display_number(score, place.measure)})."
        if len(told) == MOST_EVENTS:
            return


def _line(score: Score, span: Span) -> Iterator[tuple[Place, Standing]]:
    """The highest note of each moment of a span, and what it is; a tied one once."""
    for index in range(span.start.measure, min(span.end.measure + 1, len(score.measures))):
        held = {
            (offset, note.course)
            for offset, event in score.measures[index].timed()
            for note in event.notes
            if note.tied
        }
        for offset, same in groupby(analyse(score, index), key=lambda each: each.offset):
            first = next(same)
            if Place(index, offset) in span and (offset, first.course) not in held:
                yield Place(index, offset), first


def _colour(
    here: Standing, symbol: str | None, before: Standing | None, after: Standing | None, then: Standing | None
) -> str:
    """What a note does, in words; "" where there is nothing to say of it alone."""
    kind, name, leads = here.kind, here.name, here.leads
    goes = f"leads {'up' if leads.semitones > 0 else 'down'} to" if leads else "leads to"
    half = " by a semitone" if leads and abs(leads.semitones) == 1 else ""
    if kind is NoteClass.BLUE_THIRD:
        major = here.to_chord == "3"
        return (
            "The blue third: a grace note rises into it"
            if major
            else f"The blue third: {name} rises into the third"
        )
    if kind is NoteClass.ENCLOSURE and after and then and after.kind is kind:
        return f"{name} and {after.name} close in on {then.name}"
    if kind is NoteClass.ENCLOSURE and before and after and before.kind is kind:
        return f"{before.name} and {name} close in on {after.name}"
    if kind is NoteClass.PASSING and before and after:
        return f"{name} passes between {before.name} and {after.name}"
    if kind is NoteClass.APPROACH and after:
        return f"{name} {goes} {after.name}{half}"
    if kind is NoteClass.BLUE:
        return f"{name}, the {DEGREE_WORDS[here.to_key].replace('minor', 'flat')} of the key, is a blue note"
    if kind in {NoteClass.EXTENSION, NoteClass.CHORD_TONE} and symbol:
        return f"{name} is the {DEGREE_WORDS.get(here.to_chord, here.to_chord)} of {symbol}"
    if kind is NoteClass.ANTICIPATION:
        return f"{name} anticipates the next chord"
    return f"{name} belongs to neither chord nor key" if kind is NoteClass.OUTSIDE else ""
