"""What a teacher says of a phrase: what to look at in its hard places, the way round them, how fast to go.

The advice is common practice, no source; the numbers in it are the program's own (`tabterm.hand`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.chords import chord_of
from tabterm.harmony.spelling import DEGREES, chord_before
from tabterm.piece.handout.phrases import measures_named
from tabterm.score.place import count_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.passages import Hard
    from tabterm.piece.handout.phrases import Phrase
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

MOST_WAYS = 3
"""Ways round a hard place that are named; tuned here."""

LEAST_POINTS = 0.3
"""A cause of effort with fewer points gets no advice; tuned here."""

_SHIFT = (
    "Look at the target fret before the hand moves, and move as soon as the last note has sounded. "
    "Practise the shift alone: only the note before it and the note after it."
)
_REACH = (
    "Turn the hand so that both fingers reach from the knuckle, keep the thumb loose, and let go as soon as the "
    "note has sounded. Never hold a wide reach."
)
_FINGERS = "Keep the fingers curved and low over the course. Play slowly enough that every note is equally loud."
_CROSSING = (
    "Play the same strokes on the open courses first. The forearm carries the pick across, not the wrist alone."
)

#: by cause of effort; common practice, no source
ADVICE: dict[str, str] = {
    **dict.fromkeys(("shift", "travel", "time", "hurry", "creep", "by-itself", "leave", "step"), _SHIFT),
    **dict.fromkeys(("reach", "stretch", "wide", "spread", "back", "over"), _REACH),
    **dict.fromkeys(("weak", "pace", "little", "ring", "away", "switch"), _FINGERS),
    **dict.fromkeys(
        ("roll", "hop", "jump", "flat", "crossing", "crowding", "across", "along"),
        "Put the fingers down without the pick first, until they find their places.",
    ),
    "course": _CROSSING,
    "return": (
        "Two strokes in the same direction: let the pick swing back over the strings in between, in time and "
        "without hurry."
    ),
    "index-free": "Put both fingers down together, as one grip, and lift them together.",
    "bend": "Bend with the help of the finger beside it, and listen for the pitch before you add speed.",
    "slide": "Keep the finger on the string all the way, and aim for the last fret.",
}
"""What to do about a cause of effort."""

NOTHING_NEAR = (
    "Nothing here comes near your limits at the written tempo. Listen to tone and time: let each note ring "
    "until the next one begins."
)


def where(score: Score, place: Place) -> str:
    """A place in a student's words: `measure 5, beat 2&`."""
    if place.measure >= len(score.measures):
        return "the end"
    named = measures_named(score, place.measure, place.measure)
    return f"{named.replace('pickup', 'the pickup')}, beat {count_name(score, place)}"


def from_to(score: Score, span: Span) -> str:
    """A stretch in the same words."""
    return f"{where(score, span.start)}, to {where(score, span.end)}"


def hard_places(score: Score, phrases: Sequence[Phrase]) -> dict[int, list[tuple[str, str]]]:
    """By the number of the phrase each hard place: where it is, and what to do.

    What a finding tells is not told again, and advice that an earlier phrase has given is named by that phrase.
    """
    given: dict[str, int] = {}
    places: dict[int, list[tuple[str, str]]] = {}
    for phrase in phrases:
        here = places[phrase.number] = []
        for finding, remedies in phrase.findings:
            here.append((_capital(where(score, finding.place)), _found(finding, remedies)))
        told = [finding.place for finding, _ in phrase.findings]
        passages = [each for each in phrase.passages if not any(place in each.span for place in told)]
        said: set[str] = set()
        for passage in passages:
            new = [words for words in facts(passage) if words not in said]
            if not new and said:
                continue
            said.update(new)
            for words in advice(passage):
                if words not in said:
                    first = given.setdefault(words, phrase.number)
                    new.append(words if first == phrase.number else f"Practise it as in phrase {first}.")
                    said.add(words)
            if new:
                here.append((_capital(from_to(score, passage.span)), " ".join(dict.fromkeys(new))))
    return places


def _found(finding: Finding, remedies: Sequence[Remedy]) -> str:
    """A finding, and the ways round it."""
    words = f"{_sentence(finding.message)}"
    ways = "; or ".join(remedy.label for remedy in remedies[:MOST_WAYS])
    if ways:
        words += f" A way round it: {ways}."
    if finding.code.startswith("reach"):
        words += f" {_REACH}"
    return words


def facts(passage: Hard) -> Iterator[str]:
    """The numbers of a hard passage in sentences."""
    for shift in passage.shifts:
        words = f"The hand moves from fret {shift.from_fret} to fret {shift.to_fret} in {shift.free_ms:.0f} ms"
        enough = shift.free_ms > shift.needed_ms * 1.05
        yield f"{words}{f', and needs {shift.needed_ms:.0f} ms' if enough else ': there is no time to spare'}."
    for used in passage.speeds:
        yield f"{_sentence(used.words)}"
    if passage.reach is not None:
        (one, other), (low, high) = passage.reach.fingers, passage.reach.frets
        yield (
            f"Fingers {one} and {other} reach from fret {low} to fret {high}: {passage.reach.reach_mm:.0f} mm, "
            f"comfortable up to {passage.reach.comfortable_mm:.0f} mm."
        )


def advice(passage: Hard) -> tuple[str, ...]:
    """What to do about the two greatest causes of a hard passage."""
    causes = (reason.term for reason in passage.reasons if reason.points >= LEAST_POINTS)
    words = dict.fromkeys(ADVICE[cause] for cause in causes if cause in ADVICE)
    return tuple(words)[:2]


def known_before(score: Score, phrase: Phrase) -> Iterator[str]:
    """Which measures are known from before."""
    for first, last, before in phrase.again:
        there = measures_named(score, before, before + last - first)
        verb, them = ("is", "it") if first == last else ("are", "them")
        here = _capital(measures_named(score, first, last))
        yield f"{here} {verb} the same as {there}: you know {them} already."


def chords(score: Score, phrase: Phrase) -> str:
    """The chords of a phrase in order, with the degree of each root in the key: `G (1), C (4)`; "" for none."""
    words: list[str] = []
    for index in range(phrase.first, phrase.last + 1):
        marks = score.measures[index].chords
        opens = bool(marks) and not marks[0].offset
        before = chord_before(score, index) if index == phrase.first and not opens else None
        for symbol in filter(None, (before, *(mark.symbol for mark in marks))):
            chord = chord_of(score, symbol)
            root = None if chord is None else chord.root
            word = symbol if root is None else f"{symbol} ({DEGREES[(root - score.keys[index].tonic) % 12]})"
            if words[-1:] != [word]:
                words.append(word)
    return ", ".join(words)


def _sentence(words: str) -> str:
    return _capital(words).rstrip(".") + "."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
