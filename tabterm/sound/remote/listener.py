"""The listener: plays on this machine what an editor on another one sends ahead, whole phrases at a time.

One editor at a time; one that is idle makes way for the next. It is believed nothing: every frame and every
plan is looked at before the engine, which is the one that an editor on this machine would have, gets to see it.
An editor that breaks a rule, or whose line ends, is silenced at once, and the next one is waited for.
"""

from __future__ import annotations

import selectors
import time
from typing import TYPE_CHECKING, Any, NoReturn

from tabterm.errors import SoundError
from tabterm.sound.link import BadFrameError, Frame
from tabterm.sound.outputs import OutputKind
from tabterm.sound.remote.delivery import Courier
from tabterm.sound.remote.door import Door, Visitor
from tabterm.sound.remote.handshake import SHEET, plain
from tabterm.sound.remote.inspection import (
    FROM_EDITOR,
    FROM_LISTENER,
    LIMITS,
    MOST_NUMBER,
    PLANS,
    checked_plan,
    folded,
    inspect,
    renumbered,
)
from tabterm.sound.remote.kept import KeptEngine
from tabterm.sound.remote.records import Records

if TYPE_CHECKING:
    import socket
    from collections.abc import Callable

    from tabterm.sound.outputs import Wish
    from tabterm.sound.remote.delivery import Deliver

LOOK_S = 0.5  #: s; implementation limit
"""How often it is looked for what is overdue."""

ALIVE_EVERY_S = 5.0  #: s; implementation limit
"""How often each end says that it is there."""

SILENT_FOR_S = 20.0  #: s; implementation limit
"""An end that has said nothing for so long is gone, whatever the line says."""

MOST_LINES = 20  #: lines; implementation limit
LINES_PER_S = 0.5  #: lines a second; implementation limit
"""Who knocks again and again does not fill the screen: so many lines at once, so many on the long run."""


