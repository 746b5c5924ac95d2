"""What it costs at a key to have its change on the disk: by itself, and shared by the keys of one repaint."""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from unittest import mock

from tabterm.hand.strokes import with_proposals
from tabterm.score import operations as do
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.place import Place
from tabterm.workspace.document import Document
from tests.bench.figure import Figure
from tests.build import PLAYER
from tests.ordeal.work import blank

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"
KEYS = 400
TOGETHER = 4
"""Keys that a repaint takes in where they are typed ahead."""


def figures() -> Iterator[Figure]:
    """A change with its proposals and its record, in a folder of this checkout."""
    for name, sync, every, goals in (
        ("written only", lambda _descriptor: None, 0, (None, None)),
        ("on the disk at each key", os.fdatasync, 0, (5, 30)),
        (f"on the disk at each {TOGETHER}th key", lambda _descriptor: None, TOGETHER, (None, None)),
    ):
        took = _keys(sync, every)
        yield Figure(f"journal: {name}, p50", statistics.median(took), "ms", goals[0], "a note, strokes proposed")
        yield Figure(f"journal: {name}, p99", took[int(0.99 * len(took))], "ms", goals[1])


def _keys(sync: Callable[[int], None], every: int) -> list[float]:
    took = []
    with _document() as document, mock.patch("tabterm.storage.appending.QUICK_S", 100):
        for number in range(KEYS):
            place = Place(number % len(document.score.measures))
            note = Note(course=1 + number % 4, fret=number % 12)
            real = os.fdatasync
            begun = time.perf_counter()
            with mock.patch("os.fdatasync", sync):
                document.apply(do.put_note(document.score, place, note, EIGHTH), "note")
            if every and number % every == 0 and document._keeper.journal is not None:
                real(document._keeper.journal.file._descriptor)
            took.append((time.perf_counter() - begun) * 1e3)
    return sorted(took)


@contextmanager
def _document() -> Iterator[Document]:
    with tempfile.TemporaryDirectory(dir=Path(__file__).parent) as folder:
        path = Path(folder) / "keys.tabterm"
        path.write_bytes(SAMPLE.read_bytes())
        document = Document.open(path, PLAYER, propose=with_proposals, blank=blank)
        yield document
        document.close(keep_draft=False)
