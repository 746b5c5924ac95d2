"""Commands of the playback."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from tabterm.errors import ScoreError
from tabterm.piece.practice import CLICKS, FASTEST, LEVELS, PARTS, SLOWEST, TONE, check_percent
from tabterm.score.place import Place, Span
from tabterm.score.swing import FORMS, swing_of, swing_words
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.piece.practice import Practice
    from tabterm.workspace.session import Session

T = TypeVar("T")

LEVELS_OFFERED = (0, 40, 60, 80, 100, 120)
TONES_OFFERED = (0, 50, 80, 100, 120, 150, 200)
"""Percent that can be chosen from; others can be typed."""

CLICK_WORDS = {"off": "no click", "beats": "click on the beats", "offbeats": "click between the beats"}
COUNT_IN_WORDS = ("no count-in", "count-in of one measure", "count-in of two measures")
PARTS_WORDS = {
    "solo": "solo only",
    "both": "solo with chords and bass",
    "chords": "chords and bass only",
}
"""What is said of a choice: a narrow screen has no room for it on the line at the top."""


@command("play", "Play the selection or this measure, or stop", Group.HEAR)
def play(session: Session) -> None:
    """Audition the phrase."""
    if session.transport.playing:
        session.transport.stop()
        return
    _play(session, session.here.selection() or Span.of_measures(*session.here.measures()))


@command("play-on", "Play from the cursor to the end, or stop", Group.HEAR)
def play_on(session: Session) -> None:
    """From here on."""
    if session.transport.playing:
        session.transport.stop()
        return
    if session.here.cursor.place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is past the last measure", hint="go back to the music")
    _play(session, Span(session.here.cursor.place, Place(len(session.score.measures))))


@command("play-all", "Play the whole score with its repeats, or stop", Group.HEAR)
def play_all(session: Session) -> None:
    """From the start, as written."""
    if session.transport.playing:
        session.transport.stop()
        return
    _play(session, None)


@command("stop", "Stop the sound at once", Group.HEAR)
def stop(session: Session) -> None:
    """Silence."""
    session.transport.stop()


@command("stop-here", "Stop and move the cursor to where the sound is", Group.HEAR)
def stop_here(session: Session) -> None:
    """What was just heard is mended there; while it is counted in, nothing was."""
    if not session.transport.playing:
        raise ScoreError("nothing is playing", hint="play first")
    place = session.transport.place()
    session.transport.stop()
    if place is not None:
        session.here.go(place)


@command("loop", "Turn the loop on or off", Group.HEAR)
def loop(session: Session) -> None:
    """Turn the loop on or off."""
    session.transport.set(loop=not session.transport.practice.loop)


@command("click", "Set the click: on the beats, between them, off", Group.HEAR)
def click(session: Session) -> None:
    """The next place for the click."""
    chosen = _after(session.transport.practice.click, CLICKS)
    session.transport.set(click=chosen)
    session.host.say(CLICK_WORDS[chosen])


@command("count-in", "Set the count-in: none, one measure, two", Group.HEAR)
def count_in(session: Session) -> None:
    """Measures counted before the start."""
    measures = (session.transport.practice.count_in + 1) % len(COUNT_IN_WORDS)
    session.transport.set(count_in=measures)
    session.host.say(COUNT_IN_WORDS[measures])


@command("parts", "Hear the solo, the solo with chords, or the chords alone", Group.HEAR)
def parts(session: Session) -> None:
    """Who is heard."""
    chosen = _after(session.transport.practice.parts, PARTS)
    session.transport.set(parts=chosen)
    session.host.say(PARTS_WORDS[chosen])


@command(
    "style",
    "Choose the style of chords and bass (empty: by metre and swing)",
    Group.HEAR,
    asks="style (empty: by metre and swing)",
    choices=lambda _: _styles(),
    suggests=lambda session: session.transport.practice.style or "",
)
def style(session: Session, name: str) -> None:
    """A style for the accompaniment; with one, chords and bass are heard."""
    from tabterm.performance.styles import style_named

    chosen = name.strip() or None
    if chosen is not None:
        style_named(chosen)
    parts = session.transport.practice.parts
    session.transport.set(style=chosen, parts="both" if chosen and parts == "solo" else parts)


@command(
    "hear-swing",
    "Swing the playback whatever the score says (empty: as written)",
    Group.HEAR,
    asks=f"swing: {FORMS}",
    suggests=lambda session: _swing_words(session.transport.practice),
)
def hear_swing(session: Session, text: str) -> None:
    """A line that swings is learnt straight first, and the other way round."""
    session.transport.set(swing=(swing_of(text) or "straight") if text.strip() else "written")


@command(
    "levels",
    "Set the volume of solo, chords, bass and click in percent (empty: the defaults)",
    Group.HEAR,
    asks="levels, such as solo 80 chords 50",
    suggests=lambda session: words_of(session.transport.practice.levels),
    choices=lambda _: tuple(f"{part} {level}" for part in LEVELS for level in LEVELS_OFFERED),
)
def levels(session: Session, text: str) -> None:
    """Change some parts, leave the others as they are."""
    practice = session.transport.practice.with_levels(text)
    session.transport.set(levels=practice.levels)
    session.host.say(f"levels: {words_of(practice.levels) or 'the defaults'}")


def words_of(percents: Iterable[tuple[str, int]]) -> str:
    """Levels or a tone, in the words that set them."""
    return " ".join(f"{name} {percent}" for name, percent in percents)


@command(
    "tone",
    "Shape the built-in sound: brightness, body, room, detuning in percent (empty: the defaults)",
    Group.HEAR,
    asks="tone, such as brightness 120 room 50",
    suggests=lambda session: words_of(session.transport.practice.tone),
    choices=lambda _: tuple(f"{name} {percent}" for name in TONE for percent in TONES_OFFERED),
)
def tone(session: Session, text: str) -> None:
    """Change some of it, leave the rest as it is; the strings that play next have it."""
    practice = session.transport.practice.with_tone(text)
    session.transport.set(tone=practice.tone)
    session.host.say(f"tone: {words_of(practice.tone) or 'the defaults'}")


@command("groove", "Play chords and bass with the style's feel, or exactly on the grid", Group.HEAR)
def groove(session: Session) -> None:
    """Turn the groove on or off."""
    session.transport.set(groove=not session.transport.practice.groove)
    session.host.say("with groove" if session.transport.practice.groove else "without groove: all on the grid")


@command("slower", "Play 5% slower, or go down a rung of the ladder", Group.HEAR)
def slower(session: Session) -> None:
    """Down to 20% of the written tempo."""
    _go_faster(session, -1)


@command("faster", "Play 5% faster, or climb a rung of the ladder", Group.HEAR)
def faster(session: Session) -> None:
    """Up to 200% of the written tempo."""
    _go_faster(session, 1)


@command("half-speed", "Play at half the written tempo or at the whole; the pitch stays", Group.HEAR)
def half_speed(session: Session) -> None:
    """Notes are made anew at any tempo, so that nothing sounds lower."""
    session.transport.set(tempo_percent=100 if session.transport.practice.tempo_percent == 50 else 50, ladder=None)


@command("speed", "Set the tempo in percent of the written tempo", Group.HEAR, asks="percent, 20 to 200")
def speed(session: Session, text: str) -> None:
    """Any speed; a ladder is put away."""
    if not text.isdecimal():
        raise ScoreError(f"cannot play at '{text}' percent", hint="20 to 200")
    check_percent(int(text))
    session.transport.set(tempo_percent=int(text), ladder=None)


@command(
    "output",
    "Choose where the sound goes",
    Group.HEAR,
    asks="device, port:NAME, listener or auto",
    choices=lambda session: ("auto", *session.transport.output_names()),
)
def output(session: Session, text: str) -> None:
    """Play to another output."""
    session.transport.choose(text)


@command("outputs", "List the outputs, with the one in use", Group.HEAR)
def outputs(session: Session) -> None:
    """List what there is."""
    nothing = "no audio device or MIDI port found; the command 'export' writes a MIDI file"
    session.host.say(session.transport.outputs() or nothing)


def _styles() -> tuple[str, ...]:
    from tabterm.performance.styles import STYLES

    return tuple(STYLES)


def _play(session: Session, span: Span | None) -> None:
    session.host.say(session.rehearsal.play(span))


def _swing_words(practice: Practice) -> str:
    swing = practice.swing
    return "" if swing == "written" else swing_words(None if swing == "straight" else swing)


def _after(value: T, values: tuple[T, ...]) -> T:
    """The value that follows in turn."""
    return values[(values.index(value) + 1) % len(values)]


def _go_faster(session: Session, by: int) -> None:
    transport = session.transport
    if transport.practice.ladder is not None:
        transport.climb(by, session.tempo())
        return
    percent = 5 * (round(transport.practice.tempo_percent / 5) + by)
    transport.set(tempo_percent=min(max(percent, SLOWEST), FASTEST))
