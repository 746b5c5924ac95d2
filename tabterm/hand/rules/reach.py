"""Rules on where fingers are: how far they reach, whether there are enough, and what the neck has no room for."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from tabterm.hand.bands import TOLERATED_IN_TURN, VERDICTS, Verdict, is_strained
from tabterm.hand.finding import Finding, Severity
from tabterm.hand.neck import Reach, less, stopped, widest_of
from tabterm.hand.rules import remedies
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Situation

SEVERITY_OF = {
    Verdict.IMPOSSIBLE: Severity.IMPOSSIBLE,
    Verdict.EXTREME: Severity.HARD,
    Verdict.HARD: Severity.HARD,
    Verdict.AWKWARD: Severity.AWKWARD,
}
SHIFT_S = 0.25  #: s; common practice, no source
"""With this much time between two onsets the hand moves over instead of reaching; with less, a reach
between two struck notes counts one step milder than one that is held."""


def reach_together(moment: Situation) -> Iterator[Finding]:
    """Fingers that are down at one moment: of a double stop, of what rings on under it, of a slur to come."""
    if moment.steps and moment.steps[-1].hold.onset.goes_on and not moment.grip.ready:
        return
    reach = widest_of(moment.neck, moment.grip.down)
    if reach is not None and reach.verdict in SEVERITY_OF and _strained(moment, reach):
        yield _finding(moment, "reach", reach, SEVERITY_OF[reach.verdict], "")


def _strained(moment: Situation, reach: Reach) -> bool:
    return is_strained(reach.fingers, reach.reach_mm, moment.neck.hand.span_mm)


def reach_next(moment: Situation) -> Iterator[Finding]:
    """Fingers of two moments in a row, where the hand stays or has little time to move over.

    What the hand travels meanwhile is taken off the reach.

    Both fingers of a hammer-on are down together, and those that go to and fro fast are as good as held, so that
    these count in full; a pull-off's are looked at where the higher one is struck.
    """
    step = moment.steps[-1] if moment.steps else None
    if step is None or step.before is None or step.between is None:
        return
    for note, stop in zip(step.hold.onset.notes, step.hold.grip.notes, strict=True):
        for earlier in step.before.grip.notes:
            hammered = note.reached is Reached.HAMMER and earlier.course == stop.course
            if note.tied or note.reached in {Reached.SLIDE, Reached.PULL} or earlier.finger == stop.finger:
                continue
            alternating = step.between.alternates and not step.shifts
            in_full = hammered or alternating
            if not hammered and step.between.gap_s >= SHIFT_S:
                continue
            reach = widest_of(moment.neck, (earlier, stop))
            if reach is None or reach.reach_mm < 0:
                continue
            if step.shifts:
                neck = moment.neck
                travel_mm = abs(neck.mm(step.hold.frame) - neck.mm(step.before.frame))
                reach = less(reach, travel_mm, moment.neck.hand.span_mm)
            verdict = reach.verdict if in_full else VERDICTS[max(VERDICTS.index(reach.verdict) - 1, 0)]
            if verdict in SEVERITY_OF and (
                _strained(moment, reach) if in_full else reach.points > TOLERATED_IN_TURN
            ):
                words = "" if hammered else f" within {step.between.gap_s * 1000:.0f} ms"
                words += " to and fro" if alternating else ""
                yield _finding(moment, "reach-next", reach, SEVERITY_OF[verdict], words)
                return


def _finding(moment: Situation, code: str, reach: Reach, severity: Severity, words: str) -> Finding:
    one, other = reach.fingers
    low, high = sorted(reach.frets)
    crossed = ", the fingers crossed" if reach.reach_mm < 0 else ""
    message = (
        f"reach {one}-{other}, frets {low} to {high}{words}, is {abs(reach.reach_mm):.0f} mm{crossed} "
        f"(comfortable up to {reach.comfortable_mm:.0f} mm)"
    )
    note = next((n for n in moment.event.notes if n.fret in reach.frets), None)
    slurred = [each for each in moment.event.notes if each.fret in reach.frets and each.slurred]
    ways = [
        *(remedies.reach_by(each, Reached.SLIDE, "slide to it instead") for each in slurred),
        *(remedies.strike(each) for each in slurred),
        *(remedies.slower(moment.tempo, SHIFT_S / moment.gap_s) if code == "reach-next" else ()),
        *(remedies.one_by_one() if code == "reach" else ()),
    ]
    numbers: dict[str, float | int | str] = {
        "reach_mm": round(reach.reach_mm, 2),
        "comfortable_mm": round(reach.comfortable_mm, 2),
        "extreme_mm": round(reach.extreme_mm, 2),
        "low_fret": low,
        "high_fret": high,
        "fingers": f"{one}-{other}",
    }
    if code == "reach-next":
        numbers["gap_ms"] = round(moment.gap_s * 1000)
    return Finding(code, severity, moment.place, note.course if note else None, message, numbers, tuple(ways))


def fingers_doubled(moment: Situation) -> Iterator[Finding]:
    """One finger set on two frets at once: in a double stop, or at both ends of a hammer-on or pull-off."""
    pairs = list(combinations(stopped(moment.event.notes), 2))
    for note in stopped(moment.event.notes):
        source = moment.source(note)
        if source is not None and source.fret > 0 and note.reached.value in {"hammer", "pull"}:
            pairs.append((source, note))
    for one, other in pairs:
        if one.finger and one.finger == other.finger and one.fret != other.fret:
            message = f"finger {one.finger} is set on frets {one.fret} and {other.fret} at once"
            ways = tuple(remedies.free_fingers(moment, [(one, moment.place), (other, moment.place)]))
            numbers = {"finger": one.finger, "low_fret": one.fret, "high_fret": other.fret}
            yield Finding(
                "one-finger-two-frets",
                Severity.IMPOSSIBLE,
                moment.place,
                other.course,
                message,
                numbers,
                ways,
            )


def too_few_fingers(moment: Situation) -> Iterator[Finding]:
    """More stopped places than four fingers can hold; neighbouring courses at one fret share a finger."""
    ringing = [note for note in moment.ringing if moment.event.on_course(note.course) is None]
    held = sorted(stopped([*moment.event.notes, *ringing]), key=lambda note: (note.fret, note.course))
    needed = 0
    for number, note in enumerate(held):
        before = held[number - 1] if number else None
        shares = before is not None and before.fret == note.fret and before.course + 1 == note.course
        needed += not shares
    if needed > 4:
        message = f"{needed} fingers are needed at once; a hand has 4"
        yield Finding("too-few-fingers", Severity.IMPOSSIBLE, moment.place, None, message, {"needed": needed})


def beyond_the_neck(moment: Situation) -> Iterator[Finding]:
    """A fret that the instrument does not have."""
    instrument = moment.head.instrument
    for note in (*moment.event.grace, *moment.event.notes):
        if note.fret > instrument.frets:
            message = f"fret {note.fret} is beyond the neck: this {instrument.name} has {instrument.frets} frets"
            numbers: dict[str, float | int | str] = {"fret": note.fret, "frets": instrument.frets}
            ways = tuple(remedies.other_courses(moment.head, moment.event, note))
            yield Finding(
                "beyond-the-neck", Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways
            )


def two_frets_one_course(moment: Situation) -> Iterator[Finding]:
    """A note that is to ring on while its own course is stopped elsewhere by the very next event."""
    if moment.before is None or moment.before_place is None:
        return
    for note in moment.event.notes:
        earlier = moment.before.on_course(note.course)
        if earlier is None or not earlier.ring or note.tied or note.slurred or earlier.fret == note.fret:
            continue
        message = f"fret {earlier.fret} cannot ring on: fret {note.fret} comes next on the same course"
        numbers: dict[str, float | int | str] = {"ringing_fret": earlier.fret, "fret": note.fret}
        ways = (
            *remedies.other_courses(moment.head, moment.event, note),
            remedies.let_not_ring(moment, earlier, moment.before_place),
        )
        yield Finding(
            "two-frets-one-course", Severity.IMPOSSIBLE, moment.place, note.course, message, numbers, ways
        )
