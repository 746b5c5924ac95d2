"""What is to be heard, on the command line: arguments that several commands share, and what they mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.cli.inputs import add_file
from tabterm.cli.output import note
from tabterm.cli.scores import TEMPO, add_choice, add_measures, opened, settings, tempo_share
from tabterm.errors import ScoreError
from tabterm.performance.styles import STYLES
from tabterm.piece.piece import span_of
from tabterm.piece.practice import CLICKS, PartsWord, Practice, check_percent
from tabterm.score.click_rests import ClickRests
from tabterm.score.swing import FORMS, swing_of

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from tabterm.piece.audio import AudioFile
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score
    from tabterm.score.place import Span


def add_what(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say what is played."""
    add_file(parser)
    add_measures(parser)
    add_choice(parser)


def add_tempo(parser: argparse.ArgumentParser) -> None:
    """Add the argument that says how fast it is played."""
    parser.add_argument("--tempo", metavar="TEMPO", help=f"{TEMPO}; 20 to 200%% (100%%)")


def add_how(
    parser: argparse.ArgumentParser,
    *,
    count_in: int = 0,
    click: str | None = "off",
    times: str = "how many times to play it",
) -> None:
    """Add the arguments that say how it is played; the command may have a click of its own where none is named."""
    parser.add_argument("--loop", type=int, default=1, metavar="N", help=f"{times} (1)")
    parser.add_argument(
        "--count-in", type=int, default=count_in, choices=range(3), help=f"measures of count-in ({count_in})"
    )
    usual = click or "on the beats if nobody plays chords"
    parser.add_argument("--click", default=click, choices=CLICKS, help=f"where the click falls ({usual})")
    parser.add_argument(
        "--click-rests",
        metavar="MEASURES",
        help="2:1 clicks for two measures, then rests for one; m3,m7-8 rests in these measures",
    )
    parser.add_argument(
        "--style", choices=tuple(STYLES), help="style of chords and bass (chosen by metre and swing)"
    )
    parser.add_argument(
        "--no-groove", action="store_true", help="chords and bass without accents, exactly on the grid"
    )
    tone = "sound of the built-in strings, such as 'brightness 120 room 50' (as configured)"
    parser.add_argument("--tone", metavar="WORDS", help=tone)
    parser.add_argument("--swing", metavar="LONG:SHORT", help=f"{FORMS}, instead of the swing in the score")


def add_parts(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say who is heard."""
    parser.add_argument("--chords", action="store_true", help="add chords and bass from the chord symbols")
    parser.add_argument(
        "--mute-tab", action="store_true", help="chords and bass alone, so that you can play the solo"
    )


def parts_of(arguments: argparse.Namespace) -> PartsWord:
    """Who is to be heard; a style asks for chords and bass."""
    if arguments.mute_tab:
        return "chords"
    return "both" if arguments.chords or arguments.style is not None else "solo"


def add_seamless(parser: argparse.ArgumentParser) -> None:
    """Add the argument that makes files without a seam."""
    parser.add_argument(
        "--seamless", action="store_true", help="a file that loops without a gap; it has no count-in"
    )


def check_turns(arguments: argparse.Namespace) -> None:
    """Refuse what no file can be; raises ScoreError."""
    if arguments.loop < 1:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="use --loop 1 or more")
    if arguments.seamless and arguments.count_in:
        raise ScoreError("a file to loop has no count-in", hint="leave out --count-in or --seamless")


def tell_length(takes: Sequence[AudioFile]) -> None:
    """Say what long work will come to, before it begins."""
    from tabterm.piece.audio import estimate

    if long := estimate(takes):
        note(str(long))


def piece_of(arguments: argparse.Namespace) -> tuple[Piece, Span | None]:
    """The piece as it is played, and the measures that are asked for; None for the whole.

    Raises:
        TabtermError: The file or the configuration cannot be read, or there are no such measures.
    """
    piece = opened(arguments.file, arguments).stroked()
    return piece, span_of(piece.score, arguments.first, arguments.last)


def percent_of(arguments: argparse.Namespace, score: Score, span: Span | None) -> float:
    """How fast what is asked for is played, in percent of the tempo that is written where it begins.

    Raises:
        ScoreError: The tempo is none, or out of range.
    """
    if arguments.tempo is None:
        return 100
    share = tempo_share(arguments.tempo, score.tempos[0 if span is None else span.start.measure])
    percent = round(100 * share, 2)
    check_percent(percent)
    return percent


def practice_of(arguments: argparse.Namespace, score: Score, parts: PartsWord) -> Practice:
    """How the arguments want a score played, once.

    Raises:
        ScoreError: The swing is none, numbers make no sense, or there is nothing to hear.
    """
    if parts == "chords" and arguments.click == "off" and not any(each.chords for each in score.measures):
        raise ScoreError(
            "nothing left to hear", hint="chords and bass need chord symbols; --click beats adds a click"
        )
    rests = ClickRests.parse(arguments.click_rests) if arguments.click_rests else None
    tone = settings(told=True).sound.tone if arguments.tone is None else arguments.tone
    return Practice(
        count_in=arguments.count_in,
        click="beats" if rests and arguments.click == "off" else arguments.click or "off",
        click_rests=rests,
        parts=parts,
        style=arguments.style,
        groove=not arguments.no_groove,
        tone=Practice().with_tone(tone).tone,
        swing="written" if arguments.swing is None else swing_of(arguments.swing) or "straight",
    )
