"""New phrases as players ask for them and hear of them: wishes in words, candidates in words and as tab."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError, StorageError
from tabterm.formats.text.excerpt import excerpt
from tabterm.hand.invention import COUNT, Wanted, invented
from tabterm.hand.proposals import with_hands
from tabterm.harmony.explaining import DEGREE_WORDS
from tabterm.harmony.figures import figure_of
from tabterm.harmony.from_pool import Demand
from tabterm.harmony.inventing import WORDS, Way
from tabterm.harmony.lines import CONTOURS
from tabterm.harmony.phrases import phrase_of
from tabterm.harmony.pools import pool_named
from tabterm.harmony.rhythm_names import PATTERNS, lengths_of
from tabterm.score.operations.values import values_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from tabterm.hand.candidates import Candidate
    from tabterm.hand.player import Player
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score
    from tabterm.score.place import Span

ROWS = ("chord", "rhythm", "finger", "stroke")
"""What stands beside the courses of a candidate."""

PLAIN_WAYS = tuple(str(way) for way in Way if way not in {Way.OVER, Way.NEW})
"""Ways that need no more words."""

FORM = "how: ornamented, plainer ...; over Am7; or a scale: G major blues, falls, from 1 to 3"
"""How a wish is written where it is typed in one line."""


def way_named(name: str) -> Way:
    """The way of a name; raises ScoreError where there is none."""
    if name not in [*Way]:
        known = ", ".join(f"{way} ({WORDS[way]})" for way in Way)
        raise ScoreError(f"not a way to make phrases: '{name:.40}'", hint=f"one of: {known}")
    return Way(name)


def rhythm_of(text: str, metre: Metre) -> tuple[Fraction, ...]:
    """A rhythm in words: the name of one, or note values such as `4 8 8` with `-` before rests; () for "".

    Raises:
        ScoreError: It is neither, or no rhythm of this metre.
    """
    if not text.strip():
        return ()
    if text in PATTERNS:
        found = lengths_of(text, metre)
        if not found:
            raise ScoreError(f"{text} do not fill a measure of {metre}", hint="write note values, such as 4 8 8")
        return found
    return tuple(-value.length if rest else value.length for rest, value in values_of(text))


def phrases_of(
    score: Score,
    player: Player,
    span: Span,
    way: str,
    *,
    count: int = COUNT,
    seed: int = 0,
    chord: str = "",
    pool: str = "",
    rhythm: str = "",
    contour: str = "",
    start: str = "",
    target: str = "",
    limit: float = 1.0,
    also_known: bool = False,
) -> tuple[Candidate, ...]:
    """New phrases made of a span, the best first.

    Args:
        score: The score.
        player: Whose hand they are for.
        span: Where the phrase is, or is to be.
        way: A `Way`.
        count: How many at most.
        seed: Where chance begins; the same seed gives the same phrases.
        chord: For `over`.
        pool: The scale or chord that notes are of; "" for the one that explains the phrase.
        rhythm: For `new`: a name, or note values.
        contour: For `new`: how the line goes.
        start: For `new`: the degree of the pool that it begins on.
        target: For `new`: the one that it ends on.
        limit: The part of the player's limit that may be asked for.
        also_known: What stands in the phrase book may come too.

    Raises:
        ScoreError: Something is not understood, there is nothing to make a phrase of, or none can be played.
    """
    demand = Demand(rhythm_of(rhythm, score.metres[span.start.measure]), contour.strip(), start, target)
    scale = pool_named(pool) if pool.strip() else None
    known = None if also_known else is_in_book
    wanted = Wanted(way_named(way), count, seed, chord, scale, demand, limit, known)
    return invented(score, player, span, wanted)


def is_in_book(score: Score, span: Span) -> bool:
    """Whether the phrase book has the notes of a span, in any key; a book that cannot be read has none."""
    from tabterm.piece.phrase_book.book import Book
    from tabterm.piece.phrase_book.entry import identity

    figure = figure_of(score, span)
    with suppress(StorageError):
        return figure is not None and bool(Book().has([identity(figure)]))
    return False


def asked(text: str) -> dict[str, str]:
    """A wish in one line as the words of `phrases_of`.

    It is a way (`answer`), `over` and a chord, or a scale or chord with what else is wanted behind commas: a
    contour, `from` and `to` a degree, a rhythm.

    Raises:
        ScoreError: It is none of these.
    """
    first, *parts = (part.strip() for part in text.split(","))
    words = first.split()
    if len(words) == 1 and words[0] in PLAIN_WAYS:
        return {"way": words[0]}
    if words and words[0] == Way.OVER:
        return {"way": Way.OVER, "chord": " ".join(words[1:])}
    found = {"way": str(Way.NEW), "pool": " ".join(words[1:] if words and words[0] == Way.NEW else words)}
    if not found["pool"]:
        raise ScoreError("neither a way nor a scale", hint=f"write {FORM}")
    for part in parts:
        degrees = re.fullmatch(r"(?:from (\S+))? ?(?:to (\S+))?", part)
        if part in CONTOURS:
            found["contour"] = part
        elif degrees is not None:
            found |= {name: word for name, word in zip(("start", "target"), degrees.groups(), strict=True) if word}
        else:
            found["rhythm"] = part
    return found


def found_for(score: Score, player: Player, span: Span, text: str, *, seed: int = 0) -> tuple[Candidate, ...]:
    """New phrases for a wish in one line; raises ScoreError as `asked` and `phrases_of`."""
    wish = asked(text)
    return phrases_of(score, player, span, wish.pop("way"), seed=seed, **wish)  # type: ignore[arg-type]


def in_words(each: Candidate) -> str:
    """A candidate in a line: what was done, where it ends, how new and how hard it is."""
    phrase = phrase_of(each.score, each.span)
    end = ""
    if phrase is not None and phrase.targets:
        last = phrase.targets[-1]
        degree = DEGREE_WORDS.get(last.standing.to_chord, last.standing.to_chord)
        end = f"; ends on the {degree} of {last.symbol or 'the key'}"
    return f"{each.told}{end}; {each.apart:.0%} new, {each.use:.0%} of your limit"


def tab_of(each: Candidate, player: Player, *, width: int = 80, rows: Iterable[str] = ROWS) -> str:
    """The measures of a candidate as text tab, with the fingers and strokes that are proposed for it."""
    span = each.span
    last = min(span.end.measure - (span.end.offset == 0), len(each.score.measures) - 1)
    return excerpt(with_hands(each.score, player), span.start.measure, last, width=width, rows=tuple(rows))
