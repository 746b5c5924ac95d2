"""Foreign files opened in the editor: fitted, told about, recovered, compared, put back."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import FormatError, ScoreError
from tabterm.piece.intake import take_in
from tabterm.piece.piece import blank
from tabterm.piece.practice import Practice
from tabterm.piece.takes import Take, performed
from tabterm.score.comparison import differences
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.operations import put_note
from tabterm.score.place import Place
from tabterm.workspace.commands import original
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tests.build import PLAYER
from tests.foreign import played
from tests.midi import file_of, steps

LOW = [40, 43, 45, 47, 50, 52, 55, 57]
FITTED = "E4/8 G4/8 A4/8 B4/8 D5/8 E5/8 G5/8 A5/8"


class Screen:
    """A screen that only remembers what was said."""

    def __init__(self):
        self.said = []

    def say(self, text, **_):
        self.said.append(text)


class Deck:
    """A transport that only remembers what it was to play."""

    def __init__(self):
        self.playing, self.played, self.run = False, [], None

    def play(self, takes):
        self.played.append([(take.score, take.span) for take in takes])

    def stop(self):
        self.playing = False


@pytest.fixture
def low(tmp_path):
    path = tmp_path / "low.mid"
    path.write_bytes(file_of(steps(LOW), key="Em"))
    return path


@pytest.fixture
def session(low):
    document = Document.open(low, PLAYER, blank=blank)
    yield Session(document, host=Screen(), transport=Deck())
    document.close(keep_draft=False)


def test_the_editor_opens_a_foreign_file_as_the_command_does(low):
    document = Document.open(low, PLAYER, blank=blank)
    assert played(document.score) == FITTED == played(take_in(low, PLAYER).score)
    assert "8 notes fitted to the Mandolin: everything 2 octaves up" in document.notices
    assert "will be saved as low.tabterm" in document.notices
    document.save()
    document.close(keep_draft=False)
    again = Document.open(low.with_suffix(".tabterm"), PLAYER, blank=blank)
    assert played(again.score) == FITTED
    assert again.score.measures[0].source[0].pitches == (40,)
    again.close(keep_draft=False)


def test_what_to_read_is_chosen(low):
    document = Document.open(
        low, PLAYER, blank=blank, choice={"instrument": "mandola", "key": "Am", "track": None}
    )
    assert document.score.head.instrument.name == "Mandola"
    assert str(document.score.head.key) == "Am"
    document.close(keep_draft=False)
    with pytest.raises(FormatError, match="no track to choose"):
        Document.open(low.with_suffix(".tabterm"), PLAYER, blank=blank, choice={"track": 2})


def test_work_on_a_foreign_file_survives_a_crash(low):
    """It was never saved: the journal is carried out on the file fitted anew."""
    document = Document.open(low, PLAYER, blank=blank)
    document.apply(put_note(document.score, Place(0), Note(course=1, fret=9), EIGHTH), "note")
    changed = document.score
    document._lock.release()
    document._keeper.journal.file.close()
    again = Document.open(low, PLAYER, blank=blank)
    assert played(again.score) == played(changed) != FITTED
    assert any("recovered a change" in notice for notice in again.notices)
    again.close(keep_draft=False)


def test_departures_are_visited_one_after_the_other(session):
    with pytest.raises(ScoreError, match="nothing differs"):
        original.next_departure(session)
    for offset in (Fraction(1), Fraction(2)):
        session.edit(put_note(session.score, Place(0, offset), Note(course=1, fret=9), EIGHTH), "note")
    visited = []
    for _ in range(3):
        original.next_departure(session)
        visited.append(session.here.cursor.place.offset)
    assert visited == [1, 2, 1]
    assert session.host.said[0] == "C#6 is added"


def test_a_key_puts_the_original_back(session):
    session.edit(put_note(session.score, Place(0), Note(course=3, fret=4), EIGHTH), "note")
    assert len(differences(session.score)) == 1
    original.restore_here(session)
    assert played(session.score) == FITTED
    with pytest.raises(ScoreError, match="nothing differs from the original here"):
        original.restore_here(session)
    session.document.undo()
    assert len(differences(session.score)) == 1


def test_the_whole_is_fitted_anew_in_another_key(session):
    original.fit(session, "Am")
    assert str(session.score.head.key) == "Am"
    assert played(session.score).startswith("A")
    assert "8 notes fitted" in session.host.said[-1]
    session.document.undo()
    assert played(session.score) == FITTED


def test_the_original_is_heard_at_its_own_pitch(session):
    original.hear_original(session)
    (((score, span),),) = session.transport.played
    assert played(score) == "E2/8 G2/8 A2/8 B2/8 D3/8 E3/8 G3/8 A3/8"
    assert span.start == Place(0)
    session.transport.playing = True
    original.hear_original(session)
    assert not session.transport.playing


def test_the_original_and_the_arrangement_are_heard_one_after_the_other(session):
    """Both on one instrument, whose own courses have their own numbers: so they join to one performance."""
    original.hear_both(session)
    ((first, second),) = session.transport.played
    assert first[0].head.instrument == second[0].head.instrument
    takes = [Take(*first), Take(*second)]
    joined = performed(takes, Practice(), 100.0, lead=False)
    on = [message.data[1] for message in joined.messages if message.data[0] & 0xF0 == 0x90 and message.data[2]]
    assert on == [*LOW, *(pitch + 24 for pitch in LOW)]


def test_a_score_without_an_original_says_so(tmp_path):
    document = Document.open(tmp_path / "new.tabterm", PLAYER, blank=blank)
    session = Session(document, host=Screen(), transport=Deck())
    for action in (original.hear_original, original.hear_both, lambda session: original.fit(session, "")):
        with pytest.raises(ScoreError, match="has no original line"):
            action(session)
    document.close(keep_draft=False)
