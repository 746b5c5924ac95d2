"""Writing a file wholly or not at all; failures are made real where the system allows, else put in its calls."""

from __future__ import annotations

import errno
import os
import resource
import signal
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.errors import FormatError, StorageError
from tabterm.storage.temporaries import clear_stale
from tabterm.storage.whole import atomic_write, replacing
from tests.build import score


def names_in(folder):
    return [path.name for path in folder.iterdir()]


def test_a_new_file_is_written_and_leaves_nothing_beside_it(tmp_path):
    atomic_write(tmp_path / "a.txt", b"new")
    assert (tmp_path / "a.txt").read_bytes() == b"new"
    assert names_in(tmp_path) == ["a.txt"]


def test_the_mode_of_the_old_file_is_kept(tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    path.chmod(0o640)
    atomic_write(path, b"new")
    assert path.stat().st_mode & 0o7777 == 0o640


def test_a_symbolic_link_stays_one_and_its_target_is_written(tmp_path):
    (tmp_path / "far").mkdir()
    link = tmp_path / "link.txt"
    link.symlink_to(tmp_path / "far" / "real.txt")
    for data in (b"first", b"second"):
        atomic_write(link, data)
        assert link.is_symlink()
        assert (tmp_path / "far" / "real.txt").read_bytes() == data
    assert names_in(tmp_path / "far") == ["real.txt"]


def test_the_bytes_are_on_the_disk_before_the_name_is_theirs_and_the_folder_after(tmp_path, monkeypatch):
    order = []
    sync, replace = os.fsync, os.replace

    def noted_sync(descriptor):
        order.append("folder" if Path(f"/proc/self/fd/{descriptor}").is_dir() else "file")
        sync(descriptor)

    def noted_replace(*names, **options):
        order.append("replace")
        replace(*names, **options)

    monkeypatch.setattr("os.fsync", noted_sync)
    monkeypatch.setattr("os.replace", noted_replace)
    monkeypatch.setattr("os.rename", noted_replace)
    atomic_write(tmp_path / "a.txt", b"new")
    assert order == ["file", "replace", "folder"]


@pytest.mark.parametrize("number", [errno.EINVAL, errno.EACCES])
def test_a_folder_that_cannot_be_synced_is_no_refusal(tmp_path, monkeypatch, number):
    """Some network file systems sync no folders: the file is in its place all the same."""
    sync = os.fsync

    def refuse_folders(descriptor):
        if Path(f"/proc/self/fd/{descriptor}").is_dir():
            raise OSError(number, os.strerror(number))
        sync(descriptor)

    monkeypatch.setattr("os.fsync", refuse_folders)
    atomic_write(tmp_path / "a.txt", b"new")
    assert (tmp_path / "a.txt").read_bytes() == b"new"


def test_a_file_that_may_grow_no_further_keeps_what_was_there(tmp_path):
    """The kernel refuses the write after 4,096 bytes, as a full disk does."""
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, limits[1]))
    try:
        with pytest.raises(
            StorageError, match=r"a\.txt: cannot be written: the file would be larger than allowed"
        ):
            atomic_write(path, b"x" * 10_000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, handler)
    assert path.read_bytes() == b"old"
    assert names_in(tmp_path) == ["a.txt"]


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "disk is full"),
        (errno.EROFS, "read-only"),
        (errno.EACCES, "no permission"),
        (errno.EIO, "write elsewhere"),
    ],
)
@pytest.mark.parametrize("call", ["write", "fsync"])
def test_each_refusal_is_said_in_one_line_and_costs_nothing(tmp_path, monkeypatch, number, words, call):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")

    def refuse(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(f"os.{call}", refuse)
    with pytest.raises(StorageError, match=words) as caught:
        atomic_write(path, b"new")
    monkeypatch.undo()
    assert "\n" not in str(caught.value)
    assert path.read_bytes() == b"old"
    assert names_in(tmp_path) == ["a.txt"]


def test_missing_folders_and_folders_in_the_way_are_told(tmp_path):
    with pytest.raises(StorageError, match="folder does not exist"):
        atomic_write(tmp_path / "none" / "a.txt", b"new")
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(StorageError, match="a folder has that name"):
        atomic_write(tmp_path / "a.txt", b"new")
    assert names_in(tmp_path) == ["a.txt"]


def test_the_ending_names_the_format(tmp_path):
    tune = score("4 1.2,4 h1.3,2 2.0")
    for name in ("a.tabterm", "a.txt", "a.TAB"):
        formats.write(tmp_path / name, tune)
        assert formats.read(tmp_path / name).music == tune
    formats.write(tmp_path / "a.mid", tune)
    first = formats.read(tmp_path / "a.mid").music.measures[0]
    heard = {note.fret for event in first.events for note in event.notes}
    assert {2, 0} <= heard
    with pytest.raises(FormatError, match=r"unknown file extension '\.doc'"):
        formats.write(tmp_path / "a.doc", tune)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "a.tabterm"
    with path.open("wb") as file:
        file.truncate(formats.MAX_BYTES + 1)
    with pytest.raises(FormatError, match="too large"):
        formats.read(path)


def test_only_what_a_format_offers_can_be_chosen(tmp_path):
    path = tmp_path / "line.tab"
    path.write_text("e|--0--|\na|-----|\nd|-----|\ng|-----|\n")
    with pytest.raises(FormatError, match="a text tab has no track to choose"):
        formats.read(path, track=2)
    assert formats.read(path, track=None).music


def test_a_read_only_file_is_refused_unless_that_was_asked(tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    path.chmod(0o444)
    with pytest.raises(StorageError, match="read-only"):
        atomic_write(path, b"new")
    assert path.read_bytes() == b"old"
    atomic_write(path, b"new", protected=False)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o444


def test_extended_attributes_are_kept(tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    try:
        os.setxattr(path, "user.teacher", b"yes")
    except OSError:
        pytest.skip("this file system keeps no extended attributes")
    atomic_write(path, b"new")
    assert os.getxattr(path, "user.teacher") == b"yes"


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may give files away")
def test_owner_and_group_are_kept(tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    os.chown(path, 12345, 23456)
    path.chmod(0o660)
    atomic_write(path, b"new")
    found = path.stat()
    assert (found.st_uid, found.st_gid, found.st_mode & 0o7777) == (12345, 23456, 0o660)


def test_who_cannot_keep_the_group_lets_no_other_group_in(tmp_path, monkeypatch):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    path.chmod(0o660)
    found = path.stat()
    there = os.stat_result((found.st_mode, *found[1:5], found.st_gid + 1, *found[6:]))
    monkeypatch.setattr("tabterm.storage.whole._standing", lambda _: there)

    def refuse(*_):
        raise PermissionError(errno.EPERM, "no")

    monkeypatch.setattr("os.fchown", refuse)
    atomic_write(path, b"new")
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_device_is_never_replaced(tmp_path):
    path = tmp_path / "a.txt"
    os.mkfifo(path)
    with pytest.raises(StorageError, match=r"a\.txt is a pipe"):
        atomic_write(path, b"new")
    assert path.is_fifo()


def test_a_side_file_is_as_private_as_its_document(tmp_path):
    document = tmp_path / "a.tabterm"
    document.touch(0o600)
    atomic_write(tmp_path / "side", b"notes", like=document)
    assert (tmp_path / "side").stat().st_mode & 0o777 == 0o600


def test_a_name_of_255_bytes_can_be_written_and_cleaned(tmp_path):
    path = tmp_path / ("a" * 251 + ".txt")
    atomic_write(path, b"old")
    with replacing(path) as file:
        (temporary,) = set(tmp_path.iterdir()) - {path}
        file.write(b"new")
    assert path.read_bytes() == b"new"
    temporary.write_bytes(b"")
    clear_stale(path)
    assert names_in(tmp_path) == [path.name]
