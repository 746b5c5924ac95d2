"""A plan as bytes that travel in one piece.

They may come from a network. `unpacked` takes nothing that could hang or harm the engine: it looks at every size,
number, range and order, and whatever does not fit is one `SoundError`.
"""

from __future__ import annotations

import json
import math
import struct
import sys
from array import array
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError, SoundError
from tabterm.performance.model import Attack, Part, Passage, Pluck, Record, Release
from tabterm.score.record_mix import RecordMix
from tabterm.sound.plan import MESSAGE_BYTES, Order, Plan
from tabterm.sound.voicing import SoundVoicing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

LONGEST_S = 86_400.0  #: s; implementation limit
"""No performance lasts longer than a day."""

SHORTEST_TURN_S = 0.01  #: s; implementation limit
"""A shorter loop is a hum, and would keep the engine busy with nothing else."""

MOST = 1_000_000  #: items; implementation limit
"""Messages, attacks, points of curves or joints in one plan."""

MOST_CENTS = 12_800.0  #: cents; derived: 128 notes of MIDI 1.0
"""No curve leaves the range of MIDI."""

MOST_COURSES = 16  #: courses; MIDI 1.0, as many as channels
MOST_NUMBER = (1 << 53) - 1  #: whole number; format: the greatest that a double holds exactly

MOST_WORDS = 1 << 16  #: bytes; implementation limit
"""Bytes of a voicing."""

MOST_PASSAGES = 20_000  #: passages; implementation limit
MOST_OF_A_RECORD = 1 << 20  #: bytes; implementation limit
"""Bytes of what is said of a recording."""

MOST_SEMITONES = 13.0  #: semitones; implementation limit
SLOWEST, FASTEST = 0.25, 2.0  #: share; derived: of `tabterm.recording.slow`

UNREADABLE = (
    ScoreError,
    struct.error,
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    ArithmeticError,
    RecursionError,
)

VALUES = ("number", "turns", "follows", "measures_lateness")
"""What of an order stands beside the bytes: numbers that a relay may have to change."""

_PARTS, _ATTACKS, _RELEASES = tuple(Part), tuple(Attack), tuple(Release)
_RECORD = ("path", "mark", "speed", "semitones", "level", "apart", "mix", "passages")
_HEAD = struct.Struct("<dd7I")
_PLUCK = struct.Struct("<7BIdd")
LAYOUT = (_HEAD.format, _PLUCK.format, *VALUES, *_PARTS, *_ATTACKS, *_RELEASES, *_RECORD)
"""What two ends that send plans to each other must have in common."""

_TWO_BYTES = (0xC0, 0xD0)  #: status byte; MIDI 1.0
_KINDS = frozenset({0x80, 0x90, 0xA0, 0xB0, 0xE0})  #: status byte; MIDI 1.0
"""Messages of the MIDI 1.0 specification: program and channel pressure have one data byte, all others two."""


def has_record(body: bytes) -> bool:
    """Whether a recording is heard with the plan that was packed."""
    return len(body) >= _HEAD.size and _HEAD.unpack_from(body)[-1] > 0


def packed(plan: Plan) -> tuple[bytes, dict[str, Any]]:
    """What is played as bytes, all numbers little-endian, and the rest of the order as plain values."""
    setup = b"".join(plan.setup)
    voicing = json.dumps(plan.voicing.as_values(), separators=(",", ":")).encode()
    record = b"" if plan.record is None else json.dumps(_told(plan.record)).encode()
    points = [point for pluck in plan.plucks for point in pluck.curve]
    head = _HEAD.pack(
        *(plan.order.lead_s, plan.order.duration_s, len(setup), len(plan.times), len(plan.plucks)),
        *(len(points), len(plan.joints), len(voicing), len(record)),
    )
    parts, attacks, releases = _PARTS.index, _ATTACKS.index, _RELEASES.index
    plucks = [
        _PLUCK.pack(
            *(parts(each.part), each.course, each.pitch, each.velocity, attacks(each.attack), each.muted),
            *(releases(each.release), len(each.curve), each.start_s, each.end_s),
        )
        for each in plan.plucks
    ]
    numbers = array("d", plan.times)
    for pair in (*points, *plan.joints):
        numbers.extend(pair)
    if sys.byteorder == "big":
        numbers.byteswap()
    body = b"".join((head, numbers.tobytes(), setup, plan.data, *plucks, voicing, record))
    return body, {name: getattr(plan.order, name) for name in VALUES}


