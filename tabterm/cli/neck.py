"""`tabterm neck`: a scale, a chord, its double stops or its positions on the whole neck, to scale.

With `--json` it prints one object: `title`, `instrument`, `notes` (`course`, `fret`, `pitch`, `text`, `root`),
`pairs` of places in `notes`, and `positions` (`first`, `last`, `degree`, `stops` of course, fret, finger).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.dyads import HIGHEST
from tabterm.cli.inputs import STDIN, check_one_answer
from tabterm.cli.output import to_pipe
from tabterm.cli.scores import mine, tell_files
from tabterm.errors import ScoreError
from tabterm.hand.neck import neck_of
from tabterm.hand.positions import positions
from tabterm.harmony.pools import pool_named
from tabterm.instrument import pitch_name, preset
from tabterm.page.neck_map import svg_of, text_of
from tabterm.page.neck_views import maps_of
from tabterm.score.model import Head
from tabterm.storage.names import check_free
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.neck import Neck
    from tabterm.harmony.pools import Pool
    from tabterm.page.neck_map import NeckMap

WIDTH = 78
"""Characters of a line."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("pool", nargs="*", help="a chord or a scale: D7, or G major pentatonic")
    parser.add_argument("--instrument", default="mandolin", metavar="WORD", help="mandolin, octave-mandolin ...")
    parser.add_argument("--highest", type=int, default=HIGHEST, metavar="FRET", help=f"the last fret ({HIGHEST})")
    parser.add_argument("--names", action="store_true", help="show note names, not degrees")
    parser.add_argument("--positions", action="store_true", help="show the closed positions, with fingers")
    parser.add_argument("--dyads", metavar="A-B", help="show the double stops of two degrees, such as 3-1")
    parser.add_argument(
        "-o",
        "--out",
        "--svg",
        dest="svg",
        type=Path,
        metavar="OUT",
        help="write an SVG drawing, not text; - prints it",
    )
    parser.add_argument("--force", action="store_true", help="overwrite an existing file")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Print or draw the neck."""
    if not arguments.pool:
        raise ScoreError(
            "no chord or scale named", hint="write tabterm neck D7, or tabterm neck G major pentatonic"
        )
    instrument = preset(arguments.instrument)
    if not 1 <= arguments.highest <= instrument.frets:
        raise ScoreError(f"no fret {arguments.highest} on this neck", hint=f"1 to {instrument.frets}")
    pool, neck = pool_named(" ".join(arguments.pool)), neck_of(Head(instrument=instrument), mine())
    maps = maps_of(
        neck,
        pool,
        arguments.highest,
        names=arguments.names,
        by_position=arguments.positions,
        dyads=arguments.dyads,
    )
    check_one_answer(arguments.svg, as_data=arguments.json)
    if arguments.svg == STDIN:
        to_pipe(svg_of(maps[0]).encode(), is_text=True)
        return 0
    if arguments.svg is not None:
        check_free(arguments.svg, force=arguments.force)
        atomic_write(arguments.svg, svg_of(maps[0]).encode())
        tell_files([arguments.svg], "drawing", as_data=arguments.json)
        return 0
    if arguments.json:
        print(printable.as_json(_data(maps[0], neck, pool, arguments.highest), indent=2))
        return 0
    for number, each in enumerate(maps):
        print(*([""] if number else []), f"{each.title} ({instrument.name})", *text_of(each, WIDTH), sep="\n")
    return 0


def _data(shown: NeckMap, neck: Neck, pool: Pool, highest: int) -> dict[str, object]:
    pitch = shown.instrument.pitch
    return {
        "title": shown.title,
        "instrument": shown.instrument.name,
        "notes": [
            {
                "course": mark.course,
                "fret": mark.fret,
                "pitch": pitch_name(pitch(mark.course, mark.fret)),
                "text": mark.text,
                "root": mark.root,
            }
            for mark in shown.marks
        ],
        "pairs": shown.pairs,
        "positions": [
            {"first": each.first, "last": each.last, "degree": each.degree, "stops": each.stops}
            for each in positions(neck, pool, highest)
        ],
    }
