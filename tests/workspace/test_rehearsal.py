"""A rehearsal: what is remembered of a loop beside the document, in the log, and of the caution."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tabterm.errors import ScoreError, StorageError
from tabterm.formats import native
from tabterm.piece.practice import Heard, Ladder, Practice, PreRoll
from tabterm.piece.practice_log import PracticeLog
from tabterm.score import operations as do
from tabterm.score.click_rests import ClickRests
from tabterm.score.duration import Duration
from tabterm.score.place import Place, Span
from tabterm.score.source import SourceEvent
from tabterm.score.tempo import Tempo
from tabterm.storage import side
from tabterm.workspace import practice_file, rehearsal
from tabterm.workspace.document import Document
from tabterm.workspace.practice_file import Kept, kept_from
from tabterm.workspace.rehearsal import Rehearsal
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, measure, score
from tests.workspace.test_transport import Slow, played

TUNE = score(*(f"2 1.{fret},2 1.0" for fret in range(1, 6)), title="Kiln Lane", tempo=Tempo(100.0))
LINE = (SourceEvent(duration=Duration(value=1), pitches=(81,)),)
WITH_LINE = TUNE.with_(measures=tuple(each.with_(source=LINE) for each in TUNE.measures))
PHRASE = Span.of_measures(1, 2)


@pytest.fixture
def document(tmp_path):
    path = tmp_path / "kiln.tabterm"
    path.write_bytes(native.write(TUNE))
    opened = Document.open(path, PLAYER, blank=lambda: TUNE)
    yield opened
    opened.close(keep_draft=False)


@pytest.fixture
def at(document, monkeypatch):
    """A rehearsal whose loops are entered however short they are."""
    monkeypatch.setattr(rehearsal, "SHORTEST_S", 0.0)
    return Rehearsal(document, Transport(playback=Slow(), practice=Practice(loop=True)))


def frets(at):
    return [pluck.pitch - 76 for pluck in at.transport.playback.sounding.plucks]


def test_a_loop_is_entered_with_the_tempo_reached(at):
    at.transport.set(ladder=Ladder.parse("50:90:20x1"))
    at.play(PHRASE)
    played(at.transport, 2)
    played(at.transport)
    at.transport.stop()
    (entry,) = PracticeLog().entries()
    assert (entry.title, entry.passage, entry.first_measure, entry.last_measure) == ("Kiln Lane", "2-3", 2, 3)
    assert (entry.per_minute, entry.percent, entry.turns, entry.beat) == (70.0, 70.0, 2, "4")
    assert entry.file == str(at.document.path)


def test_another_selection_is_another_entry(at):
    at.play(PHRASE)
    played(at.transport, 2)
    at.go_on(Span.of_measures(3, 3))
    played(at.transport, 3)
    at.transport.stop()
    assert [(entry.passage, entry.turns) for entry in PracticeLog().entries()] == [("2-3", 2), ("4", 3)]


def test_what_is_heard_once_or_for_a_moment_is_not_entered(at, monkeypatch):
    at.transport.set(loop=False)
    at.play(PHRASE)
    played(at.transport)
    at.transport.set(loop=True)
    at.play(PHRASE)
    at.transport.stop()  # not one whole turn
    monkeypatch.setattr(rehearsal, "SHORTEST_S", 10.0)
    at.play(PHRASE)
    played(at.transport, 3)
    at.transport.stop()
    assert PracticeLog().entries() == []


def test_the_last_loop_is_taken_up_another_day(at, document):
    at.transport.set(ladder=Ladder.parse("60:80:10"), pre_roll=PreRoll.parse("1m"), click="offbeats")
    at.play(PHRASE)
    at.transport.stop()
    again = Rehearsal(document, Transport(playback=Slow()))
    again.play_last()
    assert again.transport.practice == at.transport.practice
    assert again.span == PHRASE
    assert again.transport.playback.sounding.marks[0].place.measure == 0
    assert Rehearsal(document, Transport()).kept.span == PHRASE


def test_without_a_loop_before_there_is_nothing_to_take_up(at):
    with pytest.raises(ScoreError, match="nothing looped yet"):
        at.play_last()


def test_the_selection_and_the_notes_may_change_while_it_sounds(at):
    at.play(PHRASE)
    assert frets(at) == [2, 0, 3, 0]
    at.go_on(None)
    at.go_on(Span.of_measures(3, 3))
    assert frets(at) == [4, 0]
    at.go_on(None)
    assert frets(at) == [4, 0]
    change = at.document.apply(do.insert_measures(at.document.score, 0), "insert")
    at.after(change)
    at.go_on(None)
    assert frets(at) == [4, 0]
    at.document.apply(do.transpose(at.document.score, Span.of_measures(4, 4), 1), "transpose")
    at.go_on(None)
    assert frets(at) == [5, 1]


def test_a_loop_of_the_whole_takes_changes_of_the_notes_in_as_well(at, document):
    at.play(None)
    document.apply(do.replace_measures(document.score, 1, 1, (measure("1 1.9"),)), "edit")
    at.go_on(None)
    assert 9 in frets(at)
    assert at.transport.playback.changes == 1


def test_a_selection_that_was_there_before_does_not_take_over(at):
    at.go_on(Span.of_measures(0, 0))
    at.play(PHRASE)
    at.go_on(Span.of_measures(0, 0))
    assert frets(at) == [2, 0, 3, 0]


def test_versions_are_heard_swapped_and_kept_for_another_day(at, document):
    with pytest.raises(ScoreError, match="put-aside"):
        at.hear_next()
    at.put_aside(1, 1)
    document.apply(do.replace_measures(document.score, 1, 1, (measure("1 1.9"),)), "edit")
    at.play(PHRASE)
    heard = [frets(at)]
    for _ in (Heard.SCORE, Heard.ASIDE, Heard.IN_TURN):
        at.hear_next()
        at.go_on(None)
        heard.append(frets(at))
    assert heard == [[9, 3, 0], [2, 0, 3, 0], [9, 3, 0, 2, 0, 3, 0], [9, 3, 0]]
    document.apply(at.with_other(), "other version")
    assert document.score.measures[1] == TUNE.measures[1]
    document.undo()
    tomorrow = Rehearsal(document, Transport(playback=Slow()))
    assert tomorrow.with_other().measures[1] == TUNE.measures[1]


def test_the_original_line_is_one_of_the_versions(at, document):
    document.apply(WITH_LINE, "keep the line")
    at.play(PHRASE)
    assert frets(at) == [2, 0, 3, 0]
    assert (at.hear_next(), at.go_on(None)) == (Heard.ORIGINAL, None)
    assert frets(at) == [5, 5]
    at.put_aside(1, 1)
    document.apply(do.replace_measures(document.score, 1, 1, (measure("1 1.9").with_(source=LINE),)), "edit")
    order = [Heard.BESIDE, Heard.SCORE, Heard.ASIDE, Heard.IN_TURN, Heard.ORIGINAL, Heard.BESIDE]
    assert [at.hear_next() for _ in order] == order
    at.go_on(None)
    assert frets(at) == [5, 5, 9, 3, 0]


def test_the_original_heard_once_in_a_loop_is_not_taken_over_by_the_arrangement(at, document):
    document.apply(WITH_LINE, "keep the line")
    at.play(PHRASE, Heard.ORIGINAL)
    at.go_on(None)
    assert frets(at) == [5, 5]
    at.play(PHRASE)
    assert frets(at) == [2, 0, 3, 0]


def test_the_side_file_is_read_late_and_yet_follows_the_changes_before(at, document):
    at.put_aside(2, 2)
    at.play(Span.of_measures(2, 2))
    at.transport.stop()
    again = Rehearsal(document, Transport(playback=Slow()))
    again.after(document.apply(do.insert_measures(document.score, 0, 2), "insert"))
    assert again.kept.versions.place == range(4, 5)
    assert again.kept.span == Span.of_measures(4, 4)


@pytest.mark.parametrize("reads_it", [True, False])
@pytest.mark.parametrize("saves", [True, False])
def test_the_side_file_fits_the_score_that_is_opened_next(at, document, reads_it, saves):
    at.put_aside(2, 2)
    at.play(Span.of_measures(2, 2))
    at.transport.stop()
    again = at if reads_it else Rehearsal(document, Transport(playback=Slow()))
    again.after(document.apply(do.insert_measures(document.score, 0, 2), "insert"))
    again.settle()
    if saves:
        document.save()
        again.saved()
    again.after(document.apply(do.delete_measures(document.score, 0, 0), "delete"))
    again.close(discarded=True)
    first = 4 if saves else 2
    document.close(keep_draft=False)
    tomorrow = Rehearsal(Document.open(document.path, PLAYER, blank=lambda: TUNE), Transport())
    assert tomorrow.kept.versions.place == range(first, first + 1)
    assert tomorrow.kept.span == Span.of_measures(first, first)
    tomorrow.document.close(keep_draft=False)


def test_versions_of_a_document_without_a_file_are_kept_with_its_first_save(tmp_path):
    document = Document.open(tmp_path / "new.tabterm", PLAYER, blank=lambda: TUNE)
    at = Rehearsal(document, Transport(playback=Slow()))
    at.put_aside(1, 1)
    assert not side.places(document.path, practice_file.PRACTICE)[0].exists()
    document.save()
    at.saved()
    assert Rehearsal(document, Transport()).kept.versions.place == range(1, 2)
    document.save_as(tmp_path / "other.tabterm")
    at.saved()
    assert Rehearsal(document, Transport()).kept.versions.place == range(1, 2)
    document.close(keep_draft=False)


def test_a_loop_of_a_longer_version_is_remembered_by_the_measures_of_the_score(at, document):
    at.put_aside(1, 1)
    document.apply(do.replace_measures(document.score, 1, 1, (measure("1 1.9"), measure("1 1.7"))), "edit")
    at.after(document.latest)
    at.heard = Heard.ASIDE
    at.play(Span.of_measures(1, 2))
    assert at.transport.run.takes[0].span == Span.of_measures(1, 1)
    at.play(Span.of_measures(3, 3))
    assert Rehearsal(document, Transport()).kept.span == Span.of_measures(1, 2)


def test_the_log_that_cannot_be_written_is_said_once_and_practice_goes_on(at, document):
    at.log = PracticeLog(document.path / "no folder" / "practice.sqlite")
    said = []
    for _ in range(2):
        at.play(PHRASE)
        played(at.transport, 2)
        at.transport.stop()
        said += document.notices
        document.notices.clear()
    assert len(said) == 1
    assert "practice log cannot be written" in said[0]
    assert [entry.turns for entry in at.entries()] == [2, 2]


def test_the_caution_is_shown_before_the_first_loop_ever_only(at, document):
    at.transport.set(loop=False)
    assert at.play(PHRASE) == ""
    at.transport.set(loop=True)
    assert "Rest" in at.play(PHRASE)
    assert at.play(PHRASE) == ""
    assert Rehearsal(document, Transport(playback=Slow(), practice=Practice(loop=True))).play(PHRASE) == ""


# The side file

KEPT = Kept(
    practice=Practice(
        loop=True,
        tempo_percent=82.5,
        ladder=Ladder.parse("60:100:5x3"),
        click_rests=ClickRests(measures=frozenset({3, 7, 8})),
    ),
    span=Span(Place(1, Fraction(3, 2)), Place(3)),
    versions=kept_from(TUNE, 1, 2),
)


def test_the_side_file_is_read_as_it_was_written(tmp_path):
    path = tmp_path / "kiln.tabterm"
    practice_file.write(path, KEPT)
    assert practice_file.read(path) == KEPT
    assert [each.name for each in tmp_path.iterdir()] == [".kiln.tabterm.practice"]


@pytest.mark.parametrize(
    ("data", "left"),
    [
        (b"", Kept()),
        (b"\xff\xfe", Kept()),
        (b"[1, 2]", Kept()),
        (b"[" * 100_000, Kept()),
        (b'{"practice": {"loop": true, "new": 1}, "span": {"start": {"measure": 1}, "end": {"measure": 2}}}',
         Kept(practice=Practice(loop=True), span=Span.of_measures(1, 1))),
        (b'{"practice": {"swing": "sideways"}, "span": 3}', Kept()),
        (b'{"practice": {"tempo_percent": 900}}', Kept()),
        (b'{"practice": {"ladder": "60"}}', Kept()),
        (b'{"versions": {"first": -1, "count": 1, "kept": []}}', Kept()),
    ],
)  # fmt: skip
def test_what_cannot_be_read_of_a_side_file_counts_as_not_there(tmp_path, data, left):
    path = tmp_path / "kiln.tabterm"
    side.places(path, practice_file.PRACTICE)[0].write_bytes(data)
    assert practice_file.read(path) == left


def test_what_does_not_fit_the_score_is_left_out():
    assert KEPT.fitting(score("1 1.0")) == Kept(practice=KEPT.practice)
    assert KEPT.fitting(TUNE) == KEPT
    assert Kept(span=Span(Place(-2), Place(1))).fitting(TUNE) == Kept()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder_is_no_fault(tmp_path):
    tmp_path.chmod(0o500)
    practice_file.write(tmp_path / "kiln.tabterm", KEPT)
    tmp_path.chmod(0o700)
    assert practice_file.read(tmp_path / "kiln.tabterm") == KEPT


def test_what_was_kept_last_is_read_wherever_that_could_be(tmp_path, monkeypatch):
    path = tmp_path / "kiln.tabterm"
    practice_file.write(path, KEPT)
    os.utime(side.places(path, practice_file.PRACTICE)[0], (1, 1))
    real = side.atomic_write

    def refuse(place, data, **how):
        if place.parent == tmp_path:
            raise StorageError("you may not write there")
        real(place, data, **how)

    monkeypatch.setattr(side, "atomic_write", refuse)
    practice_file.write(path, Kept(span=PHRASE))
    assert practice_file.read(path) == Kept(span=PHRASE)
    monkeypatch.undo()
    practice_file.write(path, KEPT)
    assert practice_file.read(path) == KEPT


def test_a_folder_that_may_not_be_looked_into_is_no_fault(at, document, monkeypatch):
    def refuse(_path, **_how):
        raise PermissionError(errno.EACCES, "Permission denied")

    at.play(PHRASE)
    played(at.transport, 2)
    at.transport.stop()
    moved = PracticeLog().entries()[0]
    PracticeLog().add(replace(moved, file="/kept/from/us.tabterm"))
    at.after(document.apply(do.insert_measures(document.score, 0), "insert"))
    monkeypatch.setattr(Path, "exists", refuse)
    at.settle()
    log = PracticeLog()
    monkeypatch.setattr(log, "_read", lambda: [moved, replace(moved, file="/kept/from/us.tabterm")])
    assert [entry.file for entry in log.entries(document.path, moved.title)] == [str(document.path)]


def test_a_folder_that_is_gone_is_no_fault():
    path = Path("/no/such/folder/kiln.tabterm")
    practice_file.write(path, KEPT)
    assert practice_file.read(path) == KEPT


def test_a_document_without_a_file_leaves_none_behind(tmp_path):
    document = Document.open(tmp_path / "new.tabterm", PLAYER, blank=lambda: TUNE)
    at = Rehearsal(document, Transport(playback=Slow(), practice=Practice(loop=True)))
    at.play(PHRASE)
    at.transport.stop()
    document.close(keep_draft=False)
    assert list(tmp_path.iterdir()) == []
