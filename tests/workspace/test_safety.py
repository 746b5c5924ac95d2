"""Nothing that was acknowledged is lost to other programs, other editors, damage, or a disk that fails."""

from __future__ import annotations

import errno
import os

import pytest

from tabterm.errors import StorageError
from tabterm.formats import native
from tabterm.score.place import Place, Span
from tabterm.storage import names, side
from tabterm.workspace import drafts, practice_file
from tabterm.workspace.outside import Doubt, DoubtError
from tests.build import score
from tests.storage.planting import PLANTS, give_away, unharmed
from tests.workspace.test_document import blank, crash, open_, type_note

THEIRS = native.write(score("1 1.9", "1", "1"))


def frets(document):
    return [[note.fret for event in bar.events for note in event.notes] for bar in document.score.measures]


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch):
    monkeypatch.setattr("tabterm.storage.appending.QUICK_S", 100)


@pytest.fixture
def saved(tmp_path):
    document = open_(tmp_path / "a.tabterm")
    document.save()
    return document


# Other programs


def test_what_another_program_wrote_is_not_written_over_without_an_answer(saved):
    type_note(saved, 3)
    saved.path.write_bytes(THEIRS)
    assert saved.doubt() is Doubt.CHANGED
    with pytest.raises(DoubtError, match=r"another program has changed a\.tabterm"):
        saved.save()
    assert saved.path.read_bytes() == THEIRS
    saved.save(sure=True)
    assert native.read(saved.path.read_bytes()) == saved.score
    saved.save()


def test_a_change_that_leaves_time_and_size_as_they_were_is_seen_on_saving(saved):
    there = saved.path.stat()
    data = saved.path.read_bytes()
    saved.path.write_bytes(data.replace(b'"format"', b'"fromat"'))
    os.utime(saved.path, ns=(there.st_atime_ns, there.st_mtime_ns))
    with pytest.raises(DoubtError):
        saved.save()


def test_a_file_that_was_only_touched_is_no_change(saved):
    os.utime(saved.path, (1, 1))
    assert saved.doubt() is None
    saved.save()


def test_theirs_can_be_taken_and_mine_had_again(saved):
    type_note(saved, 3)
    mine = saved.score
    saved.path.write_bytes(THEIRS)
    saved.take_theirs()
    assert frets(saved) == [[9], [], []]
    assert not saved.unsaved
    saved.undo()
    assert saved.score.measures == mine.measures
    assert saved.unsaved
    wanted = saved.score
    crash(saved)
    assert open_(saved.path).score.measures == wanted.measures


def test_both_can_be_kept(saved):
    type_note(saved, 3)
    saved.path.write_bytes(THEIRS)
    first = saved.path
    saved.save_beside()
    assert saved.path.name == "a-mine.tabterm"
    assert frets(saved)[0] == [3]
    assert first.read_bytes() == THEIRS
    saved.close(keep_draft=False)
    assert not drafts.kept(first)


def test_a_file_that_appears_under_the_name_of_a_new_document_is_not_written_over(tmp_path):
    document = open_(tmp_path / "new.tabterm")
    document.path.write_bytes(THEIRS)
    with pytest.raises(DoubtError):
        document.save()
    assert document.path.read_bytes() == THEIRS


def test_hard_links_and_read_only_files_are_asked_about_once(saved, tmp_path):
    (tmp_path / "other").hardlink_to(saved.path)
    with pytest.raises(DoubtError, match="hard links"):
        saved.save()
    saved.save(sure=True)
    saved.path.chmod(0o444)
    saved.save()
    saved.close(keep_draft=False)
    again = open_(saved.path)
    with pytest.raises(DoubtError, match="read-only"):
        again.save()
    again.save(sure=True)
    assert again.path.stat().st_mode & 0o777 == 0o444


def test_what_is_saved_between_the_reading_and_the_lock_is_seen(saved, monkeypatch):
    """Another editor saves and leaves at the moment at which the lock is asked for."""
    from tabterm.workspace import document as documents

    saved.close(keep_draft=False)
    real = documents.Lock.take

    def take(path):
        path.write_bytes(THEIRS)
        return real(path)

    monkeypatch.setattr(documents.Lock, "take", take)
    assert frets(open_(saved.path)) == [[9], [], []]


# Other editors


@pytest.fixture
def without_locks(monkeypatch):
    def refuse(*_):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr("fcntl.flock", refuse)


