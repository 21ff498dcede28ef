"""`python -m call_model.export WEIGHTS FOLDER`: the trained network as Kaldi writes one, in its binary form.

Written from Kaldi's own source as remembered (`TransitionModel::Write`, `nnet3::Nnet::Write`, `CompressedMatrix::Write`);
a test holds what Vosk makes of the file against what the network computes. Weights are kept in two bytes each, which
Kaldi reads back into single precision.
"""

from __future__ import annotations

import struct
import sys
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray

from call_model.bands import BANDS, MFCC_CONF, cosine_transform
from call_model.shape import CONTEXT, DILATIONS, PAST, SUBSAMPLING
from logger.recognisers.call_phones import places

Floats = NDArray[np.float64]
_NORM_EPSILON = 1e-5
"""What torch adds to a variance."""

MODEL_CONF = f"""\
--min-active=200
--max-active=4000
--beam=14.0
--lattice-beam=8.0
--max-mem=2000000
--phone-determinize=false
--acoustic-scale=1.0
--frame-subsampling-factor={SUBSAMPLING}
--endpoint.silence-phones=1
"""


def export(weights: Path, folder: Path) -> None:
    """Write `final.mdl`, `mfcc.conf`, `model.conf` and `voices.txt`, who was learned from, into a folder.

    Weights of before trainings kept that do not tell; a `voices.txt` that is there then stays.
    """
    with np.load(weights) as found:
        voices = [str(name) for name in found["voices"]] if "voices" in found.files else None
        state = {name: np.asarray(found[name], np.float64) for name in found.files if name != "voices"}
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "final.mdl").write_bytes(b"\0B" + transitions() + network(state))
    (folder / "mfcc.conf").write_text(MFCC_CONF)
    (folder / "model.conf").write_text(MODEL_CONF)
    if voices is None:
        print(
            f"{weights} does not tell who taught it; {folder / 'voices.txt'} is left as it is",
            file=sys.stderr,
        )
    else:
        (folder / "voices.txt").write_text("".join(f"{name}\n" for name in voices))


def transitions() -> bytes:
    """Return the transition model: one state for each phone, its first step and its further ones told apart."""
    phones = places()
    numbers = [each.phone for each in phones]
    indexes = [-1] + [0] * len(numbers)
    entry = [
        _int(2),
        _int(0),
        _int(1),
        _int(2),
        _int(0),
        _float(0.5),
        _int(1),
        _float(0.5),
        _int(-1),
        _int(-1),
        _int(0),
    ]
    topology = b"".join([_token("<Topology>"), _ints(numbers), _ints(indexes), _int(-1), _int(1), *entry])
    tuples = b"".join(
        _int(value) for each in phones for value in (each.phone, 0, 2 * each.sound, 2 * each.sound + 1)
    )
    log_probs = np.full(2 * len(phones) + 1, np.log(0.5), np.float32)
    log_probs[0] = 0.0
    return b"".join(
        [
            _token("<TransitionModel>"),
            topology,
            _token("</Topology>"),
            _token("<Tuples>"),
            _int(len(phones)),
            tuples,
            _token("</Tuples>"),
            _token("<LogProbs>"),
            _vector(log_probs),
            _token("</LogProbs>"),
            _token("</TransitionModel>"),
        ]
    )


def network(state: dict[str, Floats]) -> bytes:
    """Return the network of trained weights, norms folded into the layers before them."""
    made = _Network()
    # The first layer takes Kaldi's cepstra: turned back into log-mel energies, and these normed.
    weight, bias = _normed(state, "first")
    back = cosine_transform().T / state["spread"][:, None]
    bias = bias - (weight * (state["mean"] / state["spread"])[None, :, None]).sum(axis=(1, 2))
    weight = np.einsum("obk,bc->ock", weight, back)
    source = made.layer("first", weight, bias, "input", (-2, -1, 0, 1, 2))
    source = made.layer("second", *_normed(state, "second"), source, (-1, 0, 1))
    source = made.layer("third", *_normed(state, "third"), source, (-1, 0, 1))
    for index, dilation in enumerate(DILATIONS):
        name, reach = f"delays.{index}", SUBSAMPLING * dilation
        narrow = state[f"{name}.narrow.weight"]
        thin = made.affine(f"narrow{index}", narrow, np.zeros(len(narrow)), source, (0, reach))
        wide = _normed(state, f"{name}.widen", f"{name}.norm")
        heard = made.layer(f"widen{index}", *wide, thin, (-reach, 0))
        source = made.add(f"sum{index}", heard, source, len(wide[1]))
    source = made.layer("before_last", *_normed(state, "before_last"), source, (0,))
    source = made.affine("last", state["last.weight"], state["last.bias"], source, (0,))
    return made.written(source)


