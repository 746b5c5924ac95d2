"""The recording of a document, in its side file `.NAME.recording`: which it is, and where its measures lie."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from tabterm.errors import FormatError, StorageError, TabtermError
from tabterm.forms import Limits
from tabterm.judge import UnfitError
from tabterm.parsing import json_of
from tabterm.recording.timemap import TimeMap
from tabterm.storage import side
from tabterm.values import Value, compact, plain, read_value

if TYPE_CHECKING:
    from tabterm.score.change import Change
    from tabterm.score.model import Score

KIND = "recording"
"""The kind of file that a side file is."""

Name = Annotated[str, Limits(min_length=1, max_length=4096)]


class Found(NamedTuple):
    """Where the recording is now.

    Attributes:
        path: The file; None where it cannot be found.
        remark: What the player should know, in one line; "" where all is as it was.
    """

    path: Path | None
    remark: str


class Recorded(Value):
    """The recording that a document was taken from.

    Attributes:
        path: The file, from the root of the file system.
        beside: The same from the document's folder.
        fingerprint: Of its bytes, as `fingerprint` of `tabterm.recording.audio` has it.
        time_map: Where the measures lie; None before any beat was tapped or found.
        part: Seconds at which the solo begins and ends; None for the whole.
        tuning_cents: How much higher than A4 = 440 Hz it is tuned, as estimated or as the player corrected it.
    """

    path: Name
    beside: Name
    fingerprint: Annotated[str, Limits(max_length=64)]
    time_map: TimeMap | None = None
    part: tuple[float, float] | None = None
    tuning_cents: Annotated[float, Limits(ge=-100, le=100)] | None = None

    @classmethod
    def of(cls, document: Path, recording: Path) -> Recorded:
        """A document with a recording to it; raises StorageError where that cannot be read."""
        from tabterm.recording.audio import fingerprint

        mark = fingerprint(recording)
        return cls(**_names(document, recording), fingerprint=mark)

    def found(self, document: Path) -> Found:
        """Look for the recording where it was, and at the same place beside the document."""
        from tabterm.recording.audio import fingerprint

        was, name = Path(self.path), Path(self.path).name
        there = []
        for place in dict.fromkeys(
            (was, document.absolute().parent / self.beside, document.absolute().parent / name)
        ):
            try:
                mark = fingerprint(place)
            except StorageError:
                continue
            if mark == self.fingerprint:
                return Found(place, "" if place == was else f"{name} was moved to {place}")
            there.append(place)
        if there:
            return Found(there[0], f"{there[0]} has changed since you tied it; check the bar lines")
        return Found(None, f"{self.path}: the recording is missing; show where it is now")

    def moved(self, document: Path, recording: Path) -> Recorded:
        """With the same measures in a file elsewhere, or in a changed one; raises StorageError as `of`."""
        now = Recorded.of(document, recording)
        return self.with_(path=now.path, beside=now.beside, fingerprint=now.fingerprint)

    def after(self, change: Change, score: Score) -> Recorded:
        """The same after a change of the score, which now stands as given."""
        return self if self.time_map is None else self.with_(time_map=self.time_map.after(change, score))


def _names(document: Path, recording: Path) -> dict[str, Any]:
    path = recording.absolute()
    return {"path": str(path), "beside": os.path.relpath(path, document.absolute().parent)}


def read(document: Path) -> Recorded | None:
    """What was kept for a document last; None where there is nothing that can be read."""
    for data in side.read(document, KIND):
        try:
            return read_value(Recorded, json_of(data))
        except (FormatError, UnfitError, TabtermError):
            continue
    return None


def write(document: Path, recorded: Recorded) -> None:
    """Keep it for a document; raises StorageError where neither its folder nor the user's own takes it."""
    side.write(document, KIND, compact(plain(recorded)).encode() + b"\n")
