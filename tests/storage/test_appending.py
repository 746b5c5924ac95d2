"""A file that grows by whole pieces: synced at each on a quick disk, beside the keys on a slow one."""

from __future__ import annotations

import errno
import os
import threading

import pytest

from tabterm.storage import appending
from tabterm.storage.appending import AppendedFile, TakenError


@pytest.fixture
def syncs(monkeypatch):
    """The threads that have synced, in order."""
    found = []
    real = os.fdatasync

    def noted(descriptor):
        found.append(threading.current_thread().name)
        real(descriptor)

    monkeypatch.setattr(os, "fdatasync", noted)
    return found


def test_each_piece_is_on_a_quick_disk_when_it_is_appended(tmp_path, syncs, monkeypatch):
    monkeypatch.setattr(appending, "QUICK_S", 100)
    file = AppendedFile.made(tmp_path / "file")
    for number in range(3):
        file.append(b"piece\n")
        assert len(syncs) == number + 1
    file.close()
    assert set(syncs) == {threading.current_thread().name}


def test_a_slow_disk_is_synced_beside_the_keys(tmp_path, syncs, monkeypatch):
    monkeypatch.setattr(appending, "QUICK_S", -1)
    file = AppendedFile.made(tmp_path / "file")
    for _ in range(5):
        file.append(b"piece\n")
    file.close()
    assert syncs[0] == threading.current_thread().name
    assert set(syncs[1:]) == {"tabterm-sync"}
    assert (tmp_path / "file").read_bytes() == b"piece\n" * 5


def test_keys_do_not_wait_for_a_slow_disk(tmp_path, monkeypatch):
    """The disk is held until five pieces more have been taken."""
    monkeypatch.setattr(appending, "QUICK_S", -1)
    file = AppendedFile.made(tmp_path / "file")
    file.append(b"piece\n")
    free, real = threading.Event(), os.fdatasync

    def held(descriptor):
        free.wait(60)
        real(descriptor)

    monkeypatch.setattr(os, "fdatasync", held)
    for _ in range(5):
        file.append(b"piece\n")
    assert (tmp_path / "file").read_bytes() == b"piece\n" * 6
    free.set()
    file.sync()
    file.close()


def test_what_the_disk_refuses_beside_the_keys_is_said_at_the_next_one(tmp_path, monkeypatch):
    monkeypatch.setattr(appending, "QUICK_S", -1)
    file = AppendedFile.made(tmp_path / "file")
    file.append(b"piece\n")

    def refuse(_descriptor):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(os, "fdatasync", refuse)
        file.append(b"piece\n")
        file._syncing.join()
        with pytest.raises(OSError, match="Input/output"):
            file.append(b"piece\n")
    file.close()


def test_the_name_of_a_new_file_is_synced_with_it(tmp_path, monkeypatch):
    folders, real = [], os.fsync

    def noted(descriptor):
        folders.append(os.fstat(descriptor).st_ino)
        real(descriptor)

    monkeypatch.setattr(os, "fsync", noted)
    file = AppendedFile.made(tmp_path / "file")
    file.append(b"piece\n")
    file.sync()
    file.sync()
    file.close()
    assert folders == [tmp_path.stat().st_ino]


def test_a_file_is_taken_over_only_from_a_process_that_has_ended(tmp_path):
    file = AppendedFile.made(tmp_path / "file")
    file.append(b"piece\n")
    with pytest.raises(TakenError):
        AppendedFile.claimed(tmp_path / "file")
    with pytest.raises(FileExistsError):
        AppendedFile.made(tmp_path / "file")
    file.close()
    again = AppendedFile.claimed(tmp_path / "file")
    assert again.size == 6
    again.append(b"more\n")
    again.close()
    assert (tmp_path / "file").read_bytes() == b"piece\nmore\n"


def test_a_file_that_has_been_replaced_is_not_taken_away(tmp_path):
    file = AppendedFile.made(tmp_path / "file")
    (tmp_path / "file").unlink()
    (tmp_path / "file").write_bytes(b"another")
    assert not file.is_in_place()
    file.remove()
    assert (tmp_path / "file").read_bytes() == b"another"
