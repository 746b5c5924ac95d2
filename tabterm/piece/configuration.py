"""The player's configuration: a TOML file in the user's own folder.

The player edits it; the program writes the hand alone, and leaves every other line, comment and order as it is.
"""

from __future__ import annotations

import os
import re
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import platformdirs

from tabterm.errors import ConfigurationError, FormatError, ScoreError, SoundError, StorageError
from tabterm.forms import After, Before, Limits
from tabterm.judge import UnfitError
from tabterm.parsing import MOST_BYTES, toml_of
from tabterm.score.kinds import ChordNames
from tabterm.score.profile import REFERENCE_HAND, HandProfile
from tabterm.sound.outputs import Wish
from tabterm.storage import opening
from tabterm.storage.whole import atomic_write
from tabterm.values import Value, field_names, read_value

if TYPE_CHECKING:
    from collections.abc import Mapping, MutableMapping

    from tabterm.performance.midi import MidiManners


def _click(value: object) -> object:
    """`true` and `false` are words for a click that has one place only."""
    return {True: "beats", False: "off"}[value] if isinstance(value, bool) else value


def _output(text: str) -> str:
    """The word for an output, if it is one."""
    try:
        return str(Wish.parse(text))
    except SoundError as error:
        raise ValueError(str(error)) from None


def _style(name: str | None) -> str | None:
    """The name of a style, if it is one."""
    if name is not None:
        from tabterm.performance.styles import style_named

        try:
            style_named(name)
        except ScoreError as error:
            raise ValueError(str(error)) from None
    return name


def _tone(text: object) -> str:
    """What is tuned of the strings, as `brightness 120 room 50`."""
    from tabterm.piece.practice import Practice

    if not isinstance(text, str):
        raise ValueError("not a text in quotation marks")  # noqa: TRY004 - the library tells only ValueError as a fault
    try:
        Practice().with_tone(text)
    except ScoreError as error:
        raise ValueError(str(error)) from None
    return text


MOST_FAULTS = 5
"""So many settings that cannot be used are told; with more of them, none of the file is used."""

LONGEST_NAME = 60
"""Characters of a setting's name that a message quotes."""


class ChordSettings(Value):
    """How a new score and a text tab that does not say it name chords; None: German where one of them is an H."""

    names: ChordNames | None = None


class SoundSettings(Value):
    """Playback: where to, measures counted in, click (`true`: beats), who is heard, style, groove, tone."""

    output: Annotated[str, After(_output)] = "auto"
    count_in: Annotated[int, Limits(ge=0, le=2)] = 0
    click: Annotated[Literal["off", "beats", "offbeats"], Before(_click)] = "off"
    parts: Literal["solo", "both", "chords"] = "solo"
    style: Annotated[str | None, After(_style)] = None
    groove: bool = True
    tone: Annotated[str, Before(_tone)] = ""


PartOfMidi = Literal["solo", "chords", "bass", "click"]


class OutputSettings(Value):
    """What a synthesiser behind an output is sent: parts, programs as they are printed, from 1, and pans."""

    parts: tuple[PartOfMidi, ...] = ("solo", "chords", "bass", "click")
    programs: dict[PartOfMidi, Annotated[int, Limits(ge=1, le=128)]] = field(default_factory=dict)
    pans: dict[PartOfMidi, Annotated[int, Limits(ge=-63, le=63)]] = field(default_factory=dict)

    @property
    def manners(self) -> MidiManners:
        """The same as the sound takes it."""
        from tabterm.performance.midi import MidiManners

        programs = tuple((part, number - 1) for part, number in self.programs.items())
        return MidiManners(frozenset(self.parts), programs, tuple(self.pans.items()))


class ScreenSettings(Value):
    """The screen: colours, characters (`auto`: by the locale), plain for screen readers, and mouse."""

    theme: Literal["dark", "light", "terminal"] = "dark"
    characters: Literal["auto", "unicode", "ascii"] = "auto"
    plain: bool = False
    mouse: bool = False


class SheetSettings(Value):
    """The sheet: kind of file, command that opens it (`auto`: the desktop's; `none`), paper (`auto`: locale)."""

    format: Literal["pdf", "svg", "png", "html", "txt", "musicxml"] = "pdf"
    opener: str = "auto"
    paper: Literal["auto", "a4", "letter"] = "auto"


class FingeringSettings(Value):
    """The fingering search: whether saving a score learns from fingers that were set against a proposal."""

    learn: bool = True


class Configuration(Value):
    """Everything that can be set: keys by row (`[keys.stroke]`), hand, sound, outputs, screen and sheet."""

    keys: dict[str, dict[str, str]] = field(default_factory=dict)
    hand: HandProfile = HandProfile()
    chords: ChordSettings = ChordSettings()
    fingering: FingeringSettings = FingeringSettings()
    sound: SoundSettings = SoundSettings()
    outputs: dict[Annotated[str, After(_output)], OutputSettings] = field(default_factory=dict)
    screen: ScreenSettings = ScreenSettings()
    sheet: SheetSettings = SheetSettings()

    @property
    def manners(self) -> dict[str, MidiManners]:
        """What each output named is sent, by the words that name it."""
        return {words: each.manners for words, each in self.outputs.items()}


def path() -> Path:
    """Where the file is: the variable TABTERM_CONFIG, or `config.toml` in the user's configuration folder."""
    own = os.environ.get("TABTERM_CONFIG")
    return Path(own) if own else platformdirs.user_config_path("tabterm") / "config.toml"


def load() -> Configuration:
    """The configuration; the defaults where there is no file.

    Raises:
        ConfigurationError: The file cannot be read, is not TOML, or sets something that is not there.
    """
    file = path()
    return _parsed(_text(file), file)


