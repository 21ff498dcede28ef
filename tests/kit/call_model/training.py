"""`python -m call_model.training CORPUS OUT`: train the network on what was spoken, on a GPU where there is one."""

from __future__ import annotations

import math
import random
import sys
import time
from pathlib import Path

import click
import numpy as np
import torch
from torch import Tensor

from call_model.bands import RATE_HZ
from call_model.cabin import Cabin, lasting
from call_model.corpus import voices
from call_model.front import LogMel
from call_model.material import MOST_BEFORE, Material
from call_model.network import CallNetwork
from call_model.objective import Batch, Objective, phone_bigram
from logger.recognisers.pronunciations import PHONES

SEED = 7200
WARPS = tuple(round(0.84 + 0.02 * step, 2) for step in range(18))
SECONDS_A_BATCH = 1200.0
RATE, LAST_RATE = 2e-3, 2e-5
WARM_UP = 300
STEPS, SAVED_EVERY = 11_550, 1000
OUTPUT_DECAY = 5e-4
"""Weight of the mean square of the scores (Povey et al. 2016)."""
_WORST_FIT = -2.5
"""An utterance below this, by step of 30 ms, teaches nothing: a synthesiser read a word as something else."""


def train(
    folder: Path,
    out: Path,
    *,
    steps: int,
    seconds_a_batch: float = SECONDS_A_BATCH,
    without: frozenset[str] = frozenset(),
    minutes: float = math.inf,
) -> None:
    """Train for so many steps, or minutes if they are over first, without some voices.

    Now and then and at the end, weights, phones' bigram and who was learned from are written.
    """
    began_s = time.monotonic()
    torch.manual_seed(SEED)
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    material = Material(folder, seconds_a_batch, device, SEED, without)
    starts, follows = (
        torch.tensor(each, dtype=torch.float32, device=device)
        for each in phone_bigram(material.spellings, len(PHONES) + 1)
    )
    network = CallNetwork(2 * (len(PHONES) + 1)).to(device)
    front, cabin = LogMel(WARPS).to(device), Cabin(SEED, device)
    objective = Objective(starts, follows)
    rng = random.Random(SEED + 1)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=1e-4, betas=(0.9, 0.98))
    averaged = torch.optim.swa_utils.AveragedModel(
        network, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.997), use_buffers=True
    )
    recent: list[Tensor] = []
    for step in range(1, steps + 1):
        done = max(step / steps, (time.monotonic() - began_s) / 60 / minutes)
        if done > 1:
            break
        sound, length_s, spellings = material.next()
        sound = cabin.of(lasting(sound, round(length_s * RATE_HZ)))
        warp = torch.tensor([rng.randrange(len(WARPS)) for _ in spellings], device=device)
        energies = _with_gaps(front(sound, warp), rng)
        scores = network(energies)
        batch = Batch.of(spellings, material.positions(length_s), MOST_BEFORE, device)
        value, slope = objective(scores, batch)
        fits = (value > _WORST_FIT).float()
        pull = -slope * fits[:, None, None] / fits.sum().clamp_min(1.0)
        # The objective's slope is handed on as it is: scores times their slope have it as theirs.
        loss = (scores * pull).sum() + OUTPUT_DECAY * scores.square().mean()
        for group in optimiser.param_groups:
            group["lr"] = min(1.0, step / WARM_UP) * RATE * (LAST_RATE / RATE) ** done
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        averaged.update_parameters(network)
        recent.append(value.mean())
        if step % 100 == 0 or step in (10, 30):
            mean = torch.stack(recent).mean().item()
            recent.clear()
            print(
                f"step {step}, {100 * done:.0f} %: {mean:.4f} a step of 30 ms, fit {fits.mean():.2f}, "
                f"{len(material.utterances)} utterances",
                file=sys.stderr,
                flush=True,
            )
            if not math.isfinite(mean):
                raise ArithmeticError("the training went astray")
        if step % SAVED_EVERY == 0:
            _save(averaged.module, starts, follows, material.voices, out)
    _save(averaged.module, starts, follows, material.voices, out)
    print(f"{step} steps, written to {out}", file=sys.stderr)


def _with_gaps(energies: Tensor, rng: random.Random) -> Tensor:
    """Return log-mel energies with a few bands and moments at their mean, the same in all of the batch."""
    if rng.random() < 0.4:
        return energies
    energies = energies.clone()
    middle = energies.mean(dim=(1, 2), keepdim=True)
    for _ in range(rng.randint(0, 2)):
        width = rng.randint(1, 5)
        at = rng.randrange(energies.shape[2] - width)
        energies[:, :, at : at + width] = middle
    for _ in range(rng.randint(0, 4)):
        width = rng.randint(1, 6)
        at = rng.randrange(energies.shape[1] - width)
        energies[:, at : at + width] = middle
    return energies


def _save(network: torch.nn.Module, starts: Tensor, follows: Tensor, voices: list[str], out: Path) -> None:
    state = {name: value.detach().cpu().float().numpy() for name, value in network.state_dict().items()}
    new = out.with_name(f"{out.name}.new.npz")
    np.savez(
        new, starts=starts.cpu().numpy(), follows=follows.cpu().numpy(), voices=np.array(voices), **state
    )
    new.rename(out)


@click.command()
@click.argument("corpus", type=click.Path(path_type=Path, exists=True))
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--steps", default=STEPS, show_default=True)
@click.option("--seconds-a-batch", default=SECONDS_A_BATCH, show_default=True)
@click.option(
    "--without", multiple=True, help="A voice to leave out, such as digits-george; may be repeated."
)
@click.option(
    "--minutes",
    type=float,
    default=math.inf,
    help="Where a machine is lent: end by then, as if these were all steps.",
)
def main(
    corpus: Path, out: Path, *, steps: int, seconds_a_batch: float, without: tuple[str, ...], minutes: float
) -> None:
    """Train on CORPUS and write OUT (.npz)."""
    if unknown := sorted(set(without) - voices(corpus)):
        raise click.BadParameter(
            f"nothing in {corpus} is said by {', '.join(unknown)}", param_hint="--without"
        )
    train(
        corpus,
        out,
        steps=steps,
        seconds_a_batch=seconds_a_batch,
        without=frozenset(without),
        minutes=minutes,
    )


if __name__ == "__main__":
    main()
