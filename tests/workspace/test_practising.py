"""Commands of hearing and practising, on a session whose player counts only when it is told to."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from fractions import Fraction

import pytest

from tabterm.errors import StorageError
from tabterm.hand.proposals import with_hands
from tabterm.performance.styles import STYLES
from tabterm.piece.player import Player
from tabterm.piece.practice import Heard, Practice
from tabterm.score.model import Swing
from tabterm.score.place import Place
from tabterm.score.swing import swing_of
from tabterm.workspace import commands, rehearsal  # noqa: F401 - importing commands fills the registry
from tabterm.workspace.document import Document
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score
from tests.workspace.test_rehearsal import TUNE
from tests.workspace.test_transport import Slow, percents, played


@dataclass
class Listener:
    """A host that remembers what it was told."""

    said: list[str] = field(default_factory=list)
    panels: list[str] = field(default_factory=list)

    def say(self, text, **_how):
        self.said.append(text)

    def open_panel(self, name):
        self.panels.append(name)

    def redraw(self):
        pass


@pytest.fixture
def session(tmp_path):
    document = Document.open(tmp_path / "kiln.tabterm", PLAYER, blank=lambda: TUNE)
    yield Session(document, Listener(), Transport(playback=Slow(), practice=Practice(loop=True)))
    document.close(keep_draft=False)


def run(session, *names):
    for name in names:
        command, _, word = name.partition(" ")
        session.run(REGISTRY[command], word if REGISTRY[command].takes_word else None)


def measures(session):
    return sorted({mark.place.measure for mark in session.transport.playback.sounding.marks})


def test_the_loop_follows_the_selection_while_it_sounds(session):
    run(session, "next-measure", "select-measure", "play")
    assert measures(session) == [1]
    run(session, "select-measure")
    assert measures(session) == [1, 2]
    run(session, "drop", "score-start")
    assert measures(session) == [1, 2]
    assert session.transport.playback.changes == 1


def test_a_loop_begun_at_the_cursor_is_not_taken_over_by_an_older_selection(session):
    run(session, "next-measure", "select-measure", "play-on")
    assert measures(session) == [1, 2, 3, 4]


def test_a_loop_whose_measures_are_gone_goes_on_and_that_is_said_once(session):
    run(session, "next-measure", "select-measure", "play", "delete-measures")
    assert session.host.said[-1].startswith("nothing to play")
    said = len(session.host.said)
    run(session, "right", "left", "up")
    assert len(session.host.said) == said
    assert session.transport.playing
    run(session, "undo", "select-measure", "select-measure")
    assert measures(session) == [1, 2]


def test_faster_and_slower_go_by_fives_or_by_rungs(session):
    run(session, "play", "slower")
    assert percents(session.transport) == 95
    run(session, "speed 72", "faster")
    assert percents(session.transport) == 75
    run(session, "half-speed")
    assert percents(session.transport) == 50
    run(session, "half-speed", *["faster"] * 30)
    assert percents(session.transport) == 200
    assert session.transport.playback.turn == 1
    run(session, "ladder 60:80:20", "faster", "faster", "slower", "faster")
    assert percents(session.transport) == 80
    run(session, "ladder ")
    assert percents(session.transport) == 200


def test_a_change_of_tempo_does_not_begin_anew(session):
    run(session, "play")
    played(session.transport, 3)
    run(session, "half-speed", "click", "parts", "count-in")
    assert session.transport.playback.turn == 4


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("speed 500", "cannot play at 500 percent"),
        ("speed x", "cannot play at 'x' percent"),
        ("ladder 60", "not a ladder: '60'"),
        ("ladder 1:2:1bpm", "cannot play at 1 percent"),
        ("pre-roll 3", "not a pre-roll: '3'"),
        ("click-rests 0 2", "not measures for the click to rest in: '0 2'"),
        ("style polka", "no style 'polka'"),
        ("hear-swing wild", "not a swing: 'wild' (write 2:1, '16 3:2' for sixteenths, or off)"),
        ("swing 8", "not a swing: '8'"),
        ("last-loop", "nothing looped yet"),
        ("version", "no version B yet"),
        ("take-version", "no version B yet"),
        ("stop-here", "nothing is playing"),
    ],
)
def test_what_cannot_be_is_said_and_changes_nothing(session, name, said):
    before = session.transport.practice
    run(session, name)
    assert said in session.host.said[-1]
    assert session.transport.practice == before


def test_a_note_is_moved_to_another_course_alone(tmp_path):
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: score("16 2.0,16 2.2,8 2.3,2,4"))
    session = Session(document, Listener(), Transport(playback=Slow()))
    run(session, "course 2", "step 4", "to-lower-course")
    assert [event.notes[0].course for event in session.score.measures[0].events[:3]] == [3, 2, 2]
    document.close(keep_draft=False)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("digit 99", "fret too high: 99"),
        ("save-as ~nobody-of-that-name.tabterm", "no such home folder"),
        ("save-as .", "no file name given"),
        ("save-as /", "no file name given"),
        (f"save-as {'x' * 300}", "the name is too long"),
        ("export ~nobody-of-that-name.mid", "no such home folder"),
        (f"export {'x' * 300}.mid", "the name is too long"),
        (f"export-log {'x' * 300}.csv", "the name is too long"),
        ("export-log ", "no file name given"),
    ],
)
def test_what_is_no_fret_and_no_file_is_said_in_a_line(session, name, said):
    before = session.score
    run(session, name)
    assert said in session.host.said[-1]
    assert session.score is before


def test_a_score_is_saved_though_what_was_learnt_cannot_be_kept(session, monkeypatch):
    def refuse(*_):
        raise StorageError("cannot be written: No space left on device")

    monkeypatch.setattr(session.lessons, "learn", refuse)
    run(session, "save")
    assert session.host.said[-1].startswith("saved kiln.tabterm; cannot be written")


@pytest.mark.parametrize("ending", [".txt", ".abc", ".musicxml", ".mxl", ".mid"])
def test_a_copy_is_exported_to_every_format_that_the_question_names(session, tmp_path, ending):
    assert ending in REGISTRY["export"].asks
    run(session, f"export copy{ending}")
    assert (tmp_path / f"copy{ending}").exists()
    lost = "; courses and frets are lost: ABC has only pitches" if ending == ".abc" else ""
    assert session.host.said[-1] == f"written: copy{ending}{lost}"


def test_empty_answers_put_things_away(session):
    run(session, "pre-roll 2b", "click-rests 2 1", "style waltz", "hear-swing 16 3:2")
    practice = session.transport.practice
    assert (str(practice.pre_roll), str(practice.click_rests), practice.style) == ("2b", "2:1", "waltz")
    assert (practice.parts, practice.click) == ("both", "beats")
    assert practice.swing == Swing(unit=16, long=3, short=2)
    run(session, "hear-swing off")
    assert session.transport.practice.swing == "straight"
    run(session, "pre-roll ", "click-rests ", "style ", "hear-swing ")
    practice = session.transport.practice
    assert (practice.pre_roll, practice.click_rests, practice.style) == (None, None, None)
    assert (practice.swing, practice.click) == ("written", "beats")


def test_the_swing_of_the_score_is_written_in_the_same_words(session):
    for text, swing in (("2:1", Swing()), ("8 3:2", Swing(long=3, short=2)), ("16 3:1", Swing(unit=16, long=3))):
        run(session, f"swing {text}")
        assert session.score.head.swing == swing
        assert swing_of(REGISTRY["swing"].suggests(session)) == swing
    run(session, "swing off")
    assert session.score.head.swing is None


def test_stop_here_puts_the_cursor_where_the_sound_is(session):
    run(session, "play-all")
    session.transport.playback.at_s = 0.6 * 4 + 1.3
    run(session, "stop-here")
    assert session.here.cursor.place == Place(1, 2)
    assert not session.transport.playing


def test_stop_here_stops_a_count_in_and_leaves_the_cursor(session):
    session.transport.set(count_in=1)
    run(session, "next-measure", "play")
    session.transport.playback.at_s = 0.1
    assert session.transport.counted() == "1"
    run(session, "stop-here")
    assert not session.transport.playing
    assert session.here.cursor.place == Place(1)
    assert "nothing is playing" not in session.host.said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("click", ["click on the beats", "click between the beats", "no click"]),
        ("count-in", ["count-in of one measure", "count-in of two measures", "no count-in"]),
        ("parts", ["solo with chords and bass", "chords and bass only", "solo only"]),
    ],
)
def test_what_a_key_goes_through_is_said_since_the_top_line_may_have_no_room(session, name, said):
    run(session, name, name, name)
    assert session.host.said == said


def test_the_question_for_a_style_names_them_all():
    assert REGISTRY["style"].choices(None) == tuple(STYLES)


def test_versions_by_their_commands(session):
    run(session, "next-measure", "put-aside", "transpose 2")
    run(session, "undo", "redo", "play", "version")
    assert session.rehearsal.heard is Heard.ASIDE
    run(session, "take-version")
    assert session.score.measures[1] == TUNE.measures[1]
    assert session.host.said[-1] == "swapped the versions"
    run(session, "undo", "version")
    assert session.rehearsal.heard is Heard.ASIDE


def test_the_log_is_written_beside_the_document(session, tmp_path, monkeypatch):
    monkeypatch.setattr(rehearsal, "SHORTEST_S", 0.0)
    run(session, "play")
    played(session.transport, 2)
    run(session, "stop", "export-log log.csv", "practice-log")
    with (tmp_path / "log.csv").open(newline="") as file:
        assert [row["turns"] for row in csv.DictReader(file)] == ["2"]
    run(session, "export-log log.csv")
    assert "already exists" in session.host.said[-1]
    assert session.host.panels == ["practice"]


def test_saving_learns_from_fingers_set_against_proposals(session):
    """The ring finger is proposed for fret 5; the player takes the little one, on the finger row."""
    built = with_hands(score(*["8 2.2,8 2.3,8 2.5,8 2.3,8 2.2,8 2.5,4 2.2"] * 6), PLAYER)
    session.edit(built, "a tune")
    run(session, "score-start", "row finger")
    for measure in range(6):
        for offset in (1, Fraction(5, 2)):
            session.here.go(Place(measure, offset))
            run(session, "digit 4")
    run(session, "save")
    assert session.host.said[-1] == "saved kiln.tabterm, learnt from your fingers in 6 measures"
    assert session.document.player.weights.habits["ring"] > 0
    assert Player.mine().weights == session.document.player.weights
    run(session, "save")
    assert session.host.said[-1] == "saved kiln.tabterm"