def tolerated() -> tuple[Configuration, tuple[ConfigurationError, ...]]:
    """The configuration, and why some of the file is not used: each table that is wrong counts as not there."""
    file = path()
    try:
        text = _text(file)
        tables = _tables(text, file)
    except ConfigurationError as error:
        return Configuration(), (error,)
    faults: list[ConfigurationError] = []
    while len(faults) < MOST_FAULTS:
        try:
            return read_value(Configuration, tables), tuple(faults)
        except UnfitError as error:
            faults.append(_in_words(error, text, file))
            del tables[str(error.where[0])]
    return Configuration(), tuple(faults)


def place_of(key: str) -> str:
    """The file, and the line of it where a key stands."""
    file = path()
    try:
        line = _line_of(_text(file), key)
    except ConfigurationError:
        line = 0
    return f"{file}, line {line}" if line else str(file)


def line_of(setting: str) -> int:
    """The line of the file on which a setting or its table stands; 0 where it holds as it comes."""
    text = _text(path())
    found: Any = _tables(text, path())
    for step in setting.split("."):
        if not isinstance(found, dict) or step not in found:
            return 0
        found = found[step]
    return _line_of(text, setting.rpartition(".")[2])


def store(setting: str, value: Any) -> None:
    """Write one setting into the file, and leave every other line as it is.

    Args:
        setting: Its name, such as `sound.click`; of a key its row and itself, `keys.anywhere.ctrl+n`.
        value: What it is set to.

    Raises:
        ConfigurationError: The file, or the value, cannot be used; nothing is written.
        StorageError: The disk refused; the file is as it was.
    """
    import tomlkit

    file = path()
    text = _text(file)
    _parsed(text, file)
    document = tomlkit.parse(text)
    steps = setting.split(".", 2) if setting.startswith("keys.") else setting.split(".")
    changes: Any = value
    for step in reversed(steps):
        changes = {step: changes}
    _put(document, changes)
    data = tomlkit.dumps(document)
    try:
        _parsed(data, file)
    except ConfigurationError as error:
        raise ConfigurationError(error.message, hint=error.hint) from None
    if data != text:
        _make_folder(file.parent)
        atomic_write(file, data.encode())


def store_hand(changes: Mapping[str, Any], *, reset: bool = False) -> HandProfile:
    """Write values of the hand profile into the file, and return the profile that is in force then.

    Args:
        changes: Fields of `HandProfile` that change; `speeds` is a mapping of those that do.
        reset: Forget every value that the file holds first.

    Raises:
        ConfigurationError: The file, or a change, cannot be used; nothing is written.
        StorageError: The disk refused; the file is as it was.
    """
    import tomlkit

    file = path()
    text = _text(file)
    before = _parsed(text, file)
    document = tomlkit.parse(text)
    if reset:
        document.pop("hand", None)
    _put(document, {"hand": changes} if changes else {})
    data = tomlkit.dumps(document)
    after = _parsed(data, file)
    base = REFERENCE_HAND if reset else before.hand
    speeds = base.speeds.with_(**changes.get("speeds", {}))
    if after != before.with_(hand=base.with_(**{**changes, "speeds": speeds})):
        raise ConfigurationError("the hand could not be saved", place=str(file), hint="edit the file yourself")
    if data != text:
        _make_folder(file.parent)
        atomic_write(file, data.encode())
    return after.hand


def _put(table: MutableMapping[str, Any], changes: Mapping[str, Any]) -> None:
    """Set values in a table of a TOML document, and in tables inside it."""
    for name, value in changes.items():
        if isinstance(value, dict) and name in table:
            _put(table[name], value)
        else:
            table[name] = value


def _make_folder(folder: Path) -> None:
    try:
        opening.make_own_folder(folder)
    except OSError as error:
        raise StorageError(f"the folder cannot be made: {error.strerror or error}", place=str(folder)) from error


def _text(file: Path) -> str:
    """The text of the file, with its line ends as they are; "" where there is none."""
    try:
        return opening.read(file, most=MOST_BYTES).decode()
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise ConfigurationError("cannot be read: not UTF-8 text", place=str(file)) from error
    except OSError as error:
        raise ConfigurationError(f"cannot be read: {error.strerror or error}", place=str(file)) from error


def _tables(text: str, file: Path) -> dict[str, Any]:
    try:
        return toml_of(text.encode())
    except FormatError as error:
        place = f"{file}, {error.place}" if error.place else str(file)
        raise ConfigurationError(error.message, place=place, hint=error.hint) from None


def _parsed(text: str, file: Path) -> Configuration:
    try:
        return read_value(Configuration, _tables(text, file))
    except UnfitError as error:
        raise _in_words(error, text, file) from None


def _in_words(error: UnfitError, text: str, file: Path) -> ConfigurationError:
    steps = [str(step) for step in error.where]
    line = _line_of(text, next(step for step in reversed(error.where) if isinstance(step, str)))
    place = f"{file}, line {line}" if line else str(file)
    if error.unknown:
        name = ".".join(steps)[:LONGEST_NAME]
        return ConfigurationError(f"no setting '{name}'", hint=_suggestion(steps), place=place)
    return ConfigurationError(
        f"{'.'.join(steps)[:LONGEST_NAME]}: {error.said}", hint="change the value", place=place
    )


def _line_of(text: str, key: str) -> int:
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*\[?[\w.\"']*\b{re.escape(key)}\b", line):
            return number
    return 0


def _suggestion(steps: list[str]) -> str:
    model: type[Value] = Configuration
    for step in steps[:-1]:
        part = getattr(model, step, None)
        model = type(part) if isinstance(part, Value) else model
    names = field_names(model)
    import difflib

    close = difflib.get_close_matches(steps[-1], names, n=1)
    return f"did you mean '{close[0]}'?" if close else f"one of: {', '.join(names)}"
