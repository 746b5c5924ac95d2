"""The original on the screen: its row, and a sign for every way of departing from it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.page import cells, columns
from tabterm.page.rows import COURSE, SOURCE
from tabterm.score import operations as do
from tabterm.score.duration import QUARTER
from tabterm.score.model import Note
from tabterm.score.place import Place, Span
from tabterm.tui.painter import Painter
from tabterm.tui.systems import System
from tabterm.tui.terminal.abilities import in_ascii
from tabterm.tui.theme import LOOKS
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER
from tests.foreign import arranged
from tests.page.texts import row_texts


@pytest.fixture
def changed():
    tune = arranged("D4/4 E4/4 F#4/4 G4/4 | A4/4 B4/4 (B4/4 r/4")
    tune = do.put_note(tune, Place(0), Note(course=3, fret=1), QUARTER)
    tune = do.remove_note(tune, Place(0, Fraction(1)), 3)
    tune = do.put_note(do.erase(tune, _beat(0, 2)), Place(0, Fraction(2)), Note(course=1, fret=2), QUARTER)
    tune = do.put_note(do.erase(tune, _beat(1, 0)), Place(1), Note(course=4, fret=2), QUARTER)
    return do.write(tune, Place(1, Fraction(3)), QUARTER, (Note(course=1, fret=0),))


def _beat(measure, beat):
    return Span(Place(measure, Fraction(beat)), Place(measure, Fraction(beat + 1)))


def test_every_departure_has_a_sign_of_its_own(changed):
    texts = {index: row_texts(changed, index, "source") for index in (0, 1)}
    assert list(texts[0].values()) == ["D4≠", "E4−", "F#4↑", "G4"]  # noqa: RUF001
    assert list(texts[1].values()) == ["A4↓", "B4", "(B4)", "+"]
    assert len({in_ascii(sign, 1) for sign in cells.DIFFERS_SIGNS.values()}) == 5


def test_the_signs_fit_into_their_columns(changed):
    for index in (0, 1):
        layout = columns.lay_out(changed, index)
        for offset, text in row_texts(changed, index, "source").items():
            assert len(text) < layout.column_at(offset).width


def test_notes_that_depart_are_coloured_too(tmp_path, changed):
    document = Document.open(tmp_path / "a.tabterm", PLAYER, blank=lambda: changed)
    look = LOOKS["dark"]
    painter = Painter(Session(document, host=None, transport=Transport()), look)
    widths = [columns.lay_out(changed, index).width + 1 for index in (0, 1)]
    system = System(0, (0, widths[0]), sum(widths))
    source = painter.line(system, (SOURCE, 0)).line()
    assert "D4≠" in source.text
    pens = {text.strip(): pen for text, pen in source.runs}
    assert pens["D4≠"] == look.chord
    assert pens["G4"] == look.faint
    course = painter.line(system, (COURSE, 3)).line()
    assert dict(course.runs)["1"] == look.chord
    document.close(keep_draft=False)
