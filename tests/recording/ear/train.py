"""Train the ear on scores of chance; takes a run up again where the last one stopped.

    torchrun --nproc_per_node=GPUS -m tests.recording.ear.train BANK.npz FOLDER --seconds 1500 [--now 570]

FOLDER gets `ear.npz` (float16, normalisation folded in), `state.pt` and a log of the loss and of validation: notes
found (F1 within 50 ms) in clips whose timbres are kept back, by threshold.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from pathlib import Path

import numpy as np
import torch
import torch.distributed as many
from torch import nn

from tabterm.recording.spectra import HOP, LOW, RATE_HZ
from tests.recording.ear import nets, scores, sounds

KEPT_BACK = frozenset({"p27", "p107", "p46", "s41", "b35"})
THRESHOLDS = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85)
RATE = 2.5e-3
WEIGHTS = (5.0, 1.5, 5.0, 1.5)
"""What a missed answer counts against a false one, for each of the four."""
IMPORTANCE = (2.0, 1.0, 1.0, 0.5)


class Endless(torch.utils.data.IterableDataset):
    """Scores of chance, other ones in each worker."""

    def __init__(self, seed: int, size: int, timbres: scores.Timbres) -> None:
        self.seed, self.size, self.timbres = seed, size, timbres

    def __iter__(self):
        worker = torch.utils.data.get_worker_info()
        return scores.batches(self.seed + (worker.id if worker else 0), self.size, self.timbres)


def banked(path: str, device: str) -> tuple[torch.Tensor, scores.Timbres]:
    """The notes of a bank, one a row, and where each timbre lies."""
    file, first, rows, lowest = np.load(path), {}, [], {"p": 37, "s": 40, "b": 28, "d": 35}
    for name in file.files:
        notes = file[name].astype(np.float32) / 32768
        first[name] = (sum(map(len, rows)), len(notes), lowest[name[0]], 1 if name == "drum" else 3)
        rows.append(np.pad(notes, ((0, 0), (0, sounds.NOTE - notes.shape[1]))))
    return torch.tensor(np.concatenate(rows), device=device), scores.Timbres(first, KEPT_BACK)


def heard(answers: np.ndarray, threshold: float) -> list[tuple[float, int]]:
    """Peaks of the lead's onsets as (seconds, pitch)."""
    level = np.pad(answers, ((3, 3), (0, 0)))
    frames = range(len(answers))
    near = np.max([level[3 + shift : 3 + shift + len(answers)] for shift in (-3, -2, -1, 1, 2, 3)], axis=0)
    peaks = (answers > threshold) & (answers >= near)
    return [
        (frame * HOP / RATE_HZ, LOW + int(pitch)) for frame in frames for pitch in np.flatnonzero(peaks[frame])
    ]


def found(truth: list[tuple[float, int]], told: list[tuple[float, int]]) -> int:
    """How many notes were found: the right semitone within 50 ms, each once."""
    left, hits = sorted(told), 0
    for start, pitch in truth:
        near = [note for note in left if note[1] == pitch and abs(note[0] - start) <= 0.05]
        if near:
            left.remove(min(near, key=lambda note: abs(note[0] - start)))
            hits += 1
    return hits


@torch.no_grad()
def validated(net: nn.Module, trial: tuple[torch.Tensor, ...], bank: torch.Tensor) -> str:
    """F1 in the clips kept back, by threshold."""
    net.eval()
    notes, strings, how = trial
    torch.manual_seed(0)
    answers = net(nets.picture(sounds.recorded(notes, strings, how, bank))).sigmoid()[:, 0].float().cpu().numpy()
    at, rows = scores.AT, notes[notes[:, scores.AT["part"]] == scores.LEAD].cpu().numpy()
    told = []
    for threshold in THRESHOLDS:
        hits = asked = answered = 0
        for clip, lead in enumerate(answers):
            mine = rows[(rows[:, at["clip"]] == clip) & (rows[:, at["start_s"]] > 0)]
            truth = [(float(row[at["start_s"]]), round(float(row[at["pitch"]]))) for row in mine]
            told_here = [note for note in heard(lead, threshold) if note[0] > 0]
            hits, asked, answered = hits + found(truth, told_here), asked + len(truth), answered + len(told_here)
        told.append(f"{threshold}: {2 * hits / max(asked + answered, 1):.4f}")
    return "  ".join(told)


