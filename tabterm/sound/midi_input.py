"""Notes from a MIDI keyboard: a process that listens to a port, and the editor's end of it.

The libraries below print to descriptor 2 when no device is there, so the port is opened in a process of its own,
whose descriptor 2 leads nowhere. It ends with its standard input, and so with the editor.
"""

from __future__ import annotations

import os
import select
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

from tabterm.errors import SoundError
from tabterm.sound.link import module_path

if TYPE_CHECKING:
    from collections.abc import Callable

VIRTUAL = "virtual"
"""The word for a port that others connect to."""

CLIENT, PORT = "tabterm-input", "in"
APIS = ("API_LINUX_ALSA", "API_MACOSX_CORE", "API_UNIX_JACK")
"""The MIDI systems in the order in which they are asked."""

OPEN_WITHIN_S = 5  #: s; implementation limit
LOOK_EVERY_S = 0.003  #: s; tuned here: a player hears 10 ms
NOTE_OFF, NOTE_ON = 0x80, 0x90  #: status byte; MIDI 1.0


class MidiInput:
    """An open input.

    Attributes:
        name: The port that it listens to.
    """

    def __init__(self, wanted: str, take: Callable[[int, bool], None]) -> None:
        """Listen to the first port whose name has `wanted` in it, or to a new virtual one.

        `take` is called in a thread with the pitch of each note, and whether it begins or ends; it must not wait.

        Raises:
            SoundError: No such port, or no MIDI system.
        """
        self._thread: threading.Thread | None = None
        self._process = subprocess.Popen(
            [sys.executable, "-S", "-P", "-m", "tabterm.sound.midi_input", wanted],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            start_new_session=True,
            env=os.environ | {"PYTHONPATH": module_path()},
        )
        stdout, said = self._process.stdout, "!the MIDI system does not answer"
        if stdout is not None and select.select([stdout], [], [], OPEN_WITHIN_S)[0]:
            said = stdout.readline().strip()
        if not said.startswith("="):
            self.close()
            raise SoundError(said.removeprefix("!") or "no MIDI library is installed for this Python and system")
        self.name = said[1:]
        self._take = take
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def _listen(self) -> None:
        for line in self._process.stdout or ():
            self._take(int(line[1:]), line[0] == "+")

    def close(self) -> None:
        """Let the port go."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        try:
            self._process.wait(OPEN_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        if self._thread is not None:
            self._thread.join()
        if self._process.stdout is not None:
            self._process.stdout.close()


def main(wanted: str) -> None:
    """Print the port, then each note as it begins (`+62`) and ends (`-62`), until standard input ends."""
    import rtmidi

    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    names: list[str] = []
    for api in APIS:
        try:
            port = rtmidi.MidiIn(getattr(rtmidi, api), CLIENT)
            found = port.get_ports()
            if wanted == VIRTUAL:
                port.open_virtual_port(PORT)
                name = f"{CLIENT}:{PORT}"
            else:
                name = next(each for each in found if wanted.lower() in each.lower())
                port.open_port(found.index(name))
        except StopIteration:
            names += found
        except Exception:  # noqa: BLE001, S112 - each MIDI system has its own error class
            continue
        else:
            print(f"={name}", flush=True)  # noqa: T201 - what the editor reads
            pass_on(port)
            return
    among = f"no MIDI input '{wanted}' among: {'; '.join(names)}" if names else "no MIDI input here"
    print(f"!{among}", flush=True)  # noqa: T201 - what the editor reads


def pass_on(port: object) -> None:
    """Print the notes of an open port until standard input ends."""
    while not select.select([sys.stdin], [], [], LOOK_EVERY_S)[0]:
        while (event := port.get_message()) is not None:  # type: ignore[attr-defined]  # the library has no types
            status, pitch, velocity = (*event[0], 0, 0)[:3]
            kind = status & 0xF0
            if kind in {NOTE_ON, NOTE_OFF}:
                begins = kind == NOTE_ON and velocity > 0
                print(f"{'+' if begins else '-'}{pitch}", flush=True)  # noqa: T201 - what the editor reads


if __name__ == "__main__":
    main(sys.argv[1])
