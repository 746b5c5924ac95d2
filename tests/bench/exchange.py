"""Exchange: reading and writing other programs' formats, each beside an independent reader in the same run."""

from __future__ import annotations

import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.formats import musicxml
from tests.bench.figure import Figure
from tests.bench.files import long_score, seconds

if TYPE_CHECKING:
    from collections.abc import Callable

MEASURES = 1000


def _music21(data: bytes) -> float:
    """Seconds that music21 takes for the same file, read once."""
    from music21 import converter

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.musicxml"
        path.write_bytes(data)
        return seconds(lambda: converter.parse(path, forceSource=True, storePickle=False), 1)


def musicxml_figures() -> list[Figure]:
    """A solo of 1,000 measures."""
    score = long_score(MEASURES)
    data = musicxml.write(score).data
    read = seconds(lambda: musicxml.read(data), 3)
    write = seconds(lambda: musicxml.write(score), 3)
    figures = [
        Figure("MusicXML: read 1,000 measures", read, "s", 1.0, f"{len(data) / 1e6:.1f} MB"),
        Figure("MusicXML: write 1,000 measures", write, "s", 1.0),
    ]
    if find_spec("music21") is not None:
        other = _music21(data)
        note = f"music21 takes {other:.1f} s for the same file"
        figures.append(Figure("MusicXML: our reading time by music21's", read / other, "", 1.0, note))
    return figures


FORMATS: tuple[Callable[[], list[Figure]], ...] = (musicxml_figures,)


def figures() -> list[Figure]:
    """The figures of every format."""
    return [figure for measure in FORMATS for figure in measure()]
