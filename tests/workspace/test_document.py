"""The document is never lost: journal, recovery, saving, locks, disks that refuse."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tabterm.errors import FormatError, StorageError
from tabterm.formats import native
from tabterm.hand.player import Player
from tabterm.hand.strokes import with_proposals
from tabterm.score import operations as do
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile, Speeds
from tabterm.storage import names
from tabterm.workspace import history
from tabterm.workspace.document import Document
from tabterm.workspace.outside import DoubtError
from tests.build import PLAYER, score
from tests.ordeal.work import let_go as crash


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch):
    """However busy the machine is, the disk counts as quick."""
    monkeypatch.setattr("tabterm.storage.appending.QUICK_S", 100)


def blank():
    return score("1", "1", "1")


def open_(path):
    return Document.open(path, PLAYER, propose=with_proposals, blank=blank)


def type_note(document, fret, measure=0):
    changed = do.put_note(document.score, Place(measure), Note(course=1, fret=fret), EIGHTH)
    return document.apply(changed, f"fret {fret}")


def beside(path):
    return names.beside(path, "journal")


def assert_outlives_a_crash(document):
    """What stands in a document is there again when its process has died and the file is opened once more."""
    wanted = document.score
    crash(document)
    assert open_(document.path).score == wanted


def test_a_new_file_is_made_only_when_saved(tmp_path):
    document = open_(tmp_path / "new.tabterm")
    type_note(document, 3)
    assert not document.path.exists()
    assert document.unsaved
    document.save()
    assert native.read(document.path.read_bytes()) == document.score
    assert not document.unsaved
    document.close(keep_draft=False)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["new.tabterm"]


def test_a_name_without_an_ending_gets_one(tmp_path):
    document = open_(tmp_path / "new")
    type_note(document, 3)
    document.save()
    document.close(keep_draft=False)
    assert [each.name for each in tmp_path.iterdir()] == ["new.tabterm"]
    again = open_(tmp_path / "new")
    assert again.score.measures[0].events[0].notes[0].fret == 3
    again.close(keep_draft=False)


@pytest.mark.parametrize("name", ["new.abc", "new.mid", "new.song"])
def test_no_document_is_made_under_the_ending_of_another_format(tmp_path, name):
    with pytest.raises(StorageError, match=f"{name}: no such file .a new document has the extension .tabterm.$"):
        open_(tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_a_document_that_cannot_be_read_is_named(tmp_path):
    path = tmp_path / "bad.tabterm"
    path.write_text("junk")
    with pytest.raises(FormatError, match=r"bad\.tabterm: line 1, column 1: not JSON"):
        open_(path)


def test_undo_and_redo(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    first = document.score
    type_note(document, 3)
    second = document.score
    assert document.undo() is not None
    assert document.score == first
    assert document.undo() is None
    assert document.redo() is not None
    assert document.score == second
    type_note(document, 5)
    assert document.redo() is None


def test_unsaved_follows_the_history(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    document.save()
    type_note(document, 3)
    assert document.unsaved
    document.undo()
    assert not document.unsaved


def test_of_very_many_changes_the_first_are_no_longer_undone(tmp_path, monkeypatch):
    """What they changed stays unsaved, and outlives a crash like the rest."""
    monkeypatch.setattr(history, "MOST", 3)
    document = open_(tmp_path / "a.tabterm")
    document.save()
    for fret in range(5):
        type_note(document, fret, fret % 2)
    assert [document.undo() is not None for _ in range(4)] == [True, True, True, False]
    assert document.unsaved
    assert_outlives_a_crash(document)


def test_a_change_that_is_none_is_none(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    assert document.apply(document.score, "nothing") is None


def test_proposals_come_with_every_change(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    type_note(document, 3)
    assert document.score.measures[0].events[0].proposed_stroke == "down"


@pytest.mark.parametrize("saved_after", [0, 2, 5])
def test_recovery_after_a_crash(tmp_path, saved_after):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    for fret in range(5):
        type_note(document, fret, fret % 3)
        if fret + 1 == saved_after:
            document.save()
    document.undo()
    wanted = document.score
    crash(document)
    again = open_(path)
    assert again.score == wanted
    assert again.unsaved
    assert any("recovered" in notice for notice in again.notices)
    again.redo()
    for _ in range(5):
        assert again.undo() is not None
    assert again.score == with_proposals(blank(), PLAYER)


def test_a_draft_is_kept_when_asked_for(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    type_note(document, 7)
    wanted = document.score
    document.close(keep_draft=True)
    assert open_(tmp_path / "a.tabterm").score == wanted


def test_a_draft_is_thrown_away_when_asked_for(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    type_note(document, 7)
    document.close(keep_draft=False)
    assert open_(tmp_path / "a.tabterm").score == with_proposals(blank(), PLAYER)


def test_a_crash_between_the_mark_and_the_replacement(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    type_note(document, 1)
    document.save()
    type_note(document, 2)
    wanted = document.score

    def refuse(*_, **_how):
        raise StorageError("pulled the plug")

    with monkeypatch.context() as broken:
        broken.setattr("tabterm.workspace.keeper.atomic_write", refuse)
        with pytest.raises(StorageError):
            document.save()
    crash(document)
    assert open_(path).score == wanted


def test_work_that_was_put_aside_is_told_of_when_its_file_is_back(tmp_path):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    ours = path.read_bytes()
    type_note(document, 7)
    crash(document)
    path.write_bytes(native.write(score("1 1.9")))
    open_(path).close(keep_draft=False)
    path.write_bytes(ours)
    document = open_(path)
    assert any("fits the file again" in notice for notice in document.notices)
    document.close(keep_draft=False)


def test_a_copy_is_as_private_as_the_document(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    document.save()
    document.path.chmod(0o600)
    document.save_as(tmp_path / "b.tabterm")
    assert document.path.stat().st_mode & 0o777 == 0o600
    document.close(keep_draft=False)


def test_a_crash_right_after_the_replacement(tmp_path):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    type_note(document, 1)
    document.save()
    crash(document)
    again = open_(path)
    assert not again.unsaved
    assert again.undo() is not None


def test_a_torn_tail_of_every_length_is_cut(tmp_path):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    type_note(document, 1)
    before = document.score
    journal = beside(path)
    good = journal.stat().st_size
    type_note(document, 2, 1)
    crash(document)
    whole = journal.read_bytes()
    for length in range(good, len(whole)):
        journal.write_bytes(whole[:length])
        again = open_(path)
        assert again.score == before
        assert (length == good) or any("incomplete" in notice for notice in again.notices)
        crash(again)


def test_a_journal_of_another_version_is_put_aside(tmp_path):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    type_note(document, 1)
    crash(document)
    path.write_bytes(native.write(score("1", "1")))
    again = open_(path)
    assert again.score.measures == with_proposals(score("1", "1"), PLAYER).measures
    assert any("put aside as" in notice for notice in again.notices)
    assert list(tmp_path.glob("*.aside"))


def test_a_journal_that_cannot_be_put_aside_is_not_written_over(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    type_note(document, 1)
    crash(document)
    old = beside(path).read_bytes()
    path.write_bytes(native.write(score("1", "1")))

    def refuse(*_):
        raise PermissionError(errno.EACCES, "Permission denied")

    with monkeypatch.context() as broken:
        broken.setattr("pathlib.Path.rename", refuse)
        again = open_(path)
    assert any("could not be put aside" in notice for notice in again.notices)
    type_note(again, 2)
    wanted = again.score
    crash(again)
    assert beside(path).read_bytes() == old
    assert open_(path).score == wanted


def test_the_second_opener_reads_only_and_is_told_who(tmp_path):
    path = tmp_path / "a.tabterm"
    first = open_(path)
    first.save()
    link = tmp_path / "link.tabterm"
    link.symlink_to(path)
    second = open_(link)
    assert second.read_only is not None
    assert second.read_only.process == os.getpid()
    assert any("in use by" in notice for notice in second.notices)
    with pytest.raises(StorageError, match="read-only"):
        type_note(second, 2)
    with pytest.raises(StorageError):
        second.save()
    second.save_as(tmp_path / "copy.tabterm")
    type_note(second, 2)
    first.close(keep_draft=False)
    assert open_(path).read_only is None


DIES_WHILE_IT_STARTS_A_CHILD = """
import os, sys, time
from pathlib import Path
from tabterm.storage.lock import Lock
Lock.take(Path(sys.argv[1]))
if os.fork() == 0:
    time.sleep(0.2)  # as a child does that has not come to its exec, on a busy machine
