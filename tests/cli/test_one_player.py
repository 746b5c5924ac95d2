"""One score and one player: every command and the editor find the same fingers, strokes, findings and remedies."""

from __future__ import annotations

import json
from argparse import Namespace
from itertools import combinations

import pytest

from tabterm import formats
from tabterm.cli import edit, hearing
from tabterm.cli.finger import events
from tabterm.cli.main import main
from tabterm.cli.scores import CHOICE
from tabterm.formats import native
from tabterm.piece import configuration
from tabterm.piece.player import learnt_file
from tabterm.score.kinds import StrokeSchool
from tabterm.score.place import count_name, display_number
from tabterm.score.profile import HandProfile
from tabterm.score.tempo import Tempo
from tabterm.workspace.commands.trouble import mend
from tests.build import score

TUNE = score(
    "8 2.4,8 1.4,8 2.4,8 1.4,8 2.4,8 1.4,8 2.2,8 1.5",
    "8 2.2,8 2.3,8 2.5,8 2.3,8 2.2,8 2.7,8 2.5,8 h2.7",
    "16 3.2,16 3.4,16 3.5,16 2.2,8 2.5,8 1.7,4 1.10,4 2.9",
    "4 2.9 3.4,8 1.8,8 1.12,2 2.2",
    tempo=Tempo(150),
    school=StrokeSchool.COURSE_CHANGE,
)
LOW = "X:1\nL:1/8\nM:4/4\nQ:1/4=150\nK:G\nG,,A,,B,,C,D,E,F,G,|[G,,B,,]2A,,B,,^C,D,E,2|]\n"
"""Below the mandolin: it has to be fitted."""

LEARNT = {"habits": {"little": 2.0}}
HAND = "[hand]\nspan_mm = 120\nweak = [2, 4]\n[hand.speeds]\nrepeated = 4.9\n"
PLAYERS = {"standard": ("", {}), "learnt": ("", LEARNT), "edited": (HAND, {})}


def become(hand, learnt):
    """Write the files of a player."""
    for path, text in ((configuration.path(), hand), (learnt_file(), json.dumps(learnt))):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


@pytest.fixture(params=PLAYERS)
def player(request):
    become(*PLAYERS[request.param])
    return request.param


@pytest.fixture(params=["tune.tabterm", "own.tabterm", "low.abc"])
def file(request, tmp_path):
    """A score, one that carries a hand of its own, and a line for another instrument."""
    path = tmp_path / request.param
    own = TUNE.with_(head=TUNE.head.with_(hand=HandProfile(span_mm=180)))
    path.write_bytes({"tune": native.write(TUNE), "own": native.write(own), "low": LOW.encode()}[path.stem])
    return path


@pytest.fixture
def session(file, player):
    """The editor with the file open, before its screen is shown."""
    app, _ = edit.loaded(Namespace(file=file, look=None, plain=False, **dict.fromkeys(CHOICE)))
    app.session.begin_proposing()
    yield app.session
    app.session.transport.close()
    app.session.document.close(keep_draft=False)


@pytest.fixture
def run(capsys):
    """What a command prints."""

    def run_one(*words):
        capsys.readouterr()
        assert main([*map(str, words)]) < 2
        return capsys.readouterr().out

    return run_one


def fingered(run, file):
    return json.loads(run("finger", file, "--json", "--keep-courses"))


def strokes(built):
    return [each["stroke"] for each in events(built)]


def test_these_players_differ(run, tmp_path):
    """Else what follows could not fail."""
    path, found = tmp_path / "tune.tabterm", {}
    path.write_bytes(native.write(TUNE))
    for name, files in PLAYERS.items():
        become(*files)
        fingers = [note["finger"] for each in fingered(run, path) for note in each["notes"]]
        found[name] = fingers, [each["stroke"] for each in fingered(run, path)], run("check", path, "--json")
    fingers, strokes, checked = zip(*found.values(), strict=True)
    for answers in (fingers, checked):
        assert all(one != other for one, other in combinations(answers, 2))
    assert strokes[0] == strokes[1] != strokes[2]


