"""The native file, `.tabterm`: JSON, one event a line, so that a diff reads like the music.

    {"format": "tabterm", "version": 2,
    "head": {...},
    "measures": [
    {"chords":[{"offset":"0","symbol":"G"}],"events": [
      {"duration":"8","notes":[{"course":3,"fret":0}]},
      {"duration":"8"}]}
    ]}

Fields that have their default value are left out, but the instrument is always written in full, so that
a change to a preset never changes a file.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, TypeVar

from tabterm import collector
from tabterm.errors import FormatError, TabtermError
from tabterm.forms import DoubtError
from tabterm.judge import UnfitError
from tabterm.judge import json_schema as json_schema_of
from tabterm.parsing import json_of, no_constant
from tabterm.score.former import duration_today, tempo_today
from tabterm.score.model import Event, Head, Measure, Score
from tabterm.values import compact, plain, read_value

if TYPE_CHECKING:
    from collections.abc import Callable

Model = TypeVar("Model", Head, Measure)

FORMAT = "tabterm"
MOST_OBJECTS = 250_000
"""Measures, events and notes, counted before any is made: about 1 kB each (measured here). An hour of sixteenths
at 120 quarters a minute has 60,000."""

VERSION = 2

MOST_BY_LINES = 2_000_000
"""Bytes of a file that is read by its lines: a larger one may hold more than is let in."""

_BEGIN, _HEAD, _MEASURES = f'{{"format": "{FORMAT}", "version": {VERSION},', '"head": ', '"measures": ['
_EVENTS = '"events": ['


def as_version_1(data: bytes) -> bytes:
    """The bytes of a new score as version 1 wrote them, which the journal of a draft goes on from."""
    return data.replace(f'"version": {VERSION},'.encode(), b'"version": 1,', 1)


def _from_version_1(document: dict[str, Any]) -> dict[str, Any]:
    """The JSON of version 1 with tuplets and tempos as version 2 has them, changed in place."""
    measures = _objects(document.get("measures"))
    for owner in (*_objects([document.get("head")]), *measures):
        _renew(owner, "tempo", tempo_today)
    for measure in measures:
        for event in (*_objects(measure.get("events")), *_objects(measure.get("source"))):
            _renew(event, "duration", duration_today)
    return document


def _objects(value: object) -> list[dict[str, Any]]:
    """The JSON objects in what should be a list of them."""
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _renew(owner: dict[str, Any], name: str, today: Callable[[str], str]) -> None:
    if isinstance(owner.get(name), str):
        owner[name] = today(owner[name])


MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _from_version_1}
"""For each older version, the step that turns its JSON into the next version's."""


def write(score: Score) -> bytes:
    """A score as the bytes of a native file; equal scores give equal bytes."""
    head = plain(score.head)
    head["instrument"] = plain(score.head.instrument, whole=True)
    lines = [_BEGIN, f"{_HEAD}{compact(head)},", _MEASURES]
    known: dict[int, str] = {}
    measures = [_measure_lines(measure, known) for measure in score.measures]
    lines.append(",\n".join(measures))
    lines.append("]}")
    return ("\n".join(lines) + "\n").encode()


def _measure_lines(measure: Measure, known: dict[int, str]) -> str:
    """A measure; events that are one object are written once."""
    own = plain(measure, leave_out=("events",))
    start = compact(own)[:-1] + ("," if own else "")
    events = []
    for event in measure.events:
        if id(event) not in known:
            known[id(event)] = compact(plain(event))
        events.append(known[id(event)])
    return start + _EVENTS + "\n  " + ",\n  ".join(events) + "]}"


def read(data: bytes) -> Score:
    """The score in the bytes of a native file.

    Raises:
        FormatError: The bytes are no such file, or break a rule of the model; says where and what to do.
    """
    with collector.at_rest():
        known = _by_lines(data)
    if known is not None:
        return known
    document = _parse(data)
    if document.get("format") != FORMAT:
        raise FormatError("not a tabterm file", hint="a text tab has the extension .txt or .tab")
    document = _migrate(document)
    unknown = set(document) - {"format", "version", "head", "measures"}
    if unknown:
        raise FormatError(f"unknown field {min(unknown)!r}", hint="remove it")
    measures = document.get("measures")
    if not isinstance(measures, list):
        raise FormatError("the measures are missing", hint='a list called "measures" is needed')
    with collector.at_rest():
        read_measures = tuple(_validated(Measure, value, number) for number, value in enumerate(measures, 1))
    head = _validated(Head, document.get("head", {}), 0)
    try:
        return Score(head=head, measures=read_measures)
    except UnfitError:
        raise FormatError("the score has no measures", hint="a score has at least one") from None
    except TabtermError as error:
        raise FormatError(error.message, hint=error.hint, place=error.place) from None