@pytest.mark.usefixtures("without_locks")
def test_two_editors_without_locks_never_share_a_journal(tmp_path, monkeypatch):
    one, other = open_(tmp_path / "a.tabterm"), open_(tmp_path / "a.tabterm")
    for fret in (1, 2, 3):
        type_note(one, fret, fret - 1)
        type_note(other, fret + 10, fret - 1)
    wanted = frets(one), frets(other)
    for document in (one, other):
        crash(document)
    monkeypatch.setattr(drafts, "is_running", lambda _process: False)
    again = open_(tmp_path / "a.tabterm")
    (aside,) = (draft for draft in drafts.kept(again.path) if drafts.ASIDE in draft.place.name)
    rebuilt = aside.rebuilt()
    found = frets(again), [[n.fret for e in bar.events for n in e.notes] for bar in rebuilt.measures]
    assert sorted(found) == sorted(wanted)
    assert any("another editor left it" in notice for notice in again.notices)


@pytest.mark.usefixtures("without_locks")
def test_the_journal_of_an_editor_that_is_running_is_left_to_it(tmp_path):
    one = open_(tmp_path / "a.tabterm")
    type_note(one, 1)
    other = open_(tmp_path / "a.tabterm")
    assert frets(other)[0] == []
    assert any("in another editor" in notice for notice in other.notices)
    type_note(one, 2, 1)
    assert frets(one) == [[1], [2], []]


def test_a_second_user_of_a_folder_can_open_edit_and_save(saved, monkeypatch):
    type_note(saved, 3)
    crash(saved)
    theirs = names.beside(saved.path, "journal")
    before = theirs.read_bytes()
    give_away(monkeypatch, theirs, saved.path)
    second = open_(saved.path)
    assert second.read_only is None
    assert any("file of another user" in notice for notice in second.notices)
    type_note(second, 5)
    second.save()
    assert theirs.read_bytes() == before
    assert native.read(second.path.read_bytes()) == second.score


@pytest.mark.timeout(20)
@pytest.mark.parametrize("role", ["journal", "lock", "practice"])
@pytest.mark.parametrize("plant", PLANTS)
def test_whatever_is_planted_the_editor_goes_on_and_harms_nothing(tmp_path, role, plant):
    path = tmp_path / "a.tabterm"
    place = names.beside(path, role)
    PLANTS[plant](place)
    document = open_(path)
    type_note(document, 4)
    assert document.keeps_draft
    assert unharmed(place)
    if role != "practice":
        assert sum(f"{place.name} is a" in notice for notice in document.notices) >= 1
    wanted = document.score
    crash(document)
    again = open_(path)
    assert again.score == wanted
    again.close(keep_draft=False)
    assert unharmed(place)


@pytest.mark.timeout(20)
@pytest.mark.parametrize("plant", PLANTS)
def test_how_it_was_practised_is_kept_whatever_is_planted(tmp_path, plant):
    path = tmp_path / "a.tabterm"
    place = side.places(path, practice_file.PRACTICE)[0]
    PLANTS[plant](place)
    kept = practice_file.Kept(span=Span(Place(0), Place(1)))
    practice_file.write(path, kept)
    assert unharmed(place)
    assert practice_file.read(path) == kept


def test_how_it_was_practised_is_as_private_as_the_document(saved):
    saved.path.chmod(0o600)
    practice_file.write(saved.path, practice_file.Kept(span=Span(Place(0), Place(1))))
    assert side.places(saved.path, practice_file.PRACTICE)[0].stat().st_mode & 0o777 == 0o600


# Damage


