"""Commands of practising: the ladder, what leads in, versions of a phrase, the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.piece.practice import PRE_ROLL_HINT, Heard, Ladder, PreRoll
from tabterm.score.click_rests import ClickRests
from tabterm.storage.names import free_file
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session

HEARD_WORDS = {
    Heard.SCORE: "A: the version in the score",
    Heard.ASIDE: "B: the version put aside",
    Heard.IN_TURN: "A, then B",
    Heard.ORIGINAL: "the original line",
    Heard.BESIDE: "the original line, then the version in the score",
}


@command("last-loop", "Play the last loop as you practised it, or stop", Group.PRACTISE)
def last_loop(session: Session) -> None:
    """Take it up where it was left, today or another day."""
    if session.transport.playing:
        session.transport.stop()
    else:
        session.host.say(session.rehearsal.play_last())


@command(
    "ladder",
    "Set a tempo ladder from START to END by STEP, with turns on each rung (empty: none)",
    Group.PRACTISE,
    asks="START:END:STEPxTURNS",
    suggests=lambda session: str(session.transport.practice.ladder or "60:100:5x3"),
)
def ladder(session: Session, text: str) -> None:
    """`faster` and `slower` go up and down its rungs; with turns it climbs by itself."""
    chosen = Ladder.parse(text) if text.strip() else None
    if chosen is not None:
        chosen.rungs(session.tempo())
    session.transport.set(ladder=chosen)


@command(
    "pre-roll",
    "Play some measures or beats before the selection (empty: none)",
    Group.PRACTISE,
    asks=f"pre-roll, {PRE_ROLL_HINT}",
    suggests=lambda session: str(session.transport.practice.pre_roll or ""),
)
def pre_roll(session: Session, text: str) -> None:
    """What leads into the phrase, once or before every turn."""
    session.transport.set(pre_roll=PreRoll.parse(text) if text.strip() else None)


@command(
    "click-rests",
    "Silence the click every few measures, or in chosen ones (empty: never)",
    Group.PRACTISE,
    asks="measures with and without click, such as 2 1; or silent ones, such as m3 m7-8",
    suggests=lambda session: str(session.transport.practice.click_rests or ""),
)
def click_rests(session: Session, text: str) -> None:
    """Who keeps time alone for a measure hears at once whether it was kept. The click is turned on with it."""
    rests, click = ClickRests.parse(text) if text.strip() else None, session.transport.practice.click
    session.transport.set(click_rests=rests, click="beats" if rests and click == "off" else click)


@command("follow", "Scroll with the sound, or stay with the cursor", Group.PRACTISE)
def follow(session: Session) -> None:
    """Scrolls by whole systems; a step of the cursor brings the cursor back."""
    session.shown.follows = not session.shown.follows
    session.host.say("the page follows the sound" if session.shown.follows else "the page stays with the cursor")


@command("put-aside", "Put the phrase aside as version B, and change it in the score", Group.PRACTISE)
def put_aside(session: Session) -> None:
    """The measures of the selection, or this one, as they stand."""
    session.rehearsal.put_aside(*session.here.measures())
    session.host.say("put aside as version B; change the phrase and compare")


@command(
    "version",
    "Hear version A (the score), B, A then B, or the original line",
    Group.PRACTISE,
)
def version(session: Session) -> None:
    """A, B, A then B, the original, also before A, as far as they are there; in a loop from the next beat."""
    session.host.say(HEARD_WORDS[session.rehearsal.hear_next()])


@command("take-version", "Swap version B with the version in the score", Group.PRACTISE)
def take_version(session: Session) -> None:
    """A change like any other: undo takes it back."""
    session.edit(session.rehearsal.with_other(), "other version")
    session.host.say("swapped the versions")


@command("practice-log", "Show the practice log: tempo by day for each passage", Group.PRACTISE)
def practice_log(session: Session) -> None:
    """Open the practice log."""
    session.host.open_panel("practice")


@command(
    "export-log",
    "Export this piece's practice log as CSV",
    Group.PRACTISE,
    asks="file name with the extension .csv",
    suggests=lambda session: f"{session.document.path.stem}-practice.csv",
)
def export_log(session: Session, name: str) -> None:
    """Write the entries of this piece to a file, which must not be there yet."""
    from tabterm.piece.practice_log import as_csv
    from tabterm.storage.whole import atomic_write

    path = free_file(session.document.path.parent, name)
    atomic_write(path, as_csv(session.rehearsal.entries()).encode())
    session.host.say(f"written: {path.name}")
