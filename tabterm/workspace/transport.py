"""The transport: what is to be heard, how, and where the sound is just now."""

from __future__ import annotations

from dataclasses import field
from time import monotonic
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass
from tabterm.piece.practice import Practice
from tabterm.piece.takes import performed
from tabterm.printable import counted
from tabterm.workspace.run import Run

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tabterm.instrument import Instrument
    from tabterm.performance import Performance
    from tabterm.performance.clicks import Word
    from tabterm.performance.midi import MidiManners
    from tabterm.performance.model import Mark, Pluck, Record
    from tabterm.piece.takes import Take
    from tabterm.score.place import Place
    from tabterm.score.tempo import Tempo
    from tabterm.sound.playback import Playback
    from tabterm.sound.position import Position


def rungs_of(practice: Practice, tempo: Tempo) -> tuple[float, ...]:
    """The tempos that a stretch with a written tempo is played at, in percent; raises ScoreError."""
    ladder = practice.ladder
    return (practice.tempo_percent,) if ladder is None else ladder.rungs(tempo)


@dataclass
class Transport:
    """Settings of the playback and the engine behind it; the engine is started when first needed.

    Nothing here runs by itself: who plays calls `look` now and then, and the next rung of a ladder is got ready.

    Attributes:
        output: Where to, as the player names it.
        practice: How it is played; `set` changes it, while it sounds too.
        manners: How outputs want their messages, by the words that name them.
        rung: Number of the rung that the ladder stands on.
        ended: Called with what was played when that ends, in whatever way, or goes over to another stretch.
        asked: Something has been ordered of which the end, or the failure, is still to be seen by who plays.
    """

    output: str = "auto"
    practice: Practice = field(default_factory=Practice)
    manners: Mapping[str, MidiManners] = field(default_factory=dict, repr=False)
    playback: Playback | None = field(default=None, repr=False)
    rung: int = 0
    ended: Callable[[Run], None] | None = None
    asked: bool = False
    run: Run | None = None
    _performance: Performance | None = None
    _next: Performance | None = None
    _count: tuple[Performance, tuple[Word, ...]] | None = None

    def warm_up(self) -> Playback:
        """Start the engine's process, so that the first sound is not late."""
        if self.playback is None:
            from tabterm.sound.outputs import Wish
            from tabterm.sound.playback import Playback
            from tabterm.sound.remote.call import reach

            self.playback = Playback(Wish.parse(self.output), reach_listener=reach, manners=self.manners)
            self.playback.start()
        return self.playback

    def send_ahead(self, record: Record) -> None:
        """Have what is heard of a recording where it will be played, before it is."""
        passage = record.passages[-1]
        self.warm_up().send_ahead(record.path, record.mark, record.passages[0].from_s, passage.to_s)

    @property
    def shipped(self) -> float | None:
        """How much of a recording has reached the listener that it is sent to, 0 to 1; None where none is sent."""
        return None if self.playback is None else self.playback.shipped

    # What is heard

    @property
    def playing(self) -> bool:
        """Something sounds, or is about to."""
        return self.playback is not None and self.playback.state == "playing"

    @property
    def looping(self) -> bool:
        """Something sounds that is played again and again."""
        return self.run is not None and self.run.again and self.playing

    def rungs(self, tempo: Tempo) -> tuple[float, ...]:
        """The tempos that are played at, in percent: those of the ladder, or the one; raises ScoreError."""
        return rungs_of(self.practice, tempo)

    def percent(self, tempo: Tempo) -> float:
        """The tempo just now, in percent of the one written."""
        rungs = self.rungs(tempo)
        return rungs[min(self.rung, len(rungs) - 1)]

    def play(self, takes: Sequence[Take], turns: int | None = None) -> None:
        """Play takes one after another as one turn.

        Args:
            takes: The music of a turn.
            turns: How often without a ladder, 0 until stopped; None for once, or the loop where that is on.

        Raises:
            ScoreError: There is nothing to play, or not at these tempos.
            SoundError: There is no way to.
        """
        self.stop()
        rungs = self.rungs(takes[0].tempo)
        self._order(Run(tuple(takes), self.practice, rungs, turns), min(self.rung, len(rungs) - 1), lead=True)

    def play_alone(
        self,
        record: Record,
        *,
        marks: Sequence[Mark] = (),
        plucks: Sequence[Pluck] = (),
        instrument: Instrument | None = None,
    ) -> None:
        """Play a recording by itself, or with a few notes beside it.

        Args:
            record: Its passages say what of it; they begin one after another.
            marks: Where the score is meanwhile.
            plucks: The notes.
            instrument: What they are played on.

        Raises:
            SoundError: There is no way to.
        """
        from tabterm.instrument import preset
        from tabterm.performance import Performance

        self.stop()
        last = record.passages[-1]
        ends_s = [last.start_s + (last.to_s - last.from_s) / record.speed, *(each.end_s for each in plucks)]
        alone = Performance(
            setup=(),
            messages=(),
            plucks=tuple(plucks),
            marks=tuple(marks),
            measures=(),
            lead_s=0.0,
            duration_s=max(ends_s),
            instrument=instrument or preset("mandolin"),
            record=record,
        )
        self.asked = True
        self.warm_up().play(alone, loop=int(not self.practice.loop or bool(plucks)))

    def heard_s(self) -> float | None:
        """The second of a recording that is heard now; None where none is."""
        position = self._position()
        record = None if position is None else position.performance.record
        if position is None or record is None:
            return None
        for passage in reversed(record.passages):
            if passage.start_s <= position.at_s:
                return passage.from_s + (position.at_s - passage.start_s) * record.speed
        return None

    def _order(self, run: Run, rung: int, *, lead: bool) -> None:
        """Begin a run, or what is left of it, on a rung."""
        performance = performed(run.takes, run.practice, run.rungs[rung], lead=lead)
        run.begin(rung)
        self.asked = True
        self.warm_up().play(performance, loop=run.ordered)
        self.run, self.rung, self._performance = run, rung, performance
        self._queue()

    def _queue(self) -> None:
        """Get the next rung ready where the ladder is climbed by itself, to follow without a gap."""
        run, self._next = self.run, None
        if run is not None and self.playback is not None and run.climbs:
            self._next = performed(run.takes, run.practice, run.rungs[run.rung + 1], lead=False)
            self.playback.then(self._next, loop=run.turns_on(run.rung + 1))

    # What is changed, while it sounds too

    def set(self, **changes: Any) -> None:
        """Change how it is played; what sounds goes on that way from the next beat.

        Raises:
            ScoreError: It cannot be played that way.
        """
        practice = self.practice.with_(**changes)
        self.look()
        self._change(practice, self.rung if practice.ladder == self.practice.ladder else 0)

    def climb(self, by: int, tempo: Tempo) -> None:
        """Go to another rung of the ladder; from the next beat on, where something sounds."""
        self.look()
        self._change(self.practice, min(max(self.rung + by, 0), len(self.rungs(tempo)) - 1))

    def take(self, takes: Sequence[Take]) -> None:
        """Let other music, or the same as it has been changed, take over from the next beat.

        Raises:
            ScoreError: It cannot be played; what sounds goes on as it was.
        """
        self.look()
        if self.run is not None and self.looping and tuple(takes) != self.run.takes:
            self._change(self.practice, self.rung, tuple(takes))

    def _change(self, practice: Practice, rung: int, takes: tuple[Take, ...] | None = None) -> None:
        """Go on in another way, or with other music; nothing is changed where that cannot be played."""
        run = self.run
        if run is None or self.playback is None or not self.playing:
            self.practice, self.rung = practice, rung
            return
        takes = run.takes if takes is None else takes
        rungs = rungs_of(practice, takes[0].tempo)
        percent = rungs[min(rung, len(rungs) - 1)]
        performance = performed(takes, practice, percent, lead=run.turn == 1)
        self.practice, self.rung = practice, rung
        if takes[0].span != run.takes[0].span:
            self._report(run)
            run.count_anew()
        ordered, waits = run.ordered, self._next is not None
        run.takes = takes
        run.to(practice, rungs, rung)
        if performance != self._performance or run.ordered != ordered or waits:
            self._performance = performance
            self.playback.change(performance, loop=run.ordered)
        self._queue()

    # What becomes of it

    def look(self) -> None:
        """Take in how far the sound has got: count turns, get what follows ready, notice the end."""
        run, playback = self.run, self.playback
        if run is None or playback is None:
            return
        self._note(run, playback)
        if playback.state == "idle" and run.climbs:
            # Nobody looked in time for the next rung to follow without a gap.
            self._order(run, run.rung + 1, lead=False)
        elif playback.state == "idle":
            self.rung = 0
            self._end()
        elif playback.state == "failed":
            self._end()

    def _note(self, run: Run, playback: Playback) -> None:
        position = playback.position()
        if position is not None:
            if self._next is not None and position.performance is self._next:
                run.finish()
                run.begin(run.rung + 1)
                self.rung, self._performance = run.rung, self._next
                self._queue()
            run.at(position.turn)
        if playback.state == "idle":
            run.finish()

    def _end(self) -> None:
        run, self.run, self._next, self._count = self.run, None, None, None
        if run is not None:
            self._report(run)

    def _report(self, run: Run) -> None:
        run.seconds = monotonic() - run.begun_s
        if self.ended is not None:
            self.ended(run)

    def stop(self) -> None:
        """Silence at once."""
        if self.playback is not None:
            if self.run is not None:
                self._note(self.run, self.playback)
            self.playback.stop()
        self._end()

    def _position(self) -> Position | None:
        return self.playback.position() if self.playback is not None else None

    def place(self) -> Place | None:
        """Where the sound is; None when nothing sounds, and while it is counted in."""
        position = self._position()
        return None if position is None else position.place

    def counted(self) -> str:
        """What has been said of the count-in, from the last `1` on; "" outside a count-in."""
        position = self._position()
        if position is None or position.place is not None or self.run is None:
            return ""
        if self._count is None or self._count[0] is not position.performance:
            from tabterm.performance.clicks import spoken_count

            self._count = position.performance, spoken_count(position.performance)
        said = [word.text for word in self._count[1] if word.time_s <= position.at_s]
        return " ".join(said[max((n for n, word in enumerate(said) if word == "1"), default=0) :])

    def choose(self, text: str) -> None:
        """Play to another output from now on; raises SoundError when the words name none."""
        from tabterm.sound.outputs import Wish

        wish = Wish.parse(text)
        self.output = str(wish)
        if self.playback is not None:
            self.stop()
            self.playback.choose(wish)

    def output_names(self) -> tuple[str, ...]:
        """All outputs that can be named, in the words that name them."""
        return tuple(f"{kind}:{name}" for kind, name in self.warm_up().outputs())

    def outputs(self) -> str:
        """All outputs that can be named, in the words that name them, and what is known of the one in use."""
        playback = self.warm_up()
        names = self.output_names()
        late = f", {counted(playback.underruns, 'drop-out')}" if playback.underruns else ""
        using = [f"in use: {playback.output_name}{late}"] if playback.output_name else []
        return "; ".join((*using, *names))

    @property
    def trouble(self) -> str:
        """Why nothing sounds, or ""."""
        if self.playback is None or self.playback.state != "failed":
            return ""
        hint = self.playback.hint or "the command 'export' writes a MIDI file, `tabterm render` an audio file"
        return f"{self.playback.message} ({hint})"

    def silence_now(self) -> None:
        """Silence within a tenth of a second; may be called from a signal handler."""
        if self.playback is not None:
            self.playback.silence_now(0.1)

    def close(self) -> None:
        """Silence, and end the engine."""
        self.stop()
        if self.playback is not None:
            self.playback.close()
            self.playback = None
