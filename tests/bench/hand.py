"""The hand: fingering a solo, one edit of it, 1,000 measures, alternatives, findings, memory and growth.

Each solve stands for a fresh score: what was remembered of it is forgotten first. "Cold" forgets the tables of
the search too, as in a command that has just been started; "warm" is what an editor that is open meets.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time

from tabterm.formats import native
from tabterm.hand import grips, search
from tabterm.hand.alternatives import alternatives
from tabterm.hand.difficulty import curve
from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import carried_out, free_fingers
from tabterm.hand.review import findings
from tabterm.hand.strokes import with_proposals
from tabterm.memory import MEMORIES
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Event, Measure, Note, Score
from tabterm.score.operations import put_note
from tabterm.score.place import Place, Span
from tests.bench.figure import Figure
from tests.bench.files import SAMPLE, long_score, seconds
from tests.build import PLAYER

OPEN = {1: 76, 2: 69, 3: 62, 4: 55}


def solo() -> Score:
    """The sample's 16 measures without the fingers set in it."""
    sample = native.read(SAMPLE.read_bytes())
    return with_proposals(free_fingers(sample, Span.of_measures(0, len(sample.measures))), PLAYER)


def wandering(count: int) -> Score:
    """Measures of eighths that wander by steps and leaps over two octaves and a half, and never rest."""
    draw, pitch, measures = random.Random(1), 67, []
    for _ in range(count):
        events = []
        for _ in range(8):
            pitch = max(55, min(88, pitch + draw.choice([-4, -3, -2, -1, 1, 2, 3, 4])))
            course = next(number for number, lowest in OPEN.items() if pitch >= lowest)
            events.append(Event(duration=EIGHTH, notes=(Note(course=course, fret=pitch - OPEN[course]),)))
        measures.append(Measure(events=tuple(events)))
    return with_proposals(Score(measures=tuple(measures)), PLAYER)


def forget(*, tables: bool) -> None:
    """Forget what was solved and, for a cold start, the tables of the search."""
    for name in ("fingerings", "fingerings of phrases that look alike"):
        MEMORIES[name].forget()
    if tables:
        for table in (search.columns, search._shift, grips.layer_of):
            table.cache_clear()


def solving_ms(score: Score, *, keep: bool, cold: bool) -> float:
    """Time to finger a score."""

    def solve() -> None:
        forget(tables=cold)
        fingering(score, PLAYER, keep_courses=keep)

    return seconds(solve) * 1000


def editing_ms(score: Score, *, keep: bool) -> float:
    """Time to finger a score anew after one note in its middle has become another."""
    times = []
    for fret in (1, 3, 5, 6, 8):
        forget(tables=False)
        fingering(score, PLAYER, keep_courses=keep)
        changed = put_note(score, Place(len(score.measures) // 2), Note(course=2, fret=fret), EIGHTH)
        start = time.perf_counter()
        fingering(changed, PLAYER, keep_courses=keep)
        times.append(time.perf_counter() - start)
    return sorted(times)[2] * 1000


def growth(counts: tuple[int, ...] = (125, 250, 500, 1000)) -> float:
    """Exponent of the time over the number of measures, fitted on logarithms: 1 is linear."""
    import math

    points = [(math.log(count), math.log(solving_ms(wandering(count), keep=True, cold=False))) for count in counts]
    mean_x = sum(x for x, _ in points) / len(points)
    mean_y = sum(y for _, y in points) / len(points)
    return sum((x - mean_x) * (y - mean_y) for x, y in points) / sum((x - mean_x) ** 2 for x, _ in points)


def memory_mb() -> float:
    """What fingering 1,000 measures adds to a process that has loaded the search, in MB."""
    program = (
        "from tests.bench.hand import PLAYER, wandering, fingering; import psutil; here = psutil.Process();"
        "score = wandering(1000); fingering(wandering(1), PLAYER); before = here.memory_info().rss;"
        "solved = fingering(score, PLAYER); print((here.memory_info().rss - before) / 1e6)"
    )
    run = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True)
    return float(run.stdout)


def curve_ms(score: Score, fret: int | None = None) -> float:
    """Time for the curve of difficulty once the hand is known; with a fret, after one note has become another."""
    score = carried_out(score, fingering(score, PLAYER).holds())
    if fret is not None:
        curve(score, fingering(score, PLAYER))
        score = put_note(score, Place(len(score.measures) // 2), Note(course=2, fret=fret), EIGHTH)
    hand = fingering(score, PLAYER)
    start = time.perf_counter()
    curve(score, hand)
    return (time.perf_counter() - start) * 1000


def figures() -> list[Figure]:
    """Figures of the left hand."""
    tune, random_tune, long = solo(), wandering(19), wandering(1000)
    everything = Span.of_measures(0, len(tune.measures))
    one = solving_ms(tune, keep=False, cold=True)

    def three() -> None:
        forget(tables=True)
        alternatives(tune, PLAYER, everything, 3)

    proposed = carried_out(tune, fingering(tune, PLAYER).holds())
    return [
        Figure("finger 16 measures, courses kept, cold", solving_ms(tune, keep=True, cold=True), "ms", 50),
        Figure("finger 16 measures, courses free, cold", one, "ms", 50),
        Figure("finger 16 measures, courses free, warm", solving_ms(tune, keep=False, cold=False), "ms", 50),
        Figure(
            "finger 152 random notes, courses free, cold",
            solving_ms(random_tune, keep=False, cold=True),
            "ms",
            note="no two measures alike",
        ),
        Figure("finger after one edit, courses kept", editing_ms(tune, keep=True), "ms", 10),
        Figure("finger after one edit, courses free", editing_ms(tune, keep=False), "ms", 10),
        Figure("finger 1,000 measures, courses kept, cold", solving_ms(long, keep=True, cold=True), "ms", 3000),
        Figure("finger 1,000 measures, courses free, cold", solving_ms(long, keep=False, cold=True), "ms", 3000),
        Figure("growth with the number of measures", growth(), "exponent", 1.1, "125 to 1,000 measures"),
        Figure("memory for 1,000 measures", memory_mb(), "MB"),
        Figure(
            "three alternatives over one fingering", seconds(three) * 1000 / one, "times", 3, "16 measures, cold"
        ),
        Figure(
            "findings of 16 measures",
            seconds(lambda: findings(proposed, PLAYER)) * 1000,
            "ms",
            note="fingering known",
        ),
        Figure("difficulty of 1,000 measures, cold", curve_ms(long_score(1000)), "ms", 1000, "fingering known"),
        Figure("difficulty after one edit of them", curve_ms(long_score(1000), 9), "ms", 10, "fingering known"),
        Figure("difficulty after one edit of a solo", curve_ms(tune, 9), "ms", 10, "fingering known"),
    ]
