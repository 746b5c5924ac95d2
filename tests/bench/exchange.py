"""Exchange: reading and writing other programs' formats, each beside an independent reader in the same run."""

from __future__ import annotations

import io
import tempfile
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path
from time import process_time
from typing import TYPE_CHECKING

import mido

from tabterm.formats import abc, musicxml, smf
from tabterm.formats.abc.tunes import text_of
from tabterm.hand.adapt import adapt
from tabterm.hand.fingering import fingering
from tabterm.score.model import Score
from tests.bench.figure import Figure
from tests.bench.files import long_score, seconds
from tests.build import PLAYER
from tests.midi import file_of, steps

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

MEASURES = 1000

EVERY = 4
"""Of the collection every fourth tune, to spare time."""


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


def abc_figures() -> list[Figure]:
    """The tunes of a printed collection (Ryan, Boston 1883), where music21 with its files is there.

    In time of the processor, the least of some rounds: one tune takes too little to be measured beside other work.
    """
    found = find_spec("music21")
    folder = Path(found.origin or "").parent / "corpus" / "ryansMammoth" if found else Path("none")
    tunes = [text_of(path.read_bytes()) for path in sorted(folder.glob("*.abc"))[::EVERY]]
    if not tunes:
        return []
    readers: dict[str, Callable[[str], object]] = {"ours": lambda tune: abc.read(tune.encode())}
    if find_spec("abcnotes") is not None:
        import abcnotes

        readers["abcnotes"] = lambda tune: abcnotes.Tune(tune).notes
    ours, *notes_alone = _ms_each(readers, tunes, 7)
    figures = [Figure("ABC: read a tune", ours, "ms", 2.0, f"{len(tunes)} tunes")]
    for other in notes_alone:
        note = f"abcnotes takes {other:.2f} ms for the notes alone"
        figures.append(Figure("ABC: our reading time by abcnotes'", ours / other, "", None, note))
    from music21 import converter

    few = tunes[::40]
    readers = {"ours": readers["ours"], "music21": lambda tune: converter.parseData(tune, format="abc")}
    ours, other = _ms_each(readers, few, 2)
    note = f"music21 takes {other:.0f} ms a tune ({len(few)} tunes)"
    return [*figures, Figure("ABC: our reading time by music21's", ours / other, "", 1.0, note)]


def _ms_each(readers: dict[str, Callable[[str], object]], tunes: Sequence[str], rounds: int) -> list[float]:
    """Milliseconds of the processor for each tune, by reader, in turns; what one refuses counts as well."""
    least = dict.fromkeys(readers, float("inf"))
    for _ in range(rounds):
        for name, read in readers.items():
            start = process_time()
            for tune in tunes:
                with suppress(Exception):
                    read(tune)
            least[name] = min(least[name], process_time() - start)
    return [1000 * taken / len(tunes) for taken in least.values()]


def midi_figures() -> list[Figure]:
    """A line of 300 notes from a MIDI file, read and fitted to the neck, beside what a part of that takes."""
    data = file_of(steps([57 + 5 * number % 31 for number in range(300)]))
    read = seconds(lambda: smf.read(data), 7)
    other = seconds(lambda: mido.MidiFile(file=io.BytesIO(data)), 7)
    line = smf.read(data).music
    fitted = seconds(lambda: adapt(line, PLAYER), 7)
    score = adapt(line, PLAYER).score
    search = seconds(lambda: fingering(_anew(score), PLAYER, keep_courses=False), 7)
    return [
        Figure("MIDI: read 300 notes", read * 1000, "ms", 60, f"mido takes {other * 1000:.1f} ms for the events"),
        Figure("fit 300 notes to the neck", fitted * 1000, "ms", 150, f"the search alone {search * 1000:.0f} ms"),
    ]


def _anew(score: Score) -> Score:
    """The score with events that no search remembers."""
    return Score(
        head=score.head,
        measures=tuple(
            measure.with_(events=tuple(event.with_() for event in measure.events)) for measure in score.measures
        ),
    )


FORMATS: tuple[Callable[[], list[Figure]], ...] = (abc_figures, musicxml_figures, midi_figures)


def figures() -> list[Figure]:
    """The figures of every format."""
    return [figure for measure in FORMATS for figure in measure()]
