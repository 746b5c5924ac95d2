"""What a killed program has left behind is cleared away, and nothing else."""

from __future__ import annotations

import errno
import os

import pytest

from tabterm.errors import StorageError
from tabterm.storage import temporaries
from tabterm.storage.temporaries import clear_stale
from tabterm.storage.whole import atomic_write, filling, replacing

LEFT = ".a.0123abcd.tmp"


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_only_what_an_interrupted_write_left_is_cleared(tmp_path):
    others = [".a.notes.tmp", ".b.0123abcd.tmp", "a", "a.0123abcd.tmp"]
    for name in (LEFT, *others):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / ".a.4567abcd.tmp").mkdir()
    (tmp_path / ".a.4567abcd.tmp" / "1.wav").write_bytes(b"")
    (tmp_path / ".a.89ababcd.tmp").symlink_to(tmp_path / "a")
    clear_stale(tmp_path / "a")
    assert names_in(tmp_path) == sorted([*others, ".a.89ababcd.tmp"])
    clear_stale(tmp_path / "none" / "a")


@pytest.mark.parametrize("make", ["file", "folder"])
def test_a_write_clears_what_one_before_left_but_not_what_another_is_writing(tmp_path, make):
    def write():
        return replacing(tmp_path / "a") if make == "file" else filling(tmp_path / "a")

    with write():
        (tmp_path / LEFT).write_bytes(b"left")
        with write():
            assert not (tmp_path / LEFT).exists()
            assert len(names_in(tmp_path)) == 2
    assert names_in(tmp_path) == ["a"]


@pytest.mark.parametrize("make", [replacing, filling])
def test_one_that_was_cleared_before_it_could_be_held_is_made_again(tmp_path, monkeypatch, make):
    real, seen = temporaries.fcntl.flock, []

    def late(descriptor, kind):
        if not seen:
            seen.append(descriptor)
            (left,) = tmp_path.iterdir()
            left.unlink() if left.is_file() else left.rmdir()
        real(descriptor, kind)

    monkeypatch.setattr(temporaries.fcntl, "flock", late)
    with make(tmp_path / "a"):
        pass
    assert names_in(tmp_path) == ["a"]


def test_without_locks_only_what_is_old_is_cleared(tmp_path, monkeypatch):
    def refuse(_descriptor, _kind):
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(temporaries.fcntl, "flock", refuse)
    for name, age_s in ((LEFT, 2 * temporaries.FORGOTTEN_S), (".a.4567abcd.tmp", 0)):
        (tmp_path / name).write_bytes(b"")
        at_s = (tmp_path / name).stat().st_mtime - age_s
        os.utime(tmp_path / name, (at_s, at_s))
    atomic_write(tmp_path / "a", b"new")
    assert names_in(tmp_path) == [".a.4567abcd.tmp", "a"]


def test_a_full_disk_names_the_folder_and_not_the_hidden_one(tmp_path, monkeypatch):
    def refuse(_descriptor, _data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def fill():
        with filling(tmp_path / "pack") as new:
            atomic_write(new / "1.wav", b"samples")

    monkeypatch.setattr("os.write", refuse)
    with pytest.raises(StorageError) as caught:
        fill()
    monkeypatch.undo()
    assert caught.value.place == str(tmp_path / "pack" / "1.wav")
    assert names_in(tmp_path) == []
