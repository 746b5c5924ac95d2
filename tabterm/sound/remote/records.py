"""Recordings on their way to a listener: parts of them, compressed, sent once and kept by their fingerprint."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from tabterm.errors import SoundError, StorageError, TabtermError
from tabterm.storage.opening import make_own_folder
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.performance.model import Record

GRID_S = 10.0  #: s; implementation limit
"""Parts begin and end at multiples of it, so that what is sent for one phrase serves for its neighbours."""

AROUND_S = 1.0  #: s; implementation limit
"""Of a recording that goes along on either side of what is heard, for seams."""

PIECE_BYTES = 16_000  #: bytes; implementation limit
"""A piece on a thin line holds nothing else up for long."""

MOST_PIECES = 2_000  #: pieces; implementation limit
"""32 MB: half an hour of music."""

MOST_COMING = 2  #: parts; implementation limit
"""Parts whose pieces come in turn: what is to be played now, and what is sent ahead."""

MOST_KEPT_BYTES = 300_000_000  #: bytes; implementation limit
"""What a listener keeps; the part that was written first goes first."""

NAME = re.compile(r"^[0-9a-f]{8,64}-\d{1,6}-\d{1,6}$", re.ASCII)
"""Fingerprint, first and last second."""


def part_of(mark: str, from_s: float, to_s: float) -> str:
    """The name of the part of a recording in which a stretch of it lies."""
    start_s = max(from_s - AROUND_S, 0.0) // GRID_S * GRID_S
    end_s = math.ceil((to_s + AROUND_S) / GRID_S) * GRID_S
    return f"{mark}-{start_s:.0f}-{end_s:.0f}"


def named(record: Record, there: Iterable[str] = ()) -> tuple[str, Record]:
    """The name of the part of a recording that is heard, and the recording as it is heard of that part.

    Of the parts that are `there`, one that has all of it is taken in its place.
    """
    name = part_of(
        record.mark, min(each.from_s for each in record.passages), max(each.to_s for each in record.passages)
    )
    name = next((each for each in there if _holds(each, name)), name)
    start_s = _ends(name)[0]
    passages = tuple(
        each._replace(from_s=each.from_s - start_s, to_s=each.to_s - start_s) for each in record.passages
    )
    return name, replace(record, path="", mark=name, passages=passages)


def _ends(name: str) -> tuple[float, float]:
    """The seconds at which a part begins and ends."""
    start_s, end_s = map(float, name.split("-")[1:])
    return start_s, end_s


def _holds(one: str, other: str) -> bool:
    """Whether one part has all of another."""
    if one.split("-", maxsplit=1)[0] != other.split("-", maxsplit=1)[0]:
        return False
    (start_s, end_s), (from_s, to_s) = _ends(one), _ends(other)
    return start_s <= from_s and to_s <= end_s


def pieces(path: str, name: str) -> list[bytes]:
    """A part of a recording as Ogg Vorbis, in pieces.

    Raises:
        SoundError: It cannot be read, or is too long to be sent.
    """
    import soundfile

    from tabterm.recording.audio import Recording

    start_s, end_s = _ends(name)
    data = io.BytesIO()
    try:
        recording = Recording.opened(Path(path))
        with soundfile.SoundFile(
            data, "w", samplerate=recording.rate_hz, channels=2, format="OGG", subtype="VORBIS"
        ) as file:
            for block in recording.stereo(start_s, end_s):
                file.write(block)
    except (TabtermError, soundfile.SoundFileError) as error:
        raise SoundError(f"{Path(path).name} cannot be sent to the listener: {error}") from error
    whole = data.getvalue()
    cut = [whole[at : at + PIECE_BYTES] for at in range(0, len(whole), PIECE_BYTES)]
    if len(cut) > MOST_PIECES:
        raise SoundError("the recording is too long to send", hint="play fewer measures at once")
    return cut


class Records:
    """What a listener has been sent and keeps."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or platformdirs.user_cache_path("tabterm") / "recordings"
        self._coming: dict[str, list[bytes]] = {}

    def path_of(self, name: str) -> Path | None:
        """The file of a part; None where it has not come."""
        path = self._folder / f"{name}.ogg"
        return path if NAME.match(name) and path.is_file() else None

    def take(self, name: str, number: int, of: int, data: bytes) -> bool:
        """Take a piece, in the order of its part; True once all have come and are kept.

        Raises:
            ValueError: It is no piece, or out of order.
        """
        if not NAME.match(name) or not 0 <= number < of <= MOST_PIECES or not 0 < len(data) <= PIECE_BYTES:
            raise ValueError("not a piece of a recording")
        if number == 0:
            self._coming.pop(name, None)
            for oldest in list(self._coming)[: 1 - MOST_COMING]:
                del self._coming[oldest]
            self._coming[name] = []
        if len(self._coming.get(name, [])) != number or name not in self._coming:
            raise ValueError("a piece of a recording out of order")
        self._coming[name].append(data)
        if number + 1 < of:
            return False
        whole = b"".join(self._coming.pop(name))
        try:
            make_own_folder(self._folder)
            atomic_write(self._folder / f"{name}.ogg", whole)
        except (OSError, StorageError):
            return False
        self._prune()
        return True

    def _prune(self) -> None:
        """Let the oldest parts go where there are too many."""
        kept = 0
        for path, size in self._newest_first():
            kept += size
            if kept > MOST_KEPT_BYTES:
                path.unlink(missing_ok=True)

    def _newest_first(self) -> Iterator[tuple[Path, int]]:
        found = [(path, path.stat()) for path in self._folder.glob("*.ogg")]
        for path, status in sorted(found, key=lambda each: -each[1].st_mtime):
            yield path, status.st_size
