"""Remedies: what a teacher says first, that what is offered helps, and that mending unasked leaves the music."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.formats import native
from tabterm.hand.difficulty import Playing
from tabterm.hand.finding import KINDS, Kind
from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import Severity, findings
from tabterm.hand.strokes import with_proposals
from tabterm.hand.trial import RANK, done, mended, offered
from tabterm.instrument import PRESETS
from tabterm.score.operations import scale_tempos, set_chord
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, music, place, score, text
from tests.hand.passages import SEEDED, passages
from tests.hand.teaching import DIFFERS, PHRASES
from tests.strategies import scores

SAMPLES = Path(__file__).parents[2] / "samples"
BAD = {Severity.IMPOSSIBLE, Severity.HARD}


def key(finding):
    return finding.code, finding.place, finding.course


# As a teacher


@pytest.mark.parametrize(
    "phrase",
    [
        pytest.param(each, id=each.hard, marks=[pytest.mark.xfail(strict=True)] * (each.hard in DIFFERS))
        for each in PHRASES
    ],
)
def test_the_first_remedy_is_a_teachers(phrase):
    built, at = with_proposals(phrase.score(), PLAYER), place(*phrase.at)
    finding = next(each for each in findings(built, PLAYER) if each.place == at)
    ways = offered(built, PLAYER, finding)
    first = next((way for way in ways if way.is_unasked), None)
    if phrase.says:
        assert first is None
        assert (ways[0].kind, ways[0].label.startswith(phrase.says)) == (phrase.kind, True)
    else:
        assert first.kind == phrase.kind
        built = with_hands(done(built, PLAYER, first, at), PLAYER)
    assert any(alike(built, phrase.score(wanted)) for wanted in phrase.after.split(" or ")), text(built)


def alike(built, wanted):
    """Whether notes, how they are reached, and fingers and strokes where they are told, are those wanted."""
    pairs = zip(built.measures, wanted.measures, strict=True)
    events = [pair for one, other in pairs for pair in zip(one.events, other.events, strict=True)]
    return all(
        bare(one.notes) == bare(other.notes)
        and bare(one.grace) == bare(other.grace)
        and other.stroke in {None, one.stroke_shown}
        and all(
            want.finger in {None, note.finger_shown} for note, want in zip(one.notes, other.notes, strict=True)
        )
        for one, other in events
    )


def bare(notes):
    return [(note.course, note.fret, note.reached, note.bend) for note in notes]


def test_a_g7_is_not_robbed_of_its_third():
    """G7 with its seventh on top: of B, F and G the root is missed least when one must go."""
    built = with_proposals(music("1 1.1 2.2 4.12"), PLAYER)
    built = set_chord(built, Place(0), "G7")
    finding = next(each for each in findings(built, PLAYER) if each.code == "reach")
    labels = [way.label for way in offered(built, PLAYER, finding) if way.kind is Kind.PITCH]
    assert labels[0] == "leave out course G, fret 12"


# What is offered helps


def check(built):
    """Every remedy offered for every finding of a score keeps its promise; their kinds, in order."""
    kinds, built = set(), with_proposals(built, PLAYER)
    before = {key(finding): finding for finding in findings(built, PLAYER)}
    for finding in before.values():
        ways = offered(built, PLAYER, finding)
        assert [way.kind for way in ways] == sorted((way.kind for way in ways), key=list(Kind).index)
        for remedy in ways:
            after = {key(each): each for each in findings(done(built, PLAYER, remedy, finding.place), PLAYER)}
            assert key(finding) not in after, remedy.label
            for each in after.values():
                old = before.get(key(each))
                if old is None or RANK[each.severity] < RANK[old.severity]:
                    assert RANK[each.severity] > RANK[finding.severity], (remedy.label, each)
            kinds.add(remedy.kind)
    return kinds


def test_remedies_of_small_passages_help_and_are_of_many_kinds():
    """The same passages each time, so that what they are offered does not hang on luck."""
    kinds = set()

    @settings(SEEDED, max_examples=60)
    @given(passages())
    def look(built):
        kinds.update(check(built))

    look()
    assert len(kinds) >= 7, kinds


# The same music


def heard(built):
    """What is heard of a score, event by event: when, how long, and which pitches.

    Of a chord of three notes and more, its highest note and the names of all; a bend and a slide to its pitch are
    heard alike.
    """
    pitch = built.head.instrument.pitch
    found = [(built.head.tempo, *(measure.tempo for measure in built.measures))]
    for index, measure in enumerate(built.measures):
        for offset, event in measure.timed():
            sounding = {pitch(note.course, note.fret): note.bend for note in (*event.grace, *event.notes)}
            pitches = {*sounding, *(p + round(bend.cents / 100) for p, bend in sounding.items() if bend)}
            if len(event.notes) > 2:
                pitches = {max(pitches), *(f"any {each % 12}" for each in sounding)}
            ties = sorted(pitch(note.course, note.fret) for note in event.notes if note.tied)
            found.append((index, offset, event.duration, pitches, ties))
    return found


def phrases_of(built):
    """For each phrase: its highest fret, how far the player is used up, and whether something in it is hard."""
    found = findings(built, PLAYER)
    for solved in fingering(built, PLAYER).phrases:
        use = max(Playing.of(built, solved).uses())
        first, last = solved.phrase[0].place, solved.phrase[-1].place
        bad = any(first <= each.place <= last and each.severity in BAD for each in found)
        highest = max(note.fret for onset in solved.phrase for note in onset.notes)
        yield highest, use, bad


def keeps(built):
    """That mending a score unasked leaves the music; how much it mended."""
    built = with_proposals(built, PLAYER)
    after, applied = mended(built, PLAYER)
    assert heard(after) == heard(built)
    for (high, use, bad), (new_high, new_use, _) in zip(phrases_of(built), phrases_of(after), strict=True):
        assert new_high <= high + 2
        assert new_use <= max(use, 1.0 if bad else 0.0) + 1e-6
    for step in applied:
        old, new = ({key(each): each for each in findings(each, PLAYER)} for each in (step.before, step.after))
        for name, each in new.items():
            known = name in old and RANK[old[name].severity] <= RANK[each.severity]
            assert known or RANK[each.severity] > RANK[step.finding.severity]
    return len(applied)


@pytest.mark.parametrize(
    ("made", "most"),
    [
        (passages(), 40),
        (passages(most=8, instrument=PRESETS["octave-mandolin"], pins=False), 12),
        (scores(max_measures=2), 6),
    ],
)
def test_mending_leaves_the_music_as_it_is(made, most):
    count = 0

    @settings(SEEDED, max_examples=most)
    @given(made)
    def look(built):
        nonlocal count
        count += keeps(built)

    look()
    assert count > 0


@pytest.mark.parametrize("percent", [100, 140])
@pytest.mark.parametrize(
    "name", ["quarry-road-breakdown", "cinder-lane-two-step", "ferrymans-jig", "lantern-waltz"]
)
def test_mending_leaves_the_samples_as_they_sound(name, percent):
    keeps(scale_tempos(native.read((SAMPLES / f"{name}.tabterm").read_bytes()), percent / 100))


@settings(SEEDED, max_examples=20)
@given(passages(), st.sampled_from(sorted(set(Kind), key=list(Kind).index)))
def test_only_kinds_that_are_asked_for_are_applied(built, kind):
    _, applied = mended(with_proposals(built, PLAYER), PLAYER, {kind})
    assert {each.remedy.kind for each in applied} <= {kind}


def test_every_kind_has_words_and_the_page_counts_the_phrases_rightly():
    assert list(KINDS) == list(Kind)
    assert len(PHRASES) == 30


# Single remedies


def test_remedies_work_in_the_middle_of_a_long_score():
    """They are tried on the phrases around, with the same answer as on the whole."""
    plain = "4 3.0,4 3.2,4 3.4,4 3.5"
    built = score(*[plain] * 12, "4,4,4,4", plain, "2 1.5,2 h1.3", plain, "4,4,4,4", *[plain] * 12)
    (finding,) = [each for each in findings(built, PLAYER) if each.severity is Severity.IMPOSSIBLE]
    assert finding.place == Place(14, finding.place.offset)
    remedies = offered(built, PLAYER, finding)
    assert remedies[0].label == "make it a pull-off"
    after = remedies[0].operation(built, finding.place)
    assert findings(after, PLAYER) == ()
    assert after.measures[0] is built.measures[0]


def test_a_finger_given_up_on_the_note_before_is_found_in_the_middle_of_a_score():
    """What is said of the event before holds where the finding is looked at in a part of the score."""
    plain = "4 3.0,4 3.2,4 3.4,4 3.5"
    built = with_proposals(score(plain, "1", plain, "8 1.5.3,8 1.5.4,4 1.3,2 1.2"), PLAYER)
    finding = next(each for each in findings(built, PLAYER) if each.code == "finger-switch")
    labels = [way.label for way in offered(built, PLAYER, finding)]
    assert "clear finger 3 at fret 5" in labels


@pytest.mark.parametrize("tempo", [220.0, 300.0])
def test_one_measure_is_slowed_where_time_is_short_and_the_next_is_not(tempo):
    built = score("8 1.2,8 1.13,8 1.2,8 1.13,2 1.0", "1 1.0", tempo=Tempo(tempo))
    finding = next(each for each in findings(built, PLAYER) if each.code == "shift-no-time")
    slower = next(way for way in offered(built, PLAYER, finding) if way.kind is Kind.MEASURE)
    after = slower.operation(built, finding.place)
    assert after.tempos[0].per_minute < tempo
    assert after.tempos[1] == Tempo(tempo)
    assert slower.label == f"this measure at {after.tempos[0]}"