def _by_lines(data: bytes) -> Score | None:
    """The score of a file that lies as `write` lays it, with one object for events whose lines are the same.

    Nothing is said of what is wrong: any other file gives None.
    """
    if len(data) > MOST_BY_LINES:
        return None
    known: dict[str, tuple[Event, str]] = {}
    measures, own, events = list[Measure](), "", list[Event]()
    try:
        begin, head, opened, *lines, closed, last = data.decode().split("\n")
        found, end = _LINE.raw_decode(head, len(_HEAD))
        ends = [begin, head[: len(_HEAD)], head[end:], opened]
        for line in lines:
            if not line.startswith("  "):
                if own or not line.endswith(_EVENTS):
                    return None
                own = line
                continue
            if line not in known:
                told, end = _LINE.raw_decode(line, 2)
                known[line] = Event.fit(told), line[end:]
            event, rest = known[line]
            events.append(event)
            if rest != ",":
                ends.append(rest)
                signs = _LINE.decode(f"{own}]}}")
                measures.append(Measure.fit(signs | {"events": tuple(events)}))
                own, events = "", []
        wanted = [_BEGIN, _HEAD, ",", _MEASURES, *["]},"] * (len(measures) - 1), "]}", "]}", ""]
        if own or [*ends, closed, last] != wanted:
            return None
        return Score(head=Head.fit(found), measures=tuple(measures))
    except (ValueError, RecursionError, DoubtError, TabtermError):
        return None


def _parse(data: bytes) -> dict[str, Any]:
    if data.count(b"{") > MOST_OBJECTS:
        raise FormatError("the score is too large", hint=f"at most {MOST_OBJECTS} events and notes together")
    document = json_of(data, depth=None, objects=_object_of)
    if not isinstance(document, dict):
        raise FormatError("not a tabterm file", hint="JSON, but not an object")
    return document


def _object_of(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object of the file; a name that stands twice in it would silently hide a value."""
    fields = dict(pairs)
    if len(fields) < len(pairs):
        names = [name for name, _ in pairs]
        name = next(name for name in names if names.count(name) > 1)
        raise FormatError(f"the field {name!r:.40} appears twice in one object", hint="remove one of them")
    return fields


_LINE = json.JSONDecoder(object_pairs_hook=_object_of, parse_constant=no_constant)


def _migrate(document: dict[str, Any]) -> dict[str, Any]:
    version = document.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < min([*MIGRATIONS, VERSION]):
        raise FormatError(f"unknown version {version!r}", hint=f"this tabterm reads up to {VERSION}")
    if version > VERSION:
        raise FormatError(
            f"written by a newer tabterm (version {version}); this one reads up to {VERSION}",
            hint="install a newer tabterm",
        )
    for step in range(version, VERSION):
        document = MIGRATIONS[step](document)
    return document


def _validated(model: type[Model], value: object, number: int) -> Model:
    """The model of a JSON value, which must be of the very type: no number in quotes, no `true` for 1."""
    place = f"measure {number}" if number else "head"
    try:
        return read_value(model, value, strict=True)
    except UnfitError as error:
        steps = ", ".join(f"{step + 1}" if isinstance(step, int) else str(step) for step in error.where)
        raise FormatError(
            error.said, place=f"{place}: {steps}" if steps else place, hint="fix it by hand"
        ) from None
    except TabtermError as error:
        raise FormatError(error.message, place=place, hint=error.hint) from None


def json_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of the native file."""
    schema = json_schema_of(Score)
    properties = schema["properties"]
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "tabterm file"
    schema["description"] = "A score for an instrument of up to eight courses, as tabterm writes it."
    schema["properties"] = {"format": {"const": FORMAT}, "version": {"const": VERSION}, **properties}
    schema["required"] = ["format", "version", "measures"]
    return schema
