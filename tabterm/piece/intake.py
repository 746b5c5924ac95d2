"""Taking a file in: read, and where it holds pitches for another instrument, fitted to the neck.

The editor and the commands do this alike, so that a file is the same score wherever it is opened.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.dataclass import dataclass
from tabterm.instrument import preset
from tabterm.score.line import Line
from tabterm.score.report import Kind, Remark, Report

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from tabterm.hand.player import Player
    from tabterm.score.kinds import ChordNames
    from tabterm.score.model import Score

WISHES = ("instrument", "key")
"""What may be asked of the fitting; all other words choose the music in the file."""


@dataclass(frozen=True, slots=True)
class Intake:
    """A file taken in.

    Attributes:
        score: As it is to be played.
        report: What the reader could not carry over, or proposed, and what fitting it to the neck did.
    """

    score: Score
    report: Report


def take_in(
    path: Path,
    player: Player,
    choice: Mapping[str, int | str | None] | None = None,
    *,
    chord_names: ChordNames | None = None,
    ending: str = "",
    data: bytes | None = None,
) -> Intake:
    """Read a file, and fit it where it is for another instrument, or where another instrument or key is asked for.

    Args:
        path: The file.
        player: Whose hand it is fitted for.
        choice: By word, what to read of it (`tune`, `track` ...), and `WISHES`; None: not said.
        chord_names: How the player names chords, which a text tab that does not say it is read by.
        ending: The ending of the format that it is in; "": its own.
        data: What it holds, where that has been read.

    Raises:
        TabtermError: The file cannot be read, or has no such tune, track or part; no such instrument or key.
    """
    words = {word: value for word, value in (choice or {}).items() if value is not None}
    instrument = words.pop("instrument", None)
    key = words.pop("key", None)
    reading = formats.read(path, ending=ending, data=data, **words)
    music, says = reading.music, reading.music.head.chord_names is not None
    if chord_names and not says and formats.kind_of(path, ending).names_chords:
        music = music.with_(head=music.head.with_(chord_names=chord_names))
    if not (isinstance(music, Line) or instrument or key):
        return Intake(music, reading.report + _of_chords(music, says=says))
    fitted = fitted_to(
        music,
        player,
        instrument=str(instrument) if instrument else None,
        key=str(key) if key else None,
        own=True,
    )
    return Intake(fitted.score, reading.report + _of_chords(fitted.score, says=says) + fitted.report)


def _of_chords(score: Score, *, says: bool) -> Report:
    """What is not plain of the chord symbols: those that are not understood, and each B among German names.

    A file that `says` how it names them has no doubtful ones.
    """
    from tabterm.harmony.chords import doubtful_chords, unknown_chords

    unknown = (
        Remark(Kind.GUESSED, f"the chord '{symbol}' is not understood: kept, but silent", place=place)
        for place, symbol in unknown_chords(score)
    )
    doubtful = (
        Remark(
            Kind.GUESSED,
            f"the chord '{symbol}' is read as B flat, by its German name; for B natural write H",
            place=place,
        )
        for place, symbol in (() if says else doubtful_chords(score))
    )
    return Report((*unknown, *doubtful))


def fitted_to(
    music: Line | Score,
    player: Player,
    *,
    instrument: str | None = None,
    key: str | None = None,
    own: bool = False,
) -> Intake:
    """Fit a line to the neck, or a score: its original line or, with `own` and where it has none, its own notes.

    Raises:
        TabtermError: No such instrument or key.
    """
    from tabterm.hand.adapt import adapt

    fitted = adapt(music, player, instrument=preset(instrument) if instrument else None, key=key, own=own)
    return Intake(fitted.score, fitted.report)
