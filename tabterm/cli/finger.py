"""`tabterm finger`: a finger, and where it pays another course, for every note.

With `--json` it prints a list with one object an event, each on a line of its own::

    {"measure": 1, "onset": "3/2", "notes": [{"course": 2, "fret": 3, "finger": 2}], "stroke": "up"}

`measure` is counted as a player does, `onset` is in quarters from the start of the measure, as a fraction;
`finger` is 0 for an open course, `stroke` is null where none is taken; a rest has no notes. With
`--alternatives N` the list has one object an alternative: `extra` (points more than the first takes),
`reason`, `partings` (measure, onset, the stops of the first and of this one) and `events` as above.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import Answer, add_files, add_json, each
from tabterm.cli.scores import (
    add_choice,
    add_measures,
    add_out,
    check_out,
    number_from_1,
    opened,
    page,
    tell_written,
    where,
    within,
    write,
)
from tabterm.hand.alternatives import alternatives
from tabterm.hand.proposals import carried_out
from tabterm.score.place import Span, describe, display_number

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.alternatives import Alternative
    from tabterm.hand.stops import Stop
    from tabterm.score.model import Note, Score


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_out(parser)
    add_json(parser)
    parser.add_argument(
        "--alternatives", type=number_from_1, metavar="N", help="show the N best fingerings that really differ"
    )
    parser.add_argument("--keep-courses", action="store_true", help="keep every note on its course")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Finger each file."""
    check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    return each(arguments, _finger_one)


def _finger_one(arguments: argparse.Namespace) -> Answer:
    piece = opened(arguments.file, arguments)
    score, player = piece.score, piece.player
    fingered = piece.fingered(keep_courses=arguments.keep_courses)
    others: tuple[Alternative, ...] = ()
    if arguments.alternatives:
        struck, measures = piece.stroked().score, within(score, arguments)
        span = Span.of_measures(measures.start, measures.stop - 1)
        count = arguments.alternatives
        others = alternatives(struck, player, span, count, keep_courses=arguments.keep_courses)
    if arguments.out is not None:
        write(fingered.measures(arguments.first, arguments.last), arguments.out, to_format=arguments.to_format)
    if arguments.json:
        found = [_alternative(score, other) for other in others] if others else events(fingered.score, arguments)
        return Answer(data=found, written=listed(found))
    if arguments.out is None:
        print(page(fingered.measures(arguments.first, arguments.last)), end="")
        for number, other in enumerate(others, 1):
            print(_in_words(score, number, other))
    else:
        tell_written(arguments.out)
    return Answer()


def events(score: Score, arguments: argparse.Namespace | None = None) -> list[dict[str, object]]:
    """Each event as plain data, of the measures that are asked for."""
    measures = range(len(score.measures)) if arguments is None else within(score, arguments)
    return [
        {
            "measure": display_number(score, index),
            "onset": str(offset),
            "notes": [{"course": note.course, "fret": note.fret, "finger": _finger(note)} for note in event.notes],
            "stroke": event.stroke_shown.value if event.stroke_shown else None,
        }
        for index in measures
        for offset, event in score.measures[index].timed()
    ]


def _finger(note: Note) -> int | None:
    return 0 if note.fret == 0 and note.finger is None else note.finger_shown


def _alternative(score: Score, other: Alternative) -> dict[str, object]:
    return {
        "extra": round(other.extra, 3),
        "reason": other.reason,
        "partings": [
            {**where(score, parting.place), "first": parting.first._asdict(), "other": parting.other._asdict()}
            for parting in other.partings
        ],
        "events": events(carried_out(score, other.holds)),
    }


def listed(items: list[dict[str, object]]) -> str:
    """JSON with an object a line."""
    return "[\n" + ",\n".join(printable.as_json(item) for item in items) + "\n]"


def _in_words(score: Score, number: int, other: Alternative) -> str:
    if not other.partings:
        return f"{number}: the fingering above"
    letters = score.head.instrument.course_letters()
    parts = "; ".join(
        f"{describe(score, parting.place)}: {_named(parting.other, letters)} for {_named(parting.first, letters)}"
        for parting in other.partings
    )
    return f"{number}: {other.extra:.1f} points more ({other.reason}): {parts}"


def _named(stop: Stop, letters: tuple[str, ...]) -> str:
    letter = letters[stop.course - 1]
    return f"finger {stop.finger} at fret {stop.fret} of {letter}" if stop.finger else f"open {letter}"
