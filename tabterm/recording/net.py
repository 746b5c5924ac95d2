"""A small convolutional net, in plain matrix products: a picture in, four likelihoods a pitch and frame out."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    Maps = NDArray[np.float32]

Taps = tuple[tuple[int, int], ...]
BLOCK = 3072  #: columns of one matrix product; measured here: what is gathered stays in the second cache


def grid(frames: int, bins: int, apart: int = 1) -> Taps:
    """Taps of a kernel of so many frames and bins, the frames so many apart: (frame, bin) from its middle."""
    return tuple(
        (apart * (frame - frames // 2), place - bins // 2) for frame in range(frames) for place in range(bins)
    )


#: semitones; definition: a pitch's neighbours, fourths, fifths, octaves and twelfths, with which it is confused
HARMONIC: Taps = tuple((0, step) for step in (-24, -19, -12, -7, -5, -2, -1, 0, 1, 2, 5, 7, 12, 19, 24))


class Convolution(NamedTuple):
    """A convolution: what it sees of the layer before (of its semitone in threes, if `folds`)."""

    name: str
    taps: Taps
    folds: bool = False

    @property
    def border(self) -> int:
        """How many frames to either side it sees."""
        return max(abs(frame) for frame, _ in self.taps)


#: frames, semitones and bins; tuned here: what each layer sees
LAYERS = (
    Convolution("edges", grid(3, 5)),
    Convolution("strokes", grid(3, 3)),
    Convolution("bins", grid(1, 13)),
    Convolution("semitones", grid(3, 3), folds=True),
    Convolution("moments", grid(7, 1)),
    Convolution("harmonics", HARMONIC),
    Convolution("before_and_after", grid(7, 1, apart=4)),
    Convolution("shapes", grid(3, 3)),
    Convolution("harmonics_again", HARMONIC),
    Convolution("beat", grid(5, 1, apart=12)),
    Convolution("bar", grid(5, 1, apart=32)),
)
HEAD = Convolution("head", grid(3, 1))  #: frames and bins; tuned here: what the answers see
LEAD_ONSET, LEAD_SOUNDS, ONSET, SOUNDS = range(4)  #: index; definition
REACH = 150  #: frames; tuned here: around a piece, by which its level is judged, and that the longest window sees


@dataclass(frozen=True)
class Net:
    """Weights by layer: (outputs, taps * inputs), and an offset an output."""

    weights: Mapping[str, Maps]
    offsets: Mapping[str, Maps]

    def answers(self, picture: Maps) -> Maps:
        """Four likelihoods (0 to 1) for each frame and pitch: (4, frames, pitches).

        Whether a note of the lead begins, sounds; whether any note begins, sounds.
        """
        return self.along().answers(picture, last=True)

    def along(self) -> Along:
        """The net over a picture that comes piece by piece."""
        return Along(self)


class Along:
    """A net that goes along a sound: each layer keeps what it saw last, which the next frames are seen beside."""

    def __init__(self, net: Net) -> None:
        self._net = net
        self._kept: dict[str, Maps] = {}

    def answers(self, picture: Maps, *, last: bool) -> Maps:
        """The answers that the next frames of the picture allow; all that are left where these are the last.

        The first calls give fewer frames than they take: answers wait for what comes behind them.
        """
        maps = picture
        for layer in LAYERS:
            here, told = self._layer(layer, maps, last=last)
            told = np.maximum(told, 0)
            maps = here + told if told.shape == here.shape else told
        _, told = self._layer(HEAD, maps, last=last)
        return (1 / (1 + np.exp(-np.clip(told, -60, 60)))).astype(np.float32)

    def _layer(self, layer: Convolution, maps: Maps, *, last: bool) -> tuple[Maps, Maps]:
        """The frames that can be told now, before and behind a layer."""
        border, (channels, _, bins) = layer.border, maps.shape
        nothing = np.zeros((channels, border, bins), np.float32)
        known = [self._kept.get(layer.name, nothing), maps, *([nothing] if last else [])]
        seen = np.concatenate(known, axis=1) if border else maps
        frames = seen.shape[1] - 2 * border
        self._kept[layer.name] = seen[:, max(frames, 0) :].copy()
        if frames <= 0:
            seen, frames = seen[:, :0], 0
        here = seen[:, border : border + frames]
        return here, convolved(seen, self._net.weights[layer.name], self._net.offsets[layer.name], layer)


def convolved(maps: Maps, weight: Maps, offset: Maps, layer: Convolution) -> Maps:
    """One layer over maps of (channels, frames, bins): the frames that have all neighbours they see.

    Beyond the outer bins is nothing. Frames lie one after another with empty bins between them, so that a tap is a
    shift of the whole and a block of columns of all taps is gathered by copying.
    """
    taps = layer.taps
    if layer.folds:
        channels, frames, bins = maps.shape
        thirds = maps.reshape(channels, frames, bins // 3, 3).transpose(3, 0, 1, 2)
        maps = thirds.reshape(3 * channels, frames, bins // 3)
        taps = tuple((frame, 0) for frame in dict.fromkeys(frame for frame, _ in taps))
    channels, frames, bins = maps.shape
    margin, border = max(abs(place) for _, place in taps), layer.border
    width = bins + margin
    padded = np.zeros((channels, frames * width + 2 * margin), np.float32)
    padded[:, margin : margin + frames * width].reshape(channels, frames, width)[:, :, :bins] = maps
    frames = max(frames - 2 * border, 0)
    columns, origin = frames * width, margin + border * width
    out = np.empty((len(weight), columns), np.float32)
    gathered = np.empty((len(taps), channels, max(min(BLOCK, columns), 1)), np.float32)
    for at in range(0, columns, BLOCK):
        size = min(BLOCK, columns - at)
        for index, (frame, place) in enumerate(taps):
            start = origin + at + frame * width + place
            gathered[index, :, :size] = padded[:, start : start + size]
        np.matmul(weight, gathered.reshape(-1, gathered.shape[2])[:, :size], out=out[:, at : at + size])
    out += offset[:, None]
    return out.reshape(len(weight), frames, width)[:, :, :bins]


def net_of(arrays: Mapping[str, Maps], names: Iterable[str]) -> Net:
    """A net of arrays `NAME.weight` (outputs, inputs, taps), `NAME.offset`."""
    weights, offsets = {}, {}
    for name in names:
        weight = arrays[f"{name}.weight"].astype(np.float32)
        weights[name] = np.ascontiguousarray(weight.transpose(0, 2, 1).reshape(len(weight), -1))
        offsets[name] = arrays[f"{name}.offset"].astype(np.float32)
    return Net(weights, offsets)


@cache
def trained() -> Net:
    """The net that comes along (`tests/recording/ear` trains it)."""
    with resources.files("tabterm.recording").joinpath("ear.npz").open("rb") as file:
        arrays = dict(np.load(file))
    return net_of(arrays, [layer.name for layer in (*LAYERS, HEAD)])
