"""What a file holds that the score does not: gathered by kind, each with its first line and how often."""

from __future__ import annotations

from tabterm.formats import Remark

LEFT_OUT = {
    "accordion-registration": "accordion registrations",
    "beat-repeat": "beat repeats that are not written out",
    "bracket": "brackets and lines",
    "breath-mark": "breath marks",
    "caesura": "caesuras",
    "coda": "codas",
    "cue": "cue notes",
    "dashes": "brackets and lines",
    "delayed-inverted-turn": "turns",
    "delayed-turn": "turns",
    "detached-legato": "tenuto marks",
    "double-tongue": "tonguings",
    "dynamics": "dynamics",
    "fermata": "fermatas",
    "figured-bass": "figured bass",
    "frame": "chord diagrams",
    "harmonic": "harmonics",
    "interchangeable": "second time signatures",
    "inverted-mordent": "mordents",
    "inverted-turn": "turns",
    "lyric": "lyrics",
    "mordent": "mordents",
    "non-arpeggiate": "brackets round chords",
    "other-articulation": "articulations of another kind",
    "other-direction": "directions of another kind",
    "other-notation": "notations of another kind",
    "other-ornament": "ornaments of another kind",
    "other-technical": "playing techniques of another kind",
    "pedal": "pedal marks",
    "pluck": "fingers of the right hand",
    "principal-voice": "brackets and lines",
    "scordatura": "scordatura marks",
    "segno": "segnos",
    "shake": "trills",
    "slash": "slashes",
    "snap-pizzicato": "snap pizzicatos",
    "soft-accent": "soft accents",
    "stress": "stress marks",
    "string-mute": "mutes",
    "symbol": "symbols",
    "tap": "taps",
    "tenuto": "tenuto marks",
    "thumb-position": "thumb positions",
    "trill-mark": "trills",
    "triple-tongue": "tonguings",
    "turn": "turns",
    "unpitched": "notes without pitch",
    "unstress": "stress marks",
    "vertical-turn": "turns",
    "wedge": "hairpins",
}
"""Elements of the standard that the model has no place for, in a player's words."""

LAYOUT = frozenset(
    {
        *("accidental", "accidental-mark", "beam", "bookmark", "cancel", "clef", "damp", "damp-all", "directive"),
        *(
            "display-octave",
            "display-step",
            "eyeglasses",
            "footnote",
            "for-part",
            "grouping",
            "image",
            "instrument",
        ),
        *("instruments", "level", "link", "listen", "listening", "notehead-text", "octave-shift", "offset"),
        *("part-symbol", "play", "print", "staff", "staff-divide", "staves", "stem", "tuplet", "voice"),
    }
)
"""Elements that say how the page looks, what follows from the rest, or what is no business of a score."""


MOST_KINDS = 200
"""More kinds of remarks than this are counted together."""


class Report:
    """Gathers remarks while a file is read or written."""

    def __init__(self) -> None:
        self._said: dict[str, int] = {}
        self._counts: dict[str, int] = {}

    def say(self, message: str, line: int = 0) -> None:
        """A remark of its own; the same words are said once, with how often."""
        if len(self._said) >= MOST_KINDS and message not in self._said:
            message = "more is left out"
        self._counts[message] = self._counts.get(message, 0) + 1
        self._said.setdefault(message, line)

    def leave_out(self, tag: str, line: int) -> None:
        """An element that is not carried over; nothing is said of mere layout."""
        if tag in LAYOUT:
            return
        what = LEFT_OUT.get(tag)
        self.say(f"{what} are left out" if what else f"<{tag:.40}> is not understood and left out", line)

    def remarks(self) -> tuple[Remark, ...]:
        """Everything said, in the order of the lines, what concerns the whole file first."""
        found = []
        for message, line in self._said.items():
            count = self._counts[message]
            times = f" ({count} times)" if count > 1 else ""
            found.append(Remark(line, 1 if line else 0, message + times))
        return tuple(sorted(found, key=lambda remark: remark.line))