os._exit(0)
"""


def test_a_lock_is_waited_for_that_outlives_its_holder_by_a_moment(tmp_path):
    path = tmp_path / "kept.tabterm"
    subprocess.run([sys.executable, "-c", DIES_WHILE_IT_STARTS_A_CHILD, str(path)], check=True)
    document = open_(path)
    assert document.read_only is None
    document.close(keep_draft=False)


def test_saving_keeps_the_mode_and_follows_links(tmp_path):
    path = tmp_path / "a.tabterm"
    link = tmp_path / "link.tabterm"
    document = open_(path)
    document.save()
    document.close(keep_draft=False)
    path.chmod(0o640)
    link.symlink_to(path)
    document = open_(link)
    type_note(document, 4)
    document.save()
    assert link.is_symlink()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert native.read(path.read_bytes()) == document.score


def test_a_file_that_was_removed_is_written_anew_when_asked(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    document.save()
    document.path.unlink()
    type_note(document, 4)
    with pytest.raises(DoubtError, match="moved or removed"):
        document.save()
    assert not document.path.exists()
    document.save(sure=True)
    assert native.read(document.path.read_bytes()) == document.score
    document.save()


def test_a_vanished_folder_costs_nothing(tmp_path):
    folder = tmp_path / "gone"
    folder.mkdir()
    document = open_(folder / "a.tabterm")
    type_note(document, 1)
    for name in folder.iterdir():
        name.unlink()
    folder.rmdir()
    document.flush()
    assert any("vanished" in notice for notice in document.notices)
    with pytest.raises(StorageError, match="folder does not exist"):
        document.save()
    type_note(document, 2, 1)
    wanted = document.score
    crash(document)
    folder.mkdir()
    assert open_(folder / "a.tabterm").score == wanted


def test_a_folder_that_may_not_be_written_to(tmp_path, monkeypatch):
    real = os.open

    def refuse(path, flags, *rest, **more):
        if str(path).startswith(str(tmp_path)) and flags & (os.O_CREAT | os.O_WRONLY | os.O_RDWR):
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(path, flags, *rest, **more)

    monkeypatch.setattr(os, "open", refuse)
    document = open_(tmp_path / "a.tabterm")
    assert any("no permission to write in the folder" in notice for notice in document.notices)
    type_note(document, 1)
    assert names.away(document.path, "journal").exists()
    with pytest.raises(StorageError, match="no permission to write there"):
        document.save()
    assert_outlives_a_crash(document)


def refuse_writing(monkeypatch, is_full, *, part=10):
    """Let the files for which `is_full` is true take only a part of what is written, as a full disk does."""
    real = os.write

    def write(descriptor, data):
        if is_full(Path(f"/proc/self/fd/{descriptor}").readlink()):
            real(descriptor, bytes(data)[:part])
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(descriptor, data)

    monkeypatch.setattr(os, "write", write)


def test_a_full_disk_sends_the_journal_elsewhere_and_says_so_once(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    type_note(document, 7)
    document.notices.clear()
    refuse_writing(monkeypatch, lambda file: file.parent == tmp_path)
    type_note(document, 1)
    type_note(document, 2, 1)
    document.flush()
    (said,) = document.notices
    assert said == f"the disk is full; keeping the journal in {names.own_folder('journal')} now"
    assert_outlives_a_crash(document)


def test_disks_that_are_all_full_are_said_and_made_up_for(tmp_path, monkeypatch):
    document = open_(tmp_path / "a.tabterm")
    full = True
    refuse_writing(monkeypatch, lambda _file: full)
    type_note(document, 1)
    type_note(document, 2, 1)
    document.undo()
    assert [notice for notice in document.notices if "in memory only" in notice] == document.notices[:1]
    assert not document.keeps_draft
    full = False
    type_note(document, 3, 2)
    assert document.keeps_draft
    assert_outlives_a_crash(document)


def test_half_a_record_that_cannot_be_cut_off_hides_nothing_that_comes_after_it(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    type_note(document, 1)

    def refuse(*_):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(os, "ftruncate", refuse)
        refuse_writing(broken, lambda file: file.parent == tmp_path)
        type_note(document, 2, 1)
    type_note(document, 3, 2)
    assert_outlives_a_crash(document)


def test_a_disk_that_does_not_sync_has_no_change_written_twice(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)

    def refuse(_descriptor):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(os, "fdatasync", refuse)
        for _ in range(3):
            document.apply(do.insert_measures(document.score, 0), "insert")
        document.flush()
        assert any("in memory only" in notice for notice in document.notices)
    document.flush()
    assert_outlives_a_crash(document)


def test_a_signal_while_a_change_is_written_has_none_written_twice(tmp_path, monkeypatch):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    real = os.fdatasync

    def interrupted(descriptor):
        real(descriptor)
        monkeypatch.setattr(os, "fdatasync", real)
        document.flush()  # as the handler of SIGHUP does

    monkeypatch.setattr(os, "fdatasync", interrupted)
    for _ in range(3):
        document.apply(do.insert_measures(document.score, 0), "insert")
    assert os.fdatasync is real
    assert_outlives_a_crash(document)


def test_a_disk_that_refuses_at_the_end_is_said(tmp_path, monkeypatch):
    document = open_(tmp_path / "a.tabterm")
    type_note(document, 1)

    def refuse(*_arguments, **_how):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(os, "fdatasync", refuse)
        broken.setattr("pathlib.Path.unlink", refuse)
        document._keeper.journal.file._synced = 0
        document.close(keep_draft=True)
    assert any("could not be closed" in notice for notice in document.notices)
    again = open_(tmp_path / "a.tabterm")
    assert again.unsaved
    with monkeypatch.context() as broken:
        broken.setattr("pathlib.Path.unlink", refuse)
        again.close(keep_draft=False)
    assert not open_(tmp_path / "a.tabterm").unsaved


def test_text_tab_is_opened_and_saved_beside_it(tmp_path):
    source = tmp_path / "tune.txt"
    source.write_text("E|0---|\nA|----|\nD|----|\nG|----|\n", encoding="utf-8")
    (tmp_path / "tune.tabterm").write_text("somebody else's", encoding="utf-8")
    document = open_(source)
    assert document.path.name == "tune-2.tabterm"
    document.save()
    assert source.read_text(encoding="utf-8").startswith("E|0")


@pytest.mark.parametrize("anew", ["save", "save_as"])
def test_what_is_taken_back_after_the_journal_began_anew_survives_a_crash(tmp_path, monkeypatch, anew):
    monkeypatch.setattr("tabterm.workspace.keeper.COMPACT_BYTES", 10)
    document = open_(tmp_path / "a.tabterm")
    for measure in range(3):
        document.apply(do.insert_measures(document.score, measure), "insert")
    document.undo()
    document.save() if anew == "save" else document.save_as(tmp_path / "b.tabterm")
    path, saved = document.path, document.score
    for step in (document.redo, document.undo, document.undo, document.redo, document.undo, document.undo):
        step()
    type_note(document, 5)
    wanted = document.score
    crash(document)
    again = open_(path)
    assert again.score == wanted
    while again.undo() is not None:
        pass
    assert again.score == saved


def test_a_draft_is_not_lost_to_a_document_that_takes_its_name(tmp_path):
    draft = open_(tmp_path / "a.tabterm")
    type_note(draft, 7)
    written = beside(draft.path).read_bytes()
    draft.close(keep_draft=True)
    other = open_(tmp_path / "b.tabterm")
    other.save_as(tmp_path / "a.tabterm")
    assert any("older file" in notice for notice in other.notices)
    assert (tmp_path / "a.tabterm.journal.aside").read_bytes() == written


def test_stale_temporary_files_are_cleared(tmp_path):
    stale = tmp_path / ".a.tabterm.0123abcd.tmp"
    stale.write_bytes(b"half")
    open_(tmp_path / "a.tabterm").close(keep_draft=False)
    assert not stale.exists()


def test_a_stale_temporary_file_that_cannot_be_cleared_hinders_nothing(tmp_path, monkeypatch):
    stale = tmp_path / ".a.tabterm.0123abcd.tmp"
    stale.write_bytes(b"half")

    def refuse(*_arguments, **_how):
        raise PermissionError(errno.EACCES, "Permission denied")

    with monkeypatch.context() as broken:
        broken.setattr("pathlib.Path.unlink", refuse)
        document = open_(tmp_path / "a.tabterm")
    type_note(document, 1)
    document.close(keep_draft=False)


def test_the_players_hand_is_never_saved(tmp_path):
    player = Player(hand=HandProfile(span_mm=151, speeds=Speeds(strokes=9)))

    def open_with_hand():
        return Document.open(tmp_path / "a.tabterm", player, propose=with_proposals, blank=blank)

    document = open_with_hand()
    assert document.player is player
    assert not document.unsaved
    document.save()
    document.apply(do.set_title(document.score, "Kiln Lane"), "title")
    document.apply(do.set_hand(document.score, HandProfile(span_mm=120)), "hand span")
    crash(document)
    again = open_with_hand()
    assert again.score.head.hand == HandProfile(span_mm=120)
    assert b"151" not in beside(again.path).read_bytes()
    again.undo()
    assert (again.score.head.hand, again.score.head.title) == (None, "Kiln Lane")
    again.undo()
    assert (again.score.head.hand, again.score.head.title) == (None, "")
    again.redo()
    again.save()
    assert native.read(again.path.read_bytes()).head.hand is None
    again.close(keep_draft=False)
