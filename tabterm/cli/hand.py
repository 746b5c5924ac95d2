"""`tabterm hand`: the player's hand profile, what stands behind it, and the drills that measure it."""

from __future__ import annotations

import shutil
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tabterm import formats, printable
from tabterm.cli.check import CAUTION
from tabterm.cli.inputs import STDIN, check_one_answer
from tabterm.cli.scores import add_to_format, check_out, mine, opened, tell_files, write
from tabterm.dataclass import dataclass
from tabterm.errors import ConfigurationError
from tabterm.hand.bands import BANDS, band_of
from tabterm.hand.drills import drills, notes_per_second
from tabterm.hand.player import EVIDENCE, bounds, frets_above, value_of
from tabterm.hand.terms import HABITS, TERMS
from tabterm.instrument import PRESETS, preset
from tabterm.piece import configuration
from tabterm.piece.piece import Piece
from tabterm.piece.player import keep_learnt, learn, learnt_lessons, take_back
from tabterm.printable import counted
from tabterm.score.profile import REFERENCE_HAND, Speeds
from tabterm.values import field_names

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from tabterm.hand.player import Player
    from tabterm.instrument import Instrument

ALL = "all"
"""The word for all that was learnt."""

FRETS = (1, 2, 5, 7)
"""Places of the index finger in the table of frets."""

WIDEST = 100
"""Characters of a line of prose, where the terminal has more."""


