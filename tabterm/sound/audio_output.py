"""The audio device as an output: a thread renders a little ahead, and the device takes from a ring.

The thread keeps `AHEAD_FRAMES` waiting. What is ordered takes effect behind what the device has in its own buffer
already; what waits in the ring is faded out in `FADE_FRAMES` and thrown away.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import SoundError
from tabterm.sound.device import LATENCY_S, Device
from tabterm.sound.outputs import OutputKind
from tabterm.sound.precedence import take_precedence
from tabterm.sound.rendition import Rendition
from tabterm.sound.ring import Ring
from tabterm.sound.synthesiser import RATE

if TYPE_CHECKING:
    from tabterm.sound.outputs import Tell
    from tabterm.sound.plan import Plan
    from tabterm.sound.sequencer import PlanStretch

BLOCK_FRAMES = 256  #: frames; implementation limit
FIRST_FRAMES = 512  #: frames; implementation limit
"""A device that runs may come for its period (10 ms) just after the first block has been put in."""

START_FRAMES = 1_536  #: frames; implementation limit
"""A device that starts takes three periods at once."""

AHEAD_FRAMES = 3_072  #: frames; implementation limit
"""70 ms: for so long the thread may be kept from its work, and a change must come so long before its beat."""

RING_FRAMES = AHEAD_FRAMES + BLOCK_FRAMES  #: frames; derived: AHEAD_FRAMES + BLOCK_FRAMES
FADE_FRAMES = 256  #: frames; implementation limit
PAUSE_S = 0.004  #: s; implementation limit
"""How long the thread sleeps when enough waits."""

BREATH_S = 0.00005  #: s; implementation limit
"""Between two blocks it waits at least so long: the kernel ends a real-time thread that never does."""

TICK_S = 0.01  #: s; implementation limit
"""How often reports are looked for while something plays."""

RECKON_S = 2.0  #: s; implementation limit
"""How often it is said anew where the sound is: the device's clock is not the system's."""

LATE_S = 0.1  #: s; implementation limit
"""A device that runs has taken samples within so long."""

REST_S = 30.0  #: s; implementation limit
"""A device that has had nothing to play for so long is stopped; to start it takes time when it is needed again."""


@dataclass(slots=True)
class _Begun:
    """A stretch that has been rendered from its beginning on, which is frame `frame` of all that were put out."""

    number: int
    turn: int
    at_s: float
    frame: int
    heard: bool = False


class AudioOutput:
    """Plays plans on the audio device, with the built-in instrument.

    Attributes:
        kind: The audio device.
        name: Its name.
        exact: What is exact here are the samples, not the moments at which they are made.
    """

    kind = OutputKind.DEVICE
    exact = False

    def __init__(self, wanted: str, report: Tell) -> None:
        self._ring = Ring(RING_FRAMES)
        self._device = Device(wanted, RATE, self._ring.take)
        self.name = self._device.name
        self._report = report
        self._wake = threading.Condition()
        self._rendition: Rendition | None = None
        self._shift = 0
        self._begun: deque[tuple[int, PlanStretch]] = deque()
        self._sounding: _Begun | None = None
        self._over: tuple[int, int] | None = None
        self._told_s = self._idle_since_s = 0.0
        self._underruns = 0
        self._error: BaseException | None = None
        self._closed = False
        self._thread = threading.Thread(target=self._render, daemon=True)
        self._thread.start()

    def play(self, plan: Plan) -> None:
        """Play at once, in place of what sounds."""
        rendition = Rendition(plan)
        with self._wake:
            self._forget()
            self._rendition = rendition
            self._shift = self._ring.put_frames
            self._wake.notify()

    def change(self, plan: Plan) -> None:
        """Let a plan take over at the next beat that has not been rendered yet."""
        with self._wake:
            changed = self._rendition is not None and self._rendition.change(plan)
            self._tell_begun()
        if not changed:
            self._report("missed", number=plan.order.number)

    def then(self, plan: Plan) -> None:
        """Let a plan follow what sounds; at once where nothing does."""
        with self._wake:
            rendition = self._rendition
            follows = rendition is not None and rendition.plays
            if rendition is not None and follows:
                rendition.then(plan)
        if not follows:
            self.play(plan)

    def stop(self) -> None:
        """Silence at once."""
        with self._wake:
            self._forget()

    def _forget(self) -> None:
        self._ring.cut(FADE_FRAMES)
        if self._rendition is not None:
            self._rendition.close()
        self._rendition = self._sounding = self._over = None
        self._begun.clear()
        self._idle_since_s = time.monotonic()

    def work(self) -> float | None:
        """Tell what has come to pass since the last time."""
        if isinstance(self._error, SoundError):
            raise self._error
        if self._error is not None:
            raise SoundError(f"the built-in strings have failed: {self._error}") from self._error
        with self._wake:
            now_s = time.monotonic()
            self._tell_begun()
            self._tell_place(now_s)
            if self._sounding and self._over is not None and self._ring.taken_frames >= self._over[0]:
                self._report("ended", number=self._over[1])
                self._sounding = self._over = None
            plays = self._rendition is not None or self._sounding is not None
        if self._ring.underruns != self._underruns:
            self._underruns = self._ring.underruns
            self._report("underruns", count=self._underruns)
        if plays:
            self._idle_since_s = now_s
            return now_s + TICK_S
        if not self._device.runs:
            return None
        if now_s - self._idle_since_s > REST_S:
            self._device.stop()
        return self._idle_since_s + REST_S + TICK_S if self._device.runs else None

    def _tell_begun(self) -> None:
        """Say what will begin to sound."""
        while self._begun:
            frame, stretch = self._begun.popleft()
            self._sounding = _Begun(stretch.plan.order.number, stretch.turn, stretch.from_s, frame + self._shift)
            self._tell(self._sounding)

    def _tell_place(self, now_s: float) -> None:
        """Say more exactly when it began once it has, and again and again as it goes on."""
        begun = self._sounding
        if begun is None or self._ring.taken_frames <= begun.frame:
            return
        if not begun.heard or now_s - self._told_s > RECKON_S:
            begun.heard = True
            self._tell(begun)

    def _tell(self, begun: _Begun) -> None:
        now_s, taken_s = time.monotonic(), self._ring.taken_s
        if now_s - taken_s > LATE_S:
            taken_s = now_s  # the device is about to be started
        start_s = taken_s + (begun.frame - self._ring.last_taken) / RATE + LATENCY_S
        self._report("turn", number=begun.number, turn=begun.turn, at_s=begun.at_s, start_s=start_s)
        self._told_s = now_s

    def is_there(self) -> bool:
        """Whether the device still asks for samples."""
        return self._device.is_there()

    def close(self) -> None:
        """Let the device play what it has, and let it go."""
        self.stop()
        with self._wake:
            self._closed = True
            self._wake.notify()
        if self._device.runs:
            time.sleep(FADE_FRAMES / RATE + LATENCY_S)
        self._device.close()

    def _render(self) -> None:
        """What the thread does: fill the ring, and start the device once enough waits."""
        take_precedence()
        try:
            while not self._closed:
                is_enough = self._fill()
                if not self._device.runs and not self._closed and (is_enough or self._ring.filled >= START_FRAMES):
                    self._device.start()
                time.sleep(PAUSE_S if is_enough else BREATH_S)
        except Exception as error:  # noqa: BLE001 - whatever it is, the engine must hear of it
            self._error = error

    def _fill(self) -> bool:
        """Render a block, as soon as there is something to play; True when enough waits, or all."""
        with self._wake:
            while self._rendition is None and not self._closed:
                self._wake.wait()
            rendition = self._rendition
            if rendition is None or self._ring.filled >= AHEAD_FRAMES:
                return True
            block = rendition.read(BLOCK_FRAMES if rendition.frame else FIRST_FRAMES)
            self._begun.extend(rendition.begun)
            rendition.begun.clear()
            if rendition.over is not None:
                self._over = rendition.over[0] + self._shift, rendition.over[1]
            self._ring.put(block, last=not rendition.sounds)
            if not rendition.sounds:
                rendition.close()
                self._rendition = None
            return self._rendition is None
