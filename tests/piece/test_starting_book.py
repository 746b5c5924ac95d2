"""The starting book: every phrase is held against ten rules, and all of them against what a book needs."""

from __future__ import annotations

import json
from collections import Counter
from itertools import combinations
from pathlib import Path

import jsonschema
import pytest

from tabterm.formats import native
from tabterm.harmony.figures import apart
from tabterm.piece.phrase_book.entry import LEVELS, facts, figure, kept, label_of
from tabterm.piece.phrase_book.folder import starting_book
from tests.build import PLAYER, music
from tests.piece.starting_book import RULES, STYLES

ROOT = Path(__file__).parents[2]
MOVES = {
    *("I", "I IV", "IV I", "V I", "I V", "ii V I", "vi ii", "IV iv I", "i bVII", "V i", "i iv", "i V"),
    *("iiø V i", "VI II", "vi ii V I"),
}
"""The moves of chords that a player meets first (common practice, no source)."""


@pytest.fixture(scope="module")
def phrases():
    return {path.stem: native.read(path.read_bytes()) for path in sorted(starting_book().glob("*.tabterm"))}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_each_phrase_is_worth_learning(rule, phrases):
    assert {name: wrong for name, phrase in phrases.items() if (wrong := rule(phrase))} == {}


@pytest.mark.parametrize(
    ("phrase", "rule"),
    [
        ("4 2.2, 4 2.5, 2 2.0 | 4 2.2, 4 2.5, 2 2.0", "it_lands"),
        ("4 2.2, 4 2.5, 4. 2.0, 8 3.5", "it_arrives_in_time"),
        ("4 2.2, 2. 3.5 | 1 3.0 | 1 3.5 | 1 2.2 | 1 3.5", "it_fits_the_metre"),
        ("4 3.4, 4 2.0, 4 3.4, 4 3.5", "it_tells_the_chords"),
        ("4 4.0, 4 1.10, 2 3.5", "it_can_be_sung"),
        ("4 3.5, 4 2.0, 2 3.5", "it_has_a_shape"),
        ("2 3.5, 4 2.2, 4 3.5", "it_breathes"),
        ("4 3.5, 4 2.2, 4 2.5, 4 3.5", "it_has_a_rhythm"),
        ("8 3.5, 8 1.15, 8 3.1, 8 1.17, 2 3.5", "it_lies_under_the_hand"),
        ("4 3.5, 4 2.2, 2 3.5", "it_is_told"),
    ],
)
def test_each_rule_can_be_broken(phrase, rule):
    from tabterm.score.operations import set_chord
    from tabterm.score.place import Place

    broken = set_chord(music(phrase, key="G"), Place(0), "G")
    assert next(each for each in RULES if each.__name__ == rule)(broken)


def test_it_holds_the_moves_and_styles_a_player_needs_at_every_level(phrases):
    told = {name: facts(phrase, PLAYER) for name, phrase in phrases.items()}
    assert len(phrases) >= 60
    assert {each["chords"] for each in told.values()} >= MOVES
    tags = Counter(tag for phrase in phrases.values() for tag in label_of(phrase).tags)
    assert set(tags) >= STYLES
    assert min(tags[use] for use in ("ending", "kick-off", "fill", "turnaround", "closed", "double-stop")) >= 3
    levels = Counter(
        next(word for word, most in LEVELS.items() if each["percent"] <= most) for each in told.values()
    )
    assert min(levels[level] for level in LEVELS) >= 5
    assert {each["metre"] for each in told.values()} >= {"4/4", "3/4", "6/8", "2/4"}


def test_no_phrase_is_another_in_a_new_coat(phrases):
    figures = {name: figure(phrase) for name, phrase in phrases.items()}
    near = [
        (one, other)
        for (one, a), (other, b) in combinations(figures.items(), 2)
        if apart(a, b) < 1.0 or a.identity == b.identity
    ]
    assert near == []


def test_the_files_are_as_the_book_keeps_them_and_fit_the_schema(phrases):
    schema = json.loads((ROOT / "docs" / "tabterm.schema.json").read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    for name, phrase in phrases.items():
        assert native.write(kept(phrase)) == (starting_book() / f"{name}.tabterm").read_bytes(), name
    assert not list(validator.iter_errors(json.loads(native.write(phrases["backstep"]))))
