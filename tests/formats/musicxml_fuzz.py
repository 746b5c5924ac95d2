"""Damaged MusicXML: bytes and elements of good files changed at random.

`python -m tests.formats.musicxml_fuzz 20000` reads so many of them and prints the slowest one and the most memory;
it ends with an error where anything but a FormatError of one line was raised.
"""

from __future__ import annotations

import random
import re
import resource
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tabterm.errors import FormatError
from tabterm.formats import musicxml, native
from tabterm.formats.musicxml import VIEWS, compressed
from tabterm.score.model import Score

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))
NUMBERS = ("0", "-1", "1", "7", "99", "1.5", "999999999", "-999999999", "1e9", "", "x", "0.0000001", "NaN")
WORDS = ("start", "stop", "continue", "forward", "backward", "yes", "left", "TAB", "percussion", "none", "breve")
SLOWEST_S, MOST_MB = 5.0, 500

_ELEMENT = re.compile(rb"<([a-z-]+)[^<>]*>[^<>]*</\1>|<[a-z-]+[^<>]*/>")
_TEXT = re.compile(rb">([^<>\n]+)<")
_TAG = re.compile(rb"</?([a-z-]+)")


def seeds() -> list[bytes]:
    """Good files of every view, short enough to be read quickly, and an archive."""
    found = []
    for path in SAMPLES:
        sample = native.read(path.read_bytes())
        short = Score(head=sample.head, measures=sample.measures[:5])
        found += [musicxml.write(short, view=view).data for view in VIEWS]
    return [*found, compressed.write(short).data, found[0].decode().replace("UTF-8", "UTF-16").encode("utf-16")]


def damaged(good: bytes, rng: random.Random) -> bytes:
    """A good file with one to six changes of bytes, texts, names or whole elements."""
    data = good
    for _ in range(rng.randint(1, 6)):
        data = rng.choice(CHANGES)(data, rng)
    return data


def _bytes(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    scrap = bytes(rng.randrange(256) for _ in range(rng.randint(0, 4)))
    return data[:at] + scrap + data[at + rng.randint(0, 8) :]


def _cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data) + 1)] if rng.random() < 0.1 else data


def _text(data: bytes, rng: random.Random) -> bytes:
    return _replaced(_TEXT, data, rng, b">" + rng.choice(NUMBERS + WORDS).encode() + b"<")


def _name(data: bytes, rng: random.Random) -> bytes:
    names = sorted(set(_TAG.findall(data)))
    if len(names) < 2:
        return data
    one, other = rng.sample(names, 2)
    return re.sub(rb"(</?)" + one + rb"(?=[\s/>])", rb"\1" + other, data, count=rng.choice((0, 2)))


def _element(data: bytes, rng: random.Random) -> bytes:
    """Take an element out, or put it somewhere else as well."""
    found = list(_ELEMENT.finditer(data))
    if not found:
        return data
    one, other = rng.choice(found), rng.choice(found)
    if rng.random() < 0.5:
        return data[: one.start()] + data[one.end() :]
    return data[: other.start()] + one.group() + data[other.start() :]


def _replaced(pattern: re.Pattern[bytes], data: bytes, rng: random.Random, scrap: bytes) -> bytes:
    found = list(pattern.finditer(data))
    if not found:
        return data
    place = rng.choice(found)
    return data[: place.start()] + scrap + data[place.end() :]


CHANGES = (_bytes, _bytes, _cut, _text, _text, _text, _name, _element, _element)


@dataclass
class Run:
    """What came of many inputs."""

    inputs: int = 0
    read: int = 0
    slowest_s: float = 0.0


def run(count: int, seed: int) -> Run:
    """Read damaged files; raises whatever is no FormatError, and AssertionError for one of several lines."""
    rng = random.Random(seed)
    good = seeds()
    result = Run()
    for _ in range(count):
        data = damaged(rng.choice(good), rng)
        start = time.perf_counter()
        try:
            musicxml.read(data)
            result.read += 1
        except FormatError as error:
            assert "\n" not in str(error)  # noqa: PT017
        except Exception:
            Path("damaged.musicxml").write_bytes(data)
            raise
        result.inputs += 1
        result.slowest_s = max(result.slowest_s, time.perf_counter() - start)
    return result


def main(count: int, seed: int) -> None:
    """Run and print."""
    result = run(count, seed)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{result.inputs} inputs, {result.read} read, slowest {result.slowest_s:.2f} s, at most {memory_mb:.0f} MB"
    )
    if result.slowest_s > SLOWEST_S or memory_mb > MOST_MB:
        sys.exit("too slow or too large")


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], "20000", "1")[:2]))
