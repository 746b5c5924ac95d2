"""What an editor and a listener may say to each other: every frame is held against a table before it is obeyed.

Others could keep the synthesiser busy for ever with a voicing. Its ranges are those of `PRESETS`, widely rounded.
How loud it may be is not a range: it plays at most as loud as one that is made here.
"""

from __future__ import annotations

import hashlib
import zlib
from bisect import bisect_left
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from tabterm.errors import SoundError
from tabterm.sound import packing
from tabterm.sound.link import BadFrameError, Frame, Limits
from tabterm.sound.remote.records import MOST_PIECES, NAME, Records
from tabterm.sound.timbre import Timbre
from tabterm.sound.voicing import (
    BASS_LEVEL,
    CHORDS_LEVEL,
    SOLO_LEVEL,
    CourseVoice,
    PartVoice,
    SoundVoicing,
    StringVoice,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tabterm.performance.model import Record
    from tabterm.sound.plan import Plan

    Check = Callable[[Any], bool]
    Table = Mapping[str, Mapping[str, Check]]

Range = tuple[float, float]

#: as the names say; implementation limit
RANGES: Mapping[str, Range] = {
    "loss_per_s": (0.05, 100),
    "register": (-2, 3),
    "bridge_per_s": (0, 100),
    "bridge_hz": (10, 20_000),
    "loss_per_s_khz": (0, 200),
    "loss_per_s_khz2": (0, 100),
    "pick_mm": (1, 2000),
    "bright_hz": (100, 40_000),
    "pick_noise": (0, 4),
    "knock": (0, 2),
    "sympathy": (0, 4),
    "floor_hz": (1, 2000),
    "damping_s": (0.001, 5),
    "level": (0, 4),
    "pitch": (0, 127),
    "length_mm": (50, 3000),
    "semitones": (-24, 24),
    "cents": (-100, 100),
    "inharmonicity": (0, 0.1),
    "loss": (0.01, 100),
    "eases_per_khz": (0, 10),
    "pan": (-1, 1),
    "room": (0, 2),
}
"""Every number that has a name."""

RESONANCE: tuple[Range, ...] = ((10, 20_000), (-40, 40), (0.1, 200))  #: Hz, dB, Q; implementation limit
"""The numbers of a resonance of the body: Hz, dB, Q."""

MOST = 20  #: items; implementation limit
"""Parts, courses, strings, resonances; of each there is at least one."""

LONGEST_NAME = 100  #: characters; implementation limit

MOST_LEVELS: Mapping[str, float] = {"solo": SOLO_LEVEL, "chords": CHORDS_LEVEL, "bass": BASS_LEVEL}
"""Amplitude of each part at most; of any other part, none."""

MOST_COURSE_LEVEL = 2.0  #: times the level of a string; derived: two strings
"""Of all strings of a course together: two strings, each as strong as the other."""


def can_sound(voicing: SoundVoicing) -> bool:
    """Whether everything in it is within the ranges."""
    return _holds("", voicing.as_values())


def capped(voicing: SoundVoicing) -> SoundVoicing:
    """The voicing, with the levels of its parts and courses let down to those of one made here."""
    parts = {name: _capped_part(part, MOST_LEVELS.get(name, 0.0)) for name, part in voicing.parts.items()}
    return replace(voicing, parts=parts)


def _capped_part(part: PartVoice, most: float) -> PartVoice:
    return replace(part, level=min(part.level, most), courses=tuple(map(_capped_course, part.courses)))


def _capped_course(course: CourseVoice) -> CourseVoice:
    level = sum(string.level for string in course.strings)
    if level <= MOST_COURSE_LEVEL:
        return course
    share = MOST_COURSE_LEVEL / level
    return replace(course, strings=tuple(replace(each, level=each.level * share) for each in course.strings))


def _holds(name: str, value: Any) -> bool:
    if name in RANGES:
        return _is_within(value, RANGES[name])
    if name == "name":
        return isinstance(value, str) and len(value) <= LONGEST_NAME
    if name in {"body", "modes"}:
        return 0 < len(value) <= MOST and all(_is_resonance(each) for each in value)
    if isinstance(value, dict):
        return 0 < len(value) <= MOST and all(_holds(key, each) for key, each in value.items())
    is_list = isinstance(value, (list, tuple)) and 0 < len(value) <= MOST
    return is_list and all(_holds("", each) for each in value)


def _is_resonance(values: tuple[Any, ...]) -> bool:
    return all(_is_within(value, limits) for value, limits in zip(values, RESONANCE, strict=True))


def _is_within(value: Any, limits: Range) -> bool:
    return type(value) in {int, float} and limits[0] <= value <= limits[1]


#: bytes, brackets, 1/s; implementation limit
LIMITS = Limits(head_bytes=16384, body_bytes=1 << 20, brackets=500, frames_per_s=100)
"""A score of ten minutes is a frame of about 100 kB; the tempo key held down makes 30 frames a second. Names
of ports may hold brackets (`a2j:Synth [14]`)."""

MOST_EVENTS = 200_000  #: events; implementation limit
"""In a plan: an hour of sixteenths with slides and a click."""

MOST_PLAN_BYTES = 8 << 20  #: bytes; implementation limit
"""A plan may not unfold to more."""

CROWD_S = 0.25  #: s; implementation limit
MESSAGES_IN_A_CROWD, PLUCKS_IN_A_CROWD = 1000, 200  #: items in CROWD_S; implementation limit
"""More in so short a time are no music, and a port or the synthesiser would choke on them."""

MOST_NUMBER = 1 << 20  #: plans; implementation limit
"""Plans of one editor are numbered from 1 to below this."""

_LONGEST_TEXT = 500  #: characters; implementation limit
_A_DAY_S = 86_400.0  #: s; definition


def whole(least: int, most: int) -> Check:
    """A whole number in a range."""
    return lambda value: type(value) is int and least <= value <= most


def real(least: float, most: float) -> Check:
    """A finite number in a range."""
    return lambda value: type(value) in {int, float} and least <= value <= most


def _text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= _LONGEST_TEXT


def _flag(value: Any) -> bool:
    return isinstance(value, bool)


def _mark(value: Any) -> bool:
    return isinstance(value, str) and bool(NAME.match(value))


_NUMBER = whole(1, MOST_NUMBER - 1)  #: plans; implementation limit
_TIME = real(0, 1e9)  #: s; implementation limit

PLANS = frozenset({"play", "change", "then"})
"""Orders whose body is a plan."""

WITH_BODY = PLANS | {"ended", "part", "piece"}
"""What may come with bytes; those of an end are how late each message was sent, where that was asked for."""

#: turns, plans; implementation limit
_ORDER: Mapping[str, Check] = {
    "number": _NUMBER,
    "turns": whole(0, 1 << 20),
    "follows": whole(0, MOST_NUMBER - 1),
    "measures_lateness": _flag,
}

#: turns, plans, pieces; implementation limit
FROM_EDITOR: Table = {
    "play": _ORDER,
    "change": _ORDER,
    "then": _ORDER,
    "stop": {},
    "alive": {},
    "have": {"mark": _mark},
    "piece": {"mark": _mark, "number": whole(0, MOST_PIECES - 1), "of": whole(1, MOST_PIECES)},
}
"""What a listener takes: word, and the values that must be there."""

#: turns, s, plans; implementation limit
FROM_LISTENER: Table = {
    "taken": {"number": _NUMBER},
    "turn": {
        "number": _NUMBER,
        "turn": whole(1, 1 << 32),
        "at_s": real(0, _A_DAY_S),
        "start_s": _TIME,
        "now_s": _TIME,
    },
    "ended": {"number": _NUMBER},
    "missed": {"number": _NUMBER},
    "failed": {"number": _NUMBER, "message": _text, "hint": _text},
    "output": {"kind": _text, "name": _text},
    "underruns": {"count": whole(0, 1 << 32)},
    "alive": {"now_s": _TIME},
    "away": {},
    "have": {"mark": _mark, "there": _flag},
    "piece-got": {"mark": _mark, "number": whole(0, MOST_PIECES - 1)},
}
"""What an editor takes from a listener; times in s since the listener was started, `now_s` when it said so."""


MOST_SHEET_BYTES = 16 << 20  #: bytes; implementation limit
PART_BYTES = 24_000  #: bytes; implementation limit
"""Of a sheet to the listener's machine, and of one frame of it: what is on a thin line cannot be taken back."""

#: bytes; implementation limit
FROM_COURIER: Table = {
    "part": {"name": _text, "size": whole(1, MOST_SHEET_BYTES), "at": whole(0, MOST_SHEET_BYTES), "opens": _flag}
}
"""What a listener takes from a caller that brings a sheet."""

#: bytes; implementation limit
FROM_DESK: Table = {
    "got": {"at": whole(1, MOST_SHEET_BYTES)},
    "kept": {"words": _text},
    "refused": {"message": _text, "hint": _text},
}
"""What such a caller takes from the listener."""


def layout() -> str:
    """A mark of everything that the two ends send each other: it differs where anything does."""
    tables = [(word, *checks) for table in TABLES for word, checks in table.items()]
    names = [field.name for each in (Timbre, PartVoice, CourseVoice, StringVoice) for field in fields(each)]
    return hashlib.sha256(repr((packing.LAYOUT, tables, names)).encode()).hexdigest()[:8]


TABLES = (FROM_EDITOR, FROM_LISTENER, FROM_COURIER, FROM_DESK)


def inspect(frame: Frame, table: Table) -> Frame:
    """The frame, if it fits the table; raises BadFrameError otherwise."""
    checks = table.get(frame.word)
    fits = checks is not None and frame.values.keys() == checks.keys()
    if checks is None or not fits or (frame.body and frame.word not in WITH_BODY):
        raise BadFrameError(f"a frame {frame.word[:20]!a} that does not fit")
    if not all(check(frame.values[name]) for name, check in checks.items()):
        raise BadFrameError(f"a frame {frame.word[:20]!a} that does not fit")
    return frame


def checked_plan(frame: Frame, records: Records) -> bytes:
    """The plan of a frame that fits the table, as the engine takes it; raises BadFrameError if it is none.

    It is played no louder than a plan of this machine; a recording that is heard with it is a file that has come.
    """
    body = unfolded(frame.body)
    try:
        plan = packing.unpacked(body, **frame.values)
    except SoundError as error:
        raise BadFrameError(error.message) from None
    starts = [pluck.start_s for pluck in plan.plucks]
    crowded = len(plan.setup) > MESSAGES_IN_A_CROWD
    for times, crowd in ((plan.times, MESSAGES_IN_A_CROWD), (starts, PLUCKS_IN_A_CROWD)):
        crowded = crowded or _is_crowded(times, crowd) or _is_crowded_in_turns(plan, times, crowd)
    if len(plan.times) + len(starts) > MOST_EVENTS or crowded:
        raise BadFrameError("a plan with too many events")
    if not can_sound(plan.voicing):
        raise BadFrameError("a plan for an impossible instrument")
    voicing = capped(plan.voicing)
    if voicing == plan.voicing and plan.record is None:
        return body
    return packing.packed(replace(plan, voicing=voicing, record=_kept(plan, records)))[0]


def _kept(plan: Plan, records: Records) -> Record | None:
    """The recording of a plan as the file that has come; without it, none is heard."""
    path = None if plan.record is None else records.path_of(plan.record.mark)
    return None if plan.record is None or path is None else replace(plan.record, path=str(path))


def renumbered(values: Mapping[str, Any], first: int) -> dict[str, Any]:
    """The values of a plan with numbers that no other editor's have; 0 is no plan and stays so."""
    return {**values, **{name: values[name] + first for name in ("number", "follows") if values[name]}}


def folded(body: bytes) -> bytes:
    """A body as it goes over the line: a plan shrinks to about a quarter."""
    return zlib.compress(body)


def unfolded(body: bytes) -> bytes:
    """What was folded; raises BadFrameError when it is nothing of the kind, or more than a plan may be."""
    unfolding = zlib.decompressobj()
    try:
        unfolded_body = unfolding.decompress(body, MOST_PLAN_BYTES)
    except zlib.error:
        raise BadFrameError("a body that cannot be unfolded") from None
    if not unfolding.eof or unfolding.unused_data:
        raise BadFrameError("a body that cannot be unfolded")
    return unfolded_body


def _is_crowded_in_turns(plan: Plan, times: Sequence[float], crowd: int) -> bool:
    """Whether turns that are shorter than a crowd's time make one together."""
    a_turn = len(times) - bisect_left(times, plan.order.lead_s)
    return plan.order.turns != 1 and plan.turn_s < CROWD_S and a_turn * CROWD_S > crowd * plan.turn_s


def _is_crowded(times: Sequence[float], crowd: int) -> bool:
    return any(times[at + crowd] - times[at] < CROWD_S for at in range(len(times) - crowd))
