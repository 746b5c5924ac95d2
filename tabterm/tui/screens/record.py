"""The recording over its measures: how loud it is, where the bar lines and beats lie, the solo in it."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.screen import ModalScreen
from textual.widgets import Static

from tabterm.score.place import Place, Span, display_number
from tabterm.score.record_mix import AS_IT_IS
from tabterm.tui.keys import key_name

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.events import Key, Resize

    from tabterm.recording.audio import Recording
    from tabterm.recording.timemap import TimeMap
    from tabterm.workspace.session import Session
    from tabterm.workspace.tied import TiedRecording

FOLLOW_S = 0.1
"""How often the panel looks where the sound is."""

STEPS = 40
"""Of what is shown, one of so many parts is a step of the cursor."""

CLOSEST_S, FIRST_S = 0.5, 20.0
"""The least that is shown at once, and what is shown first."""

HIGHEST = 8
"""Lines of the waveform at most."""

HELP = (
    "space play   < half speed   arrows, page keys move   + - zoom   Tab next bar",
    "t tap a beat, T accept taps   b find beats, Enter accept   h half   d double",
    "1 start a measure here   | move a bar line here, u undo that",
    "[ ] mark the solo   B tab, recording, both   p propose notes   n the neck",
    "s side   ( ) balance   e bring out the solo's register   m all of these",
    "the ear was not measured on real recordings: check what it proposes by ear",
)


class RecordScreen(ModalScreen[None]):
    """One sheet: a line of words, the waveform, the seconds, the measures, the keys."""

    RUNS: ClassVar[dict[str, str]] = {
        "space": "listen",
        "[": "solo-start",
        "]": "solo-end",
        "t": "tap-beat",
        "T": "beats-as-tapped",
        "b": "find-beats",
        "enter": "accept-beats",
        "h": "beats-half",
        "d": "beats-double",
        "1": "first-beat",
        "|": "bar-here",
        "u": "undo-bars",
        "ctrl+z": "undo-bars",
        "B": "hear-record",
        "p": "propose",
        "n": "see-neck",
        "s": "record-side",
        "(": "record-left",
        ")": "record-right",
        "e": "solo-register",
        "m": "record-mix",
        "<": "half-speed",
        "f7": "slower",
        "f8": "faster",
        "f9": "click",
    }
    """What a key runs."""

    MOVES: ClassVar[dict[str, float]] = {"left": -1, "right": 1, "pageup": -STEPS, "pagedown": STEPS}
    CLOSES = frozenset({"escape", "q", "f12"})
    ASKING = frozenset({"b", "|", "m"})
    """Keys whose question is put on the score's own line, so that the panel makes way."""

    def __init__(
        self, session: Session, recording: Recording, run: Callable[[str], None], said: Callable[[], str]
    ) -> None:
        """Show the recording of a session.

        Args:
            session: Whose.
            recording: Its recording.
            run: Carries a command out, by its name.
            said: What was said last.
        """
        super().__init__()
        self._session, self._run, self._said = session, run, said
        self._recording, self._length_s = recording, recording.length_s
        self._from_s, self._width_s = 0.0, min(FIRST_S, recording.length_s)
        self._shown = ""

    @property
    def _own(self) -> TiedRecording:
        return self._session.recording

    def compose(self) -> ComposeResult:
        """One sheet of text, drawn for its size."""
        sheet = Static(classes="sheet", id="record", markup=False)
        sheet.border_title = "Recording (Escape closes)"
        yield sheet

    def on_mount(self) -> None:
        """Begin to read it, and to follow the sound."""
        from tabterm.recording.waveform import Waveform

        self._show_cursor()
        if self._own.waveform is None or not self._own.waveform.is_read:
            self._own.waveform = Waveform(self._recording)
            self.run_worker(self._read, thread=True, exit_on_error=False)
        self.set_interval(FOLLOW_S, self._follow)

    def _read(self) -> None:
        waveform = self._own.waveform
        if waveform is not None:
            waveform.read(lambda _: self.is_attached)

    def on_resize(self, _event: Resize) -> None:
        """Draw for the size."""
        self.call_after_refresh(self._draw)

    def _follow(self) -> None:
        """Go with the sound, and draw what has changed."""
        heard_s = self._session.transport.heard_s()
        if heard_s is not None and not self._from_s <= heard_s < self._from_s + self._width_s:
            self._from_s = min(max(heard_s, 0.0), max(self._length_s - self._width_s, 0.0))
        self._draw()

    async def take_key(self, event: Key) -> None:
        """Carry a key out."""
        key = key_name(event)
        if key in self.CLOSES:
            self.dismiss(None)
        elif key in self.ASKING:
            self.dismiss(None)
            self._run(self.RUNS[key])
        elif key in self.RUNS:
            if key == "space" and self._session.transport.playing:
                self._own.at_s = self._session.transport.heard_s() or self._own.at_s
            self._run(self.RUNS[key])
        else:
            self._move(key)
        self._draw()

    def _move(self, key: str) -> None:
        own = self._own
        if key in self.MOVES:
            own.at_s += self.MOVES[key] * self._width_s / STEPS
        elif key in {"home", "end"}:
            own.at_s = 0.0 if key == "home" else self._length_s
        elif key in {"+", "=", "-"}:
            self._width_s = min(max(self._width_s * (2 if key == "-" else 0.5), CLOSEST_S), self._length_s)
            self._from_s = own.at_s - self._width_s / 2
        elif key in {"tab", "shift+tab"}:
            lines = self._lines_s()
            at = bisect_left(lines, own.at_s + 0.001) if key == "tab" else bisect_left(lines, own.at_s - 0.001) - 1
            own.at_s = lines[at] if 0 <= at < len(lines) else own.at_s
        own.at_s = min(max(own.at_s, 0.0), self._length_s)
        self._show_cursor()

    def _show_cursor(self) -> None:
        """Show the part that the moment is in."""
        at_s = self._own.at_s
        if not self._from_s <= at_s <= self._from_s + self._width_s:
            self._from_s = at_s - self._width_s / STEPS * 4
        self._from_s = min(max(self._from_s, 0.0), max(self._length_s - self._width_s, 0.0))

    def _map(self) -> TimeMap | None:
        """The map that is proposed, else the one that holds."""
        kept = self._own.kept
        return self._own.proposed or (kept.time_map if kept else None)

    def _lines_s(self) -> list[float]:
        """The second of every bar line."""
        score, time_map = self._session.score, self._map()
        if time_map is None:
            return []
        line = time_map.on(score)
        return [line.at(Place(index)) for index in range(len(score.measures) + 1)]

    # Drawing

    def _draw(self) -> None:
        sheet = self.query_one("#record", Static)
        width, height = sheet.content_size.width, sheet.content_size.height
        if width < 10 or height < 3:
            return
        text = "\n".join(self._page(width, height))
        if text != self._shown:
            self._shown = text
            sheet.update(Text(text, no_wrap=True, overflow="crop"))

    def _page(self, width: int, height: int) -> list[str]:
        """All lines, from top to bottom; the keys give way where there is no room."""
        rows = min(HIGHEST, max(height - 6 - len(HELP), 2))
        lines = [
            *self._words(),
            *self._wave(width, rows),
            self._ruler(width),
            *self._bars(width),
            self._part(width),
        ]
        said = self._said()
        room = height - len(lines) - bool(said)
        return [*lines, *([said] if said else []), *HELP[: max(room, 0)]]

    def _words(self) -> list[str]:
        own, transport = self._own, self._session.transport
        kept, waveform = own.kept, own.waveform
        heard_s = transport.heard_s()
        state = f"playing {heard_s:.2f} s" if heard_s is not None else f"at {own.at_s:.2f} s"
        words = [own.name, f"{self._length_s:.1f} s", state]
        percent = transport.practice.tempo_percent
        words += [f"{percent:.0f}%"] if percent != 100 else []
        words += [f"{kept.tuning_cents:+.0f} cents"] if kept and kept.tuning_cents else []
        words += [
            {"tab": "tab only", "record": "recording only", "both": "recording left, tab right"}[
                transport.practice.record
            ]
        ]
        words += [str(transport.practice.mix)] if transport.practice.mix != AS_IT_IS else []
        shipped = transport.shipped
        words += [f"{shipped:.0%} sent to the listener"] if shipped is not None and shipped < 1 else []
        words += [f"{len(own.taps)} taps"] if own.taps else []
        words += ["beats proposed: Enter accepts them"] if own.proposed else []
        trouble = waveform.trouble if waveform else ""
        return ["  ".join(words), *([trouble] if trouble else [])]

    def _wave(self, width: int, rows: int) -> list[str]:
        from tabterm.recording.waveform import drawn

        waveform = self._own.waveform
        peaks = [0.0] * width if waveform is None else waveform.peaks(self._from_s, self._to_s, width)
        return drawn(peaks, rows, ascii_only=self.app.has_class("plain") or self._ascii)

    @property
    def _ascii(self) -> bool:
        abilities = getattr(getattr(self.app, "wire", None), "abilities", None)
        return abilities is not None and not abilities.unicode

    @property
    def _to_s(self) -> float:
        return self._from_s + self._width_s

    def _column(self, at_s: float, width: int) -> int:
        """The cell of a moment."""
        return int((at_s - self._from_s) / self._width_s * width)

    def _ruler(self, width: int) -> str:
        """Seconds, the moment, and where the sound is."""
        cells = [" "] * width
        step = next(
            step
            for step in (0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, 300, 900, 3600)
            if self._width_s / step < width / 7
        )
        tick = int(self._from_s / step) * step
        while tick < self._to_s:
            if tick >= self._from_s:
                self._put(cells, self._column(tick, width), f"'{tick:g}")
            tick = round(tick + step, 3)
        self._put(cells, self._column(self._own.at_s, width), "^")
        heard_s = self._session.transport.heard_s()
        if heard_s is not None:
            self._put(cells, self._column(heard_s, width), ">")
        return "".join(cells)

    def _bars(self, width: int) -> list[str]:
        """Bar lines with their numbers, and beats under them; a proposal is drawn with colons."""
        score, time_map = self._session.score, self._map()
        if time_map is None:
            return ["no bar lines yet: tap beats (t) while it plays, or find them (b)", ""]
        line, numbers, beats = time_map.on(score), [" "] * width, [" "] * width
        sign = ":" if self._own.proposed else "|"
        first, last = (line.place(at_s).measure for at_s in (self._from_s, self._to_s))
        for index in range(max(first, 0), min(last + 2, len(score.measures) + 1)):
            number = str(display_number(score, index)) if index < len(score.measures) else ""
            self._put(numbers, self._column(line.at(Place(index)), width), sign + number)
        for _, at_s, begins in line.beats(Span.of_measures(max(first, 0), min(last, len(score.measures) - 1))):
            self._put(beats, self._column(at_s, width), sign if begins else ".")
        for tap in self._own.taps:
            self._put(beats, self._column(tap, width), "t")
        return ["".join(numbers), "".join(beats)]

    def _part(self, width: int) -> str:
        """The solo, from bracket to bracket."""
        kept, cells = self._own.kept, [" "] * width
        if kept is not None and kept.part is not None:
            start, end = (self._column(at_s, width) for at_s in kept.part)
            for x in range(max(start, 0), min(end, width)):
                cells[x] = "_"
            self._put(cells, start, "[")
            self._put(cells, end, "]")
        return "".join(cells)

    @staticmethod
    def _put(cells: list[str], x: int, text: str) -> None:
        for at, character in enumerate(text, x):
            if 0 <= at < len(cells):
                cells[at] = character
