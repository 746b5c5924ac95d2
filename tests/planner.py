"""The fewest keys that a practised player types a score with, worked out from the rules of the editor alone."""

from __future__ import annotations

from typing import NamedTuple

from tabterm.score.duration import TRIPLET, Duration
from tabterm.score.kinds import Direction
from tabterm.score.place import Place, display_number
from tabterm.score.query import attack_of, distance, move_by, pieces_of
from tabterm.workspace.commands.left_hand import BENDS

COURSES = "asdf"
SLURS = {"struck": "", "hammer": "h", "pull": "p", "slide": "/"}
VALUES = {1: "w", 2: "i", 4: "q", 8: "e", 16: "y", 32: "z"}
STEPS = [
    step
    for value in VALUES
    for dots in (0, 1)
    for step in (Duration(value, dots), *([] if dots else [Duration(value, 0, TRIPLET)]))
]
MOST_HOLDS = 8
OFF = {None: "", Direction.DOWN: "_", Direction.UP: "__"}


class State(NamedTuple):
    """What the next key finds: the course, the step (None: unknown), whether a rhythm is typed to."""

    course: int = 1
    step: Duration | None = Duration(8)
    model: int | None = None


class Attack(NamedTuple):
    """A note or double stop: where, its pieces, how long it lasts with them."""

    place: Place
    pieces: list
    length: object

    @property
    def event(self):
        return self.pieces[0][1]


def keys_for(score, *, exact=False):
    """The keys that type the notes of a score into rests, from its start; `exact`: with its very note values."""
    attacks = attacks_of(score)
    tables = [{} for _ in range(len(attacks) + 1)]
    tables[0][State(), Place(0)] = (0, None)
    for number, attack in enumerate(attacks):
        before = attacks[number - 1] if number else None
        end = move_by(score, attack.place, attack.length)
        for (state, at), (count, way) in tables[number].items():
            found = [(1, keys, after, end) for keys, after in options(score, before, at, attack, state, exact)]
            found += repeats(score, attacks, number, at, state)
            for taken, keys, after, behind in found:
                table, better = tables[number + taken], count + len(keys)
                if (after, behind) not in table or better < table[after, behind][0]:
                    table[after, behind] = (better, (way, keys))
    parts, way = [], min(tables[-1].values(), key=lambda each: each[0])[1]
    while way is not None:
        way, keys = way
        parts.append(keys)
    return [key for keys in reversed(parts) for key in keys]


def repeats(score, attacks, number, at, state):
    """Ways to write measures again by their numbers: attacks they have, keys, the state and place behind them."""
    first = attacks[number].place.measure
    if state.model is not None or (number and attacks[number - 1].place.measure == first):
        return
    here = Place(first)
    moves = [] if at == here else ["tab"] * (first - at.measure)
    if at > here:
        return
    for start in range(first):
        count = 0
        while start + count < first and first + count < len(score.measures):
            one, other = score.measures[start + count], score.measures[first + count]
            if not alike(one, other) or (not count and not other.events[0].is_rest and other.leans):
                break
            count += 1
            behind = first + count
            if behind < len(score.measures) and score.measures[behind].leans:
                continue
            low, high = (str(display_number(score, index)) for index in (start, start + count - 1))
            numbers = low if count == 1 else f"{low}-{high}"
            taken = sum(first <= attack.place.measure < behind for attack in attacks)
            yield taken, [*moves, "ctrl+t", *numbers, "enter"], state, Place(behind)


def alike(one, other):
    """Whether two measures have the same music, whatever is proposed or set of the hands."""
    return [plain_event(event) for event in one.events] == [plain_event(event) for event in other.events]


def plain_event(event):
    """An event without fingers and strokes."""
    notes = tuple(note.with_(proposed_finger=None, finger=None) for note in event.notes)
    return event.with_(notes=notes, proposed_stroke=None, stroke=None, proposed_tremolo=False)


def attacks_of(score):
    """Every note or double stop that is not merely held on."""
    found = []
    for index, measure in enumerate(score.measures):
        for offset, event in measure.timed():
            place = Place(index, offset)
            if event.notes and attack_of(score, place)[0] == place:
                pieces = pieces_of(score, place)
                found.append(Attack(place, pieces, sum(each.length for _, each in pieces)))
    return found


