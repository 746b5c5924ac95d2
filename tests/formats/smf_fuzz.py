"""Bytes of MIDI files changed, put in, left out and cut off: `python -m tests.formats.smf_fuzz COUNT [SEED]`.

Prints how many were read, the slowest, and the memory; ends with 1 where one was neither read nor refused with a
FormatError of one line.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import FormatError
from tabterm.formats import native, smf
from tests.midi import SCALE, file_of, steps

if TYPE_CHECKING:
    from collections.abc import Iterator

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"
LONGEST_S = 5.0
MOST_MB = 500


def seeds() -> list[bytes]:
    """Whole files: a line, a longer one in compound time, double stops, a file of our own."""
    return [
        file_of(steps(SCALE), key="G", name="Kiln Lane"),
        file_of(steps(SCALE * 4), metre=(6, 8)),
        file_of([(0, 1, 67), (0, 1, 71), (1, 1, 40), (2, 2, 110)]),
        smf.write(native.read(SAMPLE.read_bytes())).data,
    ]


def damaged(draw: random.Random, good: list[bytes], *, keeps_length: bool) -> bytes:
    """A file with a few bytes changed."""
    data = bytearray(draw.choice(good))
    for _ in range(draw.randint(1, 6)):
        at, how = draw.randrange(len(data)), draw.randrange(2 if keeps_length else 6)
        if how == 0:
            data[at] = draw.randrange(256)
        elif how == 1:
            data[at] = draw.choice([0, 0x7F, 0x80, 0xFF, 0x90, 0x51, 0x58])
        elif how == 2:
            del data[at : at + draw.randint(1, 9)]
        elif how == 3:
            data[at:at] = bytes(draw.randrange(256) for _ in range(draw.randint(1, 6)))
        elif how == 4:
            data = data[: max(at, 1)]
        else:
            data[at:at] = data[draw.randrange(len(data)) :][:40]
        data = data or bytearray(b"M")
    return bytes(data)


def outcomes(count: int, seed: int) -> Iterator[tuple[bool, float]]:
    """For each damaged file whether it was read, and its processor seconds; raises whatever is not refused."""
    draw, good = random.Random(seed), seeds()
    for number in range(count):
        data = damaged(draw, good, keeps_length=number % 5 != 0)
        start = time.process_time()
        try:
            smf.read(data)
            read = True
        except FormatError as error:
            read = False
            if "\n" in str(error):
                raise
        yield read, time.process_time() - start


def main(words: list[str]) -> int:
    """Run, print, and say whether all went well."""
    count, seed = int(words[0]), int(words[1]) if len(words) > 1 else 1
    found = list(outcomes(count, seed))
    slowest, mb = max(taken for _, taken in found), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    read = sum(each for each, _ in found)
    print(f"{count} files, {read} read, slowest {slowest:.2f} s of the processor, {mb:.0f} MB")
    return int(slowest > LONGEST_S or mb > MOST_MB)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
