"""The sound of scores of chance, and what the net ought to answer; all on the device that trains."""

from __future__ import annotations

import math

import torch

from tabterm.recording.spectra import HIGH, HOP, LOW, PITCHES
from tabterm.recording.spectra import RATE_HZ as RATE
from tests.recording.ear.scores import AT, BAND, DRUM, DRUMS, LEAD, SAMPLE, SPAN_S, STRING

CLIP = round(SPAN_S * RATE)
NOTE = 26_460
PARTIALS = 24


def column(notes: torch.Tensor, name: str) -> torch.Tensor:
    """One number a note, as (notes, 1)."""
    return notes[:, AT[name], None]


def times(notes: torch.Tensor) -> torch.Tensor:
    """The time within a note, (1, NOTE)."""
    return torch.arange(NOTE, device=notes.device, dtype=torch.float32)[None] / RATE


def cents(notes: torch.Tensor) -> torch.Tensor:
    """How far each note is off its pitch at each sample: slide in, bend, vibrato."""
    t = times(notes)
    slide = column(notes, "slide_cents") * (1 - t / column(notes, "slide_s")).clamp(0, 1)
    risen = ((t - column(notes, "bend_after_s")) / column(notes, "bend_s")).clamp(0, 1)
    bend = column(notes, "bend_cents") * risen * risen * (3 - 2 * risen)
    return slide + bend + column(notes, "vibrato_cents") * torch.sin(2 * math.pi * 5.5 * t)


def envelope(notes: torch.Tensor) -> torch.Tensor:
    """Level, attack and release of each note at each sample."""
    t = times(notes)
    release = torch.exp(-(t - column(notes, "length_s")).clamp(0) / column(notes, "release_s"))
    return column(notes, "level") * (t / column(notes, "attack_s")).clamp(0, 1) * release


def of_strings(notes: torch.Tensor, strings: torch.Tensor, tuning: torch.Tensor) -> torch.Tensor:
    """Courses of two strings by damped partials with a body and the noise of a pick."""
    out = [torch.zeros(0, NOTE, device=notes.device)]
    for some in notes.split(160):
        timbre = strings[column(some, "clip").long().squeeze(1)]
        place, slope, decay_s, decay_slope, stiffness, course_cents, second = (
            timbre[:, i, None] for i in range(7)
        )
        hz = 440 * 2 ** ((column(some, "pitch") - 69) / 12 + tuning[column(some, "clip").long()] / 1200)
        turns = torch.cumsum(hz.double() * 2 ** (cents(some).double() / 1200) / RATE, 1).float()
        k = torch.arange(1, PARTIALS + 1, device=some.device, dtype=torch.float32)[None]
        ratio = k * torch.sqrt((1 + stiffness * k * k) / (1 + stiffness))
        partial_hz = hz * ratio
        body = torch.ones_like(partial_hz)
        for peak in range(4):
            peak_hz, gain, octaves = (timbre[:, 7 + 3 * peak + i, None] for i in range(3))
            body = body + gain / (1 + (torch.log2(partial_hz / peak_hz) / octaves) ** 2)
        level = torch.sin(math.pi * k * place).abs() / k**slope * (partial_hz < 0.47 * RATE) * body
        decay = decay_s / (1 + decay_slope * (partial_hz / 800) ** 1.2)
        sound, t = torch.zeros(len(some), NOTE, device=some.device), times(some)
        apart = 2 ** (course_cents / 1200)
        for i in range(PARTIALS):
            phase = turns * ratio[:, i, None]
            beside = phase * apart
            both = torch.sin(2 * math.pi * (phase - phase.floor()))
            both += second * torch.sin(2 * math.pi * (beside - beside.floor()))
            sound += level[:, i, None] * torch.exp(-t / decay[:, i, None]) * both
        sound = sound / (sound.abs().amax(1, keepdim=True) + 1e-6)
        pick = 0.3 * second * torch.randn_like(sound) * torch.exp(-t / 0.004)
        out.append((sound + column(some, "noise") * pick) * envelope(some))
    return torch.cat(out)


def of_samples(notes: torch.Tensor, bank: torch.Tensor, tuning: torch.Tensor) -> torch.Tensor:
    """Sampled notes, at the pitches that are asked for."""
    out = [torch.zeros(0, NOTE, device=notes.device)]
    for some in notes.split(800):
        off = tuning[column(some, "clip").long()] * (column(some, "kind") == SAMPLE)
        rate = 2 ** (column(some, "octaves") + (cents(some) + off) / 1200)
        place = torch.cumsum(rate, 1) - rate
        whole = place.long().clamp(0, NOTE - 2)
        part = (place - whole).clamp(0, 1)
        row = bank[column(some, "row").long().squeeze(1)]
        sound = torch.gather(row, 1, whole) * (1 - part) + torch.gather(row, 1, whole + 1) * part
        out.append(sound * envelope(some) * (place < NOTE - 1))
    return torch.cat(out)


