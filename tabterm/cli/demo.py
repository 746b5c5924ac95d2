"""`tabterm demo`: the samples and tunes, copied into a folder to try things on, and one of them opened."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import tabterm
from tabterm.errors import StorageError
from tabterm.storage.opening import read
from tabterm.storage.whole import atomic_write, filling

if TYPE_CHECKING:
    import argparse

FOLDER = Path("tabterm-demo")
FIRST = "quarry-road-breakdown.tabterm"
"""The sample that is opened."""

ROOM = Path(tabterm.__file__).parent / "samples"
"""Where they lie in the package."""

TUNES = "tunes"
"""The folder of public-domain tunes beside them."""

MOST_BYTES = 1_000_000


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("folder", type=Path, nargs="?", default=FOLDER, help=f"the folder to make ({FOLDER})")
    parser.add_argument("--no-edit", action="store_true", help="copy them without opening one")


def run(arguments: argparse.Namespace) -> int:
    """Copy the samples, unless they are there, and open one where there is a terminal."""
    copied(arguments.folder)
    opens = not arguments.no_edit and all(
        stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)
    )
    if not opens:
        for sample in samples():
            print(arguments.folder / sample.relative_to(ROOM))
        return 0
    from tabterm.cli.main import main

    return main(["edit", str(arguments.folder / FIRST)])


def copied(folder: Path) -> None:
    """Make a folder of the samples; one that has been made before stays as it is.

    Raises:
        StorageError: Something else is there, or the disk refused.
    """
    if (folder / FIRST).is_file():
        return
    if folder.exists():
        raise StorageError("it already exists", place=str(folder), hint="name another folder")
    with filling(folder) as new, filling(new / TUNES) as tunes:
        for sample in samples():
            room = tunes if sample.parent.name == TUNES else new
            atomic_write(room / sample.name, read(sample, most=MOST_BYTES))


def samples() -> list[Path]:
    """The scores that come with the program: those to try things on, and the tunes in a folder of their own."""
    from tabterm.formats import FORMATS

    return sorted(each for each in (*ROOM.iterdir(), *(ROOM / TUNES).iterdir()) if each.suffix in FORMATS)
