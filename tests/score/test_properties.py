"""What holds for every operation on every score."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.judge import judged
from tabterm.score import operations as do
from tabterm.score.change import Change
from tabterm.score.duration import QUARTER, Duration, Tuplet
from tabterm.score.kinds import Stroke
from tabterm.score.model import Event, Measure, Note, Score
from tabterm.score.place import Place, Span
from tabterm.score.query import distance, end_of, event_at
from tabterm.values import plain, read_value
from tests import strategies
from tests.build import sounds
from tests.strategies import METRES, durations, places, scores, spans
from tests.strategies import operations as steps


def quickly(examples):
    return settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    )


def tried(operation, *arguments):
    """What an operation gives: a score, or its refusal."""
    try:
        return operation(*arguments)
    except ScoreError as refusal:
        return refusal


def revalidated(score):
    """The score built anew from plain data, every rule checked, by our forms and by the library that judges."""
    built = read_value(Score, plain(score))
    assert judged(Score, plain(score), strict=True) == built
    return built


@quickly(70)
@given(st.data())
def test_any_sequence_keeps_the_rules_and_can_be_taken_back(data):
    score = first = data.draw(scores(max_measures=3))
    changes = []
    for _ in range(data.draw(st.integers(1, 6))):
        after = data.draw(steps(score))
        assert revalidated(after) == after
        for measure, metre in zip(after.measures, after.metres, strict=True):
            assert measure.length == metre.length or (measure.short and measure.length < metre.length)
        change = Change.between(score, after)
        if change is None:
            assert after is score
        else:
            assert change.apply(score) == after
            assert read_value(Change, plain(change)) == change
            changes.append(change)
        score = after
    for change in reversed(changes):
        score = change.inverse.apply(score)
    assert score == first


LOCAL = {
    "write": lambda score, at: do.write(score, at, QUARTER, (Note(course=1, fret=3),)),
    "put_note": lambda score, at: do.put_note(score, at, Note(course=1, fret=3), QUARTER),
    "hold": lambda score, at: do.hold(score, Place(at.measure, at.offset + 2), QUARTER),
    "remove_note": lambda score, at: do.remove_note(score, at, 2),
    "erase": lambda score, at: do.erase(score, Span(at, Place(at.measure + 1))),
    "set_duration": lambda score, at: do.set_duration(score, at, Duration.parse("2.")),
    "set_dots": lambda score, at: do.set_dots(score, at, 1),
    "make_tuplet": lambda score, at: do.make_tuplet(score, at, Tuplet(3, 2)),
    "set_values": lambda score, at: do.set_values(score, at.measure, "1"),
    "split": do.split,
    "set_finger": lambda score, at: do.set_finger(score, at, 2, 3),
    "set_stroke": lambda score, at: do.set_stroke(score, at, Stroke.UP),
    "set_chord": lambda score, at: do.set_chord(score, at, "G"),
    "set_section": lambda score, at: do.set_section(score, at.measure, "A"),
    "transpose": lambda score, at: do.transpose(score, Span(at, Place(at.measure + 1)), 2),
    "paste": lambda score, at: do.paste(score, at, do.copy(score, Span(Place(0), Place(1)))),
}
"""Operations that touch one measure only."""


@pytest.mark.parametrize("name", list(LOCAL))
def test_measures_that_are_not_touched_stay_the_same_objects(name):
    half = Duration.parse("2")
    measures = tuple(
        Measure(events=(Event(duration=half, notes=(Note(course=2, fret=fret),)), Event(duration=half)))
        for fret in range(9)
    )
    score = Score(measures=measures)
    after = LOCAL[name](score, Place(4))
    assert [a is b for a, b in zip(after.measures, measures, strict=True)] == [True] * 4 + [False] + [True] * 4


@quickly(30)
@given(st.data())
def test_writing_leaves_the_sound_outside_its_time_alone(data):
    score = data.draw(scores(max_measures=2))
    place, duration = data.draw(places(score)), data.draw(durations)
    fret = data.draw(st.integers(0, 20))
    after = sounds(do.write(score, place, duration, (Note(course=2, fret=fret),)))
    start = distance(score, Place(0), place)
    end = start + duration.length
    before = sounds(score)
    assert after.pop((start, 2)) == (fret, duration.length)
    # A note tied over the end of the new one is struck there; everything else begins where it began.
    known = {at: fret for at, (fret, _) in before.items()}
    for (time, course), (each_fret, length) in after.items():
        assert not start <= time < end
        if (time, course) in known:
            assert known[time, course] == each_fret
            assert length <= before[time, course][1]
        else:
            assert time >= end
    assert {at for at in known if not start <= at[0] < end} <= set(after)


@quickly(30)
@given(scores(max_measures=3), st.sampled_from(METRES))
def test_another_metre_changes_no_sound(score, metre):
    assume(all(measure.metre is None for measure in score.measures))
    after = tried(do.set_metre, score, 0, metre)
    if isinstance(after, ScoreError):
        assert "too short" in after.message
        return
    assert sounds(after) == sounds(score)
    assert after.head.metre == metre


@quickly(30)
@given(st.data())
def test_time_put_in_and_taken_out_again_changes_no_sound(data):
    score = data.draw(scores(max_measures=2))
    span = data.draw(spans(score))
    found = event_at(score, span.start)
    assume(found and found[0] == span.start and not any(note.tied for note in found[1].notes))
    assume(not any(m.repeat_start or m.repeat_times or m.endings for m in score.measures))
    pushed = do.push_all(score, span)
    gap = Span(span.start, span.end)
    assume(gap.end.measure < len(pushed.measures) or gap.end == end_of(pushed))
    assert sounds(do.pull_all(pushed, gap)) == sounds(score)


@quickly(30)
@given(st.data())
def test_a_copy_pasted_onto_itself_changes_no_sound(data):
    score = data.draw(scores(max_measures=2))
    span = Span(Place(data.draw(st.integers(0, len(score.measures) - 1))), end_of(score))
    event = score.measures[span.start.measure].events[0]
    assume(not any(note.tied for note in event.notes))
    assert sounds(do.paste(score, span.start, do.copy(score, span))) == sounds(score)


def pitches(score):
    """Every sounding pitch, moment by moment."""
    instrument = score.head.instrument
    return [
        sorted(instrument.pitch(note.course, note.fret) for note in event.notes)
        for measure in score.measures
        for event in measure.events
    ]


def struck_pitches(score):
    """Moment and pitch of whatever is not tied."""
    instrument = score.head.instrument
    return sorted((at, instrument.pitch(course, fret)) for (at, course), (fret, _) in sounds(score).items())


@quickly(30)
@given(st.data())
def test_transposing_moves_every_pitch_alike_and_keeps_ties(data):
    score = data.draw(scores(max_measures=2))
    semitones = data.draw(st.integers(-7, 7))
    after = tried(do.transpose, score, Span(Place(0), end_of(score)), semitones)
    if isinstance(after, ScoreError):
        assert after.place.startswith("measure ")
        return
    assert pitches(after) == [[pitch + semitones for pitch in moment] for moment in pitches(score)]
    if all(len(moment) < 2 for moment in pitches(score)):
        assert struck_pitches(after) == [(at, pitch + semitones) for at, pitch in struck_pitches(score)]


@quickly(30)
@given(st.data())
def test_another_course_keeps_every_pitch(data):
    score = data.draw(scores(max_measures=2))
    span, step = data.draw(spans(score)), data.draw(st.sampled_from([-1, 1]))
    after = tried(do.move_course, score, span, step)
    if isinstance(after, ScoreError):
        assert after.place.startswith("measure ")
        return
    assert pitches(after) == pitches(score)


def test_every_operation_is_drawn():
    """The strategy names every public operation but those that give no score or take a function."""
    source = Path(strategies.__file__).read_text(encoding="utf-8")
    assert {name for name in do.__all__ if f'"{name}"' not in source} == {
        "Clip",
        "copy",
        "map_events",
        "pending",
        "pending_chords",
        "slurs_over_courses",
        "source_at",
        "value_of",
        "way_to",
    }