def laid(notes: torch.Tensor, sounds: torch.Tensor, clips: int) -> torch.Tensor:
    """The notes of each clip laid over one another, (clips, CLIP)."""
    room = CLIP + 2 * NOTE
    whole = torch.zeros(clips, room, device=notes.device)
    start = (column(notes, "start_s") * RATE).round().long() + NOTE
    index = column(notes, "clip").long() * room + start + torch.arange(NOTE, device=notes.device)[None]
    whole.view(-1).index_add_(0, index.reshape(-1), sounds.reshape(-1))
    return whole[:, NOTE : NOTE + CLIP]


def rms(sound: torch.Tensor) -> torch.Tensor:
    """Root mean square of each clip, (clips, 1)."""
    return sound.pow(2).mean(1, keepdim=True).sqrt() + 1e-5


def equalised(
    spectrum: torch.Tensor, tilt_db: torch.Tensor, middle_db: torch.Tensor, hz: torch.Tensor
) -> torch.Tensor:
    """A spectrum through a tilt and a wide bell at 1 kHz."""
    octaves = torch.log2(hz / 1000)
    return spectrum * 10 ** ((tilt_db * torch.tanh(octaves / 3) + middle_db * torch.exp(-(octaves**2))) / 20)


@torch.no_grad()
def recorded(notes: torch.Tensor, strings: torch.Tensor, how: torch.Tensor, bank: torch.Tensor) -> torch.Tensor:
    """The recordings, (clips, CLIP), about 1 in RMS."""
    clips, device = len(how), notes.device
    tilt, middle, share, room_s, noise, drive, ends_hz, tuning, own_tilt, own_middle, own_drive, band = (
        how[:, i, None] for i in range(how.shape[1])
    )
    tuning, parts = tuning.squeeze(1), []
    for part in ((LEAD,), (BAND, DRUMS)):
        mine = notes[torch.isin(notes[:, AT["part"]], torch.tensor(part, device=device, dtype=notes.dtype))]
        plucked, sampled = mine[mine[:, AT["kind"]] == STRING], mine[mine[:, AT["kind"]] != STRING]
        whole = laid(plucked, of_strings(plucked, strings, tuning), clips)
        parts.append(whole + laid(sampled, of_samples(sampled, bank, tuning), clips))
    hz = torch.fft.rfftfreq(2 * CLIP, 1 / RATE).to(device)[None].clamp(min=20)
    lead = torch.fft.irfft(equalised(torch.fft.rfft(parts[0], n=2 * CLIP), own_tilt, own_middle, hz))[:, :CLIP]
    lead = lead / rms(lead)
    lead = torch.where(own_drive > 0, torch.tanh(lead * own_drive) / (own_drive + 1e-6), lead)
    behind = parts[1] / rms(parts[1]) * (parts[1].abs().amax(1, keepdim=True) > 1e-4)
    sound = lead / rms(lead) + band * behind
    spectrum = equalised(torch.fft.rfft(sound, n=2 * CLIP), tilt, middle, hz)
    spectrum = torch.where((ends_hz > 0) & (hz > ends_hz), spectrum * (ends_hz / hz) ** 4, spectrum)
    t = torch.arange(CLIP, device=device)[None] / RATE
    room = torch.randn(clips, CLIP, device=device) * torch.exp(-t / (room_s * 0.3))
    room = room / room.pow(2).sum(1, keepdim=True).sqrt()
    sound = torch.fft.irfft(spectrum * (1 + share * torch.fft.rfft(room, n=2 * CLIP)))[:, :CLIP]
    sound = sound / rms(sound)
    sound = sound + 3 * noise * torch.randn_like(sound)
    return torch.tanh(sound * drive * 0.3) / 0.3


def wanted(notes: torch.Tensor, clips: int, frames: int) -> torch.Tensor:
    """What the net ought to answer, (clips, 4, frames, pitches), in the order of `tabterm.recording.net`."""
    notes = notes[(notes[:, AT["part"]] < DRUMS) & (notes[:, AT["kind"]] < DRUM)]
    notes = notes[(notes[:, AT["pitch"]] >= LOW) & (notes[:, AT["pitch"]] <= HIGH)]
    answers = torch.zeros(clips, 4, frames, PITCHES, device=notes.device)
    frame = torch.arange(frames, device=notes.device)[None]
    start = column(notes, "start_s") * RATE / HOP
    begins = (1 - (frame - start).abs() / 2).clamp(0)
    sounding = (frame >= start) & (frame <= start + column(notes, "length_s").clamp(max=1.15) * RATE / HOP)
    base = (
        (column(notes, "clip").long() * 4 * frames + frame) * PITCHES + column(notes, "pitch").round().long() - LOW
    )
    lead = notes[:, AT["part"]] == LEAD
    for which, whose in ((0, lead), (2, torch.ones_like(lead))):
        for head, value in ((which, begins), (which + 1, sounding.float())):
            index = base[whose] + head * frames * PITCHES
            answers.view(-1).scatter_reduce_(0, index.reshape(-1), value[whose].reshape(-1), "amax")
    return answers