class Listener:
    """Serves one editor after another, each with the same engine."""

    def __init__(
        self,
        listening: socket.socket,
        *,
        token: bytes | None,
        wish: Wish,
        say: Callable[[str], None],
        deliver: Deliver | None = None,
    ) -> None:
        """Begin to listen.

        Args:
            listening: A listening socket; it is closed by `close`.
            token: What an editor must know; None where nobody else can reach the socket.
            wish: What to play through.
            say: Called with a line whenever something has happened that the user should know.
            deliver: Keeps a sheet that an editor sends, and shows it; None: no sheets are taken.
        """
        self._say = say
        self._born_s = time.monotonic()
        self._lines, self._lines_s, self._unsaid = float(MOST_LINES), time.monotonic(), 0
        self._selector = selectors.DefaultSelector()
        self._door = Door(listening, token, self._selector, admit=self._admit, say=self._tell)
        self._engine = KeptEngine(wish, self._selector, take=self._report, ended=self._engine_has_ended)
        self._editor: Visitor | None = None
        self._deliver = deliver
        self._courier: Courier | None = None
        self._served = 0
        self._number = 0  # of the last order since silence was asked for; 0 is none
        self._playing = False
        self._output: dict[str, Any] = {}
        self._records = Records()
        self._heard_s = self._spoke_s = 0.0

    def run(self) -> NoReturn:
        """Serve until an exception ends it."""
        while True:
            self.turn(LOOK_S)

    def turn(self, timeout_s: float) -> None:
        """Wait so long for something to happen, and see to it."""
        for key, _ in self._selector.select(timeout_s):
            if self._selector.get_map().get(key.fd) is key:  # not let go by what came before it
                key.data()
        now_s = time.monotonic()
        self._door.look(now_s)
        self._engine.look(now_s)
        if self._courier is not None and now_s - self._courier.heard_s > SILENT_FOR_S:
            self._part_from_courier("an incomplete sheet was dropped")
        if now_s - self._heard_s > SILENT_FOR_S:
            self._let_go(f"it has been silent for {SILENT_FOR_S:g} s")
        elif now_s - self._spoke_s > ALIVE_EVERY_S:
            self._spoke_s = now_s
            self._send("alive", now_s=now_s - self._born_s)

    def close(self) -> None:
        """Silence everything, let everybody go."""
        for guest in (self._editor, self._courier):
            if guest is not None:
                guest.link.close()
        self._engine.close()
        self._door.close()
        self._selector.close()

    def _admit(self, visitor: Visitor) -> None:
        """Serve this editor from now on; raises SoundError while another one is heard."""
        if visitor.handshake.errand == SHEET:
            self._take_in(visitor)
            return
        if self._playing:
            raise SoundError("another editor is playing through this listener", hint="stop it there first")
        self._send("away")
        self._let_go()
        self._served += 1
        self._editor, self._heard_s = visitor, time.monotonic()
        visitor.link.limits = LIMITS
        self._selector.modify(visitor.link, selectors.EVENT_READ, self._hear)
        self._tell(f"an editor has connected (tabterm {visitor.handshake.version})")
        self._send("welcome", proof=visitor.handshake.proof("listener"))
        if self._output:
            self._send("output", **self._output)

    def _take_in(self, visitor: Visitor) -> None:
        """Let somebody bring a sheet, beside what plays; raises SoundError where none is taken now."""
        if self._deliver is None:
            raise SoundError("this listener does not accept sheets", hint="start it without --no-sheets")
        if self._courier is not None:
            raise SoundError("this listener is still receiving another sheet", hint="send it again")
        self._courier = Courier(visitor.link, self._deliver)
        self._selector.modify(visitor.link, selectors.EVENT_READ, self._hear_courier)
        try:
            visitor.link.send("welcome", proof=visitor.handshake.proof("listener"))
        except OSError:
            self._part_from_courier("a sheet did not arrive: the connection has ended")

    def _hear_courier(self) -> None:
        """Take in parts of a sheet; whatever is wrong with one ends it, and nothing of it is kept."""
        if self._courier is None:
            return
        try:
            words = self._courier.hear()
        except (EOFError, OSError):
            words = "an incomplete sheet was dropped"
        except BadFrameError as error:
            words = f"a sheet is dropped: the editor sent {error}"
        if words is not None:
            self._part_from_courier(words)

    def _part_from_courier(self, words: str) -> None:
        if self._courier is not None:
            self._selector.unregister(self._courier.link)
            self._courier.link.close()
            self._courier = None
            self._tell(words)

    def _let_go(self, why: str = "") -> None:
        """Silence the editor that is served, and wait for another."""
        editor, self._editor = self._editor, None
        if editor is None:
            return
        self._engine.order("stop")
        self._playing, self._number = False, 0
        self._selector.unregister(editor.link)
        editor.link.close()
        if why:
            self._tell(f"the editor has left: {why}")

    def _hear(self) -> None:
        """Take orders of the editor."""
        editor = self._editor
        if editor is None:
            return
        self._heard_s = time.monotonic()
        try:
            for frame in editor.link.receive():
                self._obey(inspect(frame, FROM_EDITOR))
        except (EOFError, OSError):
            self._let_go("its connection has ended")
        except BadFrameError as error:
            self._let_go(f"it sent {error}")

    def _obey(self, frame: Frame) -> None:
        """Pass an order on; raises BadFrameError when it holds a plan that cannot be played."""
        if frame.word in PLANS:
            body = checked_plan(frame, self._records)
            self._number = frame.values["number"]
            self._playing = self._playing or frame.word != "change"  # which does nothing where nothing plays
            self._send("taken", number=self._number)
            values = renumbered(frame.values, self._served * MOST_NUMBER)
            if not self._engine.order(frame.word, body, **values):
                self._engine_has_ended()
        elif frame.word == "stop":
            self._playing, self._number = False, 0
            self._engine.order("stop")
        elif frame.word == "have":
            mark = frame.values["mark"]
            self._send("have", mark=mark, there=self._records.path_of(mark) is not None)
        elif frame.word == "piece":
            self._take_piece(frame)

    def _take_piece(self, frame: Frame) -> None:
        """Take a piece of a recording; raises BadFrameError when it is none."""
        mark, number, of = (frame.values[name] for name in ("mark", "number", "of"))
        try:
            is_whole = self._records.take(mark, number, of, frame.body)
        except ValueError as error:
            raise BadFrameError(str(error)) from None
        self._send("piece-got", mark=mark, number=number)
        if number + 1 == of:
            self._tell(f"a part of a recording {'has come' if is_whole else 'cannot be kept'}")
            self._send("have", mark=mark, there=is_whole)

    def _report(self, frame: Frame) -> None:
        """Pass a report of the engine on, if it is about an order of the editor that is served."""
        values = dict(frame.values)
        if "number" in values:
            served, values["number"] = divmod(values["number"], MOST_NUMBER)
            if served != self._served:
                return
        if frame.word == "outputs" and not self._output:
            self._tell("no output yet; name one with `--output`")
        elif frame.word == "output":
            self._output = values = values | {"name": plain(values["name"])}
            self._tell(f"the sound goes to the {OutputKind(values['kind']).noun} '{values['name']}'")
        elif frame.word == "failed":
            del values["ends"]  # an engine that ends is followed by another
            self._tell(f"cannot play: {values['message']}")
            values |= {name: plain(values[name]) for name in ("message", "hint")}  # it may list a hundred ports
        elif frame.word == "turn":
            values |= {"start_s": values["start_s"] - self._born_s, "now_s": time.monotonic() - self._born_s}
        begun = frame.word == "turn" and self._number > 0  # not one told before the engine heard of a stop
        self._playing = (self._playing or begun) and frame.word not in {"ended", "failed"}
        if frame.word in FROM_LISTENER:
            self._send(frame.word, folded(frame.body) if frame.body else b"", **values)

    def _engine_has_ended(self) -> None:
        """It may have said why; it is started again by itself."""
        self._output = {}
        if self._playing:
            self._playing = False
            message = "the sound engine of the listener has ended"
            self._send("failed", number=self._number, message=message, hint="play again in a moment")

    def _send(self, word: str, body: bytes = b"", **values: Any) -> None:
        """Say something to the editor, if there is one."""
        if self._editor is None:
            return
        try:
            self._editor.link.send(word, body, **values)
        except OSError:
            self._let_go("its connection has ended")

    def _tell(self, line: str) -> None:
        """Say a line to the user; those that come too fast are counted."""
        now_s = time.monotonic()
        earned = (now_s - self._lines_s) * LINES_PER_S
        self._lines, self._lines_s = min(self._lines + earned, MOST_LINES), now_s
        if self._lines < 1:
            self._unsaid += 1
            return
        more = f" (and {self._unsaid} lines left out)" if self._unsaid else ""
        self._lines, self._unsaid = self._lines - 1, 0
        self._say(line + more)
