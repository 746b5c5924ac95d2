"""A system as it is painted: what is lit, what gives way, and how rows are told apart."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from tabterm.formats import native
from tabterm.hand.finding import Severity
from tabterm.page.rows import CHORD, CLASS, COUNT, COURSE, DEGREE, REMARK, RHYTHM, STROKE, TONIC
from tabterm.performance import perform
from tabterm.piece.practice import Practice
from tabterm.score.kinds import StrokeSchool
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tabterm.tui.lines import Findings, Message, Status
from tabterm.tui.painter import BARS, RULE, Painter, measure_width
from tabterm.tui.painter import SIGNS as FINDING_SIGNS
from tabterm.tui.score_lines import ScoreLines
from tabterm.tui.screens.commands import in_lines
from tabterm.tui.systems import Packing
from tabterm.tui.terminal.abilities import Abilities, in_ascii
from tabterm.tui.terminal.brush import PLAIN
from tabterm.tui.terminal.wire import Wire
from tabterm.tui.theme import LOOKS
from tabterm.tui.widgets import answer_line
from tabterm.workspace.commands.files import toggle_row
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER, measure, score
from tests.formats.test_text_round_trip import EVENT_SIGNS
from tests.formats.test_text_round_trip import SIGNS as NOTE_SIGNS
from tests.typist import Typist


@pytest.fixture
def painted(tmp_path):
    """A painter of a score, and its first system, as wide as need be."""

    def of(tune, width=100):
        document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: tune)
        painter = Painter(Session(document, host=None, transport=Transport(practice=Practice())), LOOKS["dark"])
        painter.width = width
        packing = Packing(lambda index: measure_width(painter.cells, index), len(tune.measures), width)
        return painter, packing.get(0)

    return of


def line(painter, system, row, course=0):
    return painter.line(system, (row, course)).line().text


def reversed_cells(painter, system, row, course=0):
    cells = [pen for text, pen in painter.line(system, (row, course)).line().runs for _ in text]
    return [x for x, pen in enumerate(cells) if "reverse" in pen.marks]


def test_the_sign_of_a_finding_is_no_mark_of_a_note_in_any_look():
    marks = set("".join((*NOTE_SIGNS, *EVENT_SIGNS, *BARS.values(), *RULE)))
    signs = [*FINDING_SIGNS.values()]
    assert len(set(signs)) == len(Severity) == len(signs)
    assert [sign for sign in signs if sign in marks or in_ascii(sign, 1) != sign] == []
    page = (Path(__file__).parents[2] / "docs" / "findings.md").read_text(encoding="utf-8")
    assert all(
        f"`{sign}` {severity}" in page or f"`` {sign} `` {severity}" in page
        for severity, sign in FINDING_SIGNS.items()
    )


def test_values_stand_over_their_notes_and_brackets_before_them(painted):
    painter, system = painted(score("4 1.0,8(3:2) 1.2,8(3:2) 1.3,8(3:2) 1.5,2"))
    values, frets = line(painter, system, RHYTHM), line(painter, system, COURSE, 1)
    assert values.split() == ["rhythm", "4", "[8", "8", "8]3", "-2"]
    assert [frets[x] for x, sign in enumerate(values) if sign in "48"] == list("0235")


def test_the_column_that_sounds_is_lit_on_all_courses_and_the_beat_on_the_count(painted):
    painter, system = painted(score("4. 1.0,8 2.2,4,4 3.3"))
    for at, count, sounding in ((0, "1", 0), (1, "2", 0), (Fraction(3, 2), "2", 1), (2, "3", None), (3, "4", 3)):
        painter.playhead = Place(0, Fraction(at))
        lit = reversed_cells(painter, system, COUNT)
        assert line(painter, system, COUNT)[lit[0]] == count
        columns = {tuple(reversed_cells(painter, system, COURSE, course)) for course in (1, 2, 3, 4)}
        onsets = painter.session.score.measures[0].onsets
        x = None if sounding is None else painter.x_of(system, Place(0, onsets[[0, 1, 2, 3].index(sounding)]))[0]
        assert columns == ({()} if x is None else {(x,)})


@pytest.mark.parametrize(
    ("music", "shown"),
    [
        ("1 1.0", "d ' . ' . ' . '"),
        ("4 1.0,8 1.0,8 1.0,2", "d (u) d u (d) (u) (d) (u)"),
        ("16 1.0,16 1.0,16 1.0,16,8 1.0,8,8. 1.0,16 1.0,4", "d u d ' d ' d ' . u . '"),
    ],
)
def test_strokes_that_strike_nothing_are_all_shown_and_alike(painted, music, shown):
    """Low is down and high is up where one measure has no room for letters; none is written over another."""
    painter, system = painted(score(music))
    painter.session.shown.silent_strokes = True
    from tabterm.hand.strokes import with_proposals

    painter.session.document.score = with_proposals(painter.session.score, PLAYER)
    painter.take_score()
    assert line(painter, system, STROKE).split() == ["stroke", *shown.split()]


def test_a_school_gives_way_to_a_remark(painted):
    tune = score(measure("1 1.0").with_(remark="slowly, and let it ring", school=StrokeSchool.GLIDE), "1 1.0")
    wide, narrow = (line(*painted(tune, width), REMARK) for width in (100, 45))
    assert "slowly, and let it ring strokes glide" in wide
    assert "slowly, and let it ring" in narrow
    assert "strokes" not in narrow


def test_a_rule_parts_the_systems_and_degrees_look_like_no_other_figures(painted):
    painter, system = painted(score("4 1.0,4 1.2,2 1.3", key="C"))
    assert line(painter, system, REMARK).startswith("___")
    painter.session.shown.plain = True
    assert "_" not in line(painter, system, REMARK)
    degrees = [pen for text, pen in painter.line(system, (DEGREE, 0)).line().runs if text.strip().isdigit()]
    assert degrees
    assert all("italic" in pen.marks for pen in degrees)


def test_degrees_give_way_where_another_system_fits_without_them(painted):
    painter, _ = painted(score("1 1.0"))
    for room, shown in ((11, True), (20, False), (22, True), (33, True), (30, False)):
        painter.room = room
        rows = [row for row, _ in painter.rows()]
        assert (DEGREE in rows, CHORD in rows, RHYTHM in rows) == (shown, True, True)
        assert painter.left_out() == (frozenset() if shown else {DEGREE})
    painter.session.shown.wanted_rows = frozenset({DEGREE})
    painter.room = 20
    assert DEGREE in [row for row, _ in painter.rows()]


class Sounding(Transport):
    """A transport that sounds without an engine, or counts in."""

    playing = True
    said = ""

    def counted(self):
        return self.said


def test_state_and_tempo_come_first_and_the_title_goes_first(tmp_path):
    document = Document.open(
        tmp_path / "a.tabterm", PLAYER, blank=lambda: score(*["1 1.0"] * 5, title="Kiln Lane")
    )
    session = Session(document, host=None, transport=Sounding(practice=Practice(loop=True, tempo_percent=80.0)))
    session.here.anchor, session.here.cursor = Place(1), session.here.cursor.at(Place(4))

    def told(width):
        return Status(session, LOOKS["dark"], lambda: (width, 1)).paint()[0].text

    assert told(100).startswith(" PLAYING 80 bpm 80%  selecting  loop m2-5  Kiln Lane  C  4/4")
    assert told(100).rstrip().endswith("course E  step eighth")
    assert told(55).startswith(" PLAYING 80 bpm 80%  selecting  loop m2-5")
    assert "Kiln Lane" not in told(55)
    assert told(30).startswith(" PLAYING 80 bpm 80%")
    for width in range(35, 56):
        assert "  m5" in told(width), "state and place run into each other"
    for width in range(30, 56):  # state and place never run into each other
        assert told(width).rstrip().split("  ")[-1].startswith(("m5", "E")), told(width)
    session.transport.practice = Practice(loop=True, parts="both", click="beats", count_in=2, tempo_percent=80.0)
    for width in (80, 84, 96):
        assert told(width).startswith(" PLAYING 80 bpm 80%  selecting  loop m2-5")
        assert " ".join(told(width).split()).endswith(("1 E eighth", "course E step eighth"))
    session.transport.said = "1 2"
    assert told(100).startswith(" COUNT-IN 80 bpm 80%")


def test_what_a_note_does_is_shown_when_it_is_asked_for(painted):
    """Over D, E passes from root to third, and C is the flat seventh (common practice, no source)."""
    tune = score(measure("8 2.5,8 2.7,4 2.9,2 2.3", chords=(ChordMark(offset="0", symbol="D7"),)), key="D")
    painter, system = painted(tune)
    painter.session.host = SimpleNamespace(redraw=list)
    for row in (TONIC, CLASS):
        assert row not in [each for each, _ in painter.rows()]
        toggle_row(painter.session, row.name)
        assert row in [each for each, _ in painter.rows()]
    painter.take_score()
    assert line(painter, system, TONIC).split() == ["tonic", "1", "2", "3", "b7"]
    assert line(painter, system, CLASS).split() == ["class", "ct", "pt", "ct", "ct"]


@pytest.mark.parametrize("look", ["dark", "terminal"])
def test_what_sounds_takes_at_most_400_bytes_a_second(look):
    """Five seconds of a piece at 104 quarters a minute, looked at ten times a second; a page is turned in them."""
    session = Typist(native.read(SAMPLE.read_bytes())).session
    marks = perform(session.score).marks
    wire, view = Wire(Abilities(), 80, 24), ScoreLines(session, LOOKS[look], lambda: (80, 22))
    view.pack()
    taken = []
    for now_s in [-1.0, *(tick / 10 for tick in range(50))]:
        view.painter.playhead = next((mark.place for mark in reversed(marks) if mark.time_s <= now_s), None)
        view.scroll()
        for y in range(view.high):
            wire.lay(0, y + 1, view.line(y))
        region = view.region_of(session.here.cursor)
        wire.cursor = region and (region[0], region[1] + 1)
        taken.append(len(wire.frame().encode()))
    assert view.top == 1
    assert sum(taken[1:]) / 5 <= 400


def found(finding, width, lines, number=1):
    """What the message line says of a finding, with so many lines."""
    message = Message(Typist(score("1 1.0")).session, LOOKS["dark"], lambda: (width, 1))
    message.finding, message.to_mend, message.hand_above = finding, number, lines > 1
    return message.texts()


def test_a_finding_says_what_it_is_before_how_many_there_are():
    finding = "* m11 2&   hard: reach 1-4, frets 2 to 8, is 92 mm", "hard: reach 1-4, frets 2 to 8, is 92 mm"
    assert found(finding, 80, 1) == [f"1 to fix   {finding[0]}"]
    assert found(finding, 55, 1) == [finding[0]]
    assert found(finding, 42, 1) == [finding[1]]
    assert found(finding, 40, 2) == ["1 to fix   * m11 2&   hard: reach 1-4,", "frets 2 to 8, is 92 mm"]
    assert found(finding, 30, 1) == ["hard: reach 1-4, frets 2 …"]


def test_what_is_cut_off_of_a_finding_under_the_score_is_seen_to_be():
    findings = Findings(Typist(score("1 1.0")).session, LOOKS["dark"], lambda: (20, 2))
    assert findings._line("* m1 1&  hard: more in a beat", PLAIN).text == "* m1 1&  hard: more…"
    assert findings._line("* m1 1&  hard: more!", PLAIN).text == "* m1 1&  hard: more!"


def test_of_a_list_of_answers_the_chosen_one_is_seen_without_colour():
    others, chosen = (answer_line("reel", 20, LOOKS["dark"], chosen=which) for which in (False, True))
    assert not [pen for _, pen in others.runs if pen.marks]
    assert [pen.marks for _, pen in chosen.runs] == [{"reverse"}] * len(chosen.runs)
    assert chosen.text.startswith("> reel")


def test_a_key_is_not_torn_from_its_word():
    assert in_lines(["a 1", "s 2", "d 3", "f 4"], 11) == "a 1  s 2\nd 3  f 4"
    assert in_lines(["g finger", "v stroke"], 11) == "g finger\nv stroke"
    assert in_lines(["ctrl+home"], 4) == "ctrl+home"
    assert in_lines([], 11) == ""


EIGHTHS = "8 2.3, 8 2.5, 8 1.2, 8 1.3, 8 1.5, 8 1.3, 8 1.2, 8 2.5"


def test_a_measure_of_eighths_is_whole_on_forty_columns(tmp_path):
    document = Document.open(
        tmp_path / "a.tabterm", PLAYER, blank=lambda: score(measure(EIGHTHS), measure(EIGHTHS))
    )
    session = Session(document, host=None, transport=Transport(practice=Practice()))
    lines = ScoreLines(session, LOOKS["dark"], lambda: (40, 12))
    lines.pack()
    found = []
    for place in (Place(0), Place(0, Fraction(7, 2)), Place(1, Fraction(7, 2)), Place(2)):
        session.here.cursor = session.here.cursor.at(place)
        lines.scroll()
        rows = [lines.line(y).text for y in range(lines.lines_of_system)]
        found.append([text.rstrip() for text in rows if text[:6].strip() in {"E", "A"}])
        x, _, _ = lines.region_of(session.here.cursor)
        assert 6 < x < 40
    whole = ["    E |--------2---3---5---3---2-------|", "    A |3---5-----------------------5---|"]
    assert found[:3] == [whole] * 3
    assert found[3][0].endswith("|")
