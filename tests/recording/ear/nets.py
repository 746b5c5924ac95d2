"""The net of `tabterm.recording.net` as torch trains it, and the picture it sees."""

from __future__ import annotations

import numpy as np
import torch
from torch import nn

from tabterm.recording.net import HEAD, LAYERS, Convolution
from tabterm.recording.spectra import ABOVE, BELOW, BINS, CHANNELS, HARMONICS, HOP, LOUDNESS, bank, first_bin

FINE, COARSE, ANSWERS = 24, 48, 4
"""Channels before the semitones, from them on, and at the end."""


class Taps(nn.Module):
    """One layer: a weight a tap, laid into the smallest kernel that holds all taps."""

    def __init__(self, layer: Convolution, inputs: int, outputs: int) -> None:
        super().__init__()
        frames, places = ([tap[i] for tap in layer.taps] for i in range(2))
        step = max(abs(frame) for frame in frames) // max(len(set(frames)) // 2, 1) or 1
        self.dilation, height, width = (step, 1), len(set(frames)), 2 * max(map(abs, places)) + 1
        self.stride = (1, 3) if layer.folds else (1, 1)
        self.padding = (step * (height // 2), 0 if layer.folds else width // 2)
        self.kernel = (height, width)
        cells = [(frame // step + height // 2) * width + place + width // 2 for frame, place in layer.taps]
        spread = torch.zeros(len(cells), height * width)
        spread[torch.arange(len(cells)), torch.tensor(cells)] = 1
        self.register_buffer("spread", spread, persistent=False)
        self.weight = nn.Parameter(torch.randn(outputs, inputs, len(cells)) * (2 / (inputs * len(cells))) ** 0.5)

    def forward(self, maps: torch.Tensor) -> torch.Tensor:
        kernel = (self.weight @ self.spread).reshape(*self.weight.shape[:2], *self.kernel)
        return nn.functional.conv2d(maps, kernel, None, self.stride, self.padding, self.dilation)


class Ear(nn.Module):
    """All layers, each with its normalisation; answers before the logistic function."""

    def __init__(self) -> None:
        super().__init__()
        self.taps, self.norms = nn.ModuleList(), nn.ModuleList()
        inputs, outputs = CHANNELS, FINE
        for layer in LAYERS:
            outputs = COARSE if layer.folds else outputs
            self.taps.append(Taps(layer, inputs, outputs))
            self.norms.append(nn.BatchNorm2d(outputs))
            inputs = outputs
        self.head = Taps(HEAD, inputs, ANSWERS)
        self.offset = nn.Parameter(torch.full((ANSWERS,), -4.0))

    def forward(self, maps: torch.Tensor) -> torch.Tensor:
        for taps, norm in zip(self.taps, self.norms, strict=True):
            after = torch.relu(norm(taps(maps)))
            maps = maps + after if after.shape == maps.shape else after
        return self.head(maps) + self.offset[None, :, None, None]

    def folded(self) -> dict[str, np.ndarray]:
        """Weights with the normalisation taken in, as `tabterm.recording.net.net_of` reads them."""
        out = {"head.weight": self.head.weight, "head.offset": self.offset}
        for layer, taps, norm in zip(LAYERS, self.taps, self.norms, strict=True):
            gain = norm.weight / torch.sqrt(norm.running_var + norm.eps)
            out[f"{layer.name}.weight"] = taps.weight * gain[:, None, None]
            out[f"{layer.name}.offset"] = norm.bias - norm.running_mean * gain
        return {name: values.detach().cpu().numpy().astype(np.float16) for name, values in out.items()}


def picture(sound: torch.Tensor) -> torch.Tensor:
    """`tabterm.recording.spectra.picture` of clips, (clips, CHANNELS, frames, BINS)."""
    channels = []
    for window, harmonics in HARMONICS.items():
        shape = torch.hann_window(window, device=sound.device)
        spectrum = torch.stft(sound, window, HOP, window=shape, return_complex=True, pad_mode="constant").abs()
        scale = (spectrum / window**0.5).transpose(1, 2) @ torch.tensor(bank(window), device=sound.device)
        power = scale.pow(2).mean((1, 2), keepdim=True).sqrt() + 1e-6
        scale = nn.functional.pad(torch.log1p(LOUDNESS * scale / power), (BELOW, ABOVE))
        channels += [scale[:, :, first_bin(harmonic) :][:, :, :BINS] for harmonic in harmonics]
    return torch.stack(channels, 1)
