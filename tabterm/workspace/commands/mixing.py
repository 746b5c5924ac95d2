"""Commands on how the recording sounds: its side, balance and register, its pitch and its tuning."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.piece.practice import MOST_SEMITONES
from tabterm.score.record_mix import EAR_PERCENT, RecordMix, Side
from tabterm.workspace.commands.recording import LISTENED_S, number_of
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.workspace.session import Session

A_STEP = 20
"""Percent of balance at a key."""

OVERTONES = 2.0
"""The register of a solo reaches to so many times the pitch of the highest fret: an octave more; tuned here."""

SIDE_WORDS = {
    Side.BOTH: "hearing both sides of the recording",
    Side.LEFT: "hearing the left side of the recording",
    Side.RIGHT: "hearing the right side of the recording",
    Side.CENTRE: "hearing the centre of the recording",
    Side.SIDES: "hearing what the two sides do not share",
}


@command("record-side", "Choose the side of the recording: both, left, right, centre, sides", Group.RECORD)
def record_side(session: Session) -> None:
    """Centre keeps what both channels share, often the solo; sides keeps the rest."""
    sides, mix = list(Side), session.transport.practice.mix
    side = sides[(sides.index(mix.side) + 1) % len(sides)]
    session.transport.set(mix=replace(mix, side=side))
    session.host.say(SIDE_WORDS[side])


@command("record-left", "Balance the recording to the left", Group.RECORD)
def record_left(session: Session) -> None:
    """The right side gets softer."""
    _balance(session, -A_STEP)


@command("record-right", "Balance the recording to the right", Group.RECORD)
def record_right(session: Session) -> None:
    """The left side gets softer."""
    _balance(session, A_STEP)


def _balance(session: Session, by: int) -> None:
    mix = session.transport.practice.mix
    balance = min(max(mix.balance + by, -EAR_PERCENT), EAR_PERCENT)
    session.transport.set(mix=replace(mix, balance=balance))
    side, other = ("left", "right") if balance < 0 else ("right", "left")
    words = f"to the {side}, {other} side at {EAR_PERCENT - abs(balance)}%" if balance else "in the middle"
    session.host.say(f"recording balanced {words}")


@command("solo-register", "Bring out the register of the solo in the recording, or stop", Group.RECORD)
def solo_register(session: Session) -> None:
    """What lies beyond the instrument's notes and the octave over them falls back."""
    mix = session.transport.practice.mix
    if mix.register is not None:
        session.transport.set(mix=replace(mix, register=None))
        session.host.say("no longer bringing out a register of the recording")
        return
    instrument = session.score.head.instrument
    opens = [course.pitch for course in instrument.courses]
    low, high = _hz(min(opens)), OVERTONES * _hz(max(opens) + instrument.frets)
    register = round(low), min(round(high), 20_000)
    session.transport.set(mix=replace(mix, register=register))
    session.host.say(f"bringing out {register[0]}-{register[1]} Hz of the recording")


def _hz(pitch: int) -> float:
    return float(440 * 2 ** ((pitch - 69) / 12))


@command(
    "record-mix",
    "Type side, balance and register of the recording",
    Group.RECORD,
    asks="side, balance and Hz, such as centre balance -20 190-1400",
    suggests=lambda session: str(session.transport.practice.mix),
)
def record_mix(session: Session, text: str) -> None:
    """In words, such as `centre balance -20 190-1400`; empty: all as it is."""
    session.transport.set(mix=RecordMix.parse(text))
    session.host.say(f"recording: {session.transport.practice.mix}")


@command(
    "record-pitch",
    "Transpose the recording by semitones (empty: as recorded)",
    Group.RECORD,
    asks=f"semitones, -{MOST_SEMITONES} to {MOST_SEMITONES}",
    suggests=lambda session: f"{session.transport.practice.semitones:g}",
)
def record_pitch(session: Session, text: str) -> None:
    """Its tempo stays."""
    session.transport.set(semitones=number_of(text or "0", "semitones"))


@command(
    "record-tuning",
    "Set how many cents the recording is above A 440 (empty: estimate)",
    Group.RECORD,
    asks="cents, -100 to 100 (empty: estimate)",
)
def record_tuning(session: Session, text: str) -> None:
    """What is heard of it is moved by so much; the file stays as it is."""
    if text.strip():
        session.host.say(_tune(session, number_of(text, "cents")))
        return
    path, (start_s, end_s) = session.recording.path, session.recording.part
    end_s = min(end_s, start_s + LISTENED_S)

    def job(progress: Callable[[float], None]) -> str:
        from tabterm.piece.proposing import tuning_of

        progress(0.0)
        cents = tuning_of(path, start_s, end_s)
        if cents is None:
            return "nothing to tune to: that part is silent"
        session.host.soon(lambda: session.host.say(_tune(session, round(cents))))
        return f"the recording is {cents:+.0f} cents from A 440"

    session.host.work(job)


def _tune(session: Session, cents: float) -> str:
    """Hear the recording so many cents from its own pitch; what there is to say."""
    if abs(cents) > 100:
        raise ScoreError(f"not a tuning: {cents:g} cents", hint="-100 to 100")
    session.recording.change(tuning_cents=cents or None)
    return (
        f"the recording is {cents:+g} cents from A 440; you hear it in tune"
        if cents
        else "hearing the recording at its own pitch"
    )
