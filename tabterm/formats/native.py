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

from typing import TYPE_CHECKING, Any, TypeVar

from tabterm import collector
from tabterm.errors import FormatError, TabtermError
from tabterm.judge import UnfitError
from tabterm.judge import json_schema as json_schema_of
from tabterm.parsing import json_of
from tabterm.score.former import duration_today, tempo_today
from tabterm.score.model import Head, Measure, Score
from tabterm.values import compact, plain, read_value

if TYPE_CHECKING:
    from collections.abc import Callable

Model = TypeVar("Model", Head, Measure)

FORMAT = "tabterm"
MOST_OBJECTS = 250_000
"""Measures, events and notes, counted before any is made: about 1 kB each (measured here). An hour of sixteenths
at 120 quarters a minute has 60,000."""

VERSION = 2


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
    lines = [
        f'{{"format": "{FORMAT}", "version": {VERSION},',
        f'"head": {compact(head)},',
        '"measures": [',
    ]
    measures = [_measure_lines(measure) for measure in score.measures]
    lines.append(",\n".join(measures))
    lines.append("]}")
    return ("\n".join(lines) + "\n").encode()


def _measure_lines(measure: Measure) -> str:
    own = plain(measure, leave_out=("events",))
    start = compact(own)[:-1] + ("," if own else "")
    events = ",\n  ".join(compact(plain(event)) for event in measure.events)
    return f'{start}"events": [\n  {events}]}}'


def read(data: bytes) -> Score:
    """The score in the bytes of a native file.

    Raises:
        FormatError: The bytes are no such file, or break a rule of the model; says where and what to do.
    """
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
        raise FormatError(f"the field {name!r:.40} stands twice in one object", hint="remove one of them")
    return fields


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
