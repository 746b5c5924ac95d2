"""`tabterm invent`: new phrases made of some measures, or from a scale or chord, that you can play.

With `--json` it prints one object: `way`, `seed`, `from` and `to` (numbers of measures), and `phrases`, the best
first, each with `from` and `to` (exclusive), `told`, `points` (what a teacher would mend; less is better), `use`
(the part of your limit), `apart` (the part of its notes that is new), `notes` (`at`, `length` in quarters, `note`,
`course`, `fret`) and `tab`. Places are `measure` and `onset`; both are null at the end of the score.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import TYPE_CHECKING

from tabterm.cli.inputs import Answer, add_files, add_json, each
from tabterm.cli.scores import add_choice, add_measures, add_out, check_out, opened, tell_written, where, write
from tabterm.errors import ScoreError
from tabterm.hand.invention import COUNT
from tabterm.harmony.inventing import Way
from tabterm.harmony.melody import sounds
from tabterm.instrument import pitch_name
from tabterm.piece.inventing import in_words, phrases_of, tab_of
from tabterm.piece.piece import Piece, cut_out, span_of
from tabterm.score.operations import set_section
from tabterm.score.place import Span, display_number

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.candidates import Candidate
    from tabterm.hand.player import Player
    from tabterm.score.model import Score

MOST = 20
"""Phrases of one call."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    parser.add_argument(
        "--way",
        metavar="WAY",
        choices=[*map(str, Way)],
        help=f"how to make them: {', '.join(Way)} (repitched)",
    )
    parser.add_argument(
        "--count", type=_count, default=COUNT, metavar="N", help=f"how many phrases at most ({COUNT})"
    )
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="the same number gives the same phrases (0)"
    )
    parser.add_argument("--chord", default="", metavar="CHORD", help="the same contour over this chord")
    parser.add_argument("--pool", default="", metavar="SCALE", help="take new notes from this scale or chord")
    group = parser.add_argument_group("for a new phrase from a scale or chord")
    group.add_argument("--rhythm", default="", help="note values such as '4 8 8', or a rhythm's name")
    group.add_argument("--contour", default="", help="the contour, such as 'rises and falls'")
    group.add_argument("--start", default="", metavar="DEGREE", help="degree of the scale to begin on")
    group.add_argument("--target", default="", metavar="DEGREE", help="degree to end on (root or third)")
    parser.add_argument(
        "--limit",
        type=_percent,
        default=100,
        metavar="P",
        help="at most P%% of your limit (100)",
    )
    parser.add_argument(
        "--also-known", action="store_true", help="allow phrases that are already in your phrase book"
    )
    parser.add_argument("--take", type=_count, metavar="N", help="with -o: put phrase N into the score")
    add_json(parser)
    add_out(parser, "write the phrases one after the other, or with --take the score with one of them")
    add_choice(parser)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST:
        raise ArgumentTypeError(f"not a number from 1 to {MOST}: '{text}'")
    return int(text)


def _percent(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 100:
        raise ArgumentTypeError(f"not a percentage from 1 to 100: '{text}'")
    return int(text)


def run(arguments: argparse.Namespace) -> int:
    """Print new phrases for each file."""
    if arguments.take and arguments.out is None:
        raise ScoreError("--take puts a phrase into a new file", hint="name the file after -o")
    check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    return each(arguments, _invent)


def _invent(arguments: argparse.Namespace) -> Answer:
    piece = opened(arguments.file, arguments)
    score, player = piece.score, piece.player
    span = span_of(score, arguments.first, arguments.last) or Span.of_measures(0, len(score.measures) - 1)
    told = "chord", "pool", "rhythm", "contour", "start", "target", "count", "seed", "also_known"
    wanted = {name: getattr(arguments, name) for name in told}
    way = arguments.way or _way_meant(arguments)
    found = phrases_of(score, player, span, way, limit=arguments.limit / 100, **wanted)
    report = _write(found, piece, arguments) if arguments.out else {}
    if arguments.json:
        return Answer(data=_data(found, player, span, way, arguments.seed) | report)
    if not arguments.out:
        for number, one in enumerate(found, 1):
            print(("\n" if number > 1 else "") + f"{number}: {in_words(one)}")
            print(tab_of(one, player), end="")
    return Answer()


def _way_meant(arguments: argparse.Namespace) -> str:
    """The way that the other words ask for, where none is named."""
    if arguments.chord:
        return Way.OVER
    demands = arguments.rhythm or arguments.contour or arguments.start or arguments.target
    return Way.NEW if demands or arguments.pool else Way.REPITCHED


def _write(found: tuple[Candidate, ...], piece: Piece, arguments: argparse.Namespace) -> dict[str, object]:
    """Write the phrases, or the score with one of them."""
    if arguments.take and arguments.take > len(found):
        raise ScoreError(f"no phrase {arguments.take}", hint=f"1 to {len(found)}")
    score = found[arguments.take - 1].score if arguments.take else one_behind_the_other(found)
    made = write(Piece(score, piece.player).fingered(), arguments.out, to_format=arguments.to_format)
    if not arguments.json:
        tell_written(arguments.out)
    return made


def one_behind_the_other(found: tuple[Candidate, ...]) -> Score:
    """The measures of each phrase as a section of one score, named by its number."""
    scores = []
    for number, one in enumerate(found, 1):
        last = min(one.span.end.measure - (one.span.end.offset == 0), len(one.score.measures) - 1)
        cut = cut_out(one.score, one.span.start.measure, last)
        scores.append(set_section(cut, 0, str(number)))
    measures = [measure for one in scores for measure in one.measures]
    plain = [each.with_(repeat_start=False, repeat_times=0, endings=(), remark="") for each in measures]
    return scores[0].with_(measures=tuple(plain))


# Data


def _data(found: tuple[Candidate, ...], player: Player, span: Span, way: str, seed: int) -> dict[str, object]:
    score = found[0].score
    return {
        "way": way,
        "seed": seed,
        "from": display_number(score, span.start.measure),
        "to": display_number(score, span.end.measure - 1),
        "phrases": [_phrase(one, player) for one in found],
    }


def _phrase(one: Candidate, player: Player) -> dict[str, object]:
    score, span = one.score, one.span
    pitch = score.head.instrument.pitch
    return {
        "told": one.told,
        "from": where(score, span.start),
        "to": where(score, span.end),
        "points": round(one.points, 2),
        "use": round(one.use, 3),
        "apart": round(one.apart, 3),
        "notes": [
            {
                "at": where(score, note.place),
                "length": str(note.length),
                "note": pitch_name(note.pitch),
                "course": note.course,
                "fret": note.pitch - pitch(note.course, 0),
            }
            for note in sounds(score, span)
        ],
        "tab": tab_of(one, player),
    }
