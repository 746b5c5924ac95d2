"""Plans and frames from outside are taken only where they can be played."""

from __future__ import annotations

import zlib
from array import array
from dataclasses import asdict, replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.instrument import PRESETS
from tabterm.performance import Attack, Part, Pluck, perform
from tabterm.sound import packing
from tabterm.sound.link import BadFrameError, Frame
from tabterm.sound.plan import Plan
from tabterm.sound.remote.inspection import (
    FROM_EDITOR,
    FROM_LISTENER,
    MOST_NUMBER,
    MOST_PLAN_BYTES,
    RANGES,
    can_sound,
    checked_plan,
    folded,
    inspect,
    renumbered,
    unfolded,
)
from tabterm.sound.remote.records import Records
from tabterm.sound.synthesiser import RATE, Synthesiser
from tabterm.sound.voicing import voicing_of
from tests.sound.remote.near import PHRASE

VOICING = voicing_of(PHRASE.head.instrument)
PLAN = Plan.of(perform(PHRASE), VOICING, number=1)


def frame(plan):
    body, values = packing.packed(plan)
    return Frame("play", values, folded(body))


def test_a_plan_of_ours_is_taken_as_it_is():
    assert checked_plan(inspect(frame(PLAN), FROM_EDITOR), Records()) == packing.packed(PLAN)[0]


@pytest.mark.parametrize("name", PRESETS)
def test_every_instrument_can_sound(name):
    assert can_sound(voicing_of(PRESETS[name]))


@given(
    st.sampled_from(sorted(RANGES)),
    st.sampled_from([1e300, -1e300, float("nan"), "1", None, True, [], {}, 10**400]),
)
def test_no_number_of_an_instrument_may_be_anything(name, value):
    try:
        voicing = type(VOICING).from_values(with_value(VOICING.as_values(), name, value))
    except TypeError:
        return
    assert not can_sound(voicing)


def with_value(values, name, value):
    """The values of a voicing with one of that name in place of every other."""
    if isinstance(values, dict):
        return {key: value if key == name else with_value(each, name, value) for key, each in values.items()}
    return [with_value(each, name, value) for each in values] if isinstance(values, (list, tuple)) else values


@pytest.mark.parametrize("name", ["courses", "strings", "body", "modes"])
def test_an_instrument_that_lacks_a_part_is_refused(name):
    """The synthesiser would look for its first course, its first string, its loudest resonance."""
    assert not can_sound(type(VOICING).from_values(with_value(VOICING.as_values(), name, [])))


@pytest.mark.parametrize("name", ["courses", "strings", "body", "modes"])
def test_an_instrument_has_twenty_of_each_at_most(name):
    first = {"courses": VOICING.parts["solo"].courses[0]}
    first |= {"strings": first["courses"].strings[0], "body": VOICING.parts["solo"].timbre.body[0]}
    first["modes"] = first["body"]
    one = first[name] if name in {"body", "modes"} else asdict(first[name])
    taken = [
        can_sound(type(VOICING).from_values(with_value(VOICING.as_values(), name, [one] * n))) for n in (20, 21)
    ]
    assert taken == [True, False]


@pytest.mark.parametrize(
    ("name", "taken"),
    [("Mandolin", True), ("x" * 100, True), ("x" * 101, False), (["Mandolin"], False), (b"x", False)],
)
def test_the_name_of_an_instrument_is_a_short_text(name, taken):
    assert can_sound(type(VOICING).from_values(with_value(VOICING.as_values(), "name", name))) == taken


@pytest.mark.parametrize("name", sorted(RANGES))
@pytest.mark.parametrize("end", [0, 1])
def test_an_instrument_at_the_end_of_a_range_gives_samples_that_are_numbers(name, end):
    """What is no number passes a limiter, and a loudspeaker may take it for full scale."""
    voicing = type(VOICING).from_values(with_value(VOICING.as_values(), name, RANGES[name][end]))
    assert can_sound(voicing)
    synthesiser = Synthesiser(voicing)
    for part, attack, velocity in product((Part.SOLO, Part.BASS), Attack, (1, 127)):
        for course in range(1, 5):
            synthesiser.play(Pluck(part, course, 45 + 16 * course, 0.0, 0.01, velocity, attack), synthesiser.frame)
        samples = synthesiser.read(1024)
        assert np.isfinite(samples).all()
        assert np.abs(samples).max() <= 1.0


