"""What makes a phrase worth learning: ten rules, written down before the phrases of the starting book were.

Common practice, no source: what a teacher would tell a student who asks why this phrase and not another. Each is a
check of one phrase that gives what is wrong with it, or nothing.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from tabterm.hand.review import findings
from tabterm.harmony.figures import bar_of, moves_in
from tabterm.harmony.melody import sounds, strength
from tabterm.harmony.spelling import harmony_in_force
from tabterm.piece.phrase_book.entry import label_of, whole
from tabterm.score.place import Span
from tests.build import PLAYER

STYLES = {
    *("old-time", "bluegrass", "blues", "fiddle-tune", "reel", "jig", "waltz", "gospel", "swing", "ragtime"),
    *("rock", "country", "fill", "klezmer"),
}


def line(phrase):
    """The highest notes, one after the other."""
    top = {}
    for note in sounds(phrase, whole(phrase)):
        top.setdefault(note.place, note)
    return [*top.values()]


def in_chord(phrase, note, *, blue=False):
    """Whether a note is a tone of the chord that sounds with it (a sixth or a ninth if the symbol says so)."""
    chord = harmony_in_force(phrase, note.place)
    if chord is None:
        return True
    above = (note.pitch - chord.root) % 12
    return above in chord.intervals or (blue and above in {3, 6, 10})


def it_lands(phrase):
    last = line(phrase)[-1]
    return None if in_chord(phrase, last) else "the last note is not a tone of its chord"


def it_arrives_in_time(phrase):
    last = line(phrase)[-1]
    return None if strength(phrase, last.place) else "the last note is not on a beat"


def it_fits_the_metre(phrase):
    count = len(phrase.measures) - phrase.measures[0].short
    fours = {*range(1, 5)}
    if count not in fours or any(measure.short for measure in phrase.measures[1:]):
        return "it is not one to four whole measures"
    opens = bar_of(phrase, whole(phrase))
    moves = moves_in(phrase, Span(opens, whole(phrase).end))
    return None if moves and moves[0].at == 0 else "no chord stands over its first measure"


def it_tells_the_chords(phrase):
    """Most notes on the beats are chord tones (or blue ones), and so is the first note of each chord."""
    blue = "blues" in label_of(phrase).tags
    notes = [note for note in line(phrase) if note.place >= bar_of(phrase, whole(phrase))]
    beats = [note for note in notes if strength(phrase, note.place)]
    told = sum(in_chord(phrase, note, blue=blue) for note in beats)
    if 3 * told < 2 * len(beats):
        return f"{told} of {len(beats)} notes on beats tell the chord"
    seen = []
    for note in notes:
        chord = harmony_in_force(phrase, note.place)
        if chord not in seen[-1:]:
            seen.append(chord)
            if not in_chord(phrase, note, blue=blue):
                return f"the first note over a chord, {note.place}, is not one of its tones"
    return None


def it_can_be_sung(phrase):
    leaps = [abs(b.pitch - a.pitch) for a, b in pairwise(line(phrase))]
    wide = sum(leap > 7 for leap in leaps)
    crosspicked = "crosspicking" in label_of(phrase).tags or "double-stop" in label_of(phrase).tags
    if max(leaps) > 12:
        return "it leaps more than an octave"
    return None if wide <= 2 or crosspicked else f"{wide} leaps of more than a fifth"


def it_has_a_shape(phrase):
    pitches = [note.pitch for note in sounds(phrase, whole(phrase))]
    high = max(pitches) - min(pitches)
    return None if 4 <= high <= 19 else f"its range is {high} semitones"


def it_breathes(phrase):
    """Its last note is at least as long as any other, so that the next can begin in peace."""
    notes = line(phrase)
    return (
        None if notes[-1].length >= max(note.length for note in notes[:-1]) else "it does not breathe at its end"
    )


def it_has_a_rhythm(phrase):
    lengths = {note.length for note in line(phrase)}
    quick = min(lengths)
    if len(lengths) < 2:
        return "all its notes are as long"
    return None if quick >= Fraction(1, 4) else "it has notes quicker than sixteenths"


def it_lies_under_the_hand(phrase):
    found = findings(phrase, PLAYER)
    if found:
        return f"the hand says: {found[0].message}"
    frets = [note.fret for measure in phrase.measures for event in measure.events for note in event.notes]
    tags = label_of(phrase).tags
    if "closed" in tags and 0 in frets:
        return "it is called closed and has an open course"
    return "it is called open and has no open course" if "open" in tags and 0 not in frets else None


def it_is_told(phrase):
    """It has a name, a source, a style, and a remark to learn from."""
    label = label_of(phrase)
    if not (label.name and label.source and 20 <= len(label.remark) <= 160):
        return "it has no name, source or remark"
    return None if STYLES & {*label.tags} else "it is of no style"


RULES = (
    it_lands,
    it_arrives_in_time,
    it_fits_the_metre,
    it_tells_the_chords,
    it_can_be_sung,
    it_has_a_shape,
    it_breathes,
    it_has_a_rhythm,
    it_lies_under_the_hand,
    it_is_told,
)