def options(score, before, at, attack, state, exact):
    """Ways to type one attack: keys, and the state behind it."""
    for notes, course in note_keys(attack.event, state.course):
        yield from ways_of(score, before, at, attack, state, notes, course, exact)


def ways_of(score, before, at, attack, state, notes, course, exact):
    """Ways to type one attack whose notes are typed so."""
    index = attack.place.measure
    if state.model is not None:
        if rhythm_of(score, index) == rhythm_of(score, state.model):
            yield notes, State(course, None, state.model)
        begins_at_once = not rhythm_of(score, state.model)[0][0]
        if before.place.measure != index and not attack.place.offset and begins_at_once:
            yield from plain(score, attack.place, attack, State(state.course, None), notes, course, exact)
        return
    yield from plain(score, at, attack, state, notes, course, exact)
    if can_repeat(before, attack, exact) and same(before.event, attack.event):
        for moves in moves_to(score, at, attack.place, state.step):
            yield [*moves, "n"], State(state.course, state.step)
    if can_repeat(before, attack, exact) and shape(before.event) == shape(attack.event):
        top = attack.event.notes[0].course
        to = [COURSES[top - 1]] * (top != state.course)
        for moves in moves_to(score, at, attack.place, state.step):
            yield [*moves, *to, "G"], State(top, state.step)
    starts = index and before is not None and before.place.measure < index and at == Place(index)
    if starts and rhythm_of(score, index) and rhythm_of(score, index) == rhythm_of(score, index - 1):
        yield ["T", *notes], State(course, None, index - 1)


def plain(score, at, attack, state, notes, course, exact):
    """An attack typed with its value, as one step, held on, dotted or tied."""
    for first in [attack.pieces[0][1].duration] if exact else STEPS:
        change = list(switch(state.step, first))
        for moves in moves_to(score, at, attack.place, first):
            for more, last in lengthened(attack, first, exact):
                yield [*change, *moves, *notes, *more], State(course, last)
        if change and at != attack.place and state.step is not None:
            for moves in moves_to(score, at, attack.place, state.step):
                for more, last in lengthened(attack, first, exact):
                    yield [*moves, *change, *notes, *more], State(course, last)


def lengthened(attack, first, exact):
    """Ways to make a note of one step as long as an attack: keys and the step behind them."""
    if exact:
        step, keys = first, []
        for _, piece in attack.pieces[1:]:
            keys += [*switch(step, piece.duration), "="]
            step = piece.duration
        yield keys, step
        return
    if first.length == attack.length:
        yield [], first
    elif first.length * 3 / 2 == attack.length and not first.dots and not first.tuplet:
        yield ["."], first
    for step in STEPS:
        holds = (attack.length - first.length) / step.length
        if holds.denominator == 1 and 0 < holds <= MOST_HOLDS:
            yield [*switch(first, step), *"-" * int(holds)], step


def switch(old, new):
    """The keys from one step to another."""
    fresh = VALUES[new.value] + "," * new.dots + "t" * (new.tuplet is not None)
    if old is None or old.value != new.value:
        return fresh
    turned = "," * (old.dots != new.dots) + "t" * (old.tuplet != new.tuplet)
    return min(turned, fresh, key=len)


def moves_to(score, at, place, step):
    """Ways to come from one place to a later one over rests: by rests of the step, measures and beats."""
    if at == place:
        yield []
        return
    if step is not None and distance(score, at, place) % step.length == 0:
        yield ["r"] * int(distance(score, at, place) / step.length)
    tabs, here = ["tab"] * (place.measure - at.measure), Place(place.measure) if place.measure > at.measure else at
    if here == place:
        yield tabs
    elif step is not None and distance(score, here, place) % step.length == 0:
        yield [*tabs, *["r"] * int(distance(score, here, place) / step.length)]
    lead = score.metres[place.measure].length - score.measures[place.measure].length if not place.measure else 0
    beats = [beat - lead for beat in score.metres[place.measure].beats]
    if place.offset in beats:
        yield [*tabs, *["ctrl+right"] * sum(here.offset < beat <= place.offset for beat in beats)]