class Training:
    """A net on its way: what is kept of it between two runs, and a step."""

    def __init__(self, folder: Path, device: str, rank: int, ranks: int) -> None:
        self.folder, self.device, self.rank, self.ranks = folder, device, rank, ranks
        self.net = nets.Ear().to(device)
        slowly = torch.optim.swa_utils.get_ema_multi_avg_fn(0.999)
        self.average = torch.optim.swa_utils.AveragedModel(self.net, multi_avg_fn=slowly, use_buffers=True)
        self.optimiser = torch.optim.AdamW(self.net.parameters(), RATE, weight_decay=1e-3)
        self.parts = {"net": self.net, "average": self.average, "optimiser": self.optimiser}
        self.seconds, self.step = 0.0, 0
        if (kept := folder / "state.pt").exists():
            state = torch.load(kept, map_location=device)
            self.seconds, self.step = state["seconds"], state["step"]
            for name, part in self.parts.items():
                part.load_state_dict(state[name])

    def learn(self, maps: torch.Tensor, answers: torch.Tensor, share: float) -> float:
        """One step at this share of the whole training; gives the loss."""
        for group in self.optimiser.param_groups:
            group["lr"] = RATE * min(1, (self.step + 1) / 200) * (0.5 * (1 + math.cos(math.pi * share)) + 0.01)
        self.net.train()
        counts, matters = (torch.tensor(w, device=self.device)[None, :, None, None] for w in (WEIGHTS, IMPORTANCE))
        with torch.autocast(self.device.split(":")[0], torch.bfloat16):
            told = self.net(maps).float()
        each = nn.functional.binary_cross_entropy_with_logits(told, answers, pos_weight=counts, reduction="none")
        loss = (each * matters).mean() * 100
        self.optimiser.zero_grad()
        loss.backward()
        self._share_gradients()
        nn.utils.clip_grad_norm_(self.net.parameters(), 1.0)
        self.optimiser.step()
        self.average.update_parameters(self.net)
        self.step += 1
        return loss.item()

    def _share_gradients(self) -> None:
        """The mean over all GPUs."""
        if self.ranks == 1:
            return
        gradients = [weight.grad for weight in self.net.parameters()]
        flat = torch.cat([gradient.flatten() for gradient in gradients])
        many.all_reduce(flat)
        means = (flat / self.ranks).split([gradient.numel() for gradient in gradients])
        for gradient, mean in zip(gradients, means, strict=True):
            gradient.copy_(mean.view_as(gradient))

    def keep(self, spent_s: float) -> None:
        """Write what the next run takes up, and the weights as they are."""
        state = {name: part.state_dict() for name, part in self.parts.items()}
        torch.save(state | {"seconds": self.seconds + spent_s, "step": self.step}, self.folder / "state.pt")
        np.savez(self.folder / "ear.npz", **self.average.module.eval().folded())

    def shares(self, spent_s: float, asked: argparse.Namespace) -> tuple[float, float]:
        """How much of the whole training, and of this run, is done; the same on all GPUs."""
        both = [(self.seconds + spent_s) / asked.seconds, spent_s / asked.now]
        told = torch.tensor(both, device=self.device)
        if self.ranks > 1:
            many.broadcast(told, 0)
        return tuple(told.tolist())


def main() -> None:
    """Train for the seconds left of the whole, at most so long now."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("bank")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=1560, help="of training in all")
    parser.add_argument("--now", type=float, default=1e9, help="at most so many of them in this run")
    parser.add_argument("--batch", type=int, default=64, help="clips a step and GPU")
    parser.add_argument("--workers", type=int, default=14)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rank, ranks = int(os.environ.get("RANK", "0")), int(os.environ.get("WORLD_SIZE", "1"))
    device = f"cuda:{rank}" if torch.cuda.is_available() else "cpu"
    if ranks > 1:
        torch.cuda.set_device(rank)
        many.init_process_group("nccl")
    torch.manual_seed(asked.seed)
    torch.backends.cudnn.benchmark = True
    bank, timbres = banked(asked.bank, device)
    training = Training(asked.folder, device, rank, ranks)
    trial = tuple(torch.tensor(each, device=device) for each in next(scores.batches(99, 96, timbres, trial=True)))
    drawn = Endless(asked.seed * 1_000_000 + rank * 1000 + training.step * 7, asked.batch, timbres)
    ahead = {"num_workers": asked.workers, "prefetch_factor": 4 if asked.workers else None}
    begun, smooth, shown = time.time(), None, 0.0
    for batch in torch.utils.data.DataLoader(drawn, batch_size=None, **ahead):
        spent_s = time.time() - begun
        whole, run = training.shares(spent_s, asked)
        if whole >= 1 or run >= 1:
            break
        notes, strings, how = (table.to(device, non_blocking=True) for table in batch)
        maps = nets.picture(sounds.recorded(notes, strings, how, bank))
        loss = training.learn(maps, sounds.wanted(notes, len(how), maps.shape[2]), whole)
        smooth = loss if smooth is None else 0.98 * smooth + 0.02 * loss
        if rank == 0 and spent_s - shown > 55:
            shown, scored = spent_s, validated(training.average.module, trial, bank)
            at_s = training.seconds + spent_s
            print(f"{at_s:5.0f} s  step {training.step}  loss {smooth:.3f}  {scored}", flush=True)
    if rank == 0:
        training.keep(time.time() - begun)
    if ranks > 1:
        many.destroy_process_group()


if __name__ == "__main__":
    main()
