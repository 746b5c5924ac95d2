"""Commands on the file, the history and the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.errors import ScoreError, StorageError
from tabterm.page.rows import COURSE, ON_SCREEN, row_named
from tabterm.printable import counted
from tabterm.storage.names import file_named, free_file
from tabterm.workspace import drafts
from tabterm.workspace.commands.handing import follow_save
from tabterm.workspace.effect import effect_of
from tabterm.workspace.here import NOTHING_PENDING
from tabterm.workspace.outside import DoubtError
from tabterm.workspace.registry import Group, command

AUDIO = (".mp3", ".wav", ".flac", ".ogg")
"""Endings that are offered for an audio file."""

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.piece.practice import Practice
    from tabterm.score.change import Change
    from tabterm.workspace.session import Session


@command("undo", "Undo the last change, or clear the settings for the next note", Group.FILE)
def undo(session: Session) -> None:
    """One change back, the cursor goes where it was made; what is pending is later than any change."""
    if session.next_note.pending != NOTHING_PENDING:
        session.next_note.pending = NOTHING_PENDING
        session.host.say("cleared the settings for the next note")
        return
    _travel(session, session.document.undo, "undo")


@command("redo", "Redo", Group.FILE)
def redo(session: Session) -> None:
    """One change forward."""
    _travel(session, session.document.redo, "redo")


def _travel(session: Session, step: Callable[[], Change | None], word: str) -> None:
    """Take a step through the changes, go where it was made, and say which."""
    before, change = session.score, step()
    if change is None:
        raise ScoreError(f"nothing to {word}")
    session.take_change(change)
    session.here.anchor = session.here.written = None
    session.here.stay_inside()
    effect = effect_of(change)
    session.light(effect, f"{word}ne: {change.label}", before)
    if effect is None:
        return
    session.here.go(effect.span.start)
    if effect.course and session.here.cursor.row is COURSE:
        session.here.cursor = session.here.cursor.on(COURSE, effect.course)


@command("save", "Save the file", Group.FILE)
def save(session: Session) -> None:
    """Write the document to its file; ask where that is not as it was left."""
    try:
        session.document.save()
    except DoubtError as error:
        session.doubt = error.doubt
        session.host.open_panel("doubt")
    else:
        _saved(session)


@command("save-over", "Save over the other program's version", Group.FILE)
def save_over(session: Session) -> None:
    """Write the document to its file, whatever has become of that."""
    session.document.save(sure=True)
    _saved(session)


@command("save-beside", "Keep both versions: save yours under a new name", Group.FILE)
def save_beside(session: Session) -> None:
    """Leave the file as another program has written it."""
    session.document.save_beside()
    session.rehearsal.saved()
    session.host.say(f"saved {session.document.path.name}")
    follow_save(session)


@command("take-theirs", "Load the other program's version; undo brings yours back", Group.FILE)
def take_theirs(session: Session) -> None:
    """Go on from what is in the file now."""
    session.take_change(session.document.take_theirs())
    session.here.stay_inside()
    session.host.say(f"{session.document.path.name} loaded; undo brings yours back")


@command("recover", "Recover unsaved work that was put aside", Group.FILE)
def recover(session: Session) -> None:
    """Open the list, where there is anything in it."""
    if not drafts.kept_aside(session.document.path):
        raise StorageError("this file has no unsaved work to recover")
    session.host.open_panel("recover")


def _saved(session: Session) -> None:
    session.rehearsal.saved()
    trouble, more = False, ""
    try:
        if taught := session.lessons.learn():
            more = f", learnt from your fingers in {counted(taught, 'measure')}"
    except StorageError as error:
        trouble, more = True, f"; {error}"
    session.host.say(f"saved {session.document.path.name}{more}", trouble=trouble)
    follow_save(session)


@command("save-as", "Save under another name and continue there", Group.FILE, asks="file name")
def save_as(session: Session, name: str) -> None:
    """Write the document to another file and go on with that."""
    session.document.save_as(file_named(name))
    session.rehearsal.saved()
    session.host.say(f"saved {session.document.path.name}")
    follow_save(session)


@command(
    "export",
    "Export a copy in another format: text tab, ABC, MusicXML or MIDI",
    Group.FILE,
    asks="file name with the extension .txt, .abc, .musicxml, .mxl or .mid",
    suggests=lambda session: session.document.path.with_suffix(".mid").name,
)
def export(session: Session, name: str) -> None:
    """Write the score to a file of another format, which must not be there yet."""
    path = free_file(session.document.path.parent, name)
    if path.suffix == session.document.path.suffix:
        raise StorageError(f"'{path.suffix}' is this file's own format", hint="use save-as for a copy")
    report = formats.write(path, session.score)
    session.host.say("; ".join((f"written: {path.name}", *report.lines(session.score))))


@command(
    "render",
    "Export the selection or the whole score as audio",
    Group.FILE,
    asks="file name with the extension .wav, .flac, .ogg or .mp3",
    suggests=lambda session: session.document.path.with_suffix(".mp3").name,
    choices=lambda session: [session.document.path.with_suffix(ending).name for ending in AUDIO],
)
def render(session: Session, name: str) -> None:
    """Render as it is practised: tempo, parts, levels, click and count-in; once, without the loop."""
    from tabterm.piece import audio

    path = free_file(session.document.path.parent, name)
    audio.check_ending(path)
    score, span, practice = session.score, session.here.selection(), _once(session.transport.practice)

    def job(progress: Callable[[float], None]) -> str:
        percent = round(practice.tempo_percent)
        performance = audio.performance_of(score, span, practice, percent)
        heard = frozenset(pluck.part for pluck in performance.plucks)
        take = audio.AudioFile(path, performance, heard, 1, audio.tags_of(score, None, percent))
        audio.write([take], _counting(take.frames, progress))
        return f"written: {path.name}"

    session.host.work(job)


@command(
    "handout",
    "Make a handout: a folder with booklet, audio at several tempos, MIDI, MusicXML and tab",
    Group.FILE,
    asks="folder",
    suggests=lambda session: f"{session.document.path.stem}-handout",
)
def handout(session: Session, name: str) -> None:
    """Five tempos from 60 to 100 percent, of the whole score."""
    from tabterm.piece.handout.folder import Handout
    from tabterm.piece.handout.pack import TEMPOS
    from tabterm.piece.piece import Piece
    from tabterm.storage.whole import filling

    folder = session.document.path.parent / file_named(name)
    if folder.exists():
        raise StorageError(f"{folder.name} already exists", hint="choose another name")
    practice = _once(session.transport.practice).with_(parts="both", count_in=1)
    piece = Piece(session.score, session.document.player)
    given = Handout(piece, session.document.path.stem, practice, TEMPOS)

    def job(progress: Callable[[float], None]) -> str:
        with filling(folder) as new:
            takes = given.takes(new)
            names = given.fill(new, takes, _counting(given.frames(takes), progress))
        return f"written: {len(names)} files in {folder.name}"

    session.host.work(job)


def _once(practice: Practice) -> Practice:
    """The same way of playing, at the tempo where it stands, without loop and ladder."""
    return practice.with_(loop=False, ladder=None, pre_roll=None)


def _counting(total: int, progress: Callable[[float], None]) -> Callable[[int], None]:
    """What to call with the frames written since; it tells which part of all that is."""
    done = 0

    def watch(frames: int) -> None:
        nonlocal done
        done += frames
        progress(min(done / total, 1.0) if total else 1.0)

    return watch


@command("quit", "Quit the editor", Group.FILE)
def quit_editor(session: Session) -> None:
    """Leave; with unsaved work, ask first."""
    if session.document.unsaved and session.document.read_only is None:
        session.host.open_panel("leave")
    else:
        session.host.leave()


@command("help", "Show all commands and their keys", Group.FILE)
def show_help(session: Session) -> None:
    """Open the help screen."""
    session.host.open_panel("help")


@command("find-command", "Find a command by its name or what it does", Group.FILE)
def find_command(session: Session) -> None:
    """Open the palette."""
    session.host.open_panel("palette")


@command(
    "toggle-row",
    "Show or hide a row",
    Group.FILE,
    asks="row",
    choices=lambda _: tuple(row.name for row in ON_SCREEN if row is not COURSE),
)
def toggle_row(session: Session, name: str) -> None:
    """Hide a row that is shown, show one that is hidden or was left out for want of room; courses stay."""
    rows = [row for row in ON_SCREEN if row is not COURSE]
    row = row_named(name, rows)
    if row is None:
        raise ScoreError(f"no row '{name}' to show or hide", hint=", ".join(row.name for row in rows))
    shown = session.shown
    if row in shown.hidden_rows | shown.left_out:
        shown.hidden_rows, shown.wanted_rows = shown.hidden_rows - {row}, shown.wanted_rows | {row}
    else:
        shown.hidden_rows, shown.wanted_rows = shown.hidden_rows | {row}, shown.wanted_rows - {row}
    if session.here.cursor.row in session.shown.hidden_rows:
        session.here.cursor = session.here.cursor.on(COURSE)
    session.host.redraw()


@command("toggle-neck", "Show or hide the neck", Group.FILE)
def toggle_neck(session: Session) -> None:
    """Make room for one more system, or show the neck again."""
    session.shown.neck = not session.shown.neck
    session.host.redraw()


@command("redraw", "Redraw the screen", Group.FILE)
def redraw(session: Session) -> None:
    """After something else has written over the terminal."""
    session.host.redraw()
