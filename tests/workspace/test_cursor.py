"""The cursor in words, as a screen reader says it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from tabterm.formats import native
from tabterm.page.rows import COURSE, STROKE
from tabterm.score.duration import Duration
from tabterm.score.kinds import Direction, Reached
from tabterm.score.place import Place
from tabterm.workspace.cursor import Cursor, sentence
from tabterm.workspace.document import Document
from tabterm.workspace.here import NextNote, Pending
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.bench.files import SAMPLE
from tests.build import PLAYER
from tests.typist import Listening


def said(measure, offset, course, row=COURSE, next_note=None):
    document = Document(Path("piece.tabterm"), native.read(SAMPLE.read_bytes()), PLAYER)
    session = Session(document, host=Listening(), transport=Transport())
    session.here.cursor = Cursor(Place(measure, Fraction(offset)), row, course)
    session.next_note = next_note or NextNote()
    return sentence(session)


@pytest.mark.parametrize(
    ("measure", "offset", "course", "row", "words"),
    [
        (1, 0, 3, COURSE, "m1 beat 1, D course, fret 5, finger 3, down, chord G, section A, repeat begins"),
        (0, "1/2", 4, COURSE, "m0 beat 2 and, G course, fret 2, hammered on, finger 1"),
        (1, "1/2", 1, COURSE, "m1 beat 1 and, E course, empty, D course, fret 4, finger 2, up"),
        (1, "1/4", 3, COURSE, "m1 beat 1 e, D course, goes on, fret 5, finger 3, down"),
        (2, "1/2", 2, COURSE, "m2 beat 1 and, A course, goes on, empty, D course, fret 5, finger 3, down"),
        (1, "1/2", 3, STROKE, "m1 beat 1 and, stroke row, D course, fret 4, finger 2, up"),
    ],
)
def test_what_stands_at_the_cursor(measure, offset, course, row, words):
    assert said(measure, offset, course, row) == f"{words}, next {'eighth' if row is COURSE else row.takes}"


def test_after_the_end():
    assert said(17, 0, 1) == "after the end, E course, next eighth"


@pytest.mark.parametrize(
    ("pending", "words"),
    [
        ({"reached": Reached.HAMMER, "tens": 10}, "next 16th hammered on fret 10 and more"),
        ({"slide_in": Direction.DOWN}, "next 16th slid into from above"),
        ({"stack": True, "muted": True}, "next 16th muted added to the notes there"),
        ({"grace": True}, "next 16th as grace note"),
    ],
)
def test_what_has_been_said_of_the_next_note_ends_the_sentence(pending, words):
    assert said(1, 0, 3, next_note=NextNote(Duration(16), Pending(**pending))).endswith(f", {words}")
