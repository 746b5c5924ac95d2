"""`tabterm listen`: play here what an editor on another machine sends through ssh."""

from __future__ import annotations

import os
import shlex
import signal
import time
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from tabterm.cli.scores import settings
from tabterm.errors import SoundError
from tabterm.piece import viewing
from tabterm.sound.outputs import FORMS, OutputKind, Wish, over_ssh
from tabterm.sound.remote.address import FOLDER, PORT, SocketFile, near_socket, parse
from tabterm.sound.remote.handshake import far_token, make_token, near_token
from tabterm.sound.remote.listener import Listener
from tabterm.storage.names import file_named

if TYPE_CHECKING:
    import argparse
    from types import FrameType

    from tabterm.sound.remote.address import Address
    from tabterm.sound.remote.delivery import Deliver

CAUTION = "This machine sets the volume: start low, above all on headphones, and keep it low enough to talk over."


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "--socket", metavar="PATH", help="listen at this socket; nobody but you may write to its folder"
    )
    parser.add_argument(
        "--tcp",
        nargs="?",
        const=str(PORT),
        metavar="PORT",
        help=f"listen at a loopback port ({PORT}), with a token, where ssh cannot forward sockets",
    )
    parser.add_argument("--no-sheets", action="store_true", help="do not accept sheets from an editor")
    parser.add_argument(
        "--sheets", type=Path, metavar="FOLDER", help="folder to keep sheets in (sheets in your cache folder)"
    )
    parser.add_argument(
        "--page",
        action="store_true",
        help="show the newest sheet in the browser, updated on each save",
    )
    parser.add_argument(
        "--opener", metavar="COMMAND", help="what opens sheets: a command, auto or none (as configured)"
    )
    parser.add_argument("--output", default="auto", metavar="OUT", help=f"where to play: {FORMS}")


def run(arguments: argparse.Namespace) -> int:
    """Listen until Ctrl-C, which is no fault."""
    address, wish = _address(arguments), Wish.parse(arguments.output)
    if wish.kind is OutputKind.LISTENER:
        raise SoundError("a listener cannot play through another listener", hint=FORMS)
    token = None if address.is_guarded else make_token(near_token())
    listening = address.bind()
    try:
        listener = Listener(listening, token=token, wish=wish, say=_say, deliver=_desk(arguments))
        for number in (signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, _end)
        print(f"listening at {address}; Ctrl-C ends\n\n{_instructions(address)}\n\n{CAUTION}\n", flush=True)
        if over_ssh():
            _say("this is an SSH session: the sound will come out here, not on the machine you sit at")
        try:
            listener.run()
        except KeyboardInterrupt:
            print()
        finally:
            listener.close()
    finally:
        listening.close()
        if isinstance(address, SocketFile):
            address.path.unlink(missing_ok=True)
    return 0


def _address(arguments: argparse.Namespace) -> Address:
    if arguments.tcp is not None:
        return parse(arguments.tcp)
    if not arguments.socket:
        return near_socket()
    path = file_named(arguments.socket).absolute()
    if not path.parent.is_dir():
        hint = f"mkdir -m 700 {shlex.quote(str(path.parent))}"
        raise SoundError("no such folder", place=str(path.parent), hint=hint)
    return SocketFile(path)


def _desk(arguments: argparse.Namespace) -> Deliver | None:
    """What takes sheets in; None where none are taken."""
    if arguments.no_sheets:
        return None
    page = None
    if arguments.page:
        from tabterm.piece.sheet_page import SheetPage

        page = SheetPage()
        print(f"sheets are shown at {page.url}", flush=True)
    command = viewing.viewer(arguments.opener or settings().sheet.opener, os.environ)
    return viewing.Desk(arguments.sheets, command, page).take


def _instructions(address: Address) -> str:
    """What to type, exactly; FAR stands for what the user calls the other machine."""
    if isinstance(address, SocketFile):
        return f"""\
In another terminal, log in to the machine where the editor is, and open it there:

    ssh -R {FOLDER}/tabterm-$(date +%s).sock:{shlex.quote(str(address))} FAR"""
    there = far_token().relative_to(Path.home())
    take = f"umask 077; mkdir -p ~/{there.parent}; cat > ~/{there}"
    return f"""\
Once, copy the token to the machine where the editor is:

    ssh FAR '{take}' < {shlex.quote(str(near_token()))}

In another terminal, log in there, and open the editor:

    ssh -o ExitOnForwardFailure=yes -R 127.0.0.1:{PORT}:{address} FAR"""


def _say(line: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {line}", flush=True)


def _end(_number: int, _frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt
