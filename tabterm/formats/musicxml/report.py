"""Elements of the standard that the model has no place for."""

from __future__ import annotations

from tabterm.score import report

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
    "other-articulation": "other articulations",
    "other-direction": "other directions",
    "other-notation": "other notations",
    "other-ornament": "other ornaments",
    "other-technical": "other playing techniques",
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
        *("part-symbol", "play", "staff", "staff-divide", "staves", "stem", "tuplet", "voice"),
    }
)
"""Elements that say how the page looks, what follows from the rest, or what a score does not hold."""


class XmlReporter(report.Reporter):
    """Gathers the remarks on a MusicXML file."""

    def leave_out(self, tag: str, line: int) -> None:
        """An element that is not carried over; nothing is said of mere layout."""
        if tag in LAYOUT:
            return
        what = LEFT_OUT.get(tag)
        self.left_out(f"{what} are left out" if what else f"<{tag:.40}> is not understood and left out", line)
