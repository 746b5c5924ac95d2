"""Playback: the editor's end of the engine; starts it, gives it plans, knows where the sound is."""

from __future__ import annotations

import subprocess
import time
from array import array
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from tabterm.performance.midi import with_manners
from tabterm.sound import packing
from tabterm.sound.link import EngineProcess, spawn
from tabterm.sound.outputs import ANY, OutputKind, Wish
from tabterm.sound.plan import Plan
from tabterm.sound.position import Whereabouts, joints
from tabterm.sound.voicing import voicing_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.performance import Performance
    from tabterm.performance.midi import MidiManners
    from tabterm.sound.link import Frame, Link
    from tabterm.sound.position import Position

State = Literal["idle", "playing", "failed"]

PATIENCE_S = 8.0  #: s; implementation limit
"""How long an answer of the engine is waited for where one is needed; a sound system may hang."""

END_WITHIN_S = 0.5  #: s; implementation limit
"""How long the engine may take to end before it is killed."""

GLANCE_S = 0.001  #: s; implementation limit

NO_MANNERS: Mapping[str, MidiManners] = MappingProxyType({})


class Ordered(NamedTuple):
    """What the engine has been told to play, and how: at once, from the next beat on, or after what sounds."""

    number: int
    word: Literal["play", "change", "then"]
    performance: Performance
    turns: int


def reach_engine() -> EngineProcess:
    """An engine of this machine, as a process of its own."""
    return spawn("tabterm.sound.engine")


