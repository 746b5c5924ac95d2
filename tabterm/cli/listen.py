"""`tabterm listen`: play here what an editor on another machine sends through ssh."""

from __future__ import annotations

import shlex
import signal
import time
from typing import TYPE_CHECKING, NoReturn

from tabterm.sound.remote.address import FOLDER, PORT, SocketFile, near_socket, parse
from tabterm.sound.remote.handshake import far_token, make_token, near_token
from tabterm.sound.remote.listener import Listener

if TYPE_CHECKING:
    import argparse
    from types import FrameType

    from tabterm.sound.remote.address import Address

CAUTION = (
    "What comes is as loud as this machine is turned up: begin low, above all on headphones, and keep it where "
    "you can still talk over it."
)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("--socket", metavar="PATH", help="listen at a socket in a folder that only you can write to")
    parser.add_argument(
        "--tcp",
        nargs="?",
        const=str(PORT),
        metavar="PORT",
        help=f"listen at a loopback port ({PORT}), with a token, where ssh cannot forward sockets",
    )
    parser.add_argument("--port", metavar="NAME", help="part of a MIDI port's name (the first port)")


def run(arguments: argparse.Namespace) -> int:
    """Listen until Ctrl-C, which is no fault."""
    address = _address(arguments)
    token = None if address.is_guarded else make_token(near_token())
    listening = address.bind()
    try:
        listener = Listener(listening, token=token, output=_output(arguments), say=_say)
        for number in (signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, _end)
        print(f"listening at {address}; Ctrl-C ends\n\n{_instructions(address)}\n\n{CAUTION}\n", flush=True)
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
    return SocketFile(parse_path(arguments.socket)) if arguments.socket else near_socket()


def _instructions(address: Address) -> str:
    """What to type at the other end, exactly."""
    if isinstance(address, SocketFile):
        here = shlex.quote(str(address))
        lines = [
            "In another terminal, log in to the machine where the editor is, and open it there:",
            "",
            f"    ssh -R {FOLDER}/tabterm-$(date +%s).sock:{here} FAR",
        ]
        return "\n".join(lines)
    there = far_token().relative_to(far_token().home())
    lines = [
        "Once, bring the token to the machine where the editor is:",
        "",
        f"    ssh FAR 'umask 077; mkdir -p ~/{there.parent}; cat > ~/{there}' < {shlex.quote(str(near_token()))}",
        "",
        "In another terminal, log in there, and open the editor:",
        "",
        f"    ssh -o ExitOnForwardFailure=yes -R 127.0.0.1:{PORT}:{address} FAR",
    ]
    return "\n".join(lines)


def _say(line: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {line}", flush=True)


def _end(_number: int, _frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt
