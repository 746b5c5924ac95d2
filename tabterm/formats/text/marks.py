"""The lines of marks before a system: `= 5 section "A" metre 3/4 ending 1,2 remark "slow"`.

The line of the original is a mark too: `source A4:4,B4/D5:8,(B4):8,8` are pitches with note values, the pitches
in parentheses where they are tied to those before (`(B4)/D5:8` where not all are), a note value alone a rest. The
form of version 1, note values with MIDI note numbers as in `source 4=69,8=71/74,8=(71),8`, is read as long as the
format's version is 2.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, TabtermError
from tabterm.formats.text.cells import Cell, read_cells
from tabterm.instrument import parse_pitch, pitch_name
from tabterm.page.signs import note_cell
from tabterm.score.duration import Duration
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.kinds import Break, StrokeSchool
from tabterm.score.line import EVENT_MARKS, NOTE_MARKS, Moment
from tabterm.score.metre import Metre
from tabterm.score.model import Event, HeardChord, Measure, Note
from tabterm.score.source import Proposed, SourceEvent, Tone
from tabterm.score.tempo import Tempo
from tabterm.values import read_value

if TYPE_CHECKING:
    from collections.abc import Callable

_MODES = "|".join(MODE_FIFTHS)
_VALUE = rf'"(?:[^"\\]|\\.)*"|[^\s"]+(?: (?:{_MODES}))?'
_WORD = re.compile(rf"\s*([a-z]+)(?:\s+({_VALUE}))?")
_SOURCE = re.compile(r"^(?:([A-Ghp/\\^_x({][^:,]*):)?([^=]+)$")
_NAME = re.compile(r"[A-G][#b]*-?\d")
_PLAIN = re.compile(rf"^\(?{_NAME.pattern}\)?(?:/\(?{_NAME.pattern}\)?)*$")
_FRET = re.compile(r"\d+")
_HELD = re.compile(r"^\(([^()]*)\)$")
_LINE = re.compile(r"^= (\d{1,9})\s+(.*)$", re.ASCII)


def marks_line(measure: Measure, number: int) -> str:
    """The line of a measure's marks; "" where it has none. Numbers count measures from 1."""
    words: list[str] = []
    if measure.short:
        words.append("short yes")
    if measure.section:
        words.append(f"section {json.dumps(measure.section)}")
    changes = {"metre": measure.metre, "key": measure.key, "tempo": measure.tempo, "strokes": measure.school}
    words += [f"{name} {value}" for name, value in changes.items() if value is not None]
    if measure.endings:
        words.append(f"ending {','.join(map(str, measure.endings))}")
    if measure.repeat_times > 2:
        words.append(f"times {measure.repeat_times}")
    if measure.break_before:
        words.append(f"break {measure.break_before}")
    if measure.remark:
        words.append(f"remark {json.dumps(measure.remark)}")
    if measure.source:
        words.append(f"source {','.join(map(_source_text, measure.source))}")
    if measure.heard_chords:
        chords = " ".join(f"{mark.offset}:{mark.sure}:{mark.symbol}" for mark in measure.heard_chords)
        words.append(f"heard {json.dumps(chords)}")
    return f"= {number} {' '.join(words)}" if words else ""


def _source_text(event: SourceEvent) -> str:
    """A moment, and behind a `?` what of it is not confirmed: `D5:8?D5=97=D4/D6`."""
    return _settled_text(event) + "?" * bool(event.proposed) + "&".join(map(_proposed_text, event.proposed))


def _proposed_text(each: Proposed) -> str:
    others = f"={'/'.join(map(pitch_name, each.others))}" if each.others else ""
    return f"{pitch_name(each.pitch)}={each.sure}{others}"


def _settled_text(event: SourceEvent) -> str:
    if event.marks is not None:
        return f"{_marked_text(Moment.of(event))}:{event.duration}"
    if not event.pitches:
        return str(event.duration)
    if event.tied:
        return f"({'/'.join(map(pitch_name, event.pitches))}):{event.duration}"
    names = [f"({pitch_name(pitch)})" if event.holds(pitch) else pitch_name(pitch) for pitch in event.pitches]
    return f"{'/'.join(names)}:{event.duration}"


def _marked_text(moment: Moment) -> str:
    """A moment with the signs of its notes, as on a course but round pitches: `{A4}hB4~>+D5`."""
    grace = "+".join(_signed(Moment(duration=moment.duration), tone) for tone in moment.grace)
    first, *others = moment.notes
    texts = [_signed(moment, first), *(_signed(Moment(duration=moment.duration), tone) for tone in others)]
    return (f"{{{grace}}}" if grace else "") + "+".join(texts)


def _signed(moment: Moment, tone: Tone) -> str:
    """A tone with its signs and those of its moment: as a note on a course, its pitch in place of the fret."""
    of_note = {name: getattr(tone, name) for name in ("reached", "tied", *NOTE_MARKS)}
    of_event = {name: getattr(moment, name) for name in EVENT_MARKS}
    note = Note(course=1, fret=1, **of_note)
    cell = note_cell(None, Event(duration=moment.duration, notes=(note,), **of_event), note)
    return _FRET.sub(pitch_name(tone.pitch), cell, count=1)


