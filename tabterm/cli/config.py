"""`tabterm config`: where the configuration is, what it says, all that it may say, and one setting changed."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.tables import print_table
from tabterm.errors import ConfigurationError
from tabterm.piece import configuration, settings_page
from tabterm.values import plain

if TYPE_CHECKING:
    import argparse

WAYS = ("path", "show", "template", "set")


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "way",
        nargs="?",
        choices=WAYS,
        default="show",
        help="path: where the file is; show: the current settings (the default); template: a file with every "
        "setting explained; set: change one",
    )
    parser.add_argument("setting", nargs="?", metavar="SETTING", help="with set: the setting, such as sound.click")
    parser.add_argument("value", nargs="?", metavar="VALUE", help="with set: the value, such as beats")
    parser.add_argument("--json", action="store_true", help="print the current settings as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Print, or change a setting."""
    if (arguments.way == "set") != (arguments.value is not None) or (arguments.way != "set" and arguments.setting):
        raise ConfigurationError(
            "only `set` takes a setting and a value", hint="tabterm config set sound.click beats"
        )
    if arguments.way == "path":
        print(configuration.path())
    elif arguments.way == "template":
        print(settings_page.template(), end="")
    elif arguments.way == "set":
        _set(arguments.setting, arguments.value)
    elif arguments.json:
        print(printable.as_json(plain(configuration.load(), whole=True), indent=2))
    else:
        _show()
    return 0


def _show() -> None:
    """Every setting in force, and the line of the file that sets it."""
    rows = []
    for name, value in settings_page.in_force(configuration.load()):
        line = configuration.line_of(name)
        rows.append((name, value, f"line {line}" if line else "default"))
    print_table(("setting", "value", "set in"), rows)


def _set(setting: str, value: str) -> None:
    """Change one setting, and say what holds now; raises ConfigurationError for one that there is not."""
    if setting.startswith("keys."):
        _check_key(setting, value)
    elif setting not in (known := [name for name, _ in settings_page.in_force(configuration.Configuration())]):
        close = get_close_matches(setting, known, n=1)
        hint = f"did you mean '{close[0]}'?" if close else "`tabterm config show` lists them"
        raise ConfigurationError(f"no setting '{setting:.60}'", hint=hint)
    configuration.store(setting, settings_page.read_value(value))
    print(f"{setting} = {value} ({configuration.path()})")


def _check_key(setting: str, binding: str) -> None:
    """Raise ConfigurationError for a key that is none, on a row that is none, or for no command."""
    from tabterm.workspace.keymap import CONTEXTS, check_binding

    _, row, key = [*setting.split(".", 2), "", ""][:3]
    if row not in CONTEXTS:
        raise ConfigurationError(f"no row '{row:.40}' for keys", hint=f"one of: {', '.join(CONTEXTS)}")
    check_binding(key, binding)
