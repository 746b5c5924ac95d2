"""The transport: what is to be heard, how, and where the sound is just now."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span
    from tabterm.sound.player import Player

CLICKS = ("off", "beats", "offbeats")
"""Where the click falls, in the order in which it is gone through."""


@dataclass
class Transport:
    """Settings of the playback and the engine behind it; the engine is started when first needed.

    Attributes:
        output: Where to, as the player names it.
        tempo_percent: 20 to 200.
        loop: Play again and again until stopped.
        click: Where it clicks, a word of `CLICKS`.
        count_in: Measures counted before the start, 0 to 2.
    """

    output: str = "auto"
    tempo_percent: int = 100
    loop: bool = False
    click: str = "off"
    count_in: int = 0
    player: Player | None = field(default=None, repr=False)

    def warm_up(self) -> Player:
        """Start the engine's process, so that the first sound is not late."""
        if self.player is None:
            from tabterm.sound.outputs import Wish
            from tabterm.sound.player import Player
            from tabterm.sound.remote.call import reach

            self.player = Player(Wish.parse(self.output), reach_listener=reach)
            self.player.start()
        return self.player

    @property
    def playing(self) -> bool:
        """Something sounds, or is about to."""
        return self.player is not None and self.player.state == "playing"

    def play(self, score: Score, span: Span | None) -> None:
        """Play a span, or the whole score with its repeats; raises SoundError when there is no way to."""
        from tabterm.performance import Click, Options, perform

        options = Options(tempo_percent=self.tempo_percent, count_in=self.count_in, click=Click(self.click))
        performance = perform(score, span=span, options=options)
        self.warm_up().play(performance, loop=0 if self.loop else 1)

    def stop(self) -> None:
        """Silence at once."""
        if self.player is not None:
            self.player.stop()

    def place(self) -> Place | None:
        """Where the sound is, or None when nothing sounds."""
        position = self.player.position() if self.player is not None else None
        return position.place if position else None

    def choose(self, text: str) -> None:
        """Play to another output from now on; raises SoundError when the words name none."""
        from tabterm.sound.outputs import Wish

        wish = Wish.parse(text)
        self.output = str(wish)
        if self.player is not None:
            self.player.choose(wish)

    def outputs(self) -> str:
        """All outputs that can be named, in the words that name them, and what is known of the one in use."""
        player = self.warm_up()
        names = [f"{kind}:{name}" for kind, name in player.outputs()]
        late = f", {player.underruns} drop-outs" if player.underruns else ""
        using = [f"in use: {player.output_name}{late}"] if player.output_name else []
        return "; ".join((*using, *names))

    @property
    def trouble(self) -> str:
        """Why nothing sounds, or ""."""
        if self.player is None or self.player.state != "failed":
            return ""
        hint = self.player.hint or "the command 'export' writes a MIDI file"
        return f"{self.player.message} ({hint})"

    def silence_now(self) -> None:
        """Silence within a tenth of a second; may be called from a signal handler."""
        if self.player is not None:
            self.player.silence_now(0.1)

    def close(self) -> None:
        """Silence, and end the engine."""
        if self.player is not None:
            self.player.close()
            self.player = None
