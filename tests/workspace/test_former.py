"""Journals that version 1 of the format left behind: their changes have tuplets `16*3:2` and tempos `4.=112`."""

from __future__ import annotations

import re
from shutil import copy

import pytest

from tabterm.errors import ScoreError
from tabterm.formats import native
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tabterm.storage import names
from tabterm.workspace import practice_file
from tabterm.workspace.commands import measures, rhythm
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score
from tests.formats.test_former import FORMER, VERSION_1
from tests.typist import Listening


def blank():
    return score("1", "1")


@pytest.fixture
def left_behind(tmp_path):
    """The file of version 1, with the journal of two changes that were not saved."""
    path = tmp_path / "two-old-forms.tabterm"
    copy(VERSION_1 / path.name, path)
    copy(VERSION_1 / "two-old-forms.journal", names.beside(path, "journal"))
    return path


def test_changes_that_were_not_saved_are_recovered(left_behind):
    document = Document.open(left_behind, PLAYER, blank=blank)
    assert document.notices == ["recovered 2 changes not yet saved"]
    assert [str(tempo) for tempo in document.score.tempos] == ["1/8=184", "3/8=72", "3/8=64"]
    assert [str(event.duration) for event in document.score.measures[2].events] == ["4.(3:2)"] * 3
    document.save()
    assert FORMER.search(left_behind.read_text()) is None
    document.undo()
    document.undo()
    assert document.score == native.read((VERSION_1 / left_behind.name).read_bytes())
    document.close(keep_draft=False)


def test_a_draft_that_was_never_saved_is_recovered(tmp_path):
    path = tmp_path / "new.tabterm"
    copy(VERSION_1 / "never-saved.journal", names.beside(path, "journal"))
    document = Document.open(path, PLAYER, blank=blank)
    assert document.notices == ["recovered a change not yet saved"]
    assert document.score.head.tempo == Tempo.parse("3/8=72")
    document.close(keep_draft=False)


def test_no_label_in_the_journal_repeats_a_former_form(tmp_path):
    """What a change is called goes by what was understood, not by what was typed."""
    document = Document.open(tmp_path / "new.tabterm", PLAYER, blank=lambda: score("4 1.0,4,2"))
    session = Session(document, host=Listening(), transport=Transport())
    measures.tempo(session, "4.=72")
    rhythm.tuplet(session, " 3:2")
    rhythm.step(session, "16*5:4")
    rhythm.length(session)
    journal = names.beside(document.path, "journal").read_text()
    assert re.findall(r'"label":"([^"]*)"', journal) == ["tempo 3/8=72", "tuplet 3:2", "length 1/16(5:4)"]
    assert FORMER.search(journal) is None
    document.close(keep_draft=False)


def test_a_tuplet_that_is_none_is_refused(tmp_path):
    document = Document.open(tmp_path / "new.tabterm", PLAYER, blank=lambda: score("4 1.0,2."))
    session = Session(document, host=Listening(), transport=Transport())
    with pytest.raises(ScoreError, match=r"^not a tuplet: '3/2' \(write a ratio such as 3:2"):
        rhythm.tuplet(session, "3/2")
    document.close(keep_draft=False)


def test_a_version_that_was_put_aside_is_kept(left_behind):
    """The side file of practising holds measures, too."""
    document = Document.open(left_behind, PLAYER, blank=blank)
    session = Session(document, host=Listening(), transport=Transport())
    session.here.go(Place(2))
    session.rehearsal.put_aside(*session.here.measures())
    kept = session.rehearsal.kept
    practice_file.write(left_behind, kept)
    [side] = left_behind.parent.glob(".*.practice")
    today = side.read_text()
    assert FORMER.search(today) is None
    former = today.replace("4.(3:2)", "4.*3:2").replace("3/8=", "4.=")
    assert len(FORMER.findall(former)) >= 4
    side.write_text(former)
    assert practice_file.read(left_behind) == kept
    document.close(keep_draft=False)


def test_a_journal_of_a_file_that_was_converted_since_is_put_aside(left_behind):
    left_behind.write_bytes(native.write(native.read(left_behind.read_bytes())))
    document = Document.open(left_behind, PLAYER, blank=blank)
    [notice] = document.notices
    assert re.fullmatch(r"unsaved work put aside as two-old-forms\S+: it belongs to another version of .*", notice)
    assert document.score == native.read(left_behind.read_bytes())
    document.close(keep_draft=False)
