"""`tabterm hard`: the hardest passages of a piece, why they are hard, and a drill for each.

With `--json` it prints one object. Places are `measure`, as a player counts them, and `onset` in quarters as a
fraction; both are null at the end of the score. Tempos are in quarters per minute.

* `limit_rate`: points per second over a beat that are the limit of this hand.
* `phrases`: `from` and `to` (its last onset), `peak` and `ninetieth` in points per second, `use` (1 is the limit)
  and `limit_tempo`.
* `passages`: `from` and `to` (exclusive), `again` (where the same music stands once more), `rate`, `use`,
  `limit_tempo`; `reasons` (`term`, `words`, `points` beyond those of a plain scale), `speeds` (`speed`, `words`,
  `asked`, `limit`), `shifts` (`from_fret`, `to_fret`, `mm`, `free_ms`, `needed_ms`), `reach` (`fingers`, `frets`,
  `mm`, `comfortable_mm`) or null; `drill` with `from`, `to`, `tempo` and `play`, the command that loops its
  measures.
* `note`: that this is no absolute grade.
"""

from __future__ import annotations

import re
import shlex
from typing import TYPE_CHECKING

from tabterm.cli.check import CAUTION
from tabterm.cli.inputs import Answer, add_files, add_json, each
from tabterm.cli.scores import add_choice, add_measures, opened, where, within
from tabterm.errors import ScoreError
from tabterm.formats import text
from tabterm.hand.difficulty import NO_GRADE, difficulty, limit_rate
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.passages import cut, like
from tabterm.score.place import count_name, display_number
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from tabterm.hand.difficulty import Difficulty
    from tabterm.hand.passages import Hard
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

MOST = 20
ROWS = ("count", "finger", "stroke")
"""What a drill is printed with, beside the courses."""

