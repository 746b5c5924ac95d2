"""The registry of commands: one table that the keys, the palette, the help and the documents are drawn from."""

from __future__ import annotations

import inspect
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, cast

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.workspace.session import Session


class Group(StrEnum):
    """Headings of the help screen and of the key table."""

    MOVE = "Moving"
    WRITE = "Writing"
    RHYTHM = "Rhythm"
    LEFT = "Left hand"
    FINGERS = "Fingers"
    STROKES = "Pick strokes"
    SELECT = "Selecting and copying"
    MEASURES = "Measures"
    SCORE = "The whole score"
    THEORY = "Chords, phrases and double stops"
    ORIGINAL = "The original line"
    HEAR = "Hearing"
    PRACTISE = "Practising"
    RECORD = "The recording"
    FINDINGS = "Findings"
    FILE = "File and screen"


class Rows(StrEnum):
    """The rows that a command writes on; on another it does nothing but say so."""

    ANY = "any"
    COURSES = "courses"
    NOTES = "notes"
    """Those of which what stands on them belongs to a note: courses, fingers, strokes."""


class Action(Protocol):
    """What a command does to a session; the word is its argument, "" when it takes none."""

    def __call__(self, session: Session, word: str, /) -> None:
        """Carry the command out."""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the player can ask for.

    Attributes:
        name: Kebab-case; what key bindings and the configuration file say.
        title: What it does, as one line of help.
        group: Heading under which help shows it.
        run: The action.
        takes_word: It needs an argument.
        asks: The question put to the player when the word is not given with the key.
        suggests: Proposes an answer to that question.
        choices: Answers to choose from; others may be typed.
        keeps_pending: What was said about the next note still holds after it.
        rows: The rows that it writes on.
    """

    name: str
    title: str
    group: Group
    run: Action
    takes_word: bool = False
    asks: str = ""
    suggests: Callable[[Session], str] | None = None
    choices: Callable[[Session], Sequence[str]] | None = None
    keeps_pending: bool = False
    rows: Rows = Rows.ANY


REGISTRY: dict[str, Command] = {}
"""Every command by name, in the order of the help; filled when `tabterm.workspace.commands` is imported."""


ALSO: dict[str, str] = {
    "again": "repeat copy note",
    "break": "line page new layout sheet print",
    "click": "metronome beat",
    "click-rests": "metronome mute gap",
    "copy": "clipboard register",
    "copy-out": "clipboard paste forum chat message mail share osc52",
    "copy-to": "clipboard register slot",
    "count-in": "metronome precount",
    "delete-time": "remove shift pull",
    "digit": "open string",
    "duplicate": "repeat copy again twice once more",
    "dyad-along": "double stop move scale thirds sixths",
    "dyad-frets": "double stop move shape slide parallel",
    "explain": "theory analysis teacher lesson remark",
    "export": "print save as text pdf sheet",
    "faster": "speed tempo bpm",
    "form-again": "repeat copy section part",
    "harmonise": "double stop thirds sixths harmony second note",
    "half-speed": "slow down practice",
    "insert-time": "shift push gap",
    "fill-phrase-book": "lick library samples import starting",
    "insert-phrase": "lick riff library paste",
    "keep-phrase": "lick riff save library bank collect",
    "invent": "improvise compose variation idea lick new phrase ornament simplify answer",
    "key": "signature scale tonality",
    "ladder": "speed trainer gradually",
    "length": "rhythm note value duration whole half quarter eighth sixteenth",
    "levels": "volume mixer loud quiet gain balance",
    "measures-again": "repeat copy section part bars",
    "metre": "time signature meter",
    "midi-input": "keyboard step entry record play in",
    "neck-map": "fretboard scale pool chord double stops positions",
    "output": "sound device speaker midi port",
    "handout": "pack practice files slow mp3 audio folder student pdf page",
    "parts": "backing band accompaniment",
    "paste-from": "clipboard register slot",
    "phrase-book": "lick riff library search find bank fills endings kick-off",
    "pickup": "upbeat anacrusis",
    "propose-chord": "harmonise harmony guess reharmonise",
    "propose-chords": "harmonise harmony guess",
    "quit": "exit close leave",
    "redo": "again forward repeat change",
    "record": "audio recording open wav mp3 flac ogg file",
    "record-mix": "channel left right centre stereo equaliser band balance",
    "record-side": "channel left right centre stereo mono",
    "recording": "audio waveform panel beats bar lines",
    "render": "audio export wav mp3 bounce sound file",
    "rhythm-before": "same note values pattern",
    "live-sheet": "pdf print preview watch rewrite",
    "sheet": "pdf print engrave paper page handout view open",
    "slower": "speed tempo bpm",
    "solo-register": "equaliser band filter treble emphasis",
    "speed": "tempo bpm percent slow",
    "stack": "double stop triple chord two notes together",
    "stack-above": "double stop triple chord two notes together",
    "step": "rhythm note value duration whole half quarter eighth sixteenth",
    "style": "chop comping strum boom-chick waltz",
    "swap-measures": "exchange switch bars",
    "swap-with-chords": "exchange switch bars",
    "tempo": "bpm speed metronome mark",
    "toggle-row": "view display show rhythm count degree tonic class roman numeral analysis",
    "transpose": "pitch up down shift octave octaves",
    "transpose-to": "key change pitch",
    "tuning": "open strings",
    "tuplet": "triplet rhythm",
    "undo": "back revert mistake",
    "values": "rhythm note value duration quarter eighth",
}
"""Other words that players look for a command by; common practice, no source."""


def matching(words: str) -> list[Command]:
    """Commands that have every word, the nearest first: by the name, its words, the title, other words."""
    wanted = words.lower().split()
    name = "-".join(wanted)

    def distance(command: Command) -> int:
        texts = (command.name, f"{command.name} {command.title.lower()}", ALSO.get(command.name, ""))
        known = " ".join(texts)
        if not all(word in known for word in wanted):
            return -1
        return next(
            (rank for rank, text in enumerate(texts, 1) if all(word in text for word in wanted)), len(texts) + 1
        ) * (command.name != name)

    found = [(rank, command) for command in REGISTRY.values() if (rank := distance(command)) >= 0]
    return [command for _, command in sorted(found, key=lambda each: each[0])]


def command(
    name: str,
    title: str,
    group: Group,
    *,
    asks: str = "",
    suggests: Callable[[Session], str] | None = None,
    choices: Callable[[Session], Sequence[str]] | None = None,
    keeps_pending: bool = False,
    rows: Rows = Rows.ANY,
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Enter a function of a session, or of a session and a word, in the registry."""

    def enter(function: Callable[..., None]) -> Callable[..., None]:
        takes_word = len(inspect.signature(function).parameters) == 2
        if name in REGISTRY:
            raise ValueError(f"two commands are called {name}")

        def without_word(session: Session, _word: str, /) -> None:
            function(session)

        action = cast("Action", function) if takes_word else without_word
        REGISTRY[name] = Command(
            name, title, group, action, takes_word, asks, suggests, choices, keeps_pending, rows
        )
        return function

    return enter
