"""`tabterm hard`: the hardest passages of a piece, why they are hard, and a drill for each.

With `--json` it prints one object: `limit_rate` (points per second that are the limit of this hand), `phrases`
(`from` and `to` as measure and onset, `peak`, `ninetieth`, `use`, `limit_tempo` in quarters per minute) and
`passages` (`from`, `to`, `rate`, `use`, `reasons`, `shifts`, `limit_tempo`, and `drill` with `from`, `to`,
`tempo` and `play`, the command that loops it).
"""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli.check import CAUTION
from tabterm.cli.scores import page, read_score
from tabterm.errors import ScoreError
from tabterm.hand.difficulty import NO_GRADE, difficulty, limit_rate
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.passages import cut, hardest
from tabterm.hand.proposals import with_hands
from tabterm.score.place import count_name, display_number
from tabterm.workspace import learnt

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.difficulty import Difficulty
    from tabterm.hand.passages import Hard
    from tabterm.score.model import Score
    from tabterm.score.place import Place

MOST = 20


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--top", type=int, default=3, metavar="N", help=f"passages, 1 to {MOST} (3)")


def run(arguments: argparse.Namespace) -> int:
    """Print the phrases and the hardest passages."""
    if not 1 <= arguments.top <= MOST:
        raise ScoreError(f"--top {arguments.top} cannot be used", hint=f"1 to {MOST}")
    weights = learnt.weights()
    score = with_hands(read_score(arguments.file), weights=weights)
    solved = fingering(score, weights=weights).phrases
    if not solved:
        raise ScoreError("nothing sounds in this score", place=str(arguments.file), hint="write some notes first")
    phrases = [difficulty(each, score.tempos[each.phrase[0].place.measure].quarters_per_minute) for each in solved]
    found = hardest(score, arguments.top, weights)
    if arguments.json:
        data = {
            "limit_rate": round(limit_rate(neck_of(score.head)), 3),
            "phrases": [_phrase_data(score, each) for each in phrases],
            "passages": [_passage_data(score, each, arguments.file) for each in found],
            "note": NO_GRADE,
        }
        print(json.dumps(data, indent=2, ensure_ascii=False))
        return 0
    for each in phrases:
        print(_phrase_words(score, each))
    for number, hard in enumerate(found, 1):
        print()
        print("\n".join(_passage_words(score, number, hard, arguments.file)))
    print(f"\n{NO_GRADE}\n{CAUTION}")
    return 0


def _where(score: Score, place: Place) -> str:
    if place.measure >= len(score.measures):
        return "the end"
    return f"m{display_number(score, place.measure)} {count_name(score, place)}"


def _phrase_words(score: Score, each: Difficulty) -> str:
    return (
        f"phrase {_where(score, each.first)} to {_where(score, each.last)}: peak {each.peak:.1f} points a second, "
        f"90 % below {each.ninetieth:.1f}, {100 * each.use:.0f} % of the limit, limit at 4={each.limit_tempo:.0f}"
    )


def _passage_words(score: Score, number: int, hard: Hard, path: Path) -> list[str]:
    reasons = "; ".join(f"{reason.words} ({reason.points:.1f})" for reason in hard.reasons)
    where = f"{_where(score, hard.span.start)} to {_where(score, hard.span.end)}"
    share = f"{100 * hard.use:.0f} % of the limit, limit at 4={hard.limit_tempo:.0f}"
    lines = [f"{number}. {where}: {hard.rate:.1f} points a second, {share}", f"   why: {reasons}"]
    lines += [
        f"   shift from fret {one} to fret {other}: {mm:.0f} mm in {ms:.0f} ms"
        for one, other, mm, ms in hard.shifts
    ]
    lines += [f"   drill: from 4={hard.drill.quarters_per_minute:.0f}, looped: {_command(score, hard, path)}"]
    return lines + [f"   {line}" for line in page(cut(score, hard.drill)).splitlines() if _is_music(line)]


def _is_music(line: str) -> bool:
    """A line of a system, not of the head."""
    return "|" in line or line.startswith(("count", "finger", "stroke"))


def _command(score: Score, hard: Hard, path: Path) -> str:
    start, end = hard.drill.span.start, hard.drill.span.end
    last = end.measure - (not end.offset)
    percent = round(100 * hard.drill.quarters_per_minute / score.tempos[start.measure].quarters_per_minute)
    first_number, last_number = display_number(score, start.measure), display_number(score, last)
    words = f"tabterm play {shlex.quote(str(path))} --from {first_number} --to {last_number}"
    return f"{words} --tempo {min(max(percent, 20), 200)} --loop 0 --click"


def _data(score: Score, place: Place) -> dict[str, object]:
    if place.measure >= len(score.measures):
        return {"measure": None, "onset": None}
    return {"measure": display_number(score, place.measure), "onset": str(place.offset)}


def _phrase_data(score: Score, each: Difficulty) -> dict[str, object]:
    return {
        "from": _data(score, each.first),
        "to": _data(score, each.last),
        "peak": round(each.peak, 3),
        "ninetieth": round(each.ninetieth, 3),
        "use": round(each.use, 3),
        "limit_tempo": round(each.limit_tempo, 1),
    }


def _passage_data(score: Score, hard: Hard, path: Path) -> dict[str, object]:
    return {
        "from": _data(score, hard.span.start),
        "to": _data(score, hard.span.end),
        "rate": round(hard.rate, 3),
        "use": round(hard.use, 3),
        "reasons": [
            {"term": reason.term, "words": reason.words, "points": round(reason.points, 3)}
            for reason in hard.reasons
        ],
        "shifts": [{"from_fret": one, "to_fret": other, "mm": mm, "ms": ms} for one, other, mm, ms in hard.shifts],
        "limit_tempo": round(hard.limit_tempo, 1),
        "drill": {
            "from": _data(score, hard.drill.span.start),
            "to": _data(score, hard.drill.span.end),
            "tempo": round(hard.drill.quarters_per_minute, 1),
            "play": _command(score, hard, path),
        },
    }