def damaged_journal(tmp_path, at_record, *, notes=12, kind="flip"):
    """The journal of notes typed one after another, one of its records damaged; what was typed."""
    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    for number in range(notes):
        type_note(document, number + 1, number % 3)
    wanted = document.score
    crash(document)
    journal = names.beside(path, "journal")
    lines = journal.read_bytes().splitlines(keepends=True)
    line = bytearray(lines[at_record])
    if kind == "flip":
        line[len(line) // 2] ^= 1
    lines[at_record] = b"" if kind == "missing" else bytes(line[: len(line) // 2] if kind == "cut" else line)
    journal.write_bytes(b"".join(lines))
    return path, wanted


@pytest.mark.parametrize("kind", ["flip", "missing", "cut"])
@pytest.mark.parametrize("record", [0, 1, 2, 6, 9])
def test_a_damaged_record_costs_no_later_one(tmp_path, record, kind):
    """Every measure is written to again by a later record, so that nothing is lost at all."""
    path, wanted = damaged_journal(tmp_path, record, kind=kind)
    damaged = names.beside(path, "journal").read_bytes()
    again = open_(path)
    assert again.score == wanted
    assert any("damaged" in notice for notice in again.notices)
    (aside,) = tmp_path.glob("*.aside*")
    assert aside.read_bytes() == damaged
    crash(again)
    assert open_(path).score == wanted


def test_a_lost_last_note_is_all_that_is_lost(tmp_path):
    path, wanted = damaged_journal(tmp_path, -1, notes=3)
    again = open_(path)
    assert again.score.measures[:2] == wanted.measures[:2]
    assert frets(again)[2] == []


def test_changes_after_a_lost_insertion_find_their_measures(tmp_path):
    from tabterm.score import operations as do

    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    type_note(document, 1, 0)
    type_note(document, 7, 2)
    document.apply(do.insert_measures(document.score, 1), "insert")
    type_note(document, 2, 0)
    document.apply(do.put_note(document.score, *_at(3, 8)), "note")
    crash(document)
    journal = names.beside(path, "journal")
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(line for line in lines if b'"insert"' not in line))
    assert frets(open_(path)) == [[2], [], [8]]


def _at(measure, fret):
    from tabterm.score.duration import EIGHTH
    from tabterm.score.model import Note
    from tabterm.score.place import Place

    return Place(measure), Note(course=1, fret=fret), EIGHTH


def test_an_undo_whose_change_is_lost_takes_no_other_one_back(tmp_path):
    path = tmp_path / "a.tabterm"
    document = open_(path)
    document.save()
    type_note(document, 1, 0)
    type_note(document, 2, 1)
    document.undo()
    crash(document)
    journal = names.beside(path, "journal")
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(line for line in lines if b'"fret 2"' not in line))
    assert frets(open_(path)) == [[1], [], []]


# Folders that come and go


def test_the_latest_journal_wins_when_a_folder_comes_back(tmp_path):
    folder, away = tmp_path / "stick", tmp_path / "away"
    folder.mkdir()
    document = open_(folder / "a.tabterm")
    document.save()
    type_note(document, 1)
    folder.rename(away)
    document.flush()
    type_note(document, 2, 1)
    type_note(document, 3, 2)
    wanted = document.score
    crash(document)
    away.rename(folder)
    again = open_(folder / "a.tabterm")
    assert again.score == wanted
    again.close(keep_draft=False)
    assert [path.name for path in folder.iterdir()] == ["a.tabterm"]


def test_what_was_put_aside_is_listed_and_rebuilt(saved):
    type_note(saved, 6)
    wanted = saved.score
    crash(saved)
    saved.path.write_bytes(THEIRS)
    again = open_(saved.path)
    (draft,) = drafts.kept(again.path)
    assert draft.rebuilt().measures == wanted.measures
    assert draft.document == saved.path


def test_a_document_with_the_longest_name_is_kept_like_any_other(tmp_path):
    path = tmp_path / ("ü" * 123 + ".tabterm")
    document = open_(path)
    type_note(document, 1)
    document.save()
    type_note(document, 2, 1)
    wanted = document.score
    crash(document)
    assert open_(path).score == wanted


def test_a_save_that_fails_is_said_beside_what_the_journal_says(saved, monkeypatch):
    def refuse(descriptor, data):
        raise OSError(errno.ENOSPC, "No space left on device")

    type_note(saved, 1)
    saved.notices.clear()
    monkeypatch.setattr(os, "write", refuse)
    with pytest.raises(StorageError, match="the disk is full"):
        saved.save()
    assert any("in memory only" in notice for notice in saved.notices)
    assert any("cannot be written" in notice for notice in saved.notices)


def test_a_new_document_starts_from_what_blank_gives(tmp_path):
    assert frets(open_(tmp_path / "b.tabterm")) == [[] for _ in blank().measures]


def test_work_of_an_editor_that_was_killed_is_taken_up_without_waiting(tmp_path, monkeypatch):
    """The process that began the journal is gone, the lock on it is our own: there is nobody to wait for."""
    document = open_(tmp_path / "a.tabterm")
    type_note(document, 3)
    crash(document)
    monkeypatch.setattr("tabterm.workspace.drafts.is_running", lambda _process: False)

    def wait(_seconds):
        raise AssertionError("waits")

    monkeypatch.setattr("time.sleep", wait)
    assert frets(open_(tmp_path / "a.tabterm"))[0] == [3]
