"""Which maps of the neck are shown: of a pool that is named, and of what sounds at a place of a score."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.double_stops import playable
from tabterm.hand.neck import neck_of
from tabterm.hand.positions import positions
from tabterm.harmony.chords import chord_of
from tabterm.harmony.dyads import degrees
from tabterm.harmony.phrases import phrases
from tabterm.harmony.pools import chord_pool, explanations, pool_named, scale
from tabterm.harmony.spelling import chord_in_force
from tabterm.page.neck_map import map_of_dyads, map_of_pool, map_of_stops

if TYPE_CHECKING:
    from tabterm.hand.neck import Neck
    from tabterm.hand.player import Player
    from tabterm.harmony.pools import Pool
    from tabterm.page.neck_map import NeckMap
    from tabterm.score.model import Score
    from tabterm.score.place import Place


def maps_of(
    neck: Neck,
    pool: Pool,
    highest: int,
    *,
    names: bool = False,
    by_position: bool = False,
    dyads: str | None = None,
) -> list[NeckMap]:
    """The maps that are asked for.

    Raises:
        ScoreError: No such double stop, or no position, for this hand.
    """
    if dyads is not None:
        found = [each.dyad for each in playable(neck, pool, highest=highest) if degrees(each.dyad, pool) == dyads]
        if not found:
            raise ScoreError(f"no double stop {dyads} in {pool.name}", hint="`tabterm dyads` lists them")
        low, _, high = dyads.partition("-")
        title = f"{dyads} of {pool.name}"
        pairs = [(each, (low, high)) for each in found]
        return [map_of_dyads(title, neck.instrument, pairs, pool, highest=highest)]
    if by_position:
        held = positions(neck, pool, highest)
        if not held:
            raise ScoreError(
                f"no closed position of {pool.name} for this hand",
                hint="`tabterm neck` without --positions shows all notes",
            )
        return [
            map_of_stops(f"{pool.name}, {each}", neck.instrument, each.stops, pool, highest=highest)
            for each in held
        ]
    return [map_of_pool(pool, neck.instrument, highest=highest, names=names)]


def map_named(neck: Neck, text: str, highest: int) -> NeckMap:
    """What a player names: a chord or scale, or with two degrees behind it its double stops: `D7 3-1`.

    Raises:
        ScoreError: No such chord or scale, or no such double stop for this hand.
    """
    words = text.split()
    dyads = words.pop() if len(words) > 1 and _DEGREES.fullmatch(words[-1]) else None
    return maps_of(neck, pool_named(" ".join(words)), highest, dyads=dyads)[0]


_DEGREES = re.compile(r"[#b]*\d+-[#b]*\d+")


def views(score: Score, player: Player, place: Place, *, names: bool = False) -> list[NeckMap]:
    """What there is to see at a place: chord, scale of the phrase, double stops of the chord, positions."""
    neck = neck_of(score.head, player)
    highest = score.head.instrument.frets
    symbol = chord_in_force(score, place)
    chord = chord_of(score, symbol) if symbol else None
    tones = chord_pool(symbol, chord) if symbol and chord is not None and chord.root is not None else None
    made_of = _pool_at(score, place)
    found = [map_of_pool(pool, neck.instrument, highest=highest, names=names) for pool in (tones, made_of) if pool]
    if tones is not None:
        held = playable(neck, tones, highest=highest)
        for pair in dict.fromkeys(degrees(each.dyad, tones) for each in held):
            found += maps_of(neck, tones, highest, dyads=pair)
    return [
        *found,
        *(
            map_of_stops(f"{made_of.name}, {each}", neck.instrument, each.stops, made_of, highest=highest)
            for each in positions(neck, made_of, highest)
        ),
    ]


def _pool_at(score: Score, place: Place) -> Pool:
    """The scale that the phrase at a place is made of; that of the key where it is silent."""
    span = next((each for each in phrases(score) if place in each), None)
    best = next((each.pool for each in explanations(score, span) if each.pool), None) if span else None
    key = score.keys[min(place.measure, len(score.keys) - 1)]
    return best or scale(key.mode if key.mode != "locrian" else "major", key.tonic_fifths)
