"""The native file: exact, readable as a diff, and refusing anything else in one line."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.errors import FormatError
from tabterm.formats import native
from tabterm.instrument import PRESETS
from tabterm.values import plain
from tests.build import score
from tests.strategies import scores
from tests.thorough import many

quickly = settings(max_examples=many(40, 100), deadline=None, suppress_health_check=list(HealthCheck))
GOOD = native.write(score("4 1.2,4 h1.3,2 2.0", "1", title="Kiln Lane"))


@quickly
@given(scores(max_measures=4))
def test_round_trip(built):
    data = native.write(built)
    assert native._by_lines(data) == native.read(data) == in_full(data) == built
    assert native.write(native.read(data)) == data


def in_full(data):
    """What is read of a file that nothing is known of, or what is said of it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(native, "_by_lines", lambda _: None)
        return outcome(data)


def outcome(data):
    try:
        return native.read(data)
    except FormatError as error:
        return str(error)


LINES = GOOD.splitlines(keepends=True)


OTHERWISE = [
    GOOD.replace(b"\n", b"\r\n"),
    GOOD.replace(b"\n  ", b" "),
    GOOD.replace(b"\n{", b"\n\n{"),
    GOOD.replace(b"  {", b"    {"),
    b"\xef\xbb\xbf" + GOOD,
    GOOD + b"\n",
    GOOD + b"{}",
    GOOD[:-1],
    GOOD[:-3],
    GOOD.replace(b"}]},\n{", b"}]}\n{"),
    GOOD.replace(b"}]}\n]}", b"}]},\n]}"),
    GOOD.replace(b"}]},\n  {", b"}]}\n  {"),
    GOOD.replace(b'{"events": [\n', b'{"events": [],"events": [\n'),
    GOOD.replace(b'{"events": [\n', b'{"events": [\n{"events": [\n', 1),
    GOOD.replace(b'{"events": [\n', b'"events": [\n', 1),
    GOOD.replace(b'{"events": [\n', b"", 1),
    GOOD.replace(b'"fret":2', b'"fret":2,"fret":3'),
    GOOD.replace(b'"fret":2', b'"fret":NaN'),
    GOOD.replace(b'"fret":2', b'"fret":"2"'),
    GOOD.replace(b'"fret":2', b'"fret":true'),
    GOOD.replace(b'"fret":2', b'"fret":' + b"2" * 5000),
    GOOD.replace(b'"fret":2', b'"fret":' + b"[" * 5000 + b"]" * 5000),
    GOOD.replace(b'"fret":2', b'"fret":2,"colour":1'),
    GOOD.replace(b"Kiln", b"K\xffln"),
    GOOD.replace(b"Kiln", b"\\ud800"),
    GOOD.replace(b'"head": {', b'"head" : {'),
    GOOD.replace(b'"head": {', b'"head": 3, "x": {'),
    GOOD.replace(b'"2"', b'"1"'),
    GOOD.replace(b'"4"', b'"4",\n"stroke":"up"', 1),
    b"".join(LINES[:3] + LINES[-1:]),
    b"".join(LINES[:4] + LINES[-2:]),
    b"".join(LINES[:1] + LINES[2:]),
    b"".join(LINES[:5] + LINES[7:]),
    b"",
    b"\n" * 6,
]


@pytest.mark.parametrize("data", OTHERWISE, ids=map(str, range(len(OTHERWISE))))
def test_a_file_that_does_not_lie_as_we_write_it_is_read_in_full(data):
    assert data != GOOD
    assert native._by_lines(data) in {None, in_full(data)}
    assert outcome(data) == in_full(data)


def test_events_whose_lines_are_the_same_are_one_object():
    again = native.read(native.write(score("4 1.2,4 1.2,2 2.0", "4 1.2,4 1.3,2 2.0")))
    (one, two, three), (four, five, _) = (measure.events for measure in again.measures)
    assert one is two is four
    assert one != three
    assert one != five