def note_keys(event, course):
    """Ways to type the notes of an event and their marks: the keys, and the course where the cursor is then."""
    for first in event.notes:
        keys, here = [], course
        for note in event.grace:
            keys += [*to_course(here, note.course), "`", *fret_keys(note)]
            here = note.course
        keys += [*to_course(here, first.course), *fret_keys(first), *marks(first)]
        here, taken = first.course, {first.course}
        for note in sorted(event.notes, key=lambda each: abs(each.course - first.course)):
            if note is first:
                continue
            step = 1 if note.course > here else -1
            free = here
            while free in taken:
                free += step
            near = free == note.course
            keys += ["+" if step > 0 or not near else "A", *([] if near else to_course(here, note.course))]
            keys += [*fret_keys(note), *marks(note)]
            here = here if near else note.course
            taken.add(note.course)
        yield [*keys, *">" * event.accent, *":" * event.staccato, *"%" * event.tremolo], here


def marks(note):
    """The keys of what is said of a note when it stands."""
    return [
        *"b" * (BENDS.index(note.bend) if note.bend else 0),
        *"~" * note.vibrato,
        *"o" * note.ring,
        *OFF[note.slide_out],
    ]


def to_course(old, new):
    """The key to a course, unless the cursor is there."""
    return [COURSES[new - 1]] * (old != new)


def fret_keys(note):
    """The keys of one note: how it is reached, the tens, the digit."""
    return [*SLURS[note.reached.value], *"x" * note.muted, *"^" * (note.slide_in is not None),
            *"'" * (note.fret // 10), str(note.fret % 10)]  # fmt: skip


def rhythm_of(score, index):
    """Offsets and lengths of the notes that begin in a measure, and its length."""
    measure, found = score.measures[index], []
    for offset, event in measure.timed():
        place = Place(index, offset)
        if event.notes and attack_of(score, place)[0] == place:
            pieces = pieces_of(score, place)
            found.append((offset, sum(each.length for _, each in pieces), pieces[0][1].duration, measure.length))
    return found


def bare(event):
    """The event as it is written again: struck, whatever was proposed."""
    notes = tuple(note.with_(reached="struck", tied=False, proposed_finger=None) for note in event.notes)
    return event.with_(notes=notes, proposed_stroke=None, stroke=None, proposed_tremolo=False)


def can_repeat(before, attack, exact):
    """Whether an attack is struck and lasts as the one before; `exact`: as one value."""
    return (
        before is not None
        and all(note.is_struck for note in attack.event.notes)
        and before.length == attack.length
        and not (exact and len(before.pieces) + len(attack.pieces) > 2)
    )


def same(before, event):
    """Whether an event is the one before, written again."""
    return bare(before).with_(duration=event.duration) == bare(event)


def shape(event):
    """The event from its highest course on, for one without grace notes; else the event itself."""
    event = bare(event)
    if event.grace:
        return event
    top = event.notes[0].course
    notes = [(note.course - top, note.with_(course=1, finger=None, course_set=False)) for note in event.notes]
    return notes, event.accent, event.staccato, event.tremolo, event.roll


def chord_keys(score):
    """The keys of the chord row, from the first measure to the last symbol.

    A symbol behind another one ends that and goes to the next measure by itself, a space goes to the next beat.
    """
    keys, at = ["c"], Place(0)
    typing = False
    for index, measure in enumerate(score.measures):
        lead = score.metres[index].length - measure.length if not index else 0
        beats = [beat - lead for beat in score.metres[index].beats]
        for mark in measure.chords:
            for number in range(index - at.measure):
                by_itself = typing and index - at.measure == 1 and not mark.offset and mark.symbol[0] in "ABCDEFGH"
                keys += [] if by_itself and not number else ["tab"]
                typing = False
            here = at.offset if at.measure == index else 0
            for beat in beats:
                if here < beat <= mark.offset:
                    keys.append("space" if typing else "ctrl+right")
                    typing = False
            keys += list(mark.symbol)
            typing, at = True, Place(index, mark.offset)
    return [*keys, "enter"]
