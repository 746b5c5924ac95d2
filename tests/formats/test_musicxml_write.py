"""What is written as MusicXML is valid, and reads back equal."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from tabterm import formats
from tabterm.errors import FormatError
from tabterm.formats import musicxml, native
from tabterm.formats.musicxml import VIEWS
from tabterm.hand.proposals import with_hands
from tabterm.score.kinds import Barline, StrokeSchool
from tabterm.score.model import Event, Head, Note, Score
from tests.build import measure, score
from tests.formats.musicxml_schema import faults
from tests.strategies import scores

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))
quickly = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


def carried(given_score: Score) -> Score:
    """The score as a file holds it.

    What begins with the first measure stands in the head, what changes nothing is not said again, and proposals
    that a choice of the player covers are left out. What else is left out must be remarked.
    """

    def plain(note: Note) -> Note:
        return note if note.finger is None else note.with_(proposed_finger=None)

    def uncovered(each: Event) -> Event:
        stroke = {"proposed_stroke": None} if each.stroke else {}
        tremolo = {"proposed_tremolo": False} if each.tremolo else {}
        notes, grace = tuple(map(plain, each.notes)), tuple(map(plain, each.grace))
        return each.with_(notes=notes, grace=grace, **stroke, **tremolo)

    first, held, measures = given_score.measures[0], {}, []
    last = len(given_score.measures) - 1
    for index, each in enumerate(given_score.measures):
        changes = {}
        for name, values in (("key", given_score.keys), ("metre", given_score.metres), ("tempo", given_score.tempos)):
            changes[name] = values[index] if held.get(name, values[0]) != values[index] else None
            held[name] = values[index]
        barline = each.barline
        if each.repeat_times:
            barline = Barline.FINAL if index == last else Barline.SINGLE
        measures.append(each.with_(events=tuple(map(uncovered, each.events)), source=(), barline=barline, **changes))
    opening = {name: getattr(first, name) or getattr(given_score.head, name) for name in ("key", "metre", "tempo")}
    return Score(head=given_score.head.with_(**opening), measures=tuple(measures))


def remarked(given_score: Score) -> set[str]:
    """The beginnings of the remarks that must be made on a score."""
    wanted = set()
    last = len(given_score.measures) - 1
    for index, each in enumerate(given_score.measures):
        if each.source:
            wanted.add("the source line")
        if each.repeat_times and each.barline is not (Barline.FINAL if index == last else Barline.SINGLE):
            wanted.add(f"a {each.barline} bar line")
    return wanted


@pytest.mark.parametrize("view", VIEWS)
@quickly
@given(scores(max_measures=4))
def test_round_trip_is_exact_and_valid(view, drawn):
    written = musicxml.write(drawn, view=view)
    assert faults(written.data) == []
    reading = musicxml.read(written.data)
    wanted = carried(drawn)
    assert reading.score.head == wanted.head
    assert reading.score == wanted
    beginnings = remarked(drawn)
    assert len(written.remarks) == len(beginnings)
    assert all(any(each.message.startswith(words) for words in beginnings) for each in written.remarks)