def unpacked(body: bytes, **values: Any) -> Plan:
    """The plan that was packed; raises SoundError where that is no plan that can be played."""
    try:
        return _unpacked(body, **values)
    except UNREADABLE as error:
        reason = error.args[0] if isinstance(error, _BadPlanError) else "it cannot be read"
        raise SoundError(f"the music to play is malformed: {reason}") from None


def _unpacked(body: bytes, **values: Any) -> Plan:
    lead_s, duration_s, *counts = _HEAD.unpack_from(body)
    setups, messages, attacks, points, joints, words, record = counts
    doubles = messages + 2 * points + 2 * joints
    sizes = (8 * doubles, setups, MESSAGE_BYTES * messages, _PLUCK.size * attacks, words, record)
    _want(max(counts[:-1]) <= MOST and words <= MOST_WORDS and record <= MOST_OF_A_RECORD, "it is too long")
    _want(len(body) == _HEAD.size + sum(sizes), "its size is not what it says")
    _want(0 <= lead_s < duration_s <= LONGEST_S, "its times are wrong")
    _want(duration_s - lead_s >= SHORTEST_TURN_S, "a turn of it is too short")
    cuts = _cuts(body, *sizes)
    numbers = array("d")
    numbers.frombytes(next(cuts))
    if sys.byteorder == "big":
        numbers.byteswap()
    _want(all(map(math.isfinite, numbers)), "a number in it is not finite")
    times, rest = numbers[:messages], numbers[messages:]
    curves = list(zip(rest[0 : 2 * points : 2], rest[1 : 2 * points : 2], strict=True))
    meetings = tuple(zip(rest[2 * points :: 2], rest[2 * points + 1 :: 2], strict=True))
    _want(_in_order(times, 0.0, duration_s), "its messages are not in order")
    _want(_in_order([at_s for at_s, _ in meetings], 0.0, LONGEST_S), "its joints are not in order")
    _want(all(0 <= to_s <= duration_s for _, to_s in meetings), "a joint lies outside")
    setup, data = tuple(_messages(next(cuts))), next(cuts)
    kinds = {status & 0xF0 for status in data[::MESSAGE_BYTES]}
    _want(kinds <= _KINDS and max(data[1::3] + data[2::3], default=0) < 0x80, "a message in it is invalid")
    plucks = tuple(_plucks(next(cuts), curves, duration_s))
    voicing = SoundVoicing.from_values(json.loads(next(cuts), parse_constant=_no_number))
    along = next(cuts)
    return Plan(
        *(_order(lead_s, duration_s, values), setup, times, data, plucks, meetings, voicing),
        _record(json.loads(along, parse_constant=_no_number), duration_s) if along else None,
    )


class _BadPlanError(ValueError):
    """Bytes that are no plan; the only argument says why."""


def _order(lead_s: float, duration_s: float, values: dict[str, Any]) -> Order:
    """The order; its values may be anything that came."""
    _want(values.keys() == set(VALUES), "its order is wrong")
    order = Order(lead_s=lead_s, duration_s=duration_s, **values)
    whole = (order.number, order.turns, order.follows)
    _want(all(type(each) is int and 0 <= each <= MOST_NUMBER for each in whole), "its order is wrong")
    _want(order.number > 0 and type(order.measures_lateness) is bool, "its order is wrong")
    return order


