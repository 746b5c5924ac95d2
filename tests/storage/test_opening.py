"""Files that somebody else may have put there are opened only where they are plain files of this user's."""

from __future__ import annotations

import errno
import os

import pytest

from tabterm.storage import names
from tabterm.storage.lock import Lock, LockHolder
from tabterm.storage.opening import opened_ours, read
from tabterm.storage.refusals import StrangeFileError, disk_words, refusal
from tests.storage.planting import PLANTS, give_away, unharmed


@pytest.mark.timeout(20)
@pytest.mark.parametrize("plant", PLANTS)
@pytest.mark.parametrize("flags", [os.O_RDONLY, os.O_RDWR | os.O_CREAT, os.O_WRONLY | os.O_CREAT | os.O_TRUNC])
def test_nothing_but_a_plain_file_of_ours_is_opened_nor_what_it_leads_to_harmed(tmp_path, plant, flags):
    path = tmp_path / "file"
    PLANTS[plant](path)
    with pytest.raises(StrangeFileError) as caught:
        opened_ours(path, flags)
    assert disk_words(caught.value).startswith("file is a ")
    assert "\n" not in str(refusal(caught.value, path))
    assert unharmed(path)


def test_a_file_of_another_user_is_not_ours(tmp_path, monkeypatch):
    path = tmp_path / "file"
    path.write_bytes(b"theirs")
    give_away(monkeypatch, path)
    with pytest.raises(StrangeFileError, match="file is a file of another user"):
        opened_ours(path, os.O_RDWR)
    assert read(path) == b"theirs"


@pytest.mark.timeout(20)
@pytest.mark.parametrize("plant", ["pipe", "folder", "plug"])
def test_reading_what_is_no_file_is_refused_at_once(tmp_path, plant):
    PLANTS[plant](tmp_path / "file")
    with pytest.raises(StrangeFileError):
        read(tmp_path / "file")


def test_a_link_that_the_user_named_is_followed_and_no_more_than_asked_is_read(tmp_path):
    (tmp_path / "real").write_bytes(b"x" * 100)
    (tmp_path / "link").symlink_to("real")
    assert read(tmp_path / "link", most=100) == b"x" * 100
    with pytest.raises(OSError, match="more than 99 bytes") as caught:
        read(tmp_path / "link", most=99)
    assert caught.value.errno == errno.EFBIG


@pytest.mark.parametrize("length", [1, 200, 241, 255])
@pytest.mark.parametrize("letter", ["a", "ü"])
def test_a_name_of_any_length_has_names_beside_it(tmp_path, length, letter):
    path = tmp_path / (letter * (length // len(letter.encode())))
    path.touch()
    other = path.with_name(path.name[:-1] + "b")
    found = {place(each, kind) for place in (names.beside, names.away) for each in (path, other)
             for kind in ("journal", "lock")}  # fmt: skip
    assert len(found) == 8
    assert all(len(os.fsencode(each.name)) <= names.limit(tmp_path) for each in found)
    names.beside(path, "journal").touch()


@pytest.mark.timeout(20)
@pytest.mark.parametrize("plant", PLANTS)
def test_a_planted_lock_is_refused_and_left_alone(tmp_path, plant):
    path = tmp_path / "a.tabterm"
    PLANTS[plant](names.beside(path, "lock"))
    with pytest.raises(StrangeFileError):
        Lock.take(path)
    assert unharmed(names.beside(path, "lock"))


def test_those_who_share_a_folder_see_who_holds_a_document(tmp_path, monkeypatch):
    tmp_path.chmod(0o770)
    path = tmp_path / "a.tabterm"
    held = Lock.take(path)
    assert isinstance(held, Lock)
    assert names.beside(path, "lock").stat().st_mode & 0o777 == 0o660
    give_away(monkeypatch, names.beside(path, "lock"))
    assert isinstance(Lock.take(path), LockHolder)
    held.release()
    again = Lock.take(path)
    assert isinstance(again, Lock)
    again.release()


def test_a_lock_left_behind_by_another_user_gives_way(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    names.beside(path, "lock").write_bytes(b'{"user": "ann", "host": "h", "process": 1, "since": "12:00"}')
    give_away(monkeypatch, names.beside(path, "lock"))
    held = Lock.take(path)
    assert isinstance(held, Lock)
    assert f'"process": {os.getpid()}' in names.beside(path, "lock").read_text(encoding="utf-8")
    held.release()


def test_a_private_document_has_a_private_lock(tmp_path):
    path = tmp_path / "a.tabterm"
    path.touch(0o600)
    tmp_path.chmod(0o755)
    held = Lock.take(path)
    assert names.beside(path, "lock").stat().st_mode & 0o777 == 0o600
    held.release()
