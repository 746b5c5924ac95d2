"""One table of rows: what it says of a row, screen, text tab, keys and sentences take from it."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tabterm.formats import text
from tabterm.page import rows
from tabterm.page.cells import DIFFERS_SIGNS, View, Weight, chords_printed, numerals
from tabterm.page.columns import lay_out
from tabterm.score import operations as do
from tabterm.score.comparison import Differs
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, HeardChord
from tabterm.score.place import Place
from tabterm.score.source import Proposed, SourceEvent
from tabterm.tui.painter import MeasureCells
from tabterm.workspace.keymap import CONTEXTS, Keymap, check_binding
from tests.build import duration, measure, score
from tests.page.texts import row_texts


def test_names_are_told_apart():
    names = [row.name for row in rows.ROWS]
    assert len(set(names)) == len(names)
    assert all(row.shows for row in rows.ROWS)
    assert rows.row_named("colour") is None
    assert rows.row_named("count", rows.EDITABLE) is None


def test_courses_never_give_way_and_every_other_row_of_the_screen_does():
    assert set(rows.GIVE_WAY) == set(rows.ON_SCREEN) - {rows.COURSE}
    ranks = [row.gives_way for row in rows.GIVE_WAY]
    assert ranks == sorted(set(ranks))


def test_the_rows_that_can_be_written_on_are_the_contexts_of_the_keys():
    assert CONTEXTS == ("anywhere", "remark", "chord", "source", "course", "finger", "stroke")
    keymap = Keymap()
    for row in rows.EDITABLE:
        for key, binding in row.keys.items():
            check_binding(key, binding)
            assert keymap.find(row.name, key) == binding


@pytest.mark.parametrize("row", rows.PRINTED, ids=lambda row: row.name)
def test_a_text_tab_has_each_printed_row_where_it_is_asked_for(row):
    tune = score(measure("8 1.2 2.3,8 1.3,4,2", chords=()), key="G")
    page = text.write(tune, rows=(row.name,)).decode()
    assert re.search(rf"^{row.name}\b", page, re.MULTILINE)
    above = page.index(f"\n{row.name}") < page.index("\nE ")
    assert above == row.above


def test_a_double_stop_shows_the_degree_of_each_note():
    """In G: B over D are its third and fifth, G over B its root and third (the triad by its definition)."""
    tune = score("8 1.7 2.5,8 1.7,8 2.10 3.9,8 1.3,2", key="G")
    assert row_texts(tune, 0, "degree") == {0: "3/5", 0.5: "3", 1: "1/3", 1.5: "1"}
    assert "degree  3/5 3   1/3 1" in text.write(tune, rows=("degree",)).decode()


WIDE = (rows.DEGREE, rows.TONIC, rows.CLASS)


def test_a_row_that_widens_makes_room_for_its_cells_where_it_is_shown():
    tune = score("16 1.6 2.6,16 1.0,8,4,2", key="C")
    shown, hidden = (MeasureCells(tune, frozenset(hidden)) for hidden in (WIDE[1:], WIDE))
    assert row_texts(tune, 0, "degree") == {0: "b7/b3", 0.25: "3"}
    assert (shown.layout(0).columns[0].width, hidden.layout(0).columns[0].width) == (6, 3)


def test_the_row_of_numerals_says_what_each_chord_is_where_it_begins():
    """D7 over two measures is said once; A7 before it is the dominant of it (common practice, no source)."""
    marks = [(ChordMark(offset="0", symbol=symbol),) for symbol in ("G", "A7", "D7", "D7", "G")]
    built = score(*(measure("1 2.0", chords=chords) for chords in marks), key=Key.parse("G"))
    assert [list(numerals(built, index).values()) for index in range(5)] == [["I"], ["V7/V"], ["V7"], [], ["I"]]


def test_a_chord_that_is_proposed_is_faint_and_says_how_sure_it_is():
    """A chord that is set on the same row is not, and each has room for its sign."""
    heard = (
        HeardChord(offset=Fraction(0), symbol="Bbmaj7", sure=63),
        HeardChord(offset=Fraction(1), symbol="C", sure=9),
    )
    tune = score(measure("4 1.2,4 1.3,4 1.5,4 1.7", chords=()).with_(heard_chords=heard))
    tune = do.set_chord(tune, Place(0, Fraction(2)), "G7")
    found = rows.CHORD.cells(View(tune), 0)
    assert {offset: [tuple(piece) for piece in pieces] for offset, pieces in found.items()} == {
        0: [("Bbmaj7?6", Weight.FAINT)],
        1: [("C?0", Weight.FAINT)],
        2: [("G7", Weight.CHORD)],
    }
    layout = lay_out(tune, 0)
    assert layout.x_of(Fraction(1)) > len("Bbmaj7?6")
    assert not chords_printed(tune, 0).keys() - {2}


def test_what_is_proposed_says_how_sure_it_is():
    """Behind the pitch, in tens of percent; a rest where it was heard does not count as left out."""
    heard = (Proposed(pitch=74, sure=97), Proposed(pitch=67, sure=4))
    quarter = duration("4")
    source = (
        SourceEvent(duration=quarter, pitches=(74,), proposed=heard[:1]),
        SourceEvent(duration=quarter, pitches=(67,), proposed=heard[1:]),
        SourceEvent(duration=quarter, pitches=(69,)),
        SourceEvent(duration=quarter),
    )
    tune = score(measure("1", source=source))
    found = rows.SOURCE.cells(View(tune), 0)
    dropped = f"A4{DIFFERS_SIGNS[Differs.DROPPED]}"
    assert [piece.text for pieces in found.values() for piece in pieces] == ["D5?9", "G4?0", dropped]