def _normed(state: dict[str, Floats], layer: str, norm: str = "") -> tuple[Floats, Floats]:
    """Return a layer's weights, shape (out, in, offsets), and biases, with the norm after it folded in."""
    norm = norm or f"{layer}_norm"
    scale = 1 / np.sqrt(state[f"{norm}.running_var"] + _NORM_EPSILON)
    weight = state[f"{layer}.weight"] * scale[:, None, None]
    return weight, (state[f"{layer}.bias"] - state[f"{norm}.running_mean"]) * scale


class _Network:
    def __init__(self) -> None:
        self._nodes = [f"input-node name=input dim={BANDS}"]
        self._components: list[bytes] = []

    def affine(self, name: str, weight: Floats, bias: Floats, source: str, offsets: tuple[int, ...]) -> str:
        """Add an affine layer over a source at some offsets in frames; return its name."""
        parts = [source if offset == 0 else f"Offset({source}, {offset})" for offset in offsets]
        spliced = parts[0] if len(parts) == 1 else f"Append({', '.join(parts)})"
        # Kaldi's splice has all of one offset's inputs together, torch's kernel all of one input's offsets.
        flat = weight.transpose(0, 2, 1).reshape(len(weight), -1)
        self._node(
            name,
            spliced,
            b"".join(
                [
                    _token("<FixedAffineComponent>"),
                    _token("<LinearParams>"),
                    _matrix(flat),
                    _token("<BiasParams>"),
                    _vector(bias),
                    _token("</FixedAffineComponent>"),
                ]
            ),
        )
        return name

    def layer(self, name: str, weight: Floats, bias: Floats, source: str, offsets: tuple[int, ...]) -> str:
        """Add an affine layer and a rectifier; return the rectifier's name."""
        before = self.affine(name, weight, bias, source, offsets)
        component = [_token("<RectifiedLinearComponent>"), _token("<Dim>"), _int(len(bias))]
        component += [_token("<ValueAvg>"), _vector(np.zeros(0)), _token("<DerivAvg>"), _vector(np.zeros(0))]
        for count in ("Count", "NumDimsSelfRepaired", "NumDimsProcessed"):
            component += [_token(f"<{count}>"), _double(0.0)]
        self._node(f"{name}.relu", before, b"".join([*component, _token("</RectifiedLinearComponent>")]))
        return f"{name}.relu"

    def add(self, name: str, heard: str, past: str, width: int) -> str:
        """Add what goes past a layer to what comes out of it; return the sum's name."""
        component = [
            _token("<NoOpComponent>"),
            _token("<Dim>"),
            _int(width),
            _token("<BackpropScale>"),
            _float(1.0),
        ]
        summed = f"Sum({heard}, Scale({PAST}, {past}))"
        self._node(name, summed, b"".join([*component, _token("</NoOpComponent>")]))
        return name

    def _node(self, name: str, source: str, component: bytes) -> None:
        self._nodes.append(f"component-node name={name} component={name} input={source}")
        self._components.append(_token("<ComponentName>") + _token(name) + component)

    def written(self, source: str) -> bytes:
        """Return the network whose output is `source`."""
        nodes = "\n".join([*self._nodes, f"output-node name=output input={source} objective=linear"])
        return b"".join(
            [
                _token("<Nnet3>") + b"\n" + nodes.encode() + b"\n\n",
                _token("<NumComponents>"),
                _int(len(self._components)),
                *self._components,
                _token("</Nnet3>"),
                _token("<LeftContext>"),
                _int(CONTEXT),
                _token("<RightContext>"),
                _int(CONTEXT),
                _token("<Priors>"),
                _vector(np.zeros(0)),
            ]
        )


def _token(name: str) -> bytes:
    return name.encode() + b" "


def _int(value: int) -> bytes:
    return b"\x04" + struct.pack("<i", value)


def _float(value: float) -> bytes:
    return b"\x04" + struct.pack("<f", value)


def _double(value: float) -> bytes:
    return b"\x08" + struct.pack("<d", value)


def _ints(values: list[int]) -> bytes:
    return b"\x04" + struct.pack(f"<i{len(values)}i", len(values), *values)


def _vector(values: NDArray[np.floating]) -> bytes:
    return _token("FV") + _int(len(values)) + values.astype("<f4").tobytes()


def _matrix(rows: Floats) -> bytes:
    """Return a matrix in two bytes a value, in even steps between its least and its greatest (`CM2`)."""
    least, span = float(rows.min()), float(np.ptp(rows)) or 1.0
    steps = np.rint((rows - least) / span * 65535).astype("<u2")
    return _token("CM2") + struct.pack("<ffii", least, span, *rows.shape) + steps.tobytes()


@click.command()
@click.argument("weights", type=click.Path(path_type=Path, exists=True))
@click.argument("folder", type=click.Path(path_type=Path))
def main(weights: Path, folder: Path) -> None:
    """Write the model of WEIGHTS (.npz) into FOLDER."""
    export(weights, folder)


if __name__ == "__main__":
    main()
