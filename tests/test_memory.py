"""What is remembered never shows: every fact is that of a fresh look, and every memory has an end."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tabterm
from tabterm.hand.difficulty import curve
from tabterm.hand.fingering import fingering
from tabterm.hand.onsets import phrases
from tabterm.hand.review import findings
from tabterm.harmony import analysis
from tabterm.harmony.analysis import analyse
from tabterm.harmony.progression import sounding_chords
from tabterm.memory import MEMORIES, Memory, forget, sizes
from tabterm.page import columns
from tabterm.page.cells import counts, degrees, numerals
from tabterm.page.columns import lay_out
from tabterm.score.comparison import transposition
from tabterm.score.duration import Duration
from tabterm.score.model import Note
from tabterm.score.operations import put_note
from tabterm.score.operations.draft import change_measure
from tabterm.score.place import Place
from tabterm.score.source import SourceEvent
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, score
from tests.strategies import operations, scores

HOUSE = Path(tabterm.__file__).parent


def _holds(built, *, keep_courses):
    found = fingering(built, PLAYER, keep_courses=keep_courses)
    return [(hold.onset.place, hold.onset.grace, hold.grip, hold.frame, hold.points) for hold in found.holds()]


FACTS = {
    "phrases": phrases,
    "fingerings": lambda built: _holds(built, keep_courses=True),
    "fingerings with courses free": lambda built: _holds(built, keep_courses=False),
    "findings": lambda built: [
        (each.code, each.severity, each.place, each.course, each.message) for each in findings(built, PLAYER)
    ],
    "difficulty": lambda built: curve(built, fingering(built, PLAYER)),
    "columns": lambda built: [lay_out(built, index) for index in range(len(built.measures))],
    "analyses": lambda built: [analyse(built, index) for index in range(len(built.measures))],
    "chords that sound": sounding_chords,
    "numerals": lambda built: [numerals(built, index) for index in range(len(built.measures))],
    "transposition": transposition,
}
"""Every fact that is remembered, as a function of a score."""


@pytest.fixture
def small(monkeypatch):
    """A memory of three, in a table of its own."""
    monkeypatch.setattr("tabterm.memory.MEMORIES", {})
    return Memory("squares", hangs_on="a number", most=3)


@settings(max_examples=10, deadline=None)
@given(scores(), st.data())
def test_after_any_edits_every_fact_is_as_on_a_fresh_look(built, data):
    for _ in range(3):
        remembered = {name: fact(built) for name, fact in FACTS.items()}
        forget()
        for name, fact in FACTS.items():
            assert fact(built) == remembered[name], name
        built = data.draw(operations(built))


def test_every_memory_is_used_by_the_facts_and_has_an_end():
    forget()
    built = score("4 1.2,4 1.3,2 2.2")
    sounding = SourceEvent(duration=Duration.parse("1"), pitches=(62,))
    built = built.with_(measures=(built.measures[0].with_(source=(sounding,)),))
    for fact in FACTS.values():
        fact(built)
    assert [name for name, (held, most) in sizes().items() if not 0 < held <= most] == []
    for memory in MEMORIES.values():
        assert memory.hangs_on
        for number in range(memory.most + 10):
            memory.keep(("filling", number), number)
    assert all(held == most for held, most in sizes().values())
    forget()
    assert all(not held for held, _ in sizes().values())


def test_an_edit_lays_out_the_measure_that_it_changes(monkeypatch):
    """The rows of a screen ask for the columns with what they need, the count without.

    What a note is hangs on where it leads, so the measure before the first note of another is looked at again.
    """
    worked_out = []
    for module, name in ((columns, "_columns"), (analysis, "_analyse")):
        work = getattr(module, name)
        monkeypatch.setattr(module, name, lambda *a, of=name, do=work: worked_out.append(of) or do(*a))

    def show(built):
        for index in range(len(built.measures)):
            needs = tuple((offset, len(text)) for offset, text in degrees(built, index).items())
            lay_out(built, index, needs)
            counts(built, index)

    built = score(*["4 1.2,4 1.3,2 2.2"] * 8)
    show(built)
    worked_out.clear()
    show(put_note(built, Place(3), Note(course=2, fret=5), Duration.parse("4")))
    assert sorted(worked_out) == ["_analyse", "_analyse", "_columns", "_columns"]


def test_the_oldest_is_forgotten_first(small):
    for number in (1, 2, 3, 1, 4):
        small.keep(number, number * number)
    assert [small.known(number) for number in (1, 2, 3, 4)] == [1, None, 9, 16]
    assert small.latest() == (16, 1, 9)


def test_a_result_is_worked_out_anew_where_what_it_hangs_on_differs(small):
    one, alike = [1], [1]
    assert small.of((one,), ("a",), lambda: "first") == "first"
    assert small.of((one,), ("a",), lambda: "second") == "first"
    assert small.of((alike,), ("a",), lambda: "of another object") == "of another object"
    assert small.of((one,), ("b",), lambda: "third") == "third"


def test_two_memories_have_two_names(small):
    with pytest.raises(ValueError, match="squares"):
        Memory("squares", hangs_on="a number", most=1)


def test_a_lone_first_note_is_as_hard_as_its_tempo():
    """Nothing before it, so that its phrase looks alike at every tempo; its beat does not."""
    slow = score("2 1.5,2", "1", tempo=Tempo(60.0))
    fast = change_measure(slow, 0, tempo=Tempo(240.0))
    curve(slow, fingering(slow, PLAYER))
    remembered = curve(fast, fingering(fast, PLAYER))
    forget()
    assert curve(fast, fingering(fast, PLAYER)) == remembered


OF_ITS_OWN = re.compile(r"^(\w+)(?:: .*)? = (?:\{\}|\[\])$|^ +global (\w+)|\b(Weak\w+Dictionary)\b", re.MULTILINE)
"""What a module keeps without a `Memory`: weak tables, globals, tables that are empty at first."""


def test_nothing_else_remembers():
    found = {
        (str(path.relative_to(HOUSE)), "".join(filter(None, names)))
        for path in HOUSE.rglob("*.py")
        for names in OF_ITS_OWN.findall(path.read_text())
    }
    assert found == {("memory.py", "MEMORIES"), ("workspace/registry.py", "REGISTRY")}
