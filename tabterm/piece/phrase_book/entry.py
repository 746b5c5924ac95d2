"""A phrase as the book keeps it: a small score of its own, what the player says of it, and what can be looked for.

In a `.tabterm` file the name is the title, the remark the foreword; tags stand in a credit line of their own that
begins with `Tags:`, the other credit lines are the source.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.figures import bar_of, figure_of
from tabterm.harmony.phrases import phrase_of
from tabterm.harmony.spelling import chord_in_force
from tabterm.score.operations import copy, paste, set_chord, set_pickup
from tabterm.score.operations.draft import refusing
from tabterm.score.operations.timeline import rest_measure
from tabterm.score.place import Place, Span, describe, lead_in
from tabterm.score.query import distance, end_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from tabterm.hand.player import Player
    from tabterm.harmony.figures import Figure, Move
    from tabterm.score.model import Score

LONGEST = 16
"""Measures of a phrase: four lines of four."""

MOST_TAGS = 20
TAGS = "Tags:"
_TAG = re.compile(r"[\w'+-]{1,40}$")

LEVELS = {"easy": 45.0, "medium": 60.0, "advanced": 80.0, "hard": 10_000.0}  #: percent; tuned here
"""What a phrase uses of its player at its own tempo, at most, to be called so."""

AT_LEAST = {"hard": 81.0, "impossible": 101.0}  #: percent; definition: above `advanced`, and above the limit
"""What a phrase with a finding uses of its player: a reach that is too wide is not easy because it is slow."""


@dataclass(frozen=True, slots=True)
class Label:
    """What a player says of a phrase.

    Attributes:
        name: What it is called.
        tags: Words to find it by, each once, small.
        remark: What it is good for.
        source: Whose it is, or where it comes from.
    """

    name: str = ""
    tags: tuple[str, ...] = ()
    remark: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A phrase in the book, without its music.

    Attributes:
        number: Its number in the book, never given twice.
        label: What the player says of it.
        chords: The chords that it is played over, as numerals: `ii V I`; "" for none.
        degrees: Of its line, in its key: `5 6 1 3`.
        contour: How the line goes, in words.
        rhythm: Note values of the line: `8 8 4 -4 2`.
        rhythm_name: What players call the rhythm of most measures; "" for none.
        metre: As in `4/4`.
        key: Where it was kept.
        measures: How many, its pickup not counted.
        tempo: As in `4=104`.
        percent: What it uses of the player at that tempo, 100 at the limit; as `hard` says.
    """

    number: int
    label: Label
    chords: str
    degrees: str
    contour: str
    rhythm: str
    rhythm_name: str
    metre: str
    key: str
    measures: int
    tempo: str
    percent: float

    @property
    def level(self) -> str:
        """How hard it is, in a word."""
        return next(word for word, most in LEVELS.items() if self.percent <= most)


def tags_of(words: Iterable[str]) -> tuple[str, ...]:
    """Tags from words, each once.

    Raises:
        ScoreError: A word cannot be one, or there are too many.
    """
    tags = tuple(dict.fromkeys(word.strip().lstrip("#").casefold() for word in words))
    wrong = next((tag for tag in tags if not _TAG.match(tag)), None)
    if wrong is not None:
        raise ScoreError(f"not a tag: '{wrong:.20}'", hint="one word of letters, digits and -")
    if len(tags) > MOST_TAGS:
        raise ScoreError(f"{len(tags)} tags are too many", hint=f"at most {MOST_TAGS}")
    return tags


def said(text: str) -> Label:
    """A name with its tags as they are typed in one line: `Evening Run #swing #ending`."""
    words = text.split()
    name = " ".join(word for word in words if not word.startswith("#"))
    return Label(name, tags_of(word for word in words if word.startswith("#")))


def label_of(score: Score) -> Label:
    """What the head of a phrase's score says."""
    tags = [line for line in score.head.credits if line.startswith(TAGS)]
    source = "; ".join(line for line in score.head.credits if not line.startswith(TAGS))
    words = " ".join(line.removeprefix(TAGS) for line in tags).replace(",", " ").split()
    return Label(score.head.title, tags_of(words), score.head.foreword, source)


def labelled(score: Score, label: Label) -> Score:
    """A phrase's score with a label in its head; raises ScoreError where that is too long."""
    credits_ = tuple(filter(None, (label.source, f"{TAGS} {', '.join(label.tags)}" if label.tags else "")))
    with refusing("the name, the remark or the source is too long", hint="write less"):
        return score.with_(
            head=score.head.with_(title=label.name, credits=credits_, foreword=label.remark, hand=None)
        )