class Playback:
    """One engine and what it is playing. Nothing waits for the sound, except where it says so.

    An event loop may watch `fileno()` and call `receive()` when it is readable; `state` and `position` take in
    what has come as well, so that a caller who never watches is told the truth too.

    Attributes:
        wish: The output that the player named.
        message: Why it failed.
        hint: What to do about it; "" where only another way to hear the music helps, such as a file.
        output_name: Where it plays to, once that is known.
        started_s: When the last plan ordered by `play` began to sound, on the monotonic clock; None before.
        late_s: How late each MIDI message of the last plan was sent, in s, where that was asked for.
        shipped: How much of what is sent ahead is at the listener, 0 to 1; None where nothing is sent.
        underruns: How often samples came too late for the audio device since the engine was started.
    """

    def __init__(
        self,
        wish: Wish = ANY,
        *,
        reach_listener: Callable[[Wish], EngineProcess | None] | None = None,
        manners: Mapping[str, MidiManners] = NO_MANNERS,
    ) -> None:
        """Nothing is started yet.

        Args:
            wish: The output that the player named.
            reach_listener: How to reach a listener, at once, for what was named; None where there is none that
                answers. It is the first line of the rule of the outputs.
            manners: How outputs want their messages, by the words that name them.
        """
        self.wish = wish
        self.message = ""
        self.hint = ""
        self.output_name = ""
        self.started_s: float | None = None
        self.late_s: array[float] = array("d")
        self.underruns = 0
        self.shipped: float | None = None
        self._reach_listener, self._manners = reach_listener, manners
        self._process: subprocess.Popen[bytes] | None = None
        self._ending: list[subprocess.Popen[bytes]] = []
        self._link: Link | None = None
        self._is_far = False
        self._port = ""
        self._silences = False
        self._state: State = "idle"
        self._number = 0
        self._sounding: Ordered | None = None
        self._coming: list[Ordered] = []  # ordered since, and not begun as far as is known here
        self._whereabouts = Whereabouts()
        self._found: list[tuple[str, str]] | None = None

    def start(self) -> None:
        """Start the engine's process, without waiting for it, and let it open its output beforehand."""
        self.receive()
        self._ending = [process for process in self._ending if process.poll() is None]
        if self._state != "playing":
            self._look_for_listener()
        if self._link is None:
            self._start_engine()

    def _start_engine(self, silenced: str = "") -> None:
        """Start an engine of this machine; it first silences the MIDI port that another has left sounding."""
        self._process, self._link = reach_engine()
        if silenced:
            self._silences = True
            self._send("silence", name=silenced)
        self._warm()

    def _look_for_listener(self) -> None:
        """Take a listener that has come in place of the engine; leave one that has failed for what there is."""
        is_well = self._is_far and self._state != "failed"
        if self._reach_listener is None or self.wish.kind not in {None, OutputKind.LISTENER} or is_well:
            return
        if (reached := self._reach_listener(self.wish)) or self._is_far:
            self._leave()
        if reached:
            (self._process, self._link), self._is_far = reached, True

    def choose(self, wish: Wish) -> None:
        """Play to another output from the next order on; what sounds is silenced."""
        self.stop()
        self.wish, self.output_name = wish, ""
        if self._is_far or wish.kind is OutputKind.LISTENER:
            self.close()
        elif self._link is not None:
            self._warm()

    def _warm(self) -> None:
        self._send("warm", kind=self.wish.kind, name=self.wish.name)

    def play(self, performance: Performance, *, loop: int = 1, measures_lateness: bool = False) -> None:
        """Play at once, in place of what sounds.

        Args:
            performance: What to play.
            loop: Number of turns, 0 until stopped; the count-in is played before the first only.
            measures_lateness: Report in `late_s` how late each message was sent.
        """
        self.start()
        self._state, self.message, self.hint, self.started_s = "playing", "", "", None
        self._whereabouts.clear()
        self._sounding, self._coming = self._ordered("play", performance, loop), []
        self._order(self._sounding, measures_lateness=measures_lateness)

    def change(self, performance: Performance, *, loop: int | None = None) -> None:
        """Go over to a performance at the next beat, without a gap; nothing where nothing plays.

        It goes on at the same place or, where that is not in it, at its start. What sounds on both sides of the
        beat goes on. Turns are counted on. What waits to take over, or to follow, is given up.

        Args:
            performance: What to go over to.
            loop: Number of turns from the first on, 0 until stopped; None leaves it as it is.
        """
        if self.state == "playing" and self._sounding is not None:
            self._change(self._sounding, performance, self._sounding.turns if loop is None else loop)

    def then(self, performance: Performance, *, loop: int = 1) -> None:
        """Play when what sounds has ended its turns, without a gap; at once where nothing plays.

        What waits to follow is given up.
        """
        if self.state == "playing":
            self._then(performance, loop)
        else:
            self.play(performance, loop=loop)

    def send_ahead(self, path: str, mark: str, from_s: float, to_s: float) -> None:
        """Have a stretch of a recording at the listener before it is played; nothing where none is reached."""
        self.start()
        if self._is_far:
            self.shipped = 0.0
            self._send("ship", path=path, mark=mark, from_s=from_s, to_s=to_s)

    def stop(self) -> None:
        """Silence at once."""
        if self.state == "playing":
            self._send("stop")
        self._forget("idle")

    @property
    def state(self) -> State:
        """`playing` from the order on; `failed` when that could not be done (see `message`)."""
        self.receive()
        return self._state

    def position(self) -> Position | None:
        """What is heard now; None before the first sound and when nothing plays."""
        return self._whereabouts.position() if self.state == "playing" else None

    def outputs(self) -> list[tuple[str, str]]:
        """(kind, name) of all outputs that can be named; waits for the engine's answer."""
        self.start()
        self._found = None
        self._send("outputs")
        self._wait_until(lambda: self._found is not None)
        return self._found or []

    def _wait_until(self, holds: Callable[[], bool]) -> None:
        """Take in reports until something holds, the engine has gone, or patience ends."""
        deadline_s = time.monotonic() + PATIENCE_S
        while not holds() and self._link is not None and time.monotonic() < deadline_s:
            self._link.wait(deadline_s - time.monotonic())
            self.receive()

    def fileno(self) -> int | None:
        """The descriptor to watch for reports; None while there is no engine. A new engine has a new one."""
        return None if self._link is None else self._link.fileno()

    def receive(self) -> None:
        """Take in the reports that have come."""
        if self._link is None:
            return
        try:
            for frame in self._link.receive():
                self._take(frame)
                if self._link is None:
                    break
        except (EOFError, OSError):
            self._lost()

    def silence_now(self, timeout_s: float) -> None:
        """End the engine, which silences everything, and wait for it so long; safe in a signal handler."""
        if self._process is None:
            return
        deadline_s = time.monotonic() + timeout_s
        self._process.terminate()
        while self._process.poll() is None and time.monotonic() < deadline_s:
            time.sleep(GLANCE_S)

    def close(self) -> None:
        """Silence, and end the engine."""
        self._wait_until(lambda: not self._silences)
        self._leave()
        for process in self._ending:
            try:
                process.wait(END_WITHIN_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        self._ending.clear()
        self._forget("idle")

    # Orders

    def _change(self, sounding: Ordered, performance: Performance, turns: int) -> None:
        self._coming.append(self._ordered("change", performance, turns))
        self._order(self._coming[-1], follows=sounding)

    def _then(self, performance: Performance, turns: int) -> None:
        self._coming.append(self._ordered("then", performance, turns))
        self._order(self._coming[-1])

    def _ordered(self, word: Literal["play", "change", "then"], performance: Performance, turns: int) -> Ordered:
        self._number += 1
        return Ordered(self._number, word, performance, turns)

    def _order(self, what: Ordered, *, follows: Ordered | None = None, measures_lateness: bool = False) -> None:
        plan = Plan.of(
            self._mannered(what.performance),
            voicing_of(what.performance.instrument, what.performance.tone),
            number=what.number,
            turns=what.turns,
            joints=joints(follows.performance, what.performance) if follows else (),
            follows=follows.number if follows else 0,
            measures_lateness=measures_lateness,
        )
        body, values = packing.packed(plan)
        self._send(what.word, body, **values)

    def _mannered(self, performance: Performance) -> Performance:
        """As the output that is played to wants it; the first counts whose words name it."""
        for words, manners in self._manners.items():
            wish = Wish.parse(words)
            if wish == self.wish or (wish.name and wish.name in self.output_name):
                return with_manners(performance, manners)
        return performance

    def _send(self, word: str, body: bytes = b"", **values: Any) -> None:
        if self._link is None:
            return
        try:
            self._link.send(word, body, **values)
        except OSError:
            self._lost()

    # Reports

    def _take(self, frame: Frame) -> None:
        values = frame.values
        if frame.word == "outputs":
            self._found = [(kind, name) for kind, name in values["found"]]
        elif frame.word == "output":
            self.output_name = values["name"]
            self._port = values["name"] if values["kind"] == OutputKind.PORT else ""
        elif frame.word == "shipped":
            self.shipped = values["part"]
        elif frame.word == "silenced":
            self._silences = False
        elif frame.word == "underruns":
            self.underruns = values["count"]
        elif frame.word == "failed" and values["ends"]:
            self._leave()
            if self._state == "playing":
                self._fail(values["message"], values["hint"])
        elif self._state == "playing":
            self._take_report(frame)

    def _take_report(self, frame: Frame) -> None:
        """Take in a report on something that was ordered; one on what is past means nothing."""
        values = frame.values
        expected = (self._sounding, *self._coming)
        what = next((each for each in expected if each and each.number == values["number"]), None)
        if what is None:
            return
        if frame.word in {"turn", "ended"}:
            # It has come about: what was ordered before it does not any more.
            self._coming = [each for each in self._coming if each.number > what.number]
        if frame.word == "turn":
            self._begun(what, values["turn"], values["at_s"], values["start_s"])
        elif frame.word == "missed":
            self._missed(what)
        elif frame.word == "ended":
            self.late_s = array("d", frame.body)
            if not any(each.word == "then" for each in self._coming):
                self._forget("idle")
        elif frame.word == "failed":
            self._send("stop")  # what sounded before would go on
            self._fail(values["message"], values["hint"])

    def _missed(self, change: Ordered) -> None:
        """Order a change again that came too late, and what was to follow it; not if another has replaced it."""
        later = [each for each in self._coming if each.number > change.number]
        if self._sounding is None or any(each.word == "change" for each in later):
            return
        self._change(self._sounding, change.performance, change.turns)
        for following in later[-1:]:
            self._then(following.performance, following.turns)

    def _begun(self, what: Ordered, turn: int, at_s: float, start_s: float) -> None:
        self._sounding = what
        self._whereabouts.add(what.performance, turn, at_s, start_s)
        if turn == 1 and not at_s:
            self.started_s = start_s

    def _lost(self) -> None:
        """The engine has ended, unasked: what it had sounding at a MIDI port is silenced by another.

        One that had no output yet was looking for one: a library that hangs has taken it along, and would again.
        """
        port, opened = self._port, bool(self.output_name)
        self._leave()
        if self._state == "playing":
            where, hint = ("", "play again to restart it") if opened else (" without an output", "")
            self._fail(f"the sound engine has stopped{where}", hint)
            if port:
                self._start_engine(port)

    def _leave(self) -> None:
        """Let an engine that ends go its way: a new one is started with the next order."""
        if self._link is not None:
            self._link.close()
        if self._process is not None:
            self._ending.append(self._process)
        self._link = self._process = None
        self._is_far = self._silences = False
        self.output_name, self._port, self.underruns, self.shipped = "", "", 0, None

    def _fail(self, message: str, hint: str) -> None:
        self._forget("failed")
        self.message, self.hint = message, hint

    def _forget(self, state: State) -> None:
        self._state = state
        self._sounding, self._coming = None, []
        self._whereabouts.clear()
