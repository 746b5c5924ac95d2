"""A piece: a score and whose hands it is for. What a command does with a file, a script does with this."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, ScoreError
from tabterm.piece.intake import fitted_to, take_in
from tabterm.piece.targets import target_of
from tabterm.score.kinds import ChordNames
from tabterm.score.operations import delete_measures
from tabterm.score.place import Span, display_number, measure_index
from tabterm.score.report import NOTHING, Report
from tabterm.storage.names import check_free

if TYPE_CHECKING:
    import os
    from collections.abc import Sequence

    from tabterm.hand.candidates import Candidate
    from tabterm.hand.finding import Finding
    from tabterm.hand.passages import Hard
    from tabterm.hand.player import Player
    from tabterm.harmony.explaining import Explained
    from tabterm.score.model import Score

EMPTY_MEASURES = 4
MOST_EMPTY_MEASURES = 10_000
"""Measures that a new piece may begin with; tuned here, far over any tune and far under what a file may hold."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A score and its player; every method gives an answer or a new piece, and changes nothing.

    Attributes:
        score: As it stands.
        player: Whose hands it is for.
        report: What was left out, changed or guessed when it was read and fitted to the neck.
    """

    score: Score
    player: Player
    report: Report = NOTHING

    def __repr__(self) -> str:
        title, count = self.score.head.title or "untitled", len(self.score.measures)
        return f"<piece '{title}', {count} measures, {self.score.head.instrument.name}>"

    # What the hands do

    def fingered(self, *, keep_courses: bool = True) -> Piece:
        """With a finger proposed for every note that has none, and strokes.

        Args:
            keep_courses: Leave every note on its course; else notes move where that is easier.
        """
        from tabterm.hand.proposals import with_hands

        return replace(self, score=with_hands(self.score, self.player, keep_courses=keep_courses))

    def stroked(self, school: str | None = None) -> Piece:
        """With a pick stroke proposed for every struck note; `school` names another school of picking for it.

        Raises:
            ScoreError: No such school.
        """
        from tabterm.hand.schools import by_school, school_named
        from tabterm.hand.strokes import with_proposals

        score = self.score if school is None else by_school(self.score, school_named(school))
        return replace(self, score=with_proposals(score, self.player))

    def findings(self) -> tuple[Finding, ...]:
        """What the hands cannot do or find hard, in score order; each has a place, a severity and a message."""
        from tabterm.hand.review import findings

        return findings(self.stroked().score, self.player)

    def hard(self, count: int = 3) -> tuple[Hard, ...]:
        """The hardest passages, the hardest first, each with the reasons and a drill."""
        from tabterm.hand.passages import hardest

        return hardest(self.fingered().score, self.player, count)

    def explained(self, first: int | None = None, last: int | None = None) -> tuple[Explained, ...]:
        """What a teacher says of each phrase, or of those between two measures as a player counts them.

        Raises:
            ScoreError: No such measure.
        """
        from tabterm.harmony.explaining import explained

        return explained(self.score, span_of(self.score, first, last))

    def invented(
        self, way: str, first: int | None = None, last: int | None = None, **wanted: Any
    ) -> tuple[Candidate, ...]:
        """New phrases made of the measures between two numbers as a player counts them, the best first.

        Each has the whole `score` with it in place, its `span`, `told`, `use` and `apart`.

        Args:
            way: `reordered`, `repitched`, `over`, `ornamented`, `plainer`, `extended`, `answer` or `new`.
            first: The first measure; None for the first of all.
            last: The last one; None for the last of all.
            wanted: By the words of the command: `count`, `seed`, `chord`, `pool`, `rhythm`, `contour`, `start`,
                `target`, and `limit` as a share.

        Raises:
            ScoreError: Something is not understood, or no phrase can be made that can be played.
        """
        from tabterm.piece.inventing import phrases_of

        span = span_of(self.score, first, last) or Span.of_measures(0, len(self.score.measures) - 1)
        return phrases_of(self.score, self.player, span, way, **wanted)

    def fitted(self, *, instrument: str | None = None, key: str | None = None) -> Piece:
        """Fitted to the neck anew: to another instrument, or in another key (`easiest` chooses one).

        `report` of the new piece says what had to change.

        Raises:
            ScoreError: No such instrument or key.
        """
        fitted = fitted_to(self.score, self.player, instrument=instrument, key=key)
        return Piece(fitted.score, self.player, fitted.report)

    # Parts and files

    def measures(self, first: int | None, last: int | None) -> Piece:
        """The measures between two numbers as a player counts them, both included, as a piece of their own.

        None stands for the first one, or the last one.

        It counts its measures from 1 anew, with a pickup from 0.

        Raises:
            ScoreError: No such measure.
        """
        span = span_of(self.score, first, last)
        if span is None:
            return self
        return replace(self, score=cut_out(self.score, span.start.measure, span.end.measure - 1))

    def with_values(self, measure: int, values: str) -> Piece:
        """With other note values in a measure, as in `with_values(5, "4 8 8")`.

        Args:
            measure: Its number as a player counts, a pickup is 0.
            values: Note values in order, beginning again until every note has one; `-4` is a rest.

        Raises:
            ScoreError: No such measure, or the values do not fill it.
        """
        from tabterm.score.operations import set_values

        span = span_of(self.score, measure, measure)
        return self if span is None else replace(self, score=set_values(self.score, span.start.measure, values))

    def text(self, *, width: int = 80, rows: Sequence[str] | None = None) -> str:
        """As text tab in lines of at most `width` characters, with the rows named beside the courses.

        Raises:
            FormatError: The width is out of range, or there is no such row.
        """
        from tabterm.formats.text import DEFAULT_ROWS, write

        return write(self.score, width=width, rows=DEFAULT_ROWS if rows is None else rows).decode()

    def excerpt(
        self,
        first: int | None = None,
        last: int | None = None,
        *,
        width: int = 80,
        rows: Sequence[str] | None = None,
    ) -> str:
        """Some measures as text tab to paste into a message: no head, no marks of proposals.

        Args:
            first: Its first measure as a player counts them; None for the first of all.
            last: Its last one; None for the last of all.
            width: Characters of a line at most.
            rows: Rows beside the courses, by name; None for chords, rhythm, fingers and strokes.

        Raises:
            FormatError: The width is out of range, or there is no such row.
            ScoreError: No such measure.
        """
        from tabterm.formats.text.excerpt import CLEAN_ROWS, excerpt

        span = span_of(self.score, first, last) or Span.of_measures(0, len(self.score.measures) - 1)
        shown = CLEAN_ROWS if rows is None else rows
        bounds = span.start.measure, span.end.measure - 1
        return excerpt(self.score, *bounds, width=width, rows=shown)

    def write(self, path: str | os.PathLike[str], *, force: bool = False, **told: Any) -> Report:
        """Write the piece to a file in the format that its ending names; the report says what that cannot carry.

        Args:
            path: Where to.
            force: Write over a file that exists.
            told: What that format may be told, such as `view="tab"` for MusicXML, `parts="tab"` for a sheet.

        Raises:
            FormatError: The ending names no target, or one that cannot be told that.
            StorageError: The file exists, or the disk refused.
        """
        file = Path(path)
        target = target_of(file)
        check_free(file, force=force)
        shown = self.fingered() if target.printed else self.stroked() if target.heard else self
        return target.write(file, shown.score, **({"force": force} if target.printed else {}), **told)

    def render(
        self,
        path: str | os.PathLike[str],
        *,
        measures: tuple[int, int] | None = None,
        tempo: int = 100,
        loop: int = 1,
        force: bool = False,
        **told: Any,
    ) -> None:
        """Write what is heard to an audio file.

        Args:
            path: Where to: `.wav`, `.flac`, `.ogg` or `.mp3`.
            measures: First and last measure as a player counts them; None for all, with their repeats.
            tempo: Percent of the written tempo, 20 to 200.
            loop: How often.
            force: Write over a file that exists.
            told: How it is played, by the words of `Practice`: `count_in`, `click`, `parts`, `style` ...

        Raises:
            FormatError: The ending names no audio file.
            ScoreError: There are no such measures, or there is nothing to hear.
            StorageError: The file exists, or the disk refused.
        """
        from tabterm.piece import audio

        file = Path(path)
        audio.check_ending(file)
        check_free(file, force=force)
        span = None if measures is None else span_of(self.score, *measures)
        audio.render(file, self.stroked().score, span=span, percent=tempo, turns=loop, **told)


def opened(
    path: str | os.PathLike[str],
    player: Player,
    *,
    chord_names: str | None = None,
    ending: str = "",
    data: bytes | None = None,
    **choice: int | str | None,
) -> Piece:
    """Open a file in any format that can be read; a line for another instrument is fitted to the neck.

    Args:
        path: The file.
        player: Whose hands it is for.
        chord_names: `english` or `german`, of a text tab that does not say it; None: German if an H is there.
        ending: The ending of the format that it is in; "": its own.
        data: What it holds, where that has been read.
        choice: What to read of a file that holds several tunes or parts, and how to fit it: `tune`, `track`,
            `channel`, `part`, `voice`, `grid`, `pickup`, `instrument`, `key`.

    Raises:
        FormatError: The file is not what its ending says, there is nothing to choose in it, or no such names.
        StorageError: It cannot be opened.
    """
    try:
        names = ChordNames(chord_names) if chord_names is not None else None
    except ValueError:
        known = " or ".join(ChordNames)
        raise FormatError(f"unknown names of chords: '{chord_names}'", hint=f"say {known}") from None
    taken = take_in(Path(path), player, choice, chord_names=names, ending=ending, data=data)
    return Piece(taken.score, player, taken.report)


def new(player: Player, *, instrument: str = "mandolin", measures: int = EMPTY_MEASURES, **head: Any) -> Piece:
    """A new piece of empty measures; `head` sets fields of its head, such as `title` or `key`.

    Raises:
        ScoreError: The instrument is unknown, or the number of measures or a field of the head cannot be.
    """
    return Piece(blank(instrument=instrument, measures=measures, **head), player)


def blank(*, instrument: str = "mandolin", measures: int = EMPTY_MEASURES, **head: Any) -> Score:
    """A score of measures of rest; raises ScoreError as `new`."""
    from tabterm.instrument import preset
    from tabterm.score.model import Head, Score
    from tabterm.score.operations.draft import refusing
    from tabterm.score.operations.timeline import rest_measure
    from tabterm.values import field_names

    if not 1 <= measures <= MOST_EMPTY_MEASURES:
        raise ScoreError(f"cannot begin with {measures} measures", hint=f"1 to {MOST_EMPTY_MEASURES}")
    words = ", ".join(f"{name}={value!r:.40}" for name, value in head.items())
    with refusing(f"cannot begin a score with {words}", hint=f"one of: {', '.join(field_names(Head))}"):
        beginning = Head(instrument=preset(instrument), **head)
    return Score(head=beginning, measures=(rest_measure(beginning.metre),) * measures)


def span_of(score: Score, first: int | None, last: int | None) -> Span | None:
    """The measures between two players' numbers, both included; None for the whole score.

    Raises:
        ScoreError: No such measure, or the last stands before the first.
    """
    if first is None and last is None:
        return None
    lowest, highest = display_number(score, 0), display_number(score, len(score.measures) - 1)
    indices = []
    for number in (lowest if first is None else first, highest if last is None else last):
        index = measure_index(score, number)
        if index is None:
            raise ScoreError(f"no measure {number}", hint=f"{lowest} to {highest}")
        indices.append(index)
    if indices[0] > indices[1]:
        raise ScoreError("the last measure comes before the first", hint="give the smaller number first")
    return Span.of_measures(*indices)


def cut_out(score: Score, first: int, last: int) -> Score:
    """The measures from index `first` to `last` as a score of their own, in the metre, key and tempo they have."""
    piece = score
    if last + 1 < len(piece.measures):
        piece = delete_measures(piece, last + 1, len(piece.measures) - 1)
    return delete_measures(piece, 0, first - 1) if first else piece
