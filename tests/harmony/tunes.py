"""Keys and chords of open tune collections, and what the program guesses of them without being told.

The tunes are those that the package music21 ships: three printed collections with a key each (Ryan's Mammoth
Collection, Boston 1883; Aird's Airs, Glasgow 1782-1801; O'Neill's Music of Ireland, Chicago 1903), and what has
chord symbols: two reels of the Nottingham Music Database and two lead sheets. `python -m tests.harmony.tunes
keys` prints how often the key is the first or second guess, `... chords` how often the chord of a measure is, and
each miss; a folder of ABC or MusicXML files after the word is read instead.
"""

from __future__ import annotations

import re
import sys
from collections import Counter, defaultdict
from pathlib import Path

from tabterm.errors import TabtermError
from tabterm.formats import abc, musicxml
from tabterm.formats.abc.tunes import text_of
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.harmonising import proposals
from tabterm.harmony.keys import key_guesses
from tabterm.harmony.progression import is_minor, sounding_chords
from tabterm.score.line import silent
from tabterm.score.model import Event, Note
from tabterm.score.place import Place

COLLECTIONS = ("ryansMammoth", "airdsAirs", "oneills1850")


def corpus() -> Path:
    """Where the tunes are."""
    import music21

    return Path(music21.__file__).parent / "corpus"


def laid(line):
    """The score of a line with each highest note alone on the neck, in whatever octave there is a fret for it."""
    score = silent(line)
    measures = [
        measure.with_(events=tuple(_played(score.head.instrument, moment) for moment in bar.events))
        for measure, bar in zip(score.measures, line.measures, strict=True)
    ]
    return score.with_(measures=tuple(measures))


def _played(instrument, moment):
    if not moment.notes:
        return Event(duration=moment.duration)
    pitch = moment.notes[0].pitch
    while pitch < instrument.courses[-1].pitch:
        pitch += 12
    while pitch > instrument.courses[0].pitch + 12:
        pitch -= 12
    course, fret = instrument.free_place(pitch, set())
    return Event(duration=moment.duration, notes=(Note(course=course, fret=fret, tied=moment.notes[0].tied),))


def printed(collection: str, every: int = 1, start: int = 0):
    """(name, score) of each so-many-th tune of a collection."""
    number = 0
    for path in sorted((corpus() / collection).glob("*.abc")):
        for text in re.split(r"(?m)^(?=X:)", text_of(path.read_bytes())):
            if not text.startswith("X:"):
                continue
            number += 1
            if number % every != start:
                continue
            tune = re.split(r"\n[ \t]*\n", text)[0] + "\n"
            try:
                yield re.search(r"T:\s*(.*)", tune)[1].strip(), laid(abc.read(tune.encode()).music)
            except (TabtermError, TypeError):
                continue


def keys(every: int = 20, start: int = 0):
    """(name, written key, place of it among the guesses, first guess) of tunes."""
    for collection in COLLECTIONS:
        for name, score in printed(collection, every, start):
            if any(measure.key for measure in score.measures):
                continue
            guesses = [each.key for each in key_guesses(score)]
            written = score.head.key
            same = [each for each in guesses if (each.tonic, each.mode) == (written.tonic, written.mode)]
            if same:
                yield name, written, guesses.index(same[0]), guesses[0]


def with_chords(folder: Path | None = None):
    """(name, score) of each tune with chord symbols, of the corpus or of a folder."""
    paths = (
        [corpus() / "nottingham-dataset" / "reelsa-c.abc", *sorted((corpus() / "leadSheet").glob("*.mxl"))]
        if folder is None
        else sorted(folder.iterdir())
    )
    for path in paths:
        if path.suffix != ".abc":
            yield path.stem, laid(musicxml.read(path.read_bytes()).music)
            continue
        for text in re.split(r"(?m)^(?=X:)", text_of(path.read_bytes())):
            if text.startswith("X:") and '"' in text:
                yield re.search(r"T:\s*(.*)", text)[1].strip(), laid(abc.read(text.encode()).music)


def plain(chord):
    """Root, and whether the third is minor: sevenths, sixths and basses do not make another chord here."""
    return chord.root, is_minor(chord)


def chords(folder: Path | None = None):
    """Name, measure, the longest chord there and proposals, of measures with a chord symbol and a note."""
    for name, score in with_chords(folder):
        lasting: dict[int, Counter] = defaultdict(Counter)
        for each in sounding_chords(score):
            place, left = each.place, each.length
            while left > 0:
                here = min(left, score.measures[place.measure].length - place.offset)
                lasting[place.measure][plain(each.chord), each.symbol] += here
                place, left = Place(place.measure + 1), left - here
        found = proposals(score)
        for index, counted in lasting.items():
            if score.measures[index].chords and any(event.notes for event in score.measures[index].events):
                (chord, symbol), _ = counted.most_common(1)[0]
                yield name, index, chord, symbol, found[index]


def _shares(first, second):
    return f"right as the first guess in {first:.1%},", f"as one of the best two in {second:.1%}"


def main(words):
    """Print what is asked for."""
    if words[:1] == ["keys"]:
        every, start = int(words[1]) if len(words) > 1 else 20, int(words[2]) if len(words) > 2 else 0
        found = list(keys(every, start))
        first, second = (sum(each[2] <= most for each in found) for most in (0, 1))
        for name, written, place, guessed in found:
            if place > 1:
                print(f"{name}: {written} is guess {place + 1}, the first is {guessed}")
        print(f"{len(found)} tunes:", *_shares(first / len(found), second / len(found)))
    if words[:1] == ["chords"]:
        found = list(chords(Path(words[1]) if len(words) > 1 else None))
        places = []
        for name, index, chord, symbol, ranked in found:
            distinct = list(dict.fromkeys(plain(parse_chord(each.symbol)) for each in ranked))
            places.append(distinct.index(chord) if chord in distinct else len(distinct))
            if places[-1] > 1:
                shown = " ".join(each.symbol for each in ranked[:3])
                print(f"{name}, measure {index + 1}: {symbol} is guess {places[-1] + 1}; the first are {shown}")
        first, second = (sum(place <= most for place in places) / len(places) for most in (0, 1))
        print(f"{len(places)} measures:", *_shares(first, second))


if __name__ == "__main__":
    main(sys.argv[1:])
