"""The phrase book with 10,000 phrases: each kind of search, a phrase kept, the memory of what searches."""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
from pathlib import Path

from tabterm.formats import native
from tabterm.harmony.figures import MOMENTS
from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.entry import Label, cut_out, facts, figure, whole
from tabterm.piece.phrase_book.folder import starting_book
from tabterm.piece.phrase_book.inserting import inserted
from tabterm.piece.phrase_book.tables import CALLED, STEPS, insert
from tabterm.piece.phrase_book.wish import Wish, setting_at
from tabterm.score.operations import set_chord
from tabterm.score.place import Place
from tabterm.storage.database import Database
from tests.bench.figure import Figure
from tests.bench.files import long_score, seconds
from tests.build import PLAYER, music

COUNT = 10_000
MOST_MS, MOST_MB = 50, 60
PUT = 22
"""A phrase in 4/4, with a chord in each of two measures."""

MEMORY = """
import re, sys
from pathlib import Path
from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.wish import wish_of
book = Book(Path(sys.argv[1]))
if sys.argv[2]:
    for line in ("open", "#swing ii-V-I", "1,2,3 medium"):
        book.find(wish_of(line))
        book.score(book.find(wish_of(line))[0].entry.number)
    book.find(wish_of(""), 10_000)
print(int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024)
"""


def fill(file: Path, count: int) -> Book:
    """A book of so many phrases: those that come along, over and over, with their lines and numbers changed."""
    draw, book = random.Random(1), Book(file)
    known = []
    for path in sorted(starting_book().glob("*.tabterm")):
        phrase = native.read(path.read_bytes())
        known.append((facts(phrase, PLAYER), native.write(phrase).decode()))
    with Database(file, CALLED, STEPS, 1.0).writing() as connection:
        for number in range(count):
            columns, score = known[number % len(known)]
            degrees = str(columns["degrees"]).split()
            draw.shuffle(degrees)
            changed = {
                "name": f"{columns['name']} {number}",
                "words": f"{columns['words']} {number}",
                "degrees": " ".join(degrees),
                "identity": f"{columns['identity']} {number}",
                "percent": round(draw.uniform(20, 110), 1),
            }
            curve = {f"c{n}": int(columns[f"c{n}"]) + draw.randint(-16, 16) for n in range(MOMENTS)}
            shares = {f"d{n}": max(int(columns[f"d{n}"]) + draw.randint(-9, 9), 0) for n in range(12)}
            insert(connection, columns | changed | curve | shares, score)
    return book


def searches(book: Book) -> dict[str, Wish]:
    """A search of each kind."""
    piece = set_chord(set_chord(music("1 | 1 | 1", key="A"), Place(0), "E7"), Place(1), "A")
    return {
        "text": Wish(text="open hand"),
        "text that is nowhere": Wish(text="zzz"),
        "tag": Wish(tags=("swing",)),
        "chords": Wish(chords="ii V I"),
        "degrees": Wish(degrees="3 2 1"),
        "contour": Wish(contour="falls and rises"),
        "rhythm": Wish(rhythm="8 8 4 8 8"),
        "level and metre": Wish(level="easy", metre="3/4"),
        "a phrase like it": Wish(like=figure(book.score(1))),
        "any phrase, by distance": Wish(like=figure(book.score(1)), within=100.0),
        "fits the chords": Wish(fits=setting_at(piece, 0)),
        "all at once": Wish(
            text="a",
            tags=("open",),
            degrees="1",
            like=figure(book.score(1)),
            fits=setting_at(piece, 0),
            within=9.0,
        ),
    }


def figures() -> list[Figure]:
    """The searches with their goal, what keeping and inserting take, and the memory."""
    with tempfile.TemporaryDirectory() as folder:
        book = fill(Path(folder) / "phrases.sqlite", COUNT)
        found = [
            Figure(
                f"search of 10,000 phrases: {name}",
                seconds(lambda wish=wish: book.find(wish), 7) * 1000,
                "ms",
                MOST_MS,
                f"{len(book.find(wish, COUNT))} found",
            )
            for name, wish in searches(book).items()
        ]
        phrase = cut_out(music("4 2.0, 4 2.2, 2 2.4", key="A"), whole(music("1")))
        keep = seconds(lambda: book.add(phrase, Label("New"), PLAYER, again=True), 5)
        song = long_score(100)
        put = seconds(lambda: inserted(song, Place(50), book.score(PUT), PLAYER), 5)
        memory = [_memory(book, word) for word in ("", "search")]
        size = book.file.stat().st_size / 1e6
    return [
        *found,
        Figure("keep a phrase among 10,000", keep * 1000, "ms", None, f"the file has {size:.0f} MB"),
        Figure("insert a phrase into 100 measures", put * 1000, "ms", None, "in its key and under the hand"),
        Figure(
            "memory of a program that searches 10,000",
            memory[1],
            "MB",
            MOST_MB,
            f"peak; {memory[0]:.0f} MB before the first search",
        ),
    ]


def _memory(book: Book, word: str) -> float:
    done = subprocess.run(
        [sys.executable, "-c", MEMORY, str(book.file), word], check=True, capture_output=True, text=True
    )
    return float(done.stdout)
