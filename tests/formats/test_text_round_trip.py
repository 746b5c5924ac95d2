"""What is written as text tab reads back equal."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.formats import text
from tabterm.score.model import Event, Note, Score
from tests.strategies import scores


def carried(score: Score) -> Score:
    """The score without what text tab does not carry: proposed fingers, fingers of grace notes, the source."""

    def plain(note: Note) -> Note:
        return note.with_(proposed_finger=None)

    def event(each: Event) -> Event:
        grace = tuple(note.with_(finger=None, proposed_finger=None) for note in each.grace)
        stroke = {"proposed_stroke": None} if each.stroke else {}
        return each.with_(notes=tuple(plain(note) for note in each.notes), grace=grace, **stroke)

    return Score(
        head=score.head,
        measures=tuple(
            measure.with_(events=tuple(map(event, measure.events)), source=()) for measure in score.measures
        ),
    )


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(scores(max_measures=4), st.integers(20, 200))
def test_round_trip_is_exact(score, width):
    wanted = carried(score)
    written = text.write(wanted, width=width)
    reading = text.read(written)
    assert reading.score.head == wanted.head
    assert reading.score == wanted
    assert reading.remarks == ()
