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
    from collections.abc import Iterator

    from tabterm.performance.model import Record

GRID_S = 10.0  #: s; implementation limit
"""Parts begin and end at multiples of it, so that what is sent for one phrase serves for its neighbours."""

AROUND_S = 1.0  #: s; implementation limit
"""Of a recording that goes along on either side of what is heard, for seams."""

PIECE_BYTES = 16_000  #: bytes; implementation limit
"""A piece on a thin line holds nothing else up for long."""

MOST_PIECES = 2_000  #: pieces; implementation limit
"""32 MB: half an hour of music."""

MOST_KEPT_BYTES = 300_000_000  #: bytes; implementation limit
"""What a listener keeps; the part that was written first goes first."""

NAME = re.compile(r"^[0-9a-f]{8,64}-\d{1,6}-\d{1,6}$", re.ASCII)
"""Fingerprint, first and last second."""


def named(record: Record) -> tuple[str, Record]:
    """The name of the part of a recording that is heard, and the recording as it is heard of that part."""
    start_s = max(min(each.from_s for each in record.passages) - AROUND_S, 0.0) // GRID_S * GRID_S
    end_s = math.ceil((max(each.to_s for each in record.passages) + AROUND_S) / GRID_S) * GRID_S
    passages = tuple(
        each._replace(from_s=each.from_s - start_s, to_s=each.to_s - start_s) for each in record.passages
    )
    name = f"{record.mark}-{start_s:.0f}-{end_s:.0f}"
    return name, replace(record, path="", mark=name, passages=passages)


def pieces(path: str, name: str) -> list[bytes]:
    """A part of a recording as Ogg Vorbis, in pieces.

    Raises:
        SoundError: It cannot be read, or is too long to be sent.
    """
    import soundfile

    from tabterm.recording.audio import Recording

    start_s, end_s = map(float, name.split("-")[1:])
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
        raise SoundError("the recording is too long to be sent", hint="play fewer measures at once")
    return cut


class Records:
    """What a listener has been sent and keeps."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or platformdirs.user_cache_path("tabterm") / "recordings"
        self._coming: tuple[str, list[bytes]] = ("", [])

    def path_of(self, name: str) -> Path | None:
        """The file of a part; None where it has not come."""
        path = self._folder / f"{name}.ogg"
        return path if NAME.match(name) and path.is_file() else None

    def take(self, name: str, number: int, of: int, data: bytes) -> bool:
        """Take a piece, in order; True once all have come and are kept.

        Raises:
            ValueError: It is no piece, or out of order.
        """
        if not NAME.match(name) or not 0 <= number < of <= MOST_PIECES or not 0 < len(data) <= PIECE_BYTES:
            raise ValueError("not a piece of a recording")
        if number == 0:
            self._coming = name, []
        if self._coming[0] != name or len(self._coming[1]) != number:
            raise ValueError("a piece of a recording out of order")
        self._coming[1].append(data)
        if number + 1 < of:
            return False
        whole, self._coming = b"".join(self._coming[1]), ("", [])
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
