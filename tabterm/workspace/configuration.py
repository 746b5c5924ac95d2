"""The player's configuration: a TOML file in the user's own folder."""

from __future__ import annotations

import difflib
import os
import re
import tomllib
from pathlib import Path
from typing import Annotated, Literal

import platformdirs
from pydantic import Field, ValidationError

from tabterm.errors import ConfigurationError
from tabterm.score.profile import HandProfile
from tabterm.values import Value


class SoundSettings(Value):
    """Playback: part of a MIDI port's name, measures counted in, click."""

    port: str | None = None
    count_in: Annotated[int, Field(ge=0, le=2)] = 0
    click: bool = False


class ScreenSettings(Value):
    """The screen: its colours, and whether the mouse is watched."""

    theme: Literal["dark", "light", "terminal"] = "dark"
    mouse: bool = False


class Configuration(Value):
    """Everything that can be set: keys by row (`[keys.stroke]`), the hand, the sound, the screen."""

    keys: dict[str, dict[str, str]] = Field(default_factory=dict)
    hand: HandProfile = HandProfile()
    sound: SoundSettings = SoundSettings()
    screen: ScreenSettings = ScreenSettings()


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
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Configuration()
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"cannot be read: {error}", place=str(file)) from error
    try:
        return Configuration.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise ConfigurationError(f"not TOML: {error}", place=str(file), hint="mend that line") from None
    except ValidationError as error:
        raise _in_words(error, text, file) from None


def _in_words(error: ValidationError, text: str, file: Path) -> ConfigurationError:
    first = error.errors(include_url=False)[0]
    steps = [str(step) for step in first["loc"]]
    line = _line_of(text, steps[-1])
    place = f"{file}, line {line}" if line else str(file)
    if first["type"] == "extra_forbidden":
        return ConfigurationError(f"no setting '{'.'.join(steps)}'", hint=_suggestion(steps), place=place)
    return ConfigurationError(f"{'.'.join(steps)}: {first['msg']}", hint="change the value", place=place)


def _line_of(text: str, key: str) -> int:
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*\[?[\w.\"']*\b{re.escape(key)}\b", line):
            return number
    return 0


def _suggestion(steps: list[str]) -> str:
    model: type[Value] = Configuration
    for step in steps[:-1]:
        annotation = model.model_fields[step].annotation if step in model.model_fields else None
        if isinstance(annotation, type) and issubclass(annotation, Value):
            model = annotation
    names = list(model.model_fields)
    close = difflib.get_close_matches(steps[-1], names, n=1)
    return f"did you mean '{close[0]}'?" if close else f"one of: {', '.join(names)}"