BANDS_SOURCE = (
    "Natural: the median of ten violinists' hands on a string of 328 mm. Comfortable: their 95th percentile, "
    "rounded up (TNUA data set: Jen et al. 2021). Hard: a hand 70% curled. Extreme: a flat hand (Chatzioglou, "
    "Pinar and Govsa 2024). All scale with the span."
)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    speeds = ", ".join(field_names(Speeds))
    parser.add_argument(
        "--span",
        metavar="MM",
        help="span of the flat hand, from index fingertip to little fingertip",
    )
    parser.add_argument("--weak", metavar="FINGERS", help="weak fingers, such as 3,4, or none")
    parser.add_argument(
        "--set", action="append", default=[], metavar="NAME=RATE", help=f"a speed in notes per second: {speeds}"
    )
    parser.add_argument(
        "--tempo",
        action="append",
        default=[],
        metavar="NAME=BPM",
        help="a speed, as the tempo you reach in its drill",
    )
    parser.add_argument("--learn", type=Path, metavar="FILE", help="learn from the fingers you set in a score")
    parser.add_argument(
        "--forget",
        nargs="?",
        const=ALL,
        choices=(ALL, *HABITS),
        metavar="HABIT",
        help=f"forget a learnt habit ({', '.join(HABITS)}), or all",
    )
    parser.add_argument("--reset", action="store_true", help="return to the default hand")
    parser.add_argument(
        "--instrument", default="mandolin", help=f"instrument for tables and drills: {', '.join(PRESETS)}"
    )
    parser.add_argument(
        "-o",
        "--out",
        "--drills",
        dest="drills",
        type=Path,
        metavar="OUT",
        help="write the speed drills; the file extension sets the format; - prints them",
    )
    add_to_format(parser)
    parser.add_argument("--force", action="store_true", help="overwrite an existing file with the drills")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Set what is asked for, write the drills if asked for, else print the profile."""
    changes, instrument = _changes(arguments), preset(arguments.instrument)
    check_out(arguments.drills, force=arguments.force, to_format=arguments.to_format)
    check_one_answer(arguments.drills, as_data=arguments.json)
    if changes or arguments.reset:
        configuration.store_hand(changes, reset=arguments.reset)
    if arguments.forget == ALL:
        keep_learnt(())
    elif arguments.forget:
        take_back(arguments.forget)
    player: Player = mine()
    if arguments.learn is not None:
        player = learn(opened(arguments.learn).stroked().score, player)
    if arguments.drills is not None:
        drilled = Piece(drills(instrument, player.hand), player)
        told = write(drilled, arguments.drills, to_format=arguments.to_format)
        if arguments.drills != STDIN:
            kind = formats.format_of(arguments.drills).name
            tell_files([arguments.drills], kind, told["report"], as_data=arguments.json)
    elif arguments.json:
        print(
            printable.as_json(
                {name: section.data(player, instrument) for name, section in SECTIONS.items()}, indent=2
            )
        )
    else:
        for section in SECTIONS.values():
            print("\n".join([section.title, *section.lines(player, instrument), ""]))
        print("\n".join(_prose(CAUTION)))
    return 0


# The options


def _changes(arguments: argparse.Namespace) -> dict[str, Any]:
    """Fields of the profile that the options change; raises ConfigurationError for a value out of bounds."""
    changes: dict[str, Any] = {}
    if arguments.span is not None:
        changes["span_mm"] = _number("--span", arguments.span, "mm", *bounds("span_mm"))
    if arguments.weak is not None:
        changes["weak"] = _fingers(arguments.weak)
    speeds = dict(_speed("--set", words, "notes a second", 1.0) for words in arguments.set)
    speeds |= dict(_speed("--tempo", words, "quarters a minute", notes_per_second(1)) for words in arguments.tempo)
    return changes | ({"speeds": speeds} if speeds else {})


def _number(option: str, text: str, unit: str, least: float, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not least <= value <= most:
        raise ConfigurationError(
            f"{option}: {printable.number(text)} cannot be used", hint=f"{least:g} to {most:g} {unit}"
        )
    return value


def _fingers(text: str) -> list[int]:
    words = [] if text.strip() == "none" else [word.strip() for word in text.split(",")]
    if not set(words) <= set("1234"):
        raise ConfigurationError(f"--weak: '{text}' cannot be used", hint="fingers 1 to 4 with commas, or none")
    return sorted({int(word) for word in words})


def _speed(option: str, words: str, unit: str, each: float) -> tuple[str, float]:
    """A speed by its name, in notes per second; `each` is how many of them one unit of the value makes."""
    name, equals, text = words.partition("=")
    name = name.strip().replace("-", "_")
    if name not in field_names(Speeds) or not equals:
        names = ", ".join(field_names(Speeds))
        raise ConfigurationError(
            f"{option}: '{words}' cannot be used", hint=f"NAME=VALUE, the name one of: {names}"
        )
    least, most = bounds(name)
    value = _number(f"{option} {name}", text, unit, least / each, most / each)
    return name, min(max(round(value * each, 2), least), most)


# The sections


@dataclass(frozen=True)
class Section:
    """A part of what is printed: a title, its lines, and the same as plain data."""

    title: str
    lines: Callable[[Player, Instrument], list[str]]
    data: Callable[[Player, Instrument], Any]


def _prose(text: str, indent: str = "") -> list[str]:
    width = min(shutil.get_terminal_size((80, 24)).columns, WIDEST)
    return textwrap.wrap(text, max(width, 40), initial_indent=indent, subsequent_indent=indent)


def _shown(value: float | tuple[int, ...]) -> str:
    return f"{value:g}" if isinstance(value, int | float) else ",".join(map(str, value)) or "none"


def _profile_lines(player: Player, _instrument: Instrument) -> list[str]:
    lines: list[str] = []
    said = ""
    for name, evidence in EVIDENCE.items():
        value, default = _shown(value_of(player.hand, name)), _shown(value_of(REFERENCE_HAND, name))
        whose = "default" if value == default else f"your own (default {default})"
        lines.append(f"  {name:14}{f'{value} {evidence.unit}':16}{whose}")
        source = "as above" if evidence.source == said else evidence.source
        lines += _prose(f"{evidence.what}; default: {source}", " " * 6)
        said = evidence.source
    return lines


def _profile_data(player: Player, _instrument: Instrument) -> list[dict[str, object]]:
    return [
        {
            "name": name,
            "value": value_of(player.hand, name),
            "default": value_of(REFERENCE_HAND, name),
            "own": value_of(player.hand, name) != value_of(REFERENCE_HAND, name),
            "unit": evidence.unit,
            "what": evidence.what,
            "source": evidence.source,
        }
        for name, evidence in EVIDENCE.items()
    ]


def _band_lines(player: Player, _instrument: Instrument) -> list[str]:
    columns = ("natural", "comfortable", "hard", "extreme")
    lines = ["  fingers" + "".join(f"{name:>13}" for name in columns)]
    lines += [
        f"  {row['fingers']:7}" + "".join(f"{row[f'{name}_mm']:13.1f}" for name in columns)
        for row in _band_data(player, _instrument)
    ]
    return lines + _prose(BANDS_SOURCE, "  ")


def _band_data(player: Player, _instrument: Instrument) -> list[dict[str, Any]]:
    rows = []
    for low, high in sorted(BANDS):
        band = band_of((low, high), player.hand.span_mm)
        limits = {name: round(getattr(band, name), 2) for name in type(band).__dataclass_fields__}
        rows.append({"fingers": f"{low}-{high}", **limits})
    return rows


def _fret_lines(player: Player, instrument: Instrument) -> list[str]:
    lines = [
        f"  {instrument.name}, {instrument.scale_length_mm:g} mm",
        "  index at" + "".join(f"{f'finger {each}':>11}" for each in (2, 3, 4)),
    ]
    for row in _fret_data(player, instrument):
        cells = (f"{row[f'finger_{each}']['comfortable']} / {row[f'finger_{each}']['hard']}" for each in (2, 3, 4))
        lines.append(f"  {row['index_at']:<8}" + "".join(f"{cell:>11}" for cell in cells))
    return lines


def _fret_data(player: Player, instrument: Instrument) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for fret in FRETS:
        row: dict[str, Any] = {"index_at": fret}
        for finger in (2, 3, 4):
            comfortable, hard = frets_above(instrument, player.hand.span_mm, fret, finger)
            row[f"finger_{finger}"] = {"comfortable": comfortable, "hard": hard}
        rows.append(row)
    return rows


def _learnt_lines(player: Player, _instrument: Instrument) -> list[str]:
    rows = _learnt_data(player, _instrument)
    if not rows:
        return _prose("nothing yet: `tabterm hand --learn FILE` learns from the fingers you set in a score", "  ")
    lines = [
        f"  {row['habit']:8}{row['words']} ({row['points']:+.2f} points a {row['unit']}, {_from(row['lessons'])})"
        for row in rows
    ]
    return lines + _prose("`tabterm hand --forget HABIT` forgets one, `--forget` all of them.", "  ")


def _from(count: int) -> str:
    return f"from {counted(count, 'lesson')}"


def _learnt_data(player: Player, _instrument: Instrument) -> list[dict[str, Any]]:
    lessons = learnt_lessons()
    return [
        {
            "habit": name,
            "words": HABITS[name][points < 0],
            "points": points,
            "unit": TERMS[name].unit,
            "lessons": sum(lesson.habits.get(name, 0.0) * points < 0 for lesson in lessons),
        }
        for name, points in sorted(player.weights.habits.items(), key=lambda habit: -abs(habit[1]))
    ]


SECTIONS: dict[str, Section] = {
    "profile": Section("Your hand", _profile_lines, _profile_data),
    "bands": Section("How far two fingers reach along the neck, in mm", _band_lines, _band_data),
    "frets": Section("Frets above the index finger: comfortable / hard", _fret_lines, _fret_data),
    "learnt": Section("Habits learnt from your fingers", _learnt_lines, _learnt_data),
}
"""What is printed, in order; the keys are those of the JSON object."""
