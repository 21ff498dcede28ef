"""Builds model folders and keeps them."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Collection
from pathlib import Path

import numpy as np

from logger.recognisers import call_graph, call_phones, kaldi_graph, pronunciations
from vosk_model.features import CEPSTRA
from vosk_model.folder import write_folder
from vosk_model.network import Network, random_network
from vosk_model.phones import SOUNDS, UNKNOWN_WORD, Lexicon, lexicon
from vosk_model.phrases import DRIVE_WORDS

CACHE = Path(__file__).resolve().parents[3] / ".cache" / "vosk-tiny"
TRAINED_BY = ("alignment", "features", "network", "phones", "phrases", "sounds", "training")
"""The modules that a trained network depends on."""


def random_model(
    folder: Path, vocabulary: Collection[str], *, static: bool = False, unknown: bool = True
) -> Path:
    """Write a model folder with random weights: it loads and decodes, and what it hears means nothing."""
    write_folder(
        folder, _words(vocabulary, unknown=unknown), random_network(len(SOUNDS), CEPSTRA, 1), static=static
    )
    return folder


def tiny_model(
    vocabulary: Collection[str] = DRIVE_WORDS, *, static: bool = False, unknown: bool = True
) -> Path:
    """Return the folder of a model that recognises `vocabulary`, built on first use and then kept in `CACHE`."""
    network = trained_network(vocabulary)
    kind = f"{'static' if static else 'runtime'}{'-unk' if unknown else ''}"
    folder = CACHE / f"vosk-model-tiny-en-{_key(vocabulary, (*TRAINED_BY, 'folder', 'graph'))}-{kind}"
    if not folder.exists():
        with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
            made = Path(scratch) / "model"
            write_folder(made, _words(vocabulary, unknown=unknown), network, static=static)
            _move(made, folder)
    return folder


def trained_network(vocabulary: Collection[str] = DRIVE_WORDS) -> Network:
    """Return the network behind `tiny_model`, trained on first use."""
    CACHE.mkdir(parents=True, exist_ok=True)
    kept = CACHE / f"network-{_key(vocabulary, TRAINED_BY)}.npz"
    if not kept.exists():
        with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
            part = Path(scratch) / "network.npz"
            _train_elsewhere(vocabulary, part)
            _move(part, kept)
    with np.load(kept) as found:
        layers = range(sum(name.startswith("w") for name in found.files))
        weights, biases = (tuple(found[f"{kind}{n}"] for n in layers) for kind in "wb")
        return Network(weights, biases, found["priors"])


def _train_elsewhere(vocabulary: Collection[str], place: Path) -> None:
    """Train in a process of its own with one BLAS thread: with more they wait for each other on a busy machine.

    On two busy cores that took 65 s of processor time against 270 s.
    """
    limits = {f"{library}_NUM_THREADS": "1" for library in ("OPENBLAS", "OMP", "MKL")}
    environment = os.environ | limits | {"PYTHONPATH": str(Path(__file__).parents[1])}
    command = [sys.executable, "-m", "vosk_model", str(place)]
    subprocess.run(command, input="\n".join(sorted(vocabulary)), text=True, env=environment, check=True)


def save(network: Network, place: Path) -> None:
    """Write a network as a numpy archive."""
    arrays = {f"w{n}": value for n, value in enumerate(network.weights)}
    arrays |= {f"b{n}": value for n, value in enumerate(network.biases)}
    np.savez(place, allow_pickle=False, priors=network.priors, **arrays)


def _words(vocabulary: Collection[str], *, unknown: bool) -> Lexicon:
    return lexicon([*vocabulary, *([UNKNOWN_WORD] if unknown else [])])


def _move(made: Path, place: Path) -> None:
    """Put what was made in its place at once, so that nobody sees half of it; another process may have won."""
    try:
        made.rename(place)
    except OSError:
        if not place.exists():
            raise


def _key(vocabulary: Collection[str], modules: tuple[str, ...]) -> str:
    digest = hashlib.sha256(" ".join(sorted(vocabulary)).encode())
    for module in modules:
        digest.update((Path(__file__).parent / f"{module}.py").read_bytes())
    for module in (call_graph, call_phones, kaldi_graph, pronunciations):
        digest.update(Path(module.__file__).read_bytes())
    return digest.hexdigest()[:12]


def forget() -> None:
    """Remove everything that was kept."""
    shutil.rmtree(CACHE, ignore_errors=True)
