"""Fields that say how the music is read: key, metre, note length, tempo, redefined letters."""

from __future__ import annotations

import re
from dataclasses import field
from fractions import Fraction

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.duration import QUARTER
from tabterm.score.key import C_MAJOR, MODE_FIFTHS, Key
from tabterm.score.metre import Metre
from tabterm.score.tempo import BEATS, Tempo

ALTER = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_MODES = {mode[:3]: mode for mode in MODE_FIFTHS} | {"": "major", "ion": "major", "m": "minor", "aeo": "minor"}
_KEY = re.compile(r"^([A-G])([#b]?)\s*([A-Za-z]*)")
_ACCIDENTAL = re.compile(r"(?:^|\s|(?<=[A-Ga-g]))(\^\^?|__?|=)([A-Ga-g])(?=$|\s|[_^=])")
_SHARPS = "FCGDAEB"
_OCTAVE = re.compile(r"\boctave=\s*(-?\d)\b|\b(?:treble|bass|alto|tenor)\d?([+-])8")
_SEMITONES = re.compile(r"\b(?:transpose|t)=\s*([+-]?\d{1,2})\b")
_CLEF = re.compile(r"\bclef=|(?:^|\s)(?:treble|bass|alto|tenor)\b")
_QUOTED = re.compile(r'"[^"]*"')
_FRACTION = re.compile(r"^(\d{1,3})/(\d{1,3})$")
_BEATS = re.compile(r"\d{1,3}/\d{1,3}")
_PER_MINUTE = re.compile(r"^\d{1,3}(?:\.\d{1,3})?$")
LONGEST_UNIT = Fraction(4)

CHORD_SYMBOL = re.compile(
    r"^(?=\S{1,24}$)\(?(?:(?i:N[./]?C\b)|[A-H][#b\u266f\u266d]?"
    r"(?i:major|minor|maj|min|ma|mi|m|hdim|dim|dom|aug|alt|sus|add|omit|no|o|j)*(?![A-Za-z.]))"
)
"""Quoted words that begin like the name of a chord; `Fine`, `D.C.` and `Bridge` do not."""


@dataclass(frozen=True, slots=True)
class KeyField:
    """What a key field says.

    Attributes:
        key: The key, the nearest one that has a name where accidentals are given one by one.
        signature: Alteration of each letter that has one.
        is_exact: The key says all that the signature says.
    """

    key: Key = C_MAJOR
    signature: dict[str, int] = field(default_factory=dict)
    is_exact: bool = True


def parse_key(text: str) -> KeyField | None:
    """Read a key field; None where it names no key (it may change the clef alone)."""
    text = text.strip()
    if text[:2] in ("HP", "Hp"):
        return KeyField(Key.parse("D"), {"F": 1, "C": 1} if text[1] == "p" else {}, text[1] == "p")
    if not text or text.lower().startswith("none"):
        return KeyField()
    match = _KEY.match(text)
    if match is None:
        return None
    step, accidental, word = match.groups()
    word = word.lower()
    explicit = word.startswith("exp")
    mode = _MODES.get(word if word == "m" else word[:3])
    rest = text[match.end() :]
    if mode is None:
        mode, rest = "major", text[match.end(3) - len(word) :]
    key = Key(step, {"#": 1, "b": -1}.get(accidental, 0), mode)
    own = {letter.upper(): ALTER[sign] for sign, letter in _ACCIDENTAL.findall(rest)}
    signature = own if explicit else signature_of(key) | own
    return KeyField(key, signature, signature == signature_of(key))


def parse_semitones(text: str) -> int | None:
    """How much higher the music sounds than it is written, by what a field says; None where it says no clef."""
    text = _QUOTED.sub("", text)
    octave, turned = _OCTAVE.search(text), _SEMITONES.search(text)
    if not octave and not turned:
        return 0 if _CLEF.search(text) else None
    return (int(turned[1]) if turned else 0) + (12 * int(octave[1] or f"{octave[2]}1") if octave else 0)


def signature_of(key: Key) -> dict[str, int]:
    """Alteration of each letter that the signature of a key alters."""
    letters = _SHARPS if key.fifths > 0 else _SHARPS[::-1]
    count, sign = abs(key.fifths), 1 if key.fifths > 0 else -1
    return {
        letter: sign * (count // 7 + (number < count % 7))
        for number, letter in enumerate(letters)
        if count // 7 + (number < count % 7)
    }


def parse_metre(text: str) -> Metre | None:
    """Read a metre field: `6/8`, `C`, `C|`, `(2+3+2)/8`; None for free metre or what is no metre."""
    text = text.strip()
    match = re.match(r"^\(?([\d+\s]+)\)?/(\d+)$", text)
    if match and "+" in match[1]:
        groups = [int(part) for part in match[1].split("+") if part.strip()]
        text = f"{sum(groups)}/{match[2]}({'+'.join(map(str, groups))})"
    try:
        return Metre.parse(text)
    except ScoreError:
        return None


def is_free(text: str) -> bool:
    """Whether a metre field asks for free metre."""
    return not text.strip() or text.strip().lower() == "none"


def parse_length(text: str) -> Fraction | None:
    """Read a unit note length such as `1/8`, in quarters; None where it is none."""
    match = _FRACTION.match(text.strip())
    if match is None:
        return Fraction(4) if text.strip() == "1" else None
    count, unit = int(match[1]), int(match[2])
    if count == 0 or unit & (unit - 1) or not 1 <= unit <= 512:
        return None
    length = Fraction(4 * count, unit)
    return length if length <= LONGEST_UNIT else None


def usual_length(metre: Metre | None) -> Fraction:
    """Unit note length where no field gives one, in quarters: a sixteenth in metres under 3/4 (standard 3.1.7)."""
    short = metre is not None and metre.length < 3
    return Fraction(1, 4) if short else Fraction(1, 2)


def parse_tempo(text: str, unit: Fraction) -> tuple[Tempo | None, str, bool]:
    """Read a tempo field: the tempo, its words, and whether that is all; `unit` is what a lone number counts."""
    said = " ".join(quoted.strip('"') for quoted in _QUOTED.findall(text)).strip()
    rest = _QUOTED.sub(" ", text).strip()
    left, _, right = rest.rpartition("=")
    if not _PER_MINUTE.match(right.strip()):
        return None, said, not rest
    beats = [Fraction(beat) for beat in _BEATS.findall(left) if not beat.endswith("/0")]
    length = 4 * sum(beats, Fraction(0)) or unit * (int(re.sub(r"\D", "", left) or 1) or 1)
    value = BEATS.get(length)
    per_minute = float(right)
    try:
        if value is not None:
            return Tempo(per_minute, value), said, True
        return Tempo(round(per_minute * float(length), 3), QUARTER), said, True
    except ScoreError:
        return None, said, False
