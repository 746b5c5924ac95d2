"""Learning from the player: weights move towards the fingers that were set, within bounds, and can be reset."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.fingering import fingering
from tabterm.hand.learning import MOST, learn
from tabterm.hand.proposals import with_hands
from tabterm.hand.terms import LIMITS, TERMS, Weights
from tabterm.piece.player import learnt_file, learnt_weights
from tabterm.score.operations import set_finger
from tabterm.score.place import Place
from tests.build import PLAYER, score
from tests.hand.passages import passages

PHRASE = "8 2.2,8 2.3,8 2.5,8 2.3,8 2.2,8 2.5,4 2.2"


@pytest.fixture
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    return tmp_path


def little_fingered():
    """The player takes the little finger for fret 5, where the ring finger was proposed."""
    built = with_hands(score(PHRASE), PLAYER)
    for offset, event in built.measures[0].timed():
        if event.notes[0].fret == 5:
            assert event.notes[0].proposed_finger == 3
            built = set_finger(built, Place(0, offset), 2, 4)
    return built


def proposals(built, player):
    return [hold.grip.notes[0].finger for hold in fingering(built, player).holds()]


def test_lessons_turn_the_proposal_round():
    """Fifths by one finger are the default; who always takes two fingers gets them proposed in the end."""
    fifths = with_hands(score("8 2.4,8 1.4,8 2.4,8 1.4,8 2.4,8 1.4,4 2.2"), PLAYER)
    taught = fifths
    for offset, event in fifths.measures[0].timed():
        note = event.notes[0]
        if note.fret == 4:
            taught = set_finger(taught, Place(0, offset), note.course, 4 - note.course)
    player, lessons = PLAYER, 0
    assert len(set(proposals(fifths, player)[:6])) == 1
    while len(set(proposals(fifths, player)[:6])) == 1:
        player, lessons = learn(taught, player), lessons + 1
        assert lessons < 60
    assert lessons > 2
    assert player.weights.points["roll"] > PLAYER.weights.points["roll"]
    assert player.weights.points["crowding"] < PLAYER.weights.points["crowding"]


def test_one_lesson_is_a_small_step():
    weights = learn(little_fingered(), PLAYER).weights
    assert weights.factors
    for _, factor in weights.factors:
        assert 2.71828**-MOST - 1e-3 <= factor <= 2.71828**MOST + 1e-3


def test_nothing_is_learnt_from_agreement():
    assert learn(with_hands(score(PHRASE), PLAYER), PLAYER) is PLAYER


@settings(max_examples=30, deadline=None)
@given(passages())
def test_weights_stay_within_their_bounds(built):
    player = PLAYER
    for _ in range(30):
        player = learn(built, player)
    for name, factor in player.weights.factors:
        assert LIMITS[0] <= factor <= LIMITS[1]
        assert name in TERMS
        assert name != "law"


def test_a_choice_that_cannot_be_teaches_nothing():
    """A hammer-on to a lower finger is against the law, not a taste."""
    built = set_finger(set_finger(score("2 1.3,2 h1.5"), Place(0), 1, 3), Place(0, 2), 1, 1)
    assert learn(built, PLAYER) is PLAYER


def test_what_was_learnt_is_kept_shown_and_forgotten(own_folder, capsys):
    path = own_folder / "a.tabterm"
    path.write_bytes(native.write(little_fingered()))
    assert main(["hand", "--learn", str(path)]) == 0
    assert "weak" in capsys.readouterr().out
    assert dict(learnt_weights().factors)["weak"] < 1
    assert main(["hand", "--forget"]) == 0
    assert "nothing yet" in capsys.readouterr().out
    assert learnt_weights() == Weights()


@pytest.mark.parametrize("text", ["", "[]", "{", '{"weak": 9, "nothing": 1, "shift": "x"}', "\x00"])
def test_a_broken_file_counts_as_none(own_folder, text):
    learnt_file().parent.mkdir(parents=True, exist_ok=True)
    learnt_file().write_text(text, encoding="utf-8")
    assert learnt_weights() == Weights()