def loudness_db(voicing):
    """RMS over a second of one line, in dB of full scale."""
    synthesiser = Synthesiser(voicing)
    for number in range(8):
        pluck = Pluck(Part.SOLO, 1 + number % 4, 76 - 7 * (number % 4), number / 8, (number + 1) / 8, 80)
        synthesiser.play(pluck, 0)
    return 20 * np.log10(np.sqrt(np.square(synthesiser.read(RATE)).mean()))


@pytest.mark.parametrize("most", ["level", "strings", "body"])
def test_an_instrument_from_outside_is_no_louder_than_one_of_this_machine(most):
    """The timbre alone makes up to 1.1 dB (measured here); levels made 12 to 13 dB."""
    louder = VOICING.as_values()
    for part in louder["parts"].values():
        if most == "body":
            part["timbre"]["body"] = [(300.0, 40.0, 0.1)] * 20
            continue
        part["level"] = RANGES["level"][1]
        for course in part["courses"]:
            course["strings"] = course["strings"] * (10 if most == "strings" else 1)
            course["strings"] = [string | {"level": RANGES["level"][1]} for string in course["strings"]]
    body = checked_plan(frame(replace(PLAN, voicing=type(VOICING).from_values(louder))), Records())
    taken = packing.unpacked(body, **packing.packed(PLAN)[1]).voicing
    assert loudness_db(taken) < loudness_db(VOICING) + 1.5


@pytest.mark.parametrize(
    "plan",
    [
        replace(PLAN, times=array("d", [0.1] * 2000), data=bytes((0x90, 60, 90)) * 2000),
        replace(PLAN, plucks=PLAN.plucks[:1] * 300),
        replace(PLAN, setup=(bytes((0xC0, 25)),) * 2000),
        replace(
            PLAN,
            order=replace(PLAN.order, duration_s=0.02, turns=0),
            times=array("d"),
            data=b"",
            plucks=(PLAN.plucks[0]._replace(start_s=0.0, end_s=0.01),) * 20,
        ),
        replace(PLAN, voicing=type(VOICING)({f"part {n}": VOICING.parts["solo"] for n in range(30)})),
    ],
)
def test_what_would_choke_an_output_is_refused(plan):
    with pytest.raises(BadFrameError):
        checked_plan(frame(plan), Records())


@pytest.mark.parametrize(("apart_s", "is_taken"), [(0.3, True), (0.2, False)])
def test_a_crowd_is_one_wherever_it_comes(apart_s, is_taken):
    """200 attacks at one moment and one more within a quarter of a second; after it they are as usual."""
    attacks = [PLAN.plucks[0]._replace(start_s=at_s, end_s=9.5) for at_s in (*[8.0] * 200, 8.0 + apart_s)]
    plan = replace(PLAN, plucks=tuple(attacks), order=replace(PLAN.order, duration_s=10.0))
    if is_taken:
        assert checked_plan(frame(plan), Records()) == packing.packed(plan)[0]
    else:
        with pytest.raises(BadFrameError, match="too many events"):
            checked_plan(frame(plan), Records())


def test_nothing_unfolds_to_more_than_a_plan_may_be():
    with pytest.raises(BadFrameError):
        unfolded(zlib.compress(bytes(MOST_PLAN_BYTES + 1)))
    assert len(unfolded(zlib.compress(bytes(MOST_PLAN_BYTES)))) == MOST_PLAN_BYTES


@given(st.binary())
def test_what_was_folded_is_unfolded(body):
    assert unfolded(folded(body)) == body


@pytest.mark.parametrize(
    "wrong",
    [
        Frame("play", {}, b""),
        Frame("stop", {"number": 1}, b""),
        Frame("stop", {}, b"x"),
        Frame("outputs", {}, b""),
        Frame("turn", {"number": 1}, b""),
    ],
)
def test_a_frame_that_does_not_fit_is_refused(wrong):
    for table in (FROM_EDITOR, FROM_LISTENER):
        with pytest.raises(BadFrameError):
            inspect(wrong, table)


def test_numbers_are_moved_out_of_the_way_of_another_editor():
    values = {"number": 5, "follows": 0, "turns": 2}
    assert renumbered(values, 3 * MOST_NUMBER) == {"number": 3 * MOST_NUMBER + 5, "follows": 0, "turns": 2}
