"""Damaged inputs of every kind: read, or refused in one line; never a traceback."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING
from unittest import mock

from tabterm.errors import TabtermError
from tabterm.formats import abc, musicxml, native, smf, text
from tabterm.piece import configuration
from tabterm.storage import names
from tabterm.storage.lock import Lock, LockHolder
from tabterm.workspace import records
from tabterm.workspace.keymap import Keymap
from tests.formats import musicxml_fuzz, smf_fuzz
from tests.formats.test_abc_damage import damaged as damaged_abc
from tests.ordeal.outcome import Outcome
from tests.ordeal.work import let_go, opened, steps

if TYPE_CHECKING:
    from collections.abc import Callable

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"

SETTINGS = b"""[hand]
span_mm = 190
weak_fingers = [4]
[hand.speeds]
strokes = 9.5
[keys]
"ctrl+b" = "save"
[sound]
output = "none"
count_in = true
[screen]
theme = "dark"
"""

HOLDER = b'{"user": "ann", "host": "h", "process": 1, "since": "12:00"}'
SCRAPS = (b"[" * 50, b"{", b"9" * 30, b"\x00", b"\xff\xfe", b'"', b"\n", b"-1", b"1e999")


def damaged(good: bytes, draw: random.Random) -> bytes:
    """Bytes changed, put in, left out, doubled or cut off."""
    data = bytearray(good)
    for _ in range(draw.randint(1, 6)):
        at, how = draw.randrange(len(data) + 1), draw.randrange(6)
        if how == 0:
            data[at : at + 1] = bytes((draw.randrange(256),))
        elif how == 1:
            data[at:at] = draw.choice(SCRAPS)
        elif how == 2:
            del data[at : at + draw.randint(1, 40)]
        elif how == 3:
            data[at:at] = data[draw.randrange(len(data) + 1) :][:60]
        elif how == 4:
            data[at : at + 1] = bytes((data[at] ^ (1 << draw.randrange(8)),)) if at < len(data) else b""
        else:
            del data[max(at, 1) :]
    return bytes(data)


def run(count: int, seed: int = 1) -> Outcome:
    """So many damaged inputs of each kind."""
    outcome = Outcome("mutated inputs")
    with tempfile.TemporaryDirectory() as folder:
        for name, (make, take) in _kinds(Path(folder)).items():
            draw = random.Random(seed)
            for _ in range(count):
                data = make(draw)
                try:
                    take(data)
                except TabtermError as error:
                    if "\n" in str(error):
                        outcome.faults.append(f"{name}: more than a line: {data[:80]!r}")
                except Exception as error:  # noqa: BLE001 - whatever it is, it is the fault looked for
                    outcome.faults.append(f"{name}: {type(error).__name__} {error}: {data[:200]!r}")
                outcome.count(name)
    return outcome


def _kinds(folder: Path) -> dict[str, tuple[Callable[[random.Random], bytes], Callable[[bytes], object]]]:
    score = native.read(SAMPLE.read_bytes())
    files, tab = SAMPLE.read_bytes()[:6000], text.write(score)
    small = native.write(score.with_(measures=score.measures[:3]))
    journal = _journal(folder)
    midi, xml = smf_fuzz.seeds(), musicxml_fuzz.seeds()
    tab_bytes = tab if isinstance(tab, bytes) else tab.data
    return {
        "native files": (lambda draw: damaged(draw.choice([files, small]), draw), native.read),
        "text tabs": (lambda draw: damaged(tab_bytes[:3000], draw), text.read),
        "ABC tunes": (lambda draw: damaged_abc(draw.randrange(1 << 40)), abc.read),
        "MIDI files": (lambda draw: smf_fuzz.damaged(draw, midi, keeps_length=draw.random() < 0.2), smf.read),
        "MusicXML files": (lambda draw: musicxml_fuzz.damaged(draw.choice(xml), draw), musicxml.read),
        "journals": (lambda draw: damaged(journal, draw), records.read),
        "configurations": (lambda draw: damaged(SETTINGS, draw), _Settings(folder)),
        "locks": (lambda draw: damaged(HOLDER, draw), _Locks(folder)),
    }  # fmt: skip


def _journal(folder: Path) -> bytes:
    document = opened(folder / "journal.tabterm")
    work = steps(document, 3)
    for _ in range(12):
        next(work)
    data = names.beside(document.path, "journal").read_bytes()
    let_go(document)
    return data


class _Settings:
    """Reads a configuration and the keys in it."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "config.toml"

    def __call__(self, data: bytes) -> None:
        self._file.write_bytes(data)
        with mock.patch.object(configuration, "path", return_value=self._file):
            settings = configuration.load()
        Keymap(settings.keys, str(self._file))


class _Locks:
    """Asks for a lock that another editor holds, and says who that is."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / "locked.tabterm"
        self._held = Lock.take(self._path)

    def __call__(self, data: bytes) -> None:
        names.beside(self._path, "lock").write_bytes(data)
        with mock.patch("tabterm.storage.lock.GONE_S", 0.0):
            found = Lock.take(self._path)
        if not isinstance(found, LockHolder) or "\n" in str(found):
            raise AssertionError(found)
