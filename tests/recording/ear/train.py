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
    return [(frame * HOP / RATE_HZ, LOW + int(pitch)) for frame in frames for pitch in np.flatnonzero(peaks[frame])]


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


def main() -> None:
    """Train for the seconds left of the whole, at most so long now."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("bank")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=1500, help="of training in all")
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
    net = nets.Ear().to(device)
    average = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.999), use_buffers=True
    )
    optimiser = torch.optim.AdamW(net.parameters(), RATE, weight_decay=1e-3)
    state, before, step = asked.folder / "state.pt", 0.0, 0
    if state.exists():
        kept = torch.load(state, map_location=device)
        net.load_state_dict(kept["net"])
        average.load_state_dict(kept["average"])
        optimiser.load_state_dict(kept["optimiser"])
        before, step = kept["seconds"], kept["step"]
    elif rank == 0:
        print("weights", sum(weight.numel() for weight in net.parameters()), "GPUs", ranks, flush=True)
    trial = next(scores.batches(99, 96, timbres, trial=True))
    trial = tuple(torch.tensor(table, device=device) for table in trial)
    seed = asked.seed * 1_000_000 + rank * 1000 + step * 7
    data = torch.utils.data.DataLoader(
        Endless(seed, asked.batch, timbres), batch_size=None, num_workers=asked.workers, prefetch_factor=4 if asked.workers else None
    )
    counts = torch.tensor(WEIGHTS, device=device)[None, :, None, None]
    matters = torch.tensor(IMPORTANCE, device=device)[None, :, None, None]
    begun, smooth, shown = time.time(), None, 0.0
    for batch in data:
        now = time.time() - begun
        share = torch.tensor([min((before + now) / asked.seconds, 1.0), now / asked.now], device=device)
        if ranks > 1:
            many.broadcast(share, 0)
        done, used = share.tolist()
        if done >= 1 or used >= 1:
            break
        notes, strings, how = (table.to(device, non_blocking=True) for table in batch)
        maps = nets.picture(sounds.recorded(notes, strings, how, bank))
        answers = sounds.wanted(notes, len(how), maps.shape[2])
        for group in optimiser.param_groups:
            group["lr"] = RATE * min(1, (step + 1) / 200) * (0.5 * (1 + math.cos(math.pi * done)) + 0.01)
        net.train()
        with torch.autocast(device.split(":")[0], torch.bfloat16):
            told = net(maps)
        each = nn.functional.binary_cross_entropy_with_logits(told.float(), answers, pos_weight=counts, reduction="none")
        loss = (each * matters).mean() * 100
        optimiser.zero_grad()
        loss.backward()
        if ranks > 1:
            gradients = [weight.grad for weight in net.parameters()]
            flat = torch.cat([gradient.flatten() for gradient in gradients])
            many.all_reduce(flat)
            for gradient, mean in zip(gradients, (flat / ranks).split([g.numel() for g in gradients]), strict=True):
                gradient.copy_(mean.view_as(gradient))
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        average.update_parameters(net)
        smooth = loss.item() if smooth is None else 0.98 * smooth + 0.02 * loss.item()
        step += 1
        if rank == 0 and now - shown > 55:
            shown = now
            scored = validated(average.module, trial, bank)
            print(f"{before + now:5.0f} s  step {step}  loss {smooth:.3f}  {scored}", flush=True)
    if rank == 0:
        seconds = before + time.time() - begun
        kept = {"net": net.state_dict(), "average": average.state_dict(), "optimiser": optimiser.state_dict()}
        torch.save(kept | {"seconds": seconds, "step": step}, state)
        print(f"{seconds:5.0f} s  step {step}  {validated(average.module, trial, bank)}", flush=True)
        np.savez(asked.folder / "ear.npz", **average.module.eval().folded())
    if ranks > 1:
        many.destroy_process_group()


if __name__ == "__main__":
    main()