def test_fingers_and_strokes_are_the_same(run, file, player, session, tmp_path):
    wanted = fingered(run, file)
    run("convert", file, tmp_path / "out.musicxml", "--view", "both")
    assert events(formats.read(tmp_path / "out.musicxml").music) == wanted
    out = tmp_path / "out.tabterm"
    run("finger", file, "--keep-courses", "-o", out, "--force")
    assert events(native.read(out.read_bytes())) == wanted
    assert run("show", file) == run("finger", file, "--keep-courses")
    holds = [hold for hold in session.hand.fingering().holds() if hold.onset.grace is None]
    assert [[note["finger"] for note in each["notes"]] for each in wanted if each["notes"]] == [
        [
            stop.finger or None if note.fret else 0
            for note, stop in zip(hold.onset.notes, hold.grip.notes, strict=True)
        ]
        for hold in holds
    ]


def test_strokes_and_places_are_the_same_where_only_they_matter(run, file, player, session, tmp_path):
    wanted, out = fingered(run, file), tmp_path / "out.tabterm"
    run("strokes", file, "-o", out)
    heard = hearing.piece_of(Namespace(file=file, first=None, last=None, **dict.fromkeys(CHOICE)))[0].score
    places = [[(note["course"], note["fret"]) for note in each["notes"]] for each in wanted]
    for built in (native.read(out.read_bytes()), heard, session.score):
        assert strokes(built) == [each["stroke"] for each in wanted]
        assert [[(note["course"], note["fret"]) for note in each["notes"]] for each in events(built)] == places
    run("convert", file, out, "--force")
    assert run("compare", out).replace(str(out), "") == run("compare", file).replace(str(file), "")


def test_findings_and_remedies_are_the_same(run, file, player, session):
    assert json.loads(run("check", file, "--json")) == [
        {
            "code": finding.code,
            "severity": finding.severity.value,
            "measure": display_number(session.score, finding.place.measure),
            "beat": count_name(session.score, finding.place),
            "course": finding.course,
            "message": finding.message,
            "numbers": dict(finding.numbers),
            "remedies": [
                {"label": remedy.label, "kind": remedy.kind.value, "unasked": remedy.is_unasked}
                for remedy in session.hand.remedies(finding)
            ],
        }
        for finding in session.hand.findings()
    ]


def test_what_is_mended_is_the_same(run, file, player, session, tmp_path):
    """The editor applies the first remedy of each finding, one after the other, as `--fix` does."""
    out, tried = tmp_path / "mended.tabterm", set()
    run("check", file, "--fix", "-o", out)

    def left():
        known = ((finding, (finding.code, finding.place, finding.course)) for finding in session.hand.findings())
        return next(((finding, name) for finding, name in known if name not in tried), None)

    while (found := left()) is not None:
        tried.add(found[1])
        if ways := [way for way in session.hand.remedies(found[0]) if way.is_unasked]:
            mend(session, found[0], ways[0])
    assert out.exists() == (session.document.latest is not None)
    if out.exists():
        assert events(native.read(out.read_bytes())) == events(session.score)
        assert len(json.loads(run("check", out, "--json"))) == len(session.hand.findings())


def test_the_limits_are_the_same(run, file, player, session):
    from tabterm.workspace.adviser import advise

    hard = json.loads(run("hard", file, "--json"))
    levels = advise(session.score, session.player).levels
    assert max(each["use"] for each in hard["phrases"]) == pytest.approx(
        max(level for each in levels.values() for level in each.values()), abs=1e-3
    )


def test_a_hand_of_the_scores_own_stands_for_the_players(run, tmp_path):
    """What was learnt stays the player's."""
    path = tmp_path / "own.tabterm"
    become("", LEARNT)
    path.write_bytes(native.write(TUNE))
    wanted = fingered(run, path), run("check", path, "--json"), run("hard", path)
    become(HAND, LEARNT)
    path.write_bytes(native.write(TUNE.with_(head=TUNE.head.with_(hand=HandProfile()))))
    assert (fingered(run, path), run("check", path, "--json"), run("hard", path)) == wanted
