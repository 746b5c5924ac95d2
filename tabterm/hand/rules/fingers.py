"""Rules on single fingers over time: shifts, jumps, rolls, chains of slurs, and what was set against the law."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.effort import changing, holding
from tabterm.hand.finding import Finding, Severity
from tabterm.hand.grips import written
from tabterm.hand.rules import remedies
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Remedy, Situation, Step
    from tabterm.hand.fingering import Solved
    from tabterm.hand.stops import Stop
    from tabterm.score.model import Note
    from tabterm.score.place import Place

HOPELESS = 2.5  #: times; common practice, no source
"""A shift that has so many times less time than it needs is called impossible."""

JUMP_S, ROLL_S, READY_S = 0.15, 0.12, 0.12  #: s; common practice, no source
"""Below these gaps one finger that jumps along its course, that plays the next course too, or that has to be
down for a pull-off, is called awkward; in half of the time it is hard."""

SLUR_SLACK = 1.25  #: times; common practice, no source
"""A slur that is faster than the fingers by more than this is hard, else awkward."""


def _letter(moment: Situation, course: int) -> str:
    return moment.head.instrument.course_letters()[course - 1]


def shifts(moment: Situation) -> Iterator[Finding]:
    """A shift needs more time than there is between letting go and setting down."""
    neck = moment.neck
    for step in moment.steps:
        if step.before is None or not step.shifts:
            continue
        needed_s, free_s = neck.shift_s(step.before.frame, step.hold.frame), step.free_s
        if needed_s <= free_s:
            continue
        mm = abs(neck.mm(step.hold.frame) - neck.mm(step.before.frame))
        severity = Severity.IMPOSSIBLE if needed_s > HOPELESS * free_s else Severity.HARD
        message = (
            f"the hand shifts {mm:.0f} mm, from fret {step.before.frame} to {step.hold.frame}, "
            f"in {free_s * 1000:.0f} ms (needs {needed_s * 1000:.0f} ms)"
        )
        numbers: dict[str, float | int | str] = {
            "shift_mm": round(mm, 2),
            "from_fret": step.before.frame,
            "to_fret": step.hold.frame,
            "free_ms": round(free_s * 1000),
            "needed_ms": round(needed_s * 1000),
            "mm_per_s": round(mm / max(free_s, 1e-3)),
        }
        ways = (*remedies.cut_before(moment, step), *remedies.slower(moment.tempo, needed_s / free_s))
        yield Finding("shift-no-time", severity, moment.place, _course(step), message, numbers, ways)


def _course(step: Step) -> int | None:
    return step.hold.grip.down[0].course if step.hold.grip.down else None


def lone_fingers(moment: Situation) -> Iterator[Finding]:
    """One finger that has to be in two places one right after the other."""
    for step in moment.steps:
        if step.before is None or step.between is None or step.shifts or step.before.onset.grace is not None:
            continue
        slid = any(note.reached is Reached.SLIDE for note in step.hold.onset.notes)
        for stop in step.hold.grip.notes:
            old = next((each for each in step.before.grip.down if each.finger == stop.finger), None)
            if not stop.finger or old is None or old in step.hold.grip.down:
                continue
            gap_s = step.between.gap_s
            if old.course == stop.course and old.fret != stop.fret and not slid and gap_s < JUMP_S:
                yield _lone(moment, "finger-jump", old, stop, gap_s, JUMP_S)
            elif abs(old.course - stop.course) == 1 and gap_s < ROLL_S:
                yield _lone(moment, "finger-roll", old, stop, gap_s, ROLL_S)


def _lone(moment: Situation, code: str, old: Stop, stop: Stop, gap_s: float, limit_s: float) -> Finding:
    where = f"fret {old.fret} to fret {stop.fret}"
    if code == "finger-roll":
        where = f"course {_letter(moment, old.course)} to course {_letter(moment, stop.course)}"
        if old.fret != stop.fret:
            where += f", fret {old.fret} to fret {stop.fret}"
    message = f"finger {stop.finger} has {gap_s * 1000:.0f} ms to get from {where}"
    numbers: dict[str, float | int | str] = {
        "finger": stop.finger,
        "gap_ms": round(gap_s * 1000),
        "limit_ms": round(limit_s * 1000),
        "from_fret": old.fret,
        "to_fret": stop.fret,
    }
    severity = Severity.HARD if gap_s < limit_s / 2 else Severity.AWKWARD
    ways = tuple(remedies.slower(moment.tempo, limit_s / gap_s))
    return Finding(code, severity, moment.place, stop.course, message, numbers, ways)


def switches(moment: Situation) -> Iterator[Finding]:
    """A place that is taken over by another finger."""
    for step in moment.steps:
        if step.before is None:
            continue
        for note, stop in zip(step.hold.onset.notes, step.hold.grip.notes, strict=True):
            old = next(
                (o for o in step.before.grip.notes if (o.course, o.fret) == (stop.course, stop.fret) and o.finger),
                None,
            )
            if old is None or not stop.finger or old.finger == stop.finger:
                continue
            message = f"finger {stop.finger} takes over fret {stop.fret} from finger {old.finger}"
            severity = Severity.IMPOSSIBLE if note.tied and step.free_s < READY_S else Severity.AWKWARD
            numbers: dict[str, float | int | str] = {
                "finger": stop.finger,
                "from_finger": old.finger,
                "fret": stop.fret,
            }
            ways = remedies.free_fingers(moment, [(note, moment.place), *_earlier(moment, old)])
            yield Finding("finger-switch", severity, moment.place, stop.course, message, numbers, tuple(ways))


def _earlier(moment: Situation, old: Stop) -> Iterator[tuple[Note, Place]]:
    if moment.before is not None and moment.before_place is not None:
        note = moment.before.on_course(old.course)
        if note is not None:
            yield note, moment.before_place


def fast_slurs(moment: Situation) -> Iterator[Finding]:
    """A hammer-on or pull-off that follows faster than its two fingers can alternate."""
    for step in moment.steps:
        if step.before is None or step.between is None or step.before.onset.grace is not None:
            continue
        rate = 1.0 / max(step.between.gap_s, 1e-3)
        for note, stop in zip(step.hold.onset.notes, step.hold.grip.notes, strict=True):
            source = next((old for old in step.before.grip.notes if old.course == stop.course), None)
            if note.reached not in {Reached.HAMMER, Reached.PULL} or source is None:
                continue
            if not (source.finger and stop.finger) or source.finger == stop.finger:
                continue
            limit = moment.neck.hand.speeds.fingers(source.finger, stop.finger)
            if rate > limit:
                yield _fast(moment, note, (source.finger, stop.finger), rate, limit)


def _fast(moment: Situation, note: Note, fingers: tuple[int, int], rate: float, limit: float) -> Finding:
    one, other = sorted(fingers)
    message = f"slurs at {rate:.1f} notes a second; your limit for fingers {one}-{other} is {limit:g}"
    numbers: dict[str, float | int | str] = {
        "rate_per_s": round(rate, 2),
        "limit_per_s": limit,
        "fingers": f"{one}-{other}",
    }
    ways = (remedies.strike(note), *remedies.slower(moment.tempo, rate / limit))
    severity = Severity.HARD if rate > SLUR_SLACK * limit else Severity.AWKWARD
    return Finding("slur-too-fast", severity, moment.place, note.course, message, numbers, ways)


def unprepared(moment: Situation) -> Iterator[Finding]:
    """The lower finger of a pull-off has to be down already, and has no time to get there.

    Looked at where the upper note is struck: the finger comes from somewhere else at that very moment.
    """
    step = moment.steps[-1] if moment.steps else None
    if step is None or step.before is None or step.between is None:
        return
    gap_s = step.between.gap_s
    for stop in step.hold.grip.ready:
        old = next((each for each in step.before.grip.down if each.finger == stop.finger and each != stop), None)
        if old is None or gap_s >= READY_S:
            continue
        message = (
            f"finger {stop.finger} has to be down at fret {stop.fret} for the pull-off, "
            f"{gap_s * 1000:.0f} ms after fret {old.fret}"
        )
        numbers: dict[str, float | int | str] = {
            "finger": stop.finger,
            "fret": stop.fret,
            "from_fret": old.fret,
            "gap_ms": round(gap_s * 1000),
        }
        severity = Severity.HARD if gap_s < READY_S / 2 else Severity.AWKWARD
        ways = (*remedies.strike_next(stop), *remedies.slower(moment.tempo, READY_S / gap_s))
        yield Finding("pull-off-unprepared", severity, moment.place, stop.course, message, numbers, ways)


def against_the_law(moment: Situation) -> Iterator[Finding]:
    """What no fingers can do; where set fingers alone make it so, the choice to give up is named."""
    for step in moment.steps:
        if step.hold.points < moment.neck.weights.points["law"] / 2 or not _breaches(moment, step):
            continue
        onset = step.hold.onset
        slurred = [note for note in onset.notes if note.slurred or note.tied]
        chosen = [(note, moment.place) for note in onset.notes if note.finger is not None]
        if slurred and step.before is not None and moment.before_place is not None and onset.grace is None:
            earlier = (note for note in step.before.onset.notes if note.finger is not None)
            chosen += [(note, moment.before_place) for note in earlier]
        if chosen:
            fingers = ", ".join(f"finger {note.finger} at fret {note.fret}" for note, _ in chosen)
            message, code = f"the set fingers are impossible: {fingers}", "set-fingers"
            ways = tuple(remedies.free_fingers(moment, chosen))
        else:
            message, code = "no fingering is possible here", "no-fingering"
            ways = tuple(way for note in slurred for way in _struck(moment, note))
        yield Finding(code, Severity.IMPOSSIBLE, moment.place, onset.notes[0].course, message, {}, ways)


def _struck(moment: Situation, note: Note) -> Iterator[Remedy]:
    """Slide to a slurred note where a finger can, or pick it."""
    source = moment.source(note)
    if source is not None and source.fret and note.fret and source.fret != note.fret and note.slurred:
        yield remedies.reach_by(note, Reached.SLIDE, "slide to it instead")
    yield remedies.strike(note)


def _breaches(moment: Situation, step: Step) -> bool:
    notes = tuple(map(written, step.hold.onset.notes))
    found = list(holding(moment.neck, step.hold.grip, step.hold.frame, notes))
    if step.before is not None and step.between is not None:
        found += changing(moment.neck, step.before.grip, step.hold.grip, step.between, shifts=step.shifts)
    return any(name == "law" and amount for name, amount in found)


WINDOW, MOST = 8, 5  #: onsets; common practice, no source
"""Of so many stopped onsets in a row, at most so many are for the little finger."""


def little_finger_loads(solved: Solved) -> Iterator[Finding]:
    """A remark where the little finger's load begins; not again before it has ended."""
    stopped = [hold for hold in solved.holds if hold.grip.down and not hold.onset.goes_on]
    loaded = [any(stop.finger == 4 for stop in hold.grip.notes) for hold in stopped]
    over = False
    for end in range(WINDOW, len(stopped) + 1):
        count = sum(loaded[end - WINDOW : end])
        if count > MOST and not over and 4 in solved.neck.hand.weak:
            hold = stopped[end - WINDOW]
            message = (
                f"the little finger plays {count} of {WINDOW} stopped notes: rest it, or find another position"
            )
            numbers: dict[str, float | int | str] = {"little": count, "of": WINDOW}
            yield Finding("little-finger-load", Severity.REMARK, hold.onset.place, None, message, numbers)
        over = count > MOST