def cut_out(score: Score, span: Span) -> Score:
    """A span as a score of its own: with a pickup where it begins in a measure, and with the chord in force.

    Raises:
        ScoreError: It is silent, longer than `LONGEST` measures, or its metre changes.
    """
    end = min(span.end, end_of(score))
    first, last = span.start.measure, end.measure - (end.offset == 0)
    if last - first >= LONGEST + 1:
        raise ScoreError("too long for a phrase", hint=f"at most {LONGEST} measures; select less")
    if len(set(score.metres[first : last + 1])) > 1:
        place = describe(score, span.start)
        raise ScoreError(
            "the metre changes in this phrase", place=place, hint="keep each part as a separate phrase"
        )
    if figure_of(score, Span(span.start, end)) is None:
        raise ScoreError("no notes here", place=describe(score, span.start), hint="select some notes")
    lead = span.start.offset + lead_in(score, first)
    metre = score.metres[first]
    head = score.head.with_(
        metre=metre, key=score.keys[first], tempo=score.tempos[first], school=score.schools[first], hand=None
    )
    piece = paste(
        score.with_(head=head, measures=(rest_measure(metre),)),
        Place(0, lead),
        copy(score, Span(span.start, end)),
        chords=True,
    )
    if lead:
        piece = set_pickup(piece, metre.length - lead)
    symbol = chord_in_force(score, bar_of(score, span))
    bar = bar_of(piece, whole(piece))
    return piece if symbol is None or chord_in_force(piece, bar) else set_chord(piece, bar, symbol)


def whole(score: Score) -> Span:
    """All of a score."""
    return Span(Place(0), end_of(score))


def kept(phrase: Score) -> Score:
    """A score as a phrase of the book, without what belongs to a piece alone: sections, repeats, other keys.

    Raises:
        ScoreError: As `cut_out`.
    """
    return labelled(cut_out(phrase, whole(phrase)), label_of(phrase))


def figure(phrase: Score) -> Figure:
    """The figure of a phrase's score; raises ScoreError where it is silent."""
    found = figure_of(phrase, whole(phrase))
    if found is None:
        raise ScoreError("no notes in this phrase")
    return found


def changes(moves: Sequence[Move]) -> str:
    """Chords with the quarters from the first bar line at which they begin: `0:I 4:V`."""
    return " ".join(f"{move.at}:{move.numeral}" for move in moves)


def steps(moves: Sequence[Move]) -> str:
    """Chords by the steps from root to root, whatever the key: `M 7M` for I V and for IV I."""
    first = moves[0].root if moves else 0
    return " ".join(f"{(move.root - first) % 12}{move.letter}" for move in moves)


def length_of(phrase: Score) -> Fraction:
    """Quarters of the measures behind its pickup."""
    return distance(phrase, bar_of(phrase, whole(phrase)), end_of(phrase))


def facts(phrase: Score, player: Player) -> dict[str, str | int | float]:
    """What can be looked for of a phrase's score, by the names of the columns."""
    from tabterm.hand.proposals import with_hands

    told, label, head = figure(phrase), label_of(phrase), phrase.head
    heard = phrase_of(phrase, whole(phrase))
    rhythm_name = heard.rhythm if heard else ""
    columns: dict[str, str | int | float] = {
        "name": label.name,
        "tags": "".join(f" {tag}" for tag in label.tags) + " ",
        "remark": label.remark,
        "source": label.source,
        "kept": datetime.now(UTC).isoformat(timespec="seconds"),
        "identity": identity(told),
        "chords": told.chords,
        "changes": changes(told.moves),
        "steps": steps(told.moves),
        "length": str(length_of(phrase)),
        "degrees": told.degrees,
        "contour": told.contour,
        "rhythm": told.rhythm,
        "rhythm_name": rhythm_name,
        "metre": str(head.metre),
        "key": str(head.key),
        "measures": len(phrase.measures) - phrase.measures[0].short,
        "tempo": str(head.tempo),
        "percent": _percent(with_hands(phrase, player), player),
    }
    words = (label.name, *label.tags, label.remark, label.source, told.chords, told.contour, rhythm_name)
    columns["words"] = " ".join(words).casefold()
    return columns | measured(told)


def _percent(phrase: Score, player: Player) -> float:
    """What a phrase uses of a player; a place that is hard or impossible at any tempo counts by `AT_LEAST`."""
    from tabterm.hand.passages import hardest
    from tabterm.hand.review import findings

    hard = hardest(phrase, player, 1)
    least = [AT_LEAST.get(each.severity.value, 0.0) for each in findings(phrase, player)]
    return min(max([round(100 * each.use, 1) for each in hard] + least, default=0.0), LEVELS["hard"])


def measured(told: Figure) -> dict[str, int]:
    """What likeness is measured by, by the names of the columns."""
    curve = {f"c{number}": height for number, height in enumerate(told.curve)}
    return curve | {f"d{number}": share for number, share in enumerate(told.shares)}


def identity(told: Figure) -> str:
    """The identity of a figure as a text."""
    return " ".join(f"{tone.at},{tone.length},{tone.above}" for tone in told.identity)
