"""Commands on the whole score: what its head says."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.schools import by_school, school_named
from tabterm.instrument import PRESETS, Course, Instrument, parse_pitch, pitch_name, preset
from tabterm.score import operations as do
from tabterm.score.key import KEYS, Key
from tabterm.score.kinds import StrokeSchool
from tabterm.score.place import Span
from tabterm.score.swing import FORMS, swing_of, swing_words
from tabterm.workspace.commands.selecting import rework_courses
from tabterm.workspace.commands.strokes import say_idle
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("title", "Set the title", Group.SCORE, asks="title", suggests=lambda session: session.score.head.title)
def title(session: Session, text: str) -> None:
    """Set the title."""
    session.rework(do.set_title(session.score, text.strip()), "title")


@command(
    "credits",
    "Set the credits: lines separated by semicolons",
    Group.SCORE,
    asks="credits",
    suggests=lambda session: "; ".join(session.score.head.credits),
)
def set_credits(session: Session, text: str) -> None:
    """Set the credit lines."""
    lines = tuple(line.strip() for line in text.split(";") if line.strip())
    session.rework(do.set_credits(session.score, lines), "credits")


@command(
    "foreword",
    "Write a foreword to the student for the front of the handout",
    Group.SCORE,
    asks="words to the student",
    suggests=lambda session: " ".join(session.score.head.foreword.split()),
)
def foreword(session: Session, text: str) -> None:
    """Set the foreword."""
    session.rework(do.set_foreword(session.score, text.strip()), "foreword")


@command(
    "pickup",
    "Set the length of the pickup in quarters (0: none)",
    Group.SCORE,
    asks="quarters, such as 3 or 1/2 (0: none)",
)
def pickup(session: Session, text: str) -> None:
    """Shorten the first measure to a pickup, or make it whole again."""
    try:
        quarters = Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        raise ScoreError(f"not a length: '{text}'", hint="quarters, such as 3 or 1/2") from None
    session.rework(do.set_pickup(session.score, quarters or None), "pickup")


@command(
    "instrument",
    "Choose the instrument",
    Group.SCORE,
    asks="instrument",
    choices=lambda _: tuple(PRESETS),
)
def instrument(session: Session, word: str) -> None:
    """Play the same frets on another instrument of the family."""
    session.rework(do.set_instrument(session.score, preset(word.strip())), f"instrument {word}")


@command(
    "tuning",
    "Retune the courses, from the highest",
    Group.SCORE,
    asks="open pitches, such as E5 A4 D4 G3",
    suggests=lambda session: " ".join(
        pitch_name(course.pitch) for course in session.score.head.instrument.courses
    ),
)
def tuning(session: Session, text: str) -> None:
    """Give each course another open pitch; the frets stay."""
    old = session.score.head.instrument
    pitches = [parse_pitch(word) for word in text.split()]
    if len(pitches) != old.course_count:
        raise ScoreError(f"{len(pitches)} pitches for {old.course_count} courses", hint="one for each course")
    courses = tuple(
        Course(pitch=pitch, octave=course.octave, single=course.single)
        for pitch, course in zip(pitches, old.courses, strict=True)
    )
    session.rework(do.set_instrument(session.score, old.with_(courses=courses)), "tuning")


@command(
    "frets",
    "Set the number of frets and the scale length",
    Group.SCORE,
    asks="frets and mm, such as 20 352.4",
    suggests=lambda session: (
        f"{session.score.head.instrument.frets} {session.score.head.instrument.scale_length_mm:g}"
    ),
)
def frets(session: Session, text: str) -> None:
    """Measure the neck."""
    old = session.score.head.instrument
    try:
        count, length = text.split()
        changed: Instrument = old.with_(frets=int(count), scale_length_mm=float(length))
    except ValueError:
        raise ScoreError(
            f"not a neck: '{text}'", hint=_meant(text, "frets (1 to 36) and mm, such as 20 352.4")
        ) from None
    session.rework(do.set_instrument(session.score, changed), "neck")


@command(
    "swing",
    "Swing the eighths or sixteenths",
    Group.SCORE,
    asks=f"swing: {FORMS}",
    suggests=lambda session: swing_words(session.score.head.swing),
)
def swing(session: Session, text: str) -> None:
    """Set or end the swing."""
    value = swing_of(text)
    session.rework(do.set_swing(session.score, value), "no swing" if value is None else "swing")


@command(
    "school",
    "Choose the picking school of the whole score",
    Group.SCORE,
    asks="school",
    choices=lambda _: tuple(StrokeSchool),
)
def school(session: Session, word: str) -> None:
    """Choose how strokes are proposed, from beginning to end."""
    chosen = school_named(word)
    session.rework(by_school(session.score, chosen), f"picking school {chosen}")
    say_idle(session, 0, len(session.score.measures) - 1)


@command(
    "hand-span",
    "Set the hand span for this score, or go back to your own",
    Group.SCORE,
    asks="mm (mine: your own)",
    suggests=lambda session: f"{session.player.at(session.score.head).hand.span_mm:g}",
)
def hand_span(session: Session, text: str) -> None:
    """Scale every reach of this score to another hand, or back to that of the configuration."""
    try:
        mine = text.strip() == "mine"
        hand = session.player.at(session.score.head).hand
        profile = None if mine else hand.with_(span_mm=float(text))
    except ValueError:
        raise ScoreError(f"not a span: '{text}'", hint=_meant(text, "60 to 220 mm, or mine")) from None
    session.rework(do.set_hand(session.score, profile), "hand span")


def _meant(text: str, hint: str) -> str:
    """What to do about numbers that cannot be used: write a point for a comma, where there is one."""
    return f"write {text.strip().replace(',', '.')}" if "," in text else hint


INTERVALS = (
    *("", "a semitone", "a tone", "a minor third", "a major third", "a fourth", "a tritone"),
    *("a fifth", "a minor sixth", "a major sixth", "a minor seventh", "a major seventh"),
)
"""How far so many semitones are."""


@command(
    "transpose-to",
    "Transpose the whole score to another key",
    Group.SCORE,
    asks="key, such as A, Dm or D major (without a mode: as now)",
    choices=lambda _: KEYS,
)
def transpose_to(session: Session, text: str) -> None:
    """Notes and chord symbols go to the tonic of the new key, by the shorter way or the one with lower frets."""
    score, key = session.score, Key.parse(text)
    if text.strip()[-1] in "ABCDEFG#b":
        key = replace(key, mode=score.head.key.mode)
    way = do.way_to(score, key)
    label = f"transpose to {key}" + (f", {INTERVALS[abs(way)]} {'up' if way > 0 else 'down'}" if way else "")
    span = Span.of_measures(0, len(score.measures) - 1)
    rework_courses(session, do.transpose_to_key(score, key), span, label)
