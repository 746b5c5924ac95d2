"""The counts of `tests.hand.violin`, on a small folder of our own whose figures are worked out by hand."""

from __future__ import annotations

import pytest

from tests.hand import violin

HEAD = "pitch,start,duration,beat_type,string,position,finger\n"
FIRST = "57,0,1,3,1,1,1\n59,1,1,3,1,1,2\n66,2,1,3,2,1,2\n69,3,1,3,0,1,0\n62,0,1,3,1,1,4\n76,1,1,3,3,3,2\n"
SECOND = "57,0,1,3,1,1,1\n59,1,1,3,1,1,2\n66,2,1,3,2,1,3\n69,3,1,3,2,1,4\n62,0,1,3,0,1,0\n76,1,1,3,3,3,2\n"


@pytest.fixture
def labels(tmp_path):
    (tmp_path / "vio1_tune.csv").write_text(HEAD + FIRST, encoding="utf-8")
    (tmp_path / "vio2_tune.csv").write_text(HEAD + SECOND, encoding="utf-8")
    (tmp_path / "readme.txt").write_text("no labels", encoding="utf-8")
    return violin.read(tmp_path)


def test_reaches_are_counted_in_one_position_by_different_fingers(labels):
    """Semitones 2, 4 and 7 of 328 mm lie at 35.78, 67.67 and 109.09 mm; two notes at one height are 0 mm apart."""
    found = violin.reaches(labels)
    assert found[1, 2] == pytest.approx([31.89, 31.89], abs=0.01)
    assert found[2, 3] == pytest.approx([0.0])
    assert found[3, 4] == pytest.approx([109.09 - 67.67], abs=0.01)
    assert set(found) == {(1, 2), (2, 3), (3, 4)}


def test_one_finger_on_two_strings(labels):
    """Semitone 4 on G and then on D: finger 2 both times by one player, 2 and 3 by the other."""
    assert violin.one_finger_on_two_strings(labels) == (1, 2)


def test_fingers_of_first_position(labels):
    found = violin.fingers_of_first_position(labels)
    assert found == {2: {1: 2}, 4: {2: 3, 3: 1}, 7: {4: 2}}


def test_agreement(labels):
    """Of six notes the third, fourth and fifth have other fingers, and the fourth and fifth other strings."""
    assert violin.agreement(labels, ("finger",)) == 3 / 6
    assert violin.agreement(labels, ("string",)) == 4 / 6
    assert violin.agreement(labels, ("string", "finger")) == 3 / 6


def test_players_whose_notes_do_not_match_are_not_compared(labels):
    shorter = {("vio3", "tune"): labels["vio1", "tune"][:-1]}
    assert violin.agreement(labels | shorter, ("finger",)) == 3 / 6


def test_the_report_has_the_bands_beside_the_counts(labels):
    lines = list(violin.report(labels))
    assert lines[0] == "12 labels in 2 files of 2 players"
    assert next(line for line in lines if line.startswith("1-2")).split()[-2:] == ["24", "34.5"]
    assert "one finger on two strings at one height: 1 of 2" in lines
    assert "any two players agree on finger: 50.0%" in lines
