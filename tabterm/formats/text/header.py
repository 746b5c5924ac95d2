"""The head of a text tab: one `name: value` a line; and tunings that are told by letters, `GDAE`."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from tabterm.errors import TabtermError
from tabterm.instrument import PRESETS, Course, Instrument, parse_pitch, pitch_name
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.score.key import Key
from tabterm.score.kinds import ChordNames, StrokeSchool
from tabterm.score.metre import Metre
from tabterm.score.model import Head, Swing
from tabterm.score.profile import REFERENCE_HAND, HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tabterm.values import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence


_LINE = re.compile(r"^\s*([a-z][a-z ]{1,20}?)\s*:(.*)$", re.IGNORECASE)
_NECK = re.compile(r"^(\d+) frets, ([\d.]+) mm, courses ([\d.]+) to ([\d.]+) mm, program (\d+)$")


PAIR = "pair"
STRINGS: dict[str, dict[str, bool]] = {
    PAIR: {"octave": False, "single": False},
    "octave": {"octave": True, "single": False},
    "single": {"octave": False, "single": True},
}
"""The strings of a course, by word: two at one pitch, two an octave apart, one."""

_KNOWN: dict[str, Instrument] = {each.name.lower(): each for each in PRESETS.values()} | PRESETS
"""Presets by name, in small letters, and by word."""


def quoted(text: str) -> str:
    """A text as it may stand on a line: itself, or a JSON string where it could be misread."""
    plain = text == text.strip() and text.isprintable() and not text.startswith('"')
    return text if plain and text else json.dumps(text, ensure_ascii=True)


def _name_text(name: str) -> str:
    """A name of an instrument, in quotes where it could be taken for that of another."""
    known = _KNOWN.get(name.lower())
    return json.dumps(name) if known is not None and known.name != name else quoted(name)


def unquoted(text: str) -> str:
    """The text behind `quoted`."""
    if text.startswith('"'):
        try:
            value = json.loads(text)
        except json.JSONDecodeError:
            return text
        return value if isinstance(value, str) else text
    return text


def write_header(head: Head) -> list[str]:
    """The lines of a head; instrument and metre always, the rest where it says something."""
    instrument = head.instrument
    lines = [f"title: {quoted(head.title)}"] if head.title else []
    lines += [f"credit: {quoted(line)}" for line in head.credits]
    lines += [f"foreword: {quoted(head.foreword)}"] if head.foreword else []
    lines += [
        f"instrument: {_name_text(instrument.name)}",
        f"neck: {_neck_text(instrument)}",
        f"tuning: {' '.join(pitch_name(course.pitch) for course in instrument.courses)}",
    ]
    strings = [_strings_word(course) for course in instrument.courses]
    lines += [f"strings: {' '.join(strings)}"] if set(strings) != {PAIR} else []
    lines += [
        f"key: {head.key}",
        f"metre: {head.metre}",
        f"tempo: {head.tempo}",
    ]
    if head.swing is not None:
        lines.append(f"swing: {head.swing.unit} {head.swing.long}:{head.swing.short}")
    if head.school is not StrokeSchool.BEAT:
        lines.append(f"strokes: {head.school}")
    if head.chord_names is not None:
        lines.append(f"chord names: {head.chord_names}")
    if head.hand is not None:
        lines.append(f"hand: {_hand_text(head.hand)}")
    return lines


def _neck_text(instrument: Instrument) -> str:
    nut, bridge = instrument.course_pitch_nut_mm, instrument.course_pitch_bridge_mm
    scale, program = instrument.scale_length_mm, instrument.program
    return f"{instrument.frets} frets, {scale!r} mm, courses {nut!r} to {bridge!r} mm, program {program}"


def _strings_word(course: Course) -> str:
    return "octave" if course.octave else "single" if course.single else PAIR


def _hand_text(hand: HandProfile) -> str:
    """The span, then whatever differs from the default: `150.0 mm, weak 4, strokes 9.5`."""
    parts = [f"{hand.span_mm!r} mm"]
    if hand.weak != REFERENCE_HAND.weak:
        parts.append(f"weak {' '.join(map(str, hand.weak)) or 'none'}")
    rates = plain(hand.speeds)
    return ", ".join([*parts, *(f"{name} {rate!r}" for name, rate in rates.items())])


def read_header_line(line: str) -> tuple[str, str] | None:
    """(name, value) of a line of a head, or None where it is something else."""
    match = _LINE.match(line)
    if match is None:
        return None
    name = match.group(1).lower()
    name = {"time": "metre", "time signature": "metre", "meter": "metre", "bpm": "tempo"}.get(name, name)
    return (name, match.group(2).strip()) if name in _FIELDS else None


def apply_header(head: Head, name: str, value: str) -> Head:
    """The head with one line read into it; raises TabtermError or ValueError where the value is none."""
    return head.with_(**_FIELDS[name](head, value))


def _tuning(head: Head, value: str) -> dict[str, Any]:
    letters = letters_of(value)
    if letters:  # from the lowest course up, as it is spoken
        choices = (head.instrument, *PRESETS.values())
        return {"instrument": tuned_to(letters[::-1], choices)[0]}
    courses = tuple(_course(word) for word in value.split())
    return {"instrument": head.instrument.with_(courses=courses)}


def _course(word: str) -> Course:
    """A course of two strings; version 1 wrote `A4'` for one of one string and `A4+` for an octave pair."""
    name = word.rstrip("+'")
    return Course(pitch=parse_pitch(name), octave="+" in word, single="'" in word)


def _strings(head: Head, value: str) -> dict[str, Any]:
    courses = zip(head.instrument.courses, value.split(), strict=True)
    strung = tuple(course.with_(**STRINGS[word]) for course, word in courses)
    return {"instrument": head.instrument.with_(courses=strung)}


def _instrument(head: Head, value: str) -> dict[str, Any]:
    """A preset by its name or word; any other name, or one in quotes, is given to the instrument as it is."""
    return {"instrument": _KNOWN.get(value.lower()) or head.instrument.with_(name=unquoted(value))}


def _neck(head: Head, value: str) -> dict[str, Any]:
    match = _NECK.match(value)
    if match is None:
        raise TabtermError(f"not a neck: '{value}'")
    frets, scale, nut, bridge, program = match.groups()
    return {
        "instrument": head.instrument.with_(
            frets=int(frets),
            scale_length_mm=float(scale),
            course_pitch_nut_mm=float(nut),
            course_pitch_bridge_mm=float(bridge),
            program=int(program),
        )
    }


def _swing(_head: Head, value: str) -> dict[str, Any]:
    unit, ratio = value.split()
    long, short = ratio.split(":")
    return {"swing": Swing(unit=int(unit), long=int(long), short=int(short))}


def _hand(_head: Head, value: str) -> dict[str, Any]:
    span, *parts = value.split(",")
    rest = {name: words for name, *words in (part.split() for part in parts)}
    weak = rest.pop("weak", None)
    chosen = {} if weak is None else {"weak": tuple(int(word) for word in weak if word != "none")}
    speeds = Speeds(**{name: float(" ".join(words)) for name, words in rest.items()})
    return {"hand": HandProfile(span_mm=float(span.removesuffix("mm")), speeds=speeds, **chosen)}


_FIELDS: dict[str, Callable[[Head, str], dict[str, Any]]] = {
    "title": lambda _head, value: {"title": unquoted(value)},
    "credit": lambda head, value: {"credits": (*head.credits, unquoted(value))},
    "foreword": lambda _head, value: {"foreword": unquoted(value)},
    "instrument": _instrument,
    "tuning": _tuning,
    "strings": _strings,
    "neck": _neck,
    "key": lambda _head, value: {"key": Key.parse(value)},
    "metre": lambda _head, value: {"metre": Metre.parse(value)},
    "tempo": lambda _head, value: {"tempo": Tempo.parse(value.lower().removesuffix("bpm"))},
    "swing": _swing,
    "strokes": lambda _head, value: {"school": StrokeSchool(value)},
    "chord names": lambda _head, value: {"chord_names": ChordNames(value.lower())},
    "hand": _hand,
}
"""What each line of a head says."""

BAD_VALUE = (TabtermError, ValueError, KeyError)
"""What `apply_header` may raise for a value that cannot be used."""


LETTER = r"[A-Ga-g][#b]?"
"""A course by its letter."""

_LETTERS = re.compile(rf"^(?:{LETTER}[\s,-]*){{2,8}}$")
_ACCIDENTALS = {"": 0, "#": 1, "b": -1}


def letters_of(text: str) -> tuple[str, ...]:
    """The letters of a tuning without octaves (`GDAE`, `G D A E`), or () where it is something else."""
    return tuple(re.findall(LETTER, text)) if _LETTERS.match(text) else ()


def tuned_to(letters: Sequence[str], instruments: Iterable[Instrument]) -> tuple[Instrument, bool]:
    """The instrument that letters from the top line down mean, and whether the lowest course is on top.

    Of the instruments with as many courses the one is taken whose courses move least, and each course is
    retuned to the pitch of its letter that is nearest.

    Raises:
        InstrumentError: The retuned instrument cannot be.
        ValueError: None has as many courses.
    """
    fitting = [each for each in instruments if each.course_count == len(letters)]
    choices = [(each, turned) for turned in (False, True) for each in fitting]
    if not choices:
        raise ValueError(f"{len(letters)} letters")

    def shifts(choice: tuple[Instrument, bool]) -> list[int]:
        instrument, turned = choice
        from_top = tuple(reversed(letters)) if turned else letters
        return [_shift(course.pitch, letter) for course, letter in zip(instrument.courses, from_top, strict=True)]

    chosen = min(choices, key=lambda choice: sum(map(abs, shifts(choice))))
    instrument, turned = chosen
    courses = tuple(
        course.with_(pitch=course.pitch + shift) if shift else course
        for course, shift in zip(instrument.courses, shifts(chosen), strict=True)
    )
    return instrument.with_(courses=courses), turned


def _shift(pitch: int, letter: str) -> int:
    """Semitones, -5 to 6, from a pitch to the nearest one that a letter names."""
    wanted = STEP_SEMITONES[letter[0].upper()] + _ACCIDENTALS[letter[1:]]
    return (wanted - pitch + 5) % 12 - 5
