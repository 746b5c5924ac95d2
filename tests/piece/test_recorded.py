"""The recording of a document: kept in a side file, found again where it was moved, noticed where it changed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tabterm.errors import StorageError
from tabterm.piece import recorded
from tabterm.piece.recorded import Recorded
from tabterm.recording.timemap import Anchor, TimeMap
from tabterm.storage import side

MAP = TimeMap(anchors=(Anchor(measure=0, at_s=1.25), Anchor(measure=1, at_s=3.5, held=True)))


@pytest.fixture
def document(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "tunes").mkdir()
    return tmp_path / "tunes" / "steps.tabterm"


@pytest.fixture
def recording(tmp_path):
    path = tmp_path / "Ferry Steps.ogg"
    path.write_bytes(os.urandom(300_000))
    return path


def test_what_is_kept_is_read_again(document, recording):
    kept = Recorded.of(document, recording).with_(time_map=MAP, part=(12.5, 31.0), tuning_cents=-31.5)
    recorded.write(document, kept)
    assert document.with_name(".steps.tabterm.recording").exists()
    assert recorded.read(document) == kept
    assert kept.found(document) == (recording, "")


def test_a_folder_that_takes_nothing_leaves_it_in_the_own_folder_and_none_is_an_error(
    document, recording, monkeypatch
):
    refusing = {document.parent}
    whole = side.atomic_write

    def writing(path, data, **how):
        if path.parent in refusing:
            raise StorageError("the disk is full")
        whole(path, data, **how)

    monkeypatch.setattr(side, "atomic_write", writing)
    kept = Recorded.of(document, recording)
    recorded.write(document, kept)
    assert recorded.read(document) == kept
    refusing.add(side.places(document, recorded.KIND)[1].parent)
    with pytest.raises(StorageError, match=r"recording of steps.tabterm cannot be kept: the disk is full"):
        recorded.write(document, kept)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[1]",
        b'{"path": 3}',
        (
            b'{"path": "a", "beside": "a", "fingerprint": "x", '
            b'"time_map": {"anchors": [{"measure": 1, "at_s": 2}, {"measure": 0, "at_s": 3}]}}'
        ),
    ],
)
def test_a_damaged_side_file_counts_as_none(document, data):
    side.write(document, recorded.KIND, data)
    assert recorded.read(document) is None


def test_a_recording_that_moved_along_with_its_document_is_found(document, recording):
    kept = Recorded.of(document, recording)
    elsewhere = document.parent / recording.name
    recording.rename(elsewhere)
    path, remark = kept.found(document)
    assert path == elsewhere
    assert remark == f"Ferry Steps.ogg was moved to {elsewhere}"
    assert kept.moved(document, elsewhere).found(document) == (elsewhere, "")


@pytest.mark.parametrize("at", [0, 150_000, 299_999])
def test_a_recording_that_changed_is_noticed(document, recording, at):
    kept = Recorded.of(document, recording)
    data = bytearray(recording.read_bytes())
    data[at] ^= 255
    recording.write_bytes(data)
    path, remark = kept.found(document)
    assert path == recording
    assert remark == f"{recording} has changed since you tied it; check the bar lines"
    assert kept.moved(document, recording).found(document).remark == ""


def test_a_recording_that_is_gone_is_said_in_one_line(document, recording):
    kept = Recorded.of(document, recording)
    recording.unlink()
    assert kept.found(document) == (None, f"{recording}: the recording is missing; show where it is now")
    with pytest.raises(StorageError, match="cannot be read"):
        Recorded.of(document, Path("/nowhere/a.ogg"))
