"""The compressed file, `.mxl`: a ZIP archive whose `META-INF/container.xml` names the score in it.

Nothing in an archive is trusted: members are read up to a limit whatever they say of themselves, and no name of a
file is used but to find it in the archive.
"""

from __future__ import annotations

import io
import lzma
import zipfile
import zlib

from tabterm.errors import FormatError
from tabterm.formats.musicxml.tree import MAX_BYTES, Node, parse, serialise

ZIP = b"PK\x03\x04"
CONTAINER = "META-INF/container.xml"
MIME = "application/vnd.recordare.musicxml"
SCORE = "score.musicxml"
ENDINGS = (".musicxml", ".xml")
MAX_CONTAINER = 100_000
MAX_MEMBERS = 1_000
DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, KeyError, IndexError, OverflowError),
    *(NotImplementedError, RuntimeError, MemoryError, lzma.LZMAError),
)
"""What the library raises for archives that are cut short, corrupt, encrypted or packed in unknown ways."""

EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The time written for each member, so that equal scores give equal bytes."""


def unpacked(data: bytes) -> bytes:
    """The XML of a file, which may be an archive or the XML itself.

    Raises:
        FormatError: The archive is damaged, or no score is found in it, or the score is too large.
    """
    if not data.startswith(ZIP):
        return data
    if data.count(b"PK\x01\x02") > MAX_MEMBERS:
        raise FormatError("too many files in the archive for a score", hint=f"at most {MAX_MEMBERS}")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _member(archive, _score_name(archive), MAX_BYTES)
    except DAMAGE as error:
        reason = str(error).partition("\n")[0][:100] or "it ends too early"
        raise FormatError(f"a damaged archive: {reason}", hint="export the file again") from None


def _score_name(archive: zipfile.ZipFile) -> str:
    """The first file that the container names; without a container, the only score there is."""
    names = archive.namelist()
    if CONTAINER in names:
        roots = parse(_member(archive, CONTAINER, MAX_CONTAINER)).child("rootfiles")
        paths = [root.get("full-path") for root in roots or () if root.tag == "rootfile"]
        if paths and paths[0] in names:
            return paths[0]
        raise FormatError("the archive's container file names no score", hint="export the file again")
    scores = [name for name in names if name.lower().endswith(ENDINGS) and not name.startswith("META-INF/")]
    if len(scores) != 1:
        raise FormatError(f"the archive has no {CONTAINER} to name the score", hint="export it again")
    return scores[0]


def _member(archive: zipfile.ZipFile, name: str, most: int) -> bytes:
    with archive.open(name) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise FormatError(f"'{name:.60}' in the archive is too large", hint=f"at most {most} bytes")
    return data


def packed(xml: bytes) -> bytes:
    """The XML of a score as an archive; equal scores give equal bytes."""
    container = Node("container")
    container.add("rootfiles").add("rootfile", full_path=SCORE, media_type=f"{MIME}+xml")
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, content, method in (
            ("mimetype", MIME.encode(), zipfile.ZIP_STORED),
            (CONTAINER, serialise(container).encode(), zipfile.ZIP_DEFLATED),
            (SCORE, xml, zipfile.ZIP_DEFLATED),
        ):
            archive.writestr(zipfile.ZipInfo(name, EARLIEST), content, compress_type=method)
    return buffer.getvalue()