def read_marks_line(line: str) -> tuple[int, dict[str, Any]] | None:
    """(measure number, fields) of a line of marks, or None where it is something else.

    Raises:
        FormatError: A mark is unknown or has no sensible value.
    """
    match = _LINE.match(line)
    if match is None:
        return None
    fields: dict[str, Any] = {}
    text = match.group(2).rstrip()
    at = 0
    while at < len(text):
        word = _WORD.match(text, at)
        if word is None or word.group(1) not in _READ or word.group(2) is None:
            raise FormatError(f"not a mark: '{text[at:].strip()}'", hint=f"marks: {', '.join(_READ)}")
        name, value = word.groups()
        try:
            field = _READ[name](value)
            if name not in {"source", "heard"}:  # which must fit their measure
                Measure(events=_ANY, short=True).with_(**field)
        except (TabtermError, ValueError) as error:
            raise unreadable(name, value, error) from None
        fields |= field
        at = word.end()
    return int(match.group(1)), fields


def unreadable(name: str, value: str, error: Exception) -> FormatError:
    """What to say of a value that stands behind a name and cannot be used; with the hint of whoever refused it."""
    hint = error.hint if isinstance(error, TabtermError) else ""
    return FormatError(f"the {name} cannot be read: '{value:.60}'", hint=hint)


_ANY = (Event(duration=Duration.parse("4")),)


def _string(value: str) -> str:
    return str(json.loads(value))


def _heard(value: str) -> dict[str, Any]:
    chords = (word.split(":", 2) for word in _string(value).split())
    marks = [
        read_value(HeardChord, {"offset": at, "sure": int(sure), "symbol": name}) for at, sure, name in chords
    ]
    return {"heard_chords": tuple(marks)}


def _source(value: str) -> dict[str, Any]:
    return {"source": tuple(map(_source_event, value.split(",")))}


def _source_event(word: str) -> SourceEvent:
    settled, _, proposed = word.partition("?")
    event = _settled_event(settled)
    return event.with_(proposed=tuple(map(_proposed, proposed.split("&")))) if proposed else event


def _proposed(text: str) -> Proposed:
    pitch, sure, others = (*text.split("=", 2), "", "")[:3]
    return Proposed(
        pitch=parse_pitch(pitch),
        sure=int(sure),
        others=tuple(map(parse_pitch, others.split("/") if others else ())),
    )


def _settled_event(word: str) -> SourceEvent:
    match = _SOURCE.match(word)
    if match is None:
        return _source_event_of_version_1(word)
    names, duration = match[1] or "", Duration.parse(match[2])
    if names and not _PLAIN.match(names):
        return _marked_event(names, duration)
    tied = _HELD.match(names)
    if tied:
        return SourceEvent(duration=duration, pitches=tuple(map(parse_pitch, tied[1].split("/"))), tied=True)
    words = names.split("/") if names else []
    held = {parse_pitch(found[1]) for word in words if (found := _HELD.match(word))}
    return SourceEvent.of(duration, [parse_pitch(_HELD.sub(r"\1", word)) for word in words], held)


def _marked_event(text: str, duration: Duration) -> SourceEvent:
    """The moment whose notes have signs; raises FormatError for what is no note."""
    grace, _, names = text.removeprefix("{").rpartition("}")
    notes, of_moment = [], dict[str, Any]()
    for word in names.split("+"):
        tone, marks = _tone(word)
        notes.append(tone)
        of_moment |= marks
    of_moment["grace"] = tuple(_tone(word)[0] for word in grace.split("+")) if grace else ()
    return Moment(duration=duration, notes=tuple(notes), **of_moment).source


def _tone(text: str) -> tuple[Tone, dict[str, Any]]:
    """A note with its signs, and what they say of its moment."""
    name = _NAME.search(text)
    cell, *rest = read_cells(_NAME.sub("1", text, count=1), 1) if name else [None]
    if name is None or not isinstance(cell, Cell) or rest or cell.lost:
        raise FormatError(f"'{text}' is not a note of an original line", hint="write a pitch with its signs: hA4~")
    of_note = {field: getattr(cell.note, field) for field in ("reached", "tied", *NOTE_MARKS)}
    return Tone(pitch=parse_pitch(name[0]), **of_note), cell.marks


def _source_event_of_version_1(word: str) -> SourceEvent:
    duration, _, pitches = word.partition("=")
    bare = pitches.removeprefix("(").removesuffix(")")
    numbers = tuple(map(int, bare.split("/"))) if bare else ()
    return SourceEvent(duration=Duration.parse(duration), pitches=numbers, tied=bare != pitches)


_READ: dict[str, Callable[[str], dict[str, Any]]] = {
    "short": lambda value: {"short": value == "yes"},
    "section": lambda value: {"section": _string(value)},
    "metre": lambda value: {"metre": Metre.parse(value)},
    "key": lambda value: {"key": Key.parse(value)},
    "tempo": lambda value: {"tempo": Tempo.parse(value)},
    "strokes": lambda value: {"school": StrokeSchool(value)},
    "ending": lambda value: {"endings": tuple(int(part) for part in value.split(","))},
    "break": lambda value: {"break_before": Break(value)},
    "times": lambda value: {"repeat_times": int(value)},
    "remark": lambda value: {"remark": _string(value)},
    "source": _source,
    "heard": _heard,
}
