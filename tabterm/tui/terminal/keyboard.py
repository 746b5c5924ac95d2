"""From the bytes that a terminal sends to keys, pastes and clicks; what is none of these does nothing.

A sequence is read by its grammar (ECMA-48, 5th edition, 5.4 and 5.6; xterm control sequences), so that one that
is broken, unknown or cut off is left out as a whole instead of being taken for the characters it is made of.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from textual import events
from textual._ansi_sequences import ANSI_SEQUENCES_KEYS
from textual._xterm_parser import XTermParser
from textual.keys import KEY_NAME_REPLACEMENTS, _character_to_key
from textual.message import Message

if TYPE_CHECKING:
    from collections.abc import Callable

ESCAPE = b"\x1b"
ESCAPE_S = 0.1
"""How long after the byte of Escape the rest of a sequence is waited for."""

REST_S = 0.5
"""How long the rest of a sequence is waited for that has surely begun; then it is dropped."""

PASTE_S = 5.0
"""After this silence inside a paste, a few bytes are a key again: the end of the paste was lost."""

SPLIT_S = 2.0
"""How long after a lone Escape a tail of a sequence may come that the line has torn off."""

LONGEST_PASTE = 1 << 16
LONGEST_SEQUENCE = 1 << 10

MOUSE_X10 = re.compile(rb"\x1b\[M[\x20-\xff]{3}")
FUNCTION = re.compile(rb"\x1b\[\[[^\x1b]|\x1bO[ -~]|\x1b\[[ -?]*[@-~]")
STRING = re.compile(rb"\x1b[\]P_^X][^\x07\x1b]*(?:\x07|\x1b\\)")
BROKEN = re.compile(rb"\x1b(?:\[\[?[ -?]*|O|[\]P_^X][^\x07\x1b]*)(?:[^\x1b]|(?=\x1b))")
UNFINISHED = re.compile(rb"\x1b(?:\[[ -?]*|\[\[|\[M[\x20-\xff]{0,2}|O|[\]P_^X][^\x07\x1b]*\x1b?)\Z")
TORN_OFF = re.compile(rb"\[[0-?]+|\[[ -?]*[@-~]|O[A-Za-z]\Z")
PASTE_BEGINS, PASTE_ENDS = b"\x1b[200~", b"\x1b[201~"
MOUSE_SGR = re.compile(rb"\x1b\[<\d{1,5};-?\d{1,5};-?\d{1,5}[Mm]\Z")
CODED_KEY = re.compile(rb"\x1b\[(\d{1,7})(?::[\d:]*)?(?:;(\d{0,4})(?::(\d))?)?(?:;[\d:]*)?u\Z")
OTHER_KEY = re.compile(rb"\x1b\[27;(\d{1,4});(\d{1,7})~\Z")
TOLD_KEY = re.compile(rb"\x1b\[(\d+);(\d+):(\d)([A-Z~])\Z")
NAMED_CODES = {9: "tab", 13: "enter", 27: "escape", 127: "backspace"}
SHIFT, CTRL, OTHERS = 1, 4, 2 | 8 | 16 | 32
"""Bits of the modifiers: Shift, Ctrl; Alt and what no key of ours has."""

RELEASED = 3


class Settled(Message):
    """The terminal has answered: it has shown everything that was sent before the question."""


class Keyboard:
    """Reads what the terminal sends, piece by piece."""

    def __init__(self, clock: Callable[[], float]) -> None:
        """Take the time from `clock`, in seconds."""
        self._clock = clock
        self._buffer = b""
        self._paste: bytearray | None = None
        self._heard_s = 0.0
        self._lone_escape_s = -SPLIT_S
        self._mouse = XTermParser()

    @property
    def patience_s(self) -> float | None:
        """How long to wait for more before `give_up`; None when nothing is unfinished."""
        if not self._buffer:
            return None
        return ESCAPE_S if self._buffer == ESCAPE else REST_S

    def feed(self, data: bytes) -> list[Message]:
        """What has come, and what is complete with it."""
        now_s = self._clock()
        silence_s, self._heard_s = now_s - self._heard_s, now_s
        if self._paste is not None and silence_s > PASTE_S and len(data) <= 8:
            self._paste = None
        if not self._buffer and now_s - self._lone_escape_s < SPLIT_S and TORN_OFF.match(data):
            data = ESCAPE + data
        self._lone_escape_s = -SPLIT_S
        self._buffer += data
        return self._taken()

    def give_up(self) -> list[Message]:
        """Nothing more has come: a lone Escape is the key, anything else unfinished is dropped."""
        unfinished, self._buffer = self._buffer, b""
        if unfinished != ESCAPE or self._paste is not None:
            return []
        self._lone_escape_s = self._clock()
        return [events.Key("escape", "\x1b")]

    def _taken(self) -> list[Message]:
        """Take everything that is complete from the buffer."""
        found: list[Message] = []
        while self._buffer:
            if self._paste is not None:
                if not self._take_paste(self._paste, found):
                    break
            elif self._buffer.startswith(ESCAPE):
                if not self._take_sequence(found):
                    break
            elif not self._take_character(found):
                break
        return found

    def _take_paste(self, paste: bytearray, found: list[Message]) -> bool:
        """Take pasted bytes; False when more must come."""
        text, end, rest = self._buffer.partition(PASTE_ENDS)
        kept = 0 if end else next((n for n in range(5, 0, -1) if text.endswith(PASTE_ENDS[:n])), 0)
        paste += text[: len(text) - kept][: max(LONGEST_PASTE - len(paste), 0)]
        self._buffer = rest if end else text[len(text) - kept :]
        if not end:
            return False
        self._paste = None
        words = paste.decode(errors="ignore")
        found.append(events.Paste("".join(c for c in words if c.isprintable() or c in "\n\t")))
        return True

    def _take_sequence(self, found: list[Message]) -> bool:
        """Take what begins with Escape; False when more must come."""
        buffer = self._buffer
        match = MOUSE_X10.match(buffer)
        if match is None and UNFINISHED.match(buffer):
            if len(buffer) <= LONGEST_SEQUENCE:
                return False
            self._buffer = b""
            return True
        match = match or STRING.match(buffer) or FUNCTION.match(buffer)
        if match is not None:
            found.extend(self._meaning(match.group()))
        else:
            match = BROKEN.match(buffer)
        if match is not None:
            self._buffer = buffer[match.end() :]
            return True
        return self._take_escape(found)

    def _take_escape(self, found: list[Message]) -> bool:
        """Take Escape itself; the character right behind it is a key of its own.

        A terminal sends Alt with a key in the same way; no command has such a key.
        """
        if self._buffer == ESCAPE:
            return False
        found.append(events.Key("escape", "\x1b"))
        self._buffer = self._buffer[1:]
        return True

    def _take_character(self, found: list[Message]) -> bool:
        """Take a character that is no part of a sequence; False when its last bytes must come."""
        length = _character_length(self._buffer)
        raw = self._buffer[:length]
        if len(raw) < length and not any(byte & 0xC0 != 0x80 for byte in raw[1:]):
            return False
        try:
            character = raw.decode()
        except UnicodeDecodeError:
            self._buffer = self._buffer[1:]
            return True
        self._buffer = self._buffer[length:]
        if character.isprintable():
            found.append(_typed(character))
        else:
            found.extend(_named(character))
        return True

    def _meaning(self, sequence: bytes) -> list[Message]:
        """What a whole sequence is: a key, a click, the beginning of a paste, an answer, or nothing."""
        if sequence == PASTE_BEGINS:
            self._paste = bytearray()
            return []
        if sequence == b"\x1b[0n":
            return [Settled()]
        if MOUSE_SGR.match(sequence):
            click = self._mouse.parse_mouse_code(sequence.decode())
            return [] if click is None else [click]
        if match := CODED_KEY.match(sequence):
            return _coded(int(match[1]), int(match[2] or 1), int(match[3] or 1))
        if match := OTHER_KEY.match(sequence):
            return _coded(int(match[2]), int(match[1]), 1)
        if match := TOLD_KEY.match(sequence):
            return _told(*(group.decode() for group in match.groups()))
        return _named(sequence.decode("ascii", "replace"))


def _character_length(data: bytes) -> int:
    """Bytes that a character takes, by its first byte (RFC 3629, section 3)."""
    first = data[0]
    return 1 if first < 0xC2 else 2 if first < 0xE0 else 3 if first < 0xF0 else 4 if first < 0xF5 else 1


def _typed(character: str) -> Message:
    """The key that types a character."""
    name = character if character.isalnum() else _character_to_key(character)
    return events.Key(KEY_NAME_REPLACEMENTS.get(name, name), character)


def _named(sequence: str) -> list[Message]:
    """The keys that the toolkit's table has for a sequence."""
    keys = ANSI_SEQUENCES_KEYS.get(sequence)
    if isinstance(keys, str):
        return [_typed(keys)]
    if not isinstance(keys, tuple):
        return []
    return [events.Key(key.value, sequence if len(sequence) == 1 else None) for key in keys]


def _coded(code: int, modifiers: int, event: int) -> list[Message]:
    """The key of a report by code point (kitty's protocol, xterm's modifyOtherKeys), which we do not ask for."""
    held = modifiers - 1
    if event == RELEASED or held & OTHERS or code > 0x10FFFF:
        return []
    if code in NAMED_CODES:
        name = NAMED_CODES[code]
        return [events.Key("shift+tab" if name == "tab" and held & SHIFT else name, None)]
    character = chr(code)
    if not character.isprintable():
        return []
    if held & CTRL:
        return [events.Key(f"ctrl+{character.lower()}", None)]
    return [_typed(character.upper() if held & SHIFT else character)]


def _told(number: str, modifiers: str, event: str, final: str) -> list[Message]:
    """The key of a function key's report with its kind of event."""
    if int(event) == RELEASED:
        return []
    if modifiers == "1":
        return _named(f"\x1b[{number}{final}" if final == "~" else f"\x1b[{final}")
    return _named(f"\x1b[{number};{modifiers}{final}")
