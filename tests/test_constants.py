"""Every number of the rooms that music hangs on says in the code what its unit is and where it comes from."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from tabterm.hand.terms import TERMS

spec = importlib.util.spec_from_file_location("constants", Path(__file__).parents[1] / "docs" / "constants.py")
constants = importlib.util.module_from_spec(spec)
spec.loader.exec_module(constants)


@pytest.fixture(scope="module")
def declared():
    return constants.declared()


def read(text):
    """The constants of a module that is only a text; it is run as Python does."""
    values = {}
    exec(text, values)
    return constants.read("seeded", text, values)


def faults(found):
    return [f"{each.module} {each.name}: {each.unit!r}, {each.source!r}" for each in found if not _is_whole(each)]


def _is_whole(each):
    return bool(each.unit) and each.kind is not None


def test_every_constant_has_a_unit_and_a_source(declared):
    assert not faults(declared)
    assert len(declared) > 400


def test_they_are_found_in_every_room_and_in_every_kind_of_statement(declared):
    found = {(each.module, each.name): each.value for each in declared}
    assert found["tabterm.hand.onsets", "FREE_S"] == "0.5"
    assert found["tabterm.hand.terms", "TERMS['creep']"] == "3.0"
    assert found["tabterm.hand.bands", "BANDS[(1, 4)]"] == "62, 79, 118, 143"
    assert found["tabterm.hand.difficulty", "CAUSES['return']"] == "1.0"
    assert found["tabterm.instrument.presets", "PRESETS['mandolin']"].endswith("scale_length_mm=352.425")
    assert found["tabterm.performance.shading", "VIBRATO_HZ"] == "5.5"
    assert found["tabterm.performance.styles", "Style.chop_s"] == "0.1"
    assert found["tabterm.sound.device", "LATENCY_S"] == "0.03"
    assert found["tabterm.score.profile", "Speeds.strokes"] == "10.0"


@pytest.mark.parametrize(
    "line",
    [
        "REST_S = 0.5",
        "REST_S: float = 0.5",
        "REST_S = 0.5  # s; common practice, no source",
        "REST_S = 0.5  #: common practice, no source",
        "REST_S = 0.5  #: s;",
        "REST_S = 0.5  #: s; a handbook",
        "REST_S = 0.5  #: s; English Wikipedia, on this",
        "REST_S = 0.5  #: s; tapping speeds",
        "REST_S = 0.5  #: s; upload 743151131",
        "REST_S = 0.5  #: s; from a fit, then changed by us: was 1, now 0.5, because it was better",
        "REST_S = 0.5  #: s; from Jen et al. 2021, then changed by us: now 0.5",
        "REST_S = 0.5  #: s; fitted once on some data, not repeatable here",
        "#: s; tuned here\n\nREST_S = 0.5",
        "A = 1  #: s; tuned here\nB = 2",
        "A, B = 1, 2",
        "SUM = abs(-3)",
        "TABLE = {\n    'one': 1,  #: s; tuned here\n    'two': (2, 3),\n}",
        "TABLE = {}\nMORE = TABLE | {'one': [1]}",
        "class Hand:\n    span: float = 143.0",
    ],
)
def test_a_constant_without_an_entry_or_with_a_source_that_is_none_is_found(line):
    assert faults(read(line))


@pytest.mark.parametrize(
    ("line", "rows"),
    [
        ("REST_S = 0.5  #: s; common practice, no source", [("REST_S", "0.5", "s", "common practice")]),
        ("REST_S = 0.5  #: s; Jen et al. 2021, table 2", [("REST_S", "0.5", "s", "published")]),
        ("NOTE = 0x90  #: byte; MIDI 1.0", [("NOTE", "144", "byte", "standard")]),
        ("#: s; tuned\n#: here\nREST_S = 1", [("REST_S", "1", "s", "tuned here")]),
        ("#: s; D. Grisman, page, undated\nA = 1", [("A", "1", "s", "published")]),
        (
            "A, B_MM = 1, 2  #: s, mm; measured here: by a test",
            [("A", "1", "s", "measured here"), ("B_MM", "2", "mm", "measured here")],
        ),
        (
            "#: s; tuned here\nTABLE = {\n    'one': 1,\n    'two': (2, 3),  #: m; from memory\n}",
            [("TABLE['one']", "1", "s", "tuned here"), ("TABLE['two']", "2, 3", "m", "from memory")],
        ),
        (
            "A = 3  #: points; from TNUA (Jen et al. 2021), then changed by us: was 2, now 3, because it crept",
            [("A", "3", "points", "changed here")],
        ),
        (
            "A = 3  #: points; TNUA (Jen et al. 2021), fitted once on that data, not repeatable here",
            [("A", "3", "points", "not repeatable")],
        ),
        (
            "class Hand:\n    span: float = 143.0  #: mm; derived: from SPAN",
            [("Hand.span", "143.0", "mm", "derived")],
        ),
        ("class Hand:\n    louder: int = 0", []),
        ("NAME = 'four'\nKNOWN = True", []),
    ],
)
def test_an_entry_is_read_with_its_unit_and_its_kind(line, rows):
    assert [(each.name, each.value, each.unit, each.kind) for each in read(line)] == rows


def test_no_decimal_number_hides_in_a_function():
    found = {name: constants.hidden(path.read_text(encoding="utf-8")) for name, path in constants.modules()}
    assert not {name: lines for name, lines in found.items() if lines}
    seeded = "REST_S = 0.3\n\n\ndef rest(tempo):\n    return 0.37 * 60.0 / tempo"
    assert constants.hidden(seeded) == ["line 5: 0.37"]


@pytest.mark.parametrize("name", TERMS)
def test_a_weight_that_was_changed_says_what_it_is_now(name):
    """So that the sentence and the weight do not come apart when one of them is changed again."""
    term = TERMS[name]
    now = re.search(r"\bnow (.+?), because", term.source)
    assert now is None or re.search(rf"(?<![\d.-]){re.escape(f'{term.weight:g}')}(?![\d.])", now[1])