COURSE_LINE = re.compile(r"\S+ +\|")


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_json(parser)
    parser.add_argument("--top", type=int, default=3, metavar="N", help=f"how many passages, 1 to {MOST} (3)")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the phrases and the hardest passages."""
    if not 1 <= arguments.top <= MOST:
        raise ScoreError(f"--top {arguments.top} cannot be used", hint=f"1 to {MOST}")
    return each(arguments, _hard)


def _hard(arguments: argparse.Namespace) -> Answer:
    piece = opened(arguments.file, arguments).fingered()
    score, player = piece.score, piece.player
    measures = within(score, arguments)
    phrases = [difficulty(score, solved) for solved in fingering(score, player).phrases]
    phrases = [
        phrase
        for phrase in phrases
        if phrase.last.measure >= measures.start and phrase.first.measure < measures.stop
    ]
    if not phrases:
        raise ScoreError("this score has no notes", place=str(arguments.file), hint="write some notes first")
    found = [hard for hard in piece.hard(MOST) if hard.span.start.measure in measures][: arguments.top]
    if arguments.json:
        data = {
            "limit_rate": round(limit_rate(neck_of(score.head, player)), 3),
            "phrases": [_phrase_data(score, phrase) for phrase in phrases],
            "passages": [_passage_data(score, hard, arguments.file) for hard in found],
            "note": NO_GRADE,
        }
        return Answer(data=data)
    for phrase in phrases:
        print(_phrase_words(score, phrase))
    for number, hard in enumerate(found, 1):
        print("", *_passage_words(score, number, hard, arguments.file), sep="\n")
    print(f"\n{NO_GRADE}\n{CAUTION}")
    return Answer()


# Words


def _where(score: Score, place: Place) -> str:
    if place.measure >= len(score.measures):
        return "the end"
    return f"m{display_number(score, place.measure)} {count_name(score, place)}"


def _from_to(score: Score, span: Span) -> str:
    return f"{_where(score, span.start)} to {_where(score, span.end)}"


def _use(score: Score, place: Place, use: float, quarters_per_minute: float) -> str:
    """How near the limit is, and the tempo at which it is reached in the note value that the score counts."""
    share = f"{100 * use:.0f}% of your limit"
    if quarters_per_minute >= FASTEST:
        return f"{share}; the limit is above {Tempo(FASTEST)}"
    if quarters_per_minute <= SLOWEST:
        return f"{share}; the limit is below {Tempo(SLOWEST)}"
    tempo = like(score.tempos[place.measure], quarters_per_minute)
    return f"{share}; the limit is {Tempo(round(tempo.per_minute), tempo.beat)}"


def _phrase_words(score: Score, each: Difficulty) -> str:
    return (
        f"phrase {_where(score, each.first)} to {_where(score, each.last)}: peak {each.peak:.1f} points a second, "
        f"90% of it up to {each.ninetieth:.1f}; {_use(score, each.first, each.use, each.limit_tempo)}"
    )


def _passage_words(score: Score, number: int, hard: Hard, path: Path) -> list[str]:
    start, again = hard.span.start, ", ".join(_where(score, span.start) for span in hard.again)
    where = _from_to(score, hard.span) + (f" (again at {again})" if again else "")
    reasons = "; ".join(f"{reason.words} (+{reason.points:.1f})" for reason in hard.reasons)
    lines = [
        f"{number}. {where}: {hard.rate:.1f} points a second, {_use(score, start, hard.use, hard.limit_tempo)}",
        f"   why: {reasons or 'only the tempo'}",
    ]
    lines += [f"   {used.words}" for used in hard.speeds]
    lines += [
        f"   shift from fret {shift.from_fret} to fret {shift.to_fret}: {abs(shift.mm):.0f} mm in "
        f"{shift.free_ms:.0f} ms (needs {shift.needed_ms:.0f} ms)"
        for shift in hard.shifts
    ]
    if hard.reach is not None:
        (one, other), (low, high) = hard.reach.fingers, hard.reach.frets
        lines.append(
            f"   reach {one}-{other}, frets {low} and {high}: {hard.reach.reach_mm:.0f} mm, "
            f"comfortable up to {hard.reach.comfortable_mm:.0f} mm"
        )
    lines.append(f"   drill: {_from_to(score, hard.drill.span)}, from {hard.drill.tempo}")
    lines.append(f"   {_command(score, hard, path)}")
    return lines + [f"   {line}" for line in _music(score, hard)]


def _music(score: Score, hard: Hard) -> list[str]:
    """The systems of a drill, without the head of a page."""
    lines = text.write(cut(score, hard.drill), rows=ROWS).decode().splitlines()
    return [line for line in lines if COURSE_LINE.match(line) or line.startswith(ROWS)]


def _command(score: Score, hard: Hard, path: Path) -> str:
    """The command that loops the measures of a drill at its tempo."""
    start, end, tempo = hard.drill.span.start, hard.drill.span.end, hard.drill.tempo
    last = end.measure - (not end.offset)
    percent = round(100 * tempo.quarters_per_minute / score.tempos[start.measure].quarters_per_minute)
    first_number, last_number = display_number(score, start.measure), display_number(score, last)
    words = f"tabterm play {shlex.quote(str(path))} --from {first_number} --to {last_number}"
    return f"{words} --tempo {min(max(percent, 20), 200)}% --loop 0 --click beats"


# Data


def _span_data(score: Score, span: Span) -> dict[str, object]:
    return {"from": where(score, span.start), "to": where(score, span.end)}


def _phrase_data(score: Score, each: Difficulty) -> dict[str, object]:
    return {
        "from": where(score, each.first),
        "to": where(score, each.last),
        "peak": round(each.peak, 3),
        "ninetieth": round(each.ninetieth, 3),
        "use": round(each.use, 3),
        "limit_tempo": round(each.limit_tempo, 1),
    }


def _passage_data(score: Score, hard: Hard, path: Path) -> dict[str, object]:
    return _span_data(score, hard.span) | {
        "again": [_span_data(score, span) for span in hard.again],
        "rate": round(hard.rate, 3),
        "use": round(hard.use, 3),
        "limit_tempo": round(hard.limit_tempo, 1),
        "reasons": [
            {"term": reason.term, "words": reason.words, "points": round(reason.points, 3)}
            for reason in hard.reasons
        ],
        "speeds": [
            {"speed": used.speed, "words": used.words, "asked": round(used.asked, 2), "limit": used.limit}
            for used in hard.speeds
        ],
        "shifts": [
            {
                "from_fret": shift.from_fret,
                "to_fret": shift.to_fret,
                "mm": round(abs(shift.mm), 1),
                "free_ms": round(shift.free_ms),
                "needed_ms": round(shift.needed_ms),
            }
            for shift in hard.shifts
        ],
        "reach": None
        if hard.reach is None
        else {
            "fingers": hard.reach.fingers,
            "frets": hard.reach.frets,
            "mm": round(hard.reach.reach_mm, 1),
            "comfortable_mm": round(hard.reach.comfortable_mm, 1),
        },
        "drill": _span_data(score, hard.drill.span)
        | {"tempo": round(hard.drill.tempo.quarters_per_minute, 1), "play": _command(score, hard, path)},
    }
