"""Learning from the player: habits come from what was set against a proposal, are shown, and can be taken back."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.fingering import fingering
from tabterm.hand.habits import of
from tabterm.hand.learning import LEAST, Lesson, study, taught, without
from tabterm.hand.proposals import with_hands
from tabterm.hand.terms import HABITS, LIMITS, TERMS, Weights
from tabterm.piece.player import keep_learnt, learnt_file, learnt_lessons, learnt_weights
from tabterm.score.operations import set_finger
from tabterm.score.place import Place
from tests.build import PLAYER, score
from tests.hand import habits
from tests.hand.passages import passages

PHRASE = "8 2.2,8 2.3,8 2.5,8 2.3,8 2.2,8 2.5,4 2.2"
SPARES_LITTLE = Lesson(0.8, {"little": -1.0, "ring": 0.5}, 4.0)
STAYS = Lesson(0.9, {"leave": -1.0, "little": 0.25}, 4.0)


@pytest.fixture
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    return tmp_path


def little_fingered(phrase=PHRASE):
    """The player takes the little finger for fret 5, where the ring finger was proposed."""
    built = with_hands(score(*[phrase] * 6), PLAYER)
    for index, measure in enumerate(built.measures):
        for offset, event in measure.timed():
            if event.notes[0].fret == 5:
                assert event.notes[0].proposed_finger == 3
                built = set_finger(built, Place(index, offset), 2, 4)
    return built


def proposals(built, player):
    return [hold.grip.notes[0].finger for hold in fingering(built, player).holds()]


def test_what_was_set_against_a_proposal_is_proposed_elsewhere():
    """The ring finger for fret 5 is the default; who always takes the little one gets it on another course too."""
    other = score("8 3.2,8 3.3,8 3.5,8 3.3,8 3.2,8 3.5,4 3.2")
    player = PLAYER.with_(weights=taught(study(little_fingered(), PLAYER)))
    assert proposals(other, PLAYER) == [1, 2, 3, 2, 1, 3, 1]
    assert proposals(other, player)[:3] == [1, 2, 4]


def test_agreement_on_held_back_pieces_rises_and_never_falls_by_more_than_a_point():
    """Two pieces of a simulated player who spares the little finger; `tests.hand.habits` has the whole table."""
    pieces = habits.pieces(5)
    found = habits.course(habits.RULES[0], pieces[:2], pieces[2:])
    assert found.agreement[-1] > found.agreement[0] + 5
    assert found.worst_fall <= 1
    assert found.habits["little"] > 0


def test_nothing_is_learnt_from_agreement():
    assert study(with_hands(score(PHRASE), PLAYER), PLAYER) == ()


def test_one_correction_is_no_habit_and_many_are():
    built = with_hands(score(*[PHRASE] * 6), PLAYER)
    once = set_finger(built, Place(0, 1), 2, 4)
    assert not taught(study(once, PLAYER)).habits
    assert taught(study(little_fingered(), PLAYER)).habits["ring"] > 0


@settings(max_examples=15, deadline=None)
@given(passages())
def test_only_habits_are_learnt_and_they_stay_within_their_bounds(built):
    weights = taught(study(built, PLAYER))
    low, high = LIMITS
    for name, points in weights.habits.items():
        assert low <= points <= high
        assert abs(points) >= LEAST
        assert points > 0 or HABITS[name][1]
    assert all(weights.points[name] == term.weight for name, term in TERMS.items() if name not in HABITS)


def test_what_lessons_agree_on_is_learnt_and_what_they_contradict_is_not():
    assert set(taught([SPARES_LITTLE]).habits) == {"little"}
    assert set(taught([SPARES_LITTLE, STAYS]).habits) == {"little", "leave"}
    against = Lesson(0.8, {"little": 1.0, "ring": -0.5}, 4.0)
    assert not taught([SPARES_LITTLE, against]).habits


def test_a_habit_is_taken_back_and_the_others_stay():
    lessons = (SPARES_LITTLE, STAYS)
    left = without(lessons, "little")
    assert left == (STAYS._replace(habits={"leave": -1.0}),)
    assert set(taught(left).habits) == {"leave"}


def test_a_choice_that_cannot_be_teaches_nothing():
    """A hammer-on to a lower finger is against the law, not a taste."""
    built = set_finger(set_finger(score("2 1.3,2 h1.5"), Place(0), 1, 3), Place(0, 2), 1, 1)
    assert study(built, PLAYER) == ()


def test_habits_are_counted_as_they_are_said():
    """Counted by hand: fingers 1 and 3 at frets 2 and 5, the open course, and finger 1 on the next course."""
    holds = tuple(fingering(score("4 2.2,4 2.5,4 2.0,4 1.2"), PLAYER).holds())
    assert [hold.grip.notes[0].finger for hold in holds] == [1, 3, 0, 1]
    assert [hold.frame for hold in holds] == [2] * 4
    found = [dict(of(holds, number)) for number in range(4)]
    assert found == [{}, {"ring": 1.0, "spread": 1.0}, {"open": 1.0}, {}]
    moved = (*holds[:1], replace(holds[1], frame=4), replace(holds[3], frame=9))
    assert dict(of(moved, 1)) == {"ring": 1.0, "spread": 1.0, "leave": 1.0, "step": 1.0}
    assert dict(of(moved, 2)) == {"spread": 1.0, "leave": 1.0}


def test_what_was_learnt_is_kept_shown_and_taken_back(own_folder, capsys):
    path = own_folder / "a.tabterm"
    path.write_bytes(native.write(little_fingered()))
    assert main(["hand", "--learn", str(path)]) == 0
    assert "you spare the ring finger (+" in capsys.readouterr().out
    assert learnt_weights() == taught(learnt_lessons())
    habit = {row["habit"]: row for row in _as_json(capsys)["learnt"]}["ring"]
    assert habit["points"] > 0
    assert habit["lessons"] > 0
    assert main(["hand", "--forget", "ring"]) == 0
    assert "you spare the ring finger" not in capsys.readouterr().out
    assert main(["hand", "--forget"]) == 0
    assert "nothing yet" in capsys.readouterr().out
    assert learnt_weights() == Weights()
    assert not learnt_file().exists()


def _as_json(capsys):
    assert main(["hand", "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_lessons_are_read_as_they_were_kept(own_folder):
    weights = keep_learnt((SPARES_LITTLE, STAYS))
    assert (learnt_lessons(), learnt_weights()) == ((SPARES_LITTLE, STAYS), weights)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{",
        '{"habits": {"little": 9, "nothing": 1, "leave": "x", "shift": 1}}',
        '{"lessons": [1, {"points": 1}, {"habits": []}, {"points": 1, "weight": 1, "habits": {"shift": 1}}]}',
        '{"habits": [], "lessons": {}}',
        "\x00",
    ],
)
def test_a_broken_file_counts_as_none(own_folder, text):
    learnt_file().parent.mkdir(parents=True, exist_ok=True)
    learnt_file().write_text(text, encoding="utf-8")
    assert learnt_weights() == Weights()
    assert learnt_lessons() == ()