def test_one_event_a_line():
    """The golden file of two measures; a person can read it, and a diff shows the note that changed."""
    lines = GOOD.decode().splitlines()
    assert lines[0] == '{"format": "tabterm", "version": 2,'
    assert lines[2:] == [
        '"measures": [',
        '{"events": [',
        '  {"duration":"4","notes":[{"course":1,"fret":2}]},',
        '  {"duration":"4","notes":[{"course":1,"fret":3,"reached":"hammer"}]},',
        '  {"duration":"2","notes":[{"course":2,"fret":0}]}]},',
        '{"events": [',
        '  {"duration":"1"}]}',
        "]}",
    ]


def test_the_instrument_is_written_in_full():
    head = json.loads(GOOD)["head"]
    assert head["instrument"] == plain(PRESETS["mandolin"], whole=True)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b'"version": 2', b'"version": 9', "newer tabterm"),
        (b'"version": 2', b'"version": 0', "unknown version 0"),
        (b'"version": 2', b'"version": true', "unknown version"),
        (b'"fret":2', b'"fret":-2', "measure 1: events, 1, notes, 1, fret"),
        (b'"fret":2', b'"fret":1e99', "measure 1"),
        (b'"fret":2', b'"fret":NaN', "not a number: NaN"),
        (b'"course":2', b'"course":7', "measure 1: this Mandolin has no course 7"),
        (b'"duration":"1"', b'"duration":"2"', "measure 2: its events last 2 quarters"),
        (b'"duration":"1"', b'"duration":"3"', "measure 2"),
        (b'"reached":"hammer"', b'"reached":"blow"', "reached"),
        (b'"fret":2', b'"fret":"2"', "not a whole number"),
        (b'"fret":2', b'"fret":2.0', "not a whole number"),
        (b'"fret":2', b'"fret":true', "not a whole number"),
        (b'"fret":2', b'"fret":2,"fret":3', "'fret' appears twice"),
        (b'"fret":2', b'"fret":' + b"2" * 5000, "number is too long"),
        (b'"duration":"1"', b'"duration":"4(9999:1)"', "measure 2: its events last"),
        (b'"duration":"1"', b'"duration":' + b"[" * 900 + b"]" * 900, "measure 2: .* nested too deeply"),
        (b'"duration":"1"', b'"duration":"1","roll":' + b'{"a":' * 300 + b"1" + b"}" * 300, "measure 2"),
        (b'{"events"', b'{"chords":[{"offset":"1e999999999","symbol":"G"}],"events"', "expected a fraction"),
        (b'{"events"', b'{"chords":[{"offset":"1/0","symbol":"G"}],"events"', "expected a fraction"),
        (b"352.425", b"1e999", "scale_length_mm: not a finite number"),
        (b"Kiln", b"\\ud800", "a broken character"),
        (b'"title"', b'"tittle"', "tittle"),
        (b'"measures"', b'"measure"', "unknown field 'measure'"),
        (b'"format": "tabterm"', b'"format": "other"', "not a tabterm file"),
        (b"Kiln", b"\xff\xfe", "not UTF-8"),
        (b'"measures": [', b'"measures": [' + b"[" * 100_000, "nested"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(old, new, words):
    assert old in GOOD
    with pytest.raises(FormatError, match=words) as caught:
        native.read(GOOD.replace(old, new, 1))
    assert "\n" not in str(caught.value)


@quickly
@given(st.data())
def test_damaged_bytes_never_give_anything_but_a_clear_refusal(data):
    at = data.draw(st.integers(0, len(GOOD)))
    noise = data.draw(st.binary(max_size=12))
    cut = data.draw(st.integers(0, 30))
    try:
        native.read(GOOD[:at] + noise + GOOD[at + cut :])
    except FormatError as error:
        assert "\n" not in str(error)  # noqa: PT017


def test_older_versions_are_brought_up_to_date(monkeypatch):
    def from_zero(document):
        return {**document, "head": {"title": document["head"]["name"]}}

    monkeypatch.setitem(native.MIGRATIONS, 0, from_zero)
    document = json.loads(GOOD)
    document["version"] = 0
    document["head"] = {"name": "Old Lane"}
    assert native.read(json.dumps(document).encode()).head.title == "Old Lane"