def _told(record: Record) -> list[Any]:
    """A recording as JSON holds it; names of files that are no text survive, too."""
    return [str(record.mix) if name == "mix" else getattr(record, name) for name in _RECORD]


def _record(values: Any, duration_s: float) -> Record:
    """The recording; its values may be anything that came."""
    path, mark, speed, semitones, level, apart, mix, told = values
    _want(all(isinstance(each, str) for each in (path, mark, mix)), "its recording is wrong")
    _want(type(apart) is bool, "its recording is wrong")
    numbers = (speed, semitones, level, *(number for each in told for number in each))
    _want(all(type(each) in {int, float} for each in numbers), "its recording is wrong")
    _want(SLOWEST <= speed <= FASTEST and abs(semitones) <= MOST_SEMITONES, "its recording is out of range")
    _want(0 <= level <= 2 and len(told) <= MOST_PASSAGES, "its recording is out of range")
    passages = tuple(Passage(*map(float, each)) for each in told)
    _want(_in_order([each.start_s for each in passages], 0.0, duration_s), "its passages are not in order")
    _want(all(0 <= each.from_s < each.to_s <= LONGEST_S for each in passages), "a passage in it is wrong")
    heard = float(speed), float(semitones), float(level)
    return Record(path, mark, *heard, apart, RecordMix.parse(mix), passages)


def _want(holds: bool, reason: str) -> None:
    if not holds:
        raise _BadPlanError(reason)


def _no_number(_word: str) -> None:
    """JSON's reader would take NaN and Infinity."""
    raise _BadPlanError("a number in it is not finite")


def _cuts(body: bytes, *sizes: int) -> Iterator[bytes]:
    """The pieces of a body behind its head."""
    start = _HEAD.size
    for size in sizes:
        yield body[start : start + size]
        start += size


def _in_order(times: Sequence[float], low: float, high: float) -> bool:
    return not times or (low <= times[0] and times[-1] <= high and all(a <= b for a, b in pairwise(times)))


def _messages(data: bytes) -> Iterator[bytes]:
    """MIDI messages one behind the other, each as long as its kind says."""
    start = 0
    while start < len(data):
        size = 2 if data[start] & 0xF0 in _TWO_BYTES else 3
        message = data[start : start + size]
        known = size == 2 or message[0] & 0xF0 in _KINDS
        _want(known and len(message) == size and max(message[1:]) < 0x80, "a message in it is invalid")
        yield message
        start += size


def _plucks(data: bytes, curves: Sequence[tuple[float, float]], duration_s: float) -> Iterator[Pluck]:
    """The attacks; `curves` are the points of all of them in their order."""
    first, before_s = 0, 0.0
    for part, course, pitch, velocity, attack, muted, release, points, start_s, end_s in _PLUCK.iter_unpack(data):
        known = part < len(_PARTS) and attack < len(_ATTACKS) and release < len(_RELEASES)
        _want(known and muted < 2, "an attack in it is of an unknown kind")
        _want(course <= MOST_COURSES and pitch < 0x80 and 0 < velocity < 0x80, "an attack in it is out of range")
        # A NaN would not be in order either.
        _want(before_s <= start_s <= duration_s and start_s <= end_s <= LONGEST_S, "its attacks are not in order")
        curve = tuple(curves[first : first + points])
        _want(len(curve) == points, "a curve in it is cut off")
        if curve:
            _want(_in_order([time_s for time_s, _ in curve], 0.0, LONGEST_S), "a curve in it is not in order")
            _want(all(abs(cents) <= MOST_CENTS for _, cents in curve), "a curve in it is out of range")
        yield Pluck(
            *(_PARTS[part], course, pitch, start_s, end_s, velocity, _ATTACKS[attack], bool(muted), curve),
            _RELEASES[release],
        )
        first, before_s = first + points, start_s
    _want(first == len(curves), "its size is not what it says")
