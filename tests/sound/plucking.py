"""Short ways to pluck strings in tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Part, Pluck
from tabterm.sound.synthesiser import Synthesiser
from tabterm.sound.voicing import voicing_of

RATE = 44_100


def pluck(pitch, start_s=0.0, end_s=10.0, course=2, velocity=86, attack=Attack.DOWN, part=Part.SOLO, **more):
    """An attack on the second course, unless told otherwise."""
    return Pluck(part, course, pitch, start_s, end_s, velocity, attack, **more)


def dry(voicing):
    """The strings alone: no room, no body or open course that answers, no noise of the pick."""
    return replace(voicing, parts={name: _dry_part(part) for name, part in voicing.parts.items()}, room=0.0)


def _dry_part(part):
    return replace(part, timbre=replace(part.timbre, sympathy=0.0, knock=0.0, pick_noise=0.0))


def synthesiser(preset="mandolin", seed=0, alone=False):
    """The strings of a preset."""
    voicing = voicing_of(PRESETS[preset])
    return Synthesiser(dry(voicing) if alone else voicing, RATE, seed)


def sounded(*plucks, seconds=1.0, preset="mandolin", seed=0, alone=False):
    """What is heard of plucks from frame 0 on, as (frames, 2)."""
    strings = synthesiser(preset, seed, alone)
    for each in plucks:
        strings.play(each, 0)
    return strings.read(round(seconds * RATE))


def level_db(samples):
    """Effective value in decibels of full scale."""
    return 20 * np.log10(np.sqrt(np.mean(np.square(samples, dtype=float))) + 1e-12)
