"""Commands of the playback."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.place import Place, Span
from tabterm.workspace.registry import Group, command
from tabterm.workspace.transport import CLICKS

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("play", "Play the selection or, without one, this measure; stop when playing", Group.HEAR)
def play(session: Session) -> None:
    """Audition the phrase."""
    if session.transport.playing:
        session.transport.stop()
        return
    _play(session, session.selection() or Span.of_measures(*session.measures()))


@command("play-on", "Play from the cursor to the end; stop when playing", Group.HEAR)
def play_on(session: Session) -> None:
    """From here on."""
    if session.transport.playing:
        session.transport.stop()
        return
    if session.cursor.place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is after the last measure", hint="go back onto the music")
    _play(session, Span(session.cursor.place, Place(len(session.score.measures))))


@command("play-all", "Play the whole score with its repeats; stop when playing", Group.HEAR)
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


@command("loop", "Loop what is played, or play it once", Group.HEAR)
def loop(session: Session) -> None:
    """Turn the loop on or off."""
    session.transport.loop = not session.transport.loop


@command("click", "Click: on the beats, between them, or not", Group.HEAR)
def click(session: Session) -> None:
    """The next place for the click."""
    session.transport.click = CLICKS[(CLICKS.index(session.transport.click) + 1) % len(CLICKS)]


@command("count-in", "Count in: none, one measure, two", Group.HEAR)
def count_in(session: Session) -> None:
    """Measures counted before the start."""
    session.transport.count_in = (session.transport.count_in + 1) % 3


@command("slower", "Play 5 % slower", Group.HEAR)
def slower(session: Session) -> None:
    """Down to 20 % of the written tempo."""
    session.transport.tempo_percent = max(20, session.transport.tempo_percent - 5)


@command("faster", "Play 5 % faster", Group.HEAR)
def faster(session: Session) -> None:
    """Up to 200 % of the written tempo."""
    session.transport.tempo_percent = min(200, session.transport.tempo_percent + 5)


@command("speed", "Play at so many percent of the written tempo", Group.HEAR, asks="percent, 20 to 200")
def speed(session: Session, text: str) -> None:
    """Any speed."""
    if not text.isdecimal() or not 20 <= int(text) <= 200:
        raise ScoreError(f"cannot play at '{text}' percent", hint="20 to 200")
    session.transport.tempo_percent = int(text)


@command("output", "Choose where to play to", Group.HEAR, asks="device, port:NAME, listener or auto")
def output(session: Session, text: str) -> None:
    """Play to another output."""
    session.transport.choose(text)


@command("outputs", "Show where can be played to", Group.HEAR)
def outputs(session: Session) -> None:
    """List what there is."""
    names = session.transport.outputs()
    session.host.say(
        "outputs: " + "; ".join(names)
        if names
        else "no audio device and no MIDI port here (a file can be written instead: the command 'export')"
    )


def _play(session: Session, span: Span | None) -> None:
    session.transport.play(session.score, span)
