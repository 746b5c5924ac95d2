"""The neck as the ear hears it in the recording: every fret at one moment, and the courses over a few seconds."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.screen import ModalScreen
from textual.widgets import Static

from tabterm.errors import TabtermError
from tabterm.instrument.model import pitch_name
from tabterm.score.place import describe
from tabterm.tui.keys import key_name

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.events import Key, Resize

    from tabterm.recording.audio import Recording
    from tabterm.recording.sounding import Sounding
    from tabterm.workspace.session import Session

BEFORE_S, AFTER_S = 1.0, 4.0
"""Of the recording that is listened to around the moment."""

FRETS = 12
"""That are shown: what lies above sounds the same an octave lower on a higher course (by definition)."""

WEAK, HEARD, STRONG = 0.08, 0.3, 0.7
"""From which likelihood on a fret is shown as faint, as heard, and as certain; tuned here."""

SIGNS = ((STRONG, "#"), (HEARD, "+"), (WEAK, "."))
FIGURES = "0123456789abc"
"""Frets in one character."""

STEP_S = 0.025
"""One column of the courses over time."""


class NeckHeardScreen(ModalScreen[None]):
    """Arrows go through time, space plays the moment, Escape closes."""

    MOVES: ClassVar[dict[str, int]] = {"left": -1, "right": 1, "pageup": -20, "pagedown": 20}
    CLOSES = frozenset({"escape", "q", "n"})

    def __init__(self, session: Session, recording: Recording, run: Callable[[str], None]) -> None:
        """Show the neck at the moment of a session's recording; `run` carries a command out."""
        super().__init__()
        self._session, self._recording, self._run = session, recording, run
        self._sounding: Sounding | None = None
        self._trouble, self._listens = "", False

    def compose(self) -> ComposeResult:
        """One sheet of text, drawn for its size."""
        sheet = Static(classes="sheet", id="neck-heard", markup=False)
        sheet.border_title = "Neck in the recording (Escape closes)"
        yield sheet

    def on_mount(self) -> None:
        """Begin to listen."""
        self._listen()

    def on_resize(self, _event: Resize) -> None:
        """Draw for the size."""
        self.call_after_refresh(self._draw)

    def _listen(self) -> None:
        """Have the seconds around the moment looked at, where they are not known."""
        at_s, known = self._session.recording.at_s, self._sounding
        if self._listens or (known is not None and known.from_s <= at_s < known.to_s):
            return
        self._listens = True
        self.run_worker(lambda: self._work(at_s), thread=True, exit_on_error=False)

    def _work(self, at_s: float) -> None:
        from tabterm.recording.sounding import sounding

        try:
            end_s = min(at_s + AFTER_S, self._recording.length_s)
            kept = self._session.recording.kept
            found = sounding(
                self._recording,
                max(at_s - BEFORE_S, 0.0),
                end_s,
                cents=kept.tuning_cents if kept else None,
                progress=lambda _: self.is_attached,
            )
            self._sounding = found
        except TabtermError as error:
            self._trouble = str(error)
        self._listens = False
        if self.is_attached:
            self.app.call_from_thread(self._draw)

    async def take_key(self, event: Key) -> None:
        """Carry a key out."""
        key, own = key_name(event), self._session.recording
        if key in self.CLOSES:
            self.dismiss(None)
        elif key == "space":
            self._run("listen")
        elif key in self.MOVES:
            own.at_s = min(max(own.at_s + self.MOVES[key] * STEP_S, 0.0), self._recording.length_s)
            self._listen()
        self._draw()

    # Drawing

    def _draw(self) -> None:
        sheet = self.query_one("#neck-heard", Static)
        width, height = sheet.content_size.width, sheet.content_size.height
        sheet.update(Text("\n".join(self._page(width)[: max(height, 1)]), no_wrap=True, overflow="crop"))

    def _page(self, width: int) -> list[str]:
        lines = [self._words(), ""]
        if self._trouble:
            return [*lines, self._trouble]
        if self._sounding is None:
            return [*lines, "listening ..."]
        keys = "arrows, page keys move in time   space plays from here   Escape closes"
        return [
            *lines,
            *self._neck(),
            "",
            *self._courses(width),
            "",
            keys,
            "# certain  + heard  . faint  ! begins",
        ]

    def _words(self) -> str:
        """The moment, its place in the score, and what is heard most clearly."""
        session, at_s = self._session, self._session.recording.at_s
        kept, words = session.recording.kept, [f"{at_s:.3f} s"]
        if kept is not None and kept.time_map is not None:
            words.append(describe(session.score, session.recording.line.place(at_s)))
        heard = [(self._at(at_s, pitch), pitch) for pitch in range(128)]
        clear = sorted((each for each in heard if each[0][0] >= HEARD), reverse=True)[:3]
        words += [f"{pitch_name(pitch)} {sounds:.0%}" for (sounds, _), pitch in clear]
        return "   ".join(words)

    def _at(self, at_s: float, pitch: int) -> tuple[float, float]:
        return (0.0, 0.0) if self._sounding is None else self._sounding.at(at_s, pitch)

    def _neck(self) -> list[str]:
        """A line for each course: how strongly every fret sounds at the moment."""
        instrument, at_s = self._session.score.head.instrument, self._session.recording.at_s
        lines = ["fret  " + "".join(f"{fret:<4}" for fret in range(FRETS + 1))]
        for course, letter in enumerate(instrument.course_letters(), 1):
            cells = [_cell(*self._at(at_s, instrument.pitch(course, fret))) for fret in range(FRETS + 1)]
            lines.append(f"{letter:<4}  " + "".join(f"{cell:<4}" for cell in cells))
        return lines

    def _courses(self, width: int) -> list[str]:
        """A line for each course: the fret that sounds most on it, over time; `!` over where one begins."""
        instrument, at_s = self._session.score.head.instrument, self._session.recording.at_s
        columns = max(width - 6, 10)
        moments = [at_s + (column - columns // 4) * STEP_S for column in range(columns)]
        pitches = range(min(course.pitch for course in instrument.courses), 128)
        begins = "".join("!" if max(self._at(each, p)[1] for p in pitches) >= HEARD else " " for each in moments)
        lines = ["      " + begins]
        for course, letter in enumerate(instrument.course_letters(), 1):
            strip = []
            for moment in moments:
                told = max(
                    (self._at(moment, instrument.pitch(course, fret))[0], -fret) for fret in range(FRETS + 1)
                )
                strip.append(FIGURES[-told[1]] if told[0] >= HEARD else "-")
            lines.append(f"{letter:<4}  " + "".join(strip))
        return [*lines, " " * (6 + columns // 4) + "^"]


def _cell(sounds: float, begins: float) -> str:
    """How strongly a fret sounds, with a sign where it begins."""
    sign = next((sign for least, sign in SIGNS if sounds >= least), " ")
    return sign + "!" * (begins >= HEARD)
