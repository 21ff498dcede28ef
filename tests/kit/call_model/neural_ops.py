"""What ONNX's operators do, in torch: those of Kokoro's graph, in the ways that it uses them.

An operator takes its inputs (None where left out) and its attributes. Whole numbers that say shapes stay on the CPU, so that
the GPU is not waited for.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

Inputs = list[Any]
Attributes = dict[str, Any]
Operator = Callable[[Inputs, Attributes], Any]

_TYPES = {1: torch.float32, 6: torch.int32, 7: torch.int64, 9: torch.bool}
_networks: dict[int, torch.nn.LSTM] = {}


def _numbers(tensor: Tensor) -> list[int]:
    return [int(each) for each in tensor.reshape(-1).tolist()]


def _together(*tensors: Tensor) -> list[Tensor]:
    """Return the tensors where the first one on a GPU is."""
    device = next((each.device for each in tensors if each.is_cuda), tensors[0].device)
    return [each.to(device) for each in tensors]


def _of_one(function: Callable[[Tensor], Tensor]) -> Operator:
    return lambda inputs, _: function(inputs[0])


def _of_two(function: Callable[[Tensor, Tensor], Tensor]) -> Operator:
    def operator(inputs: Inputs, _: Attributes) -> Tensor:
        first, second = inputs
        # torch takes a lone number from the CPU as it is.
        lone = any(not each.dim() and not each.is_cuda for each in inputs)
        fits = lone or first.device == second.device
        return function(first, second) if fits else function(*_together(first, second))

    return operator


def _arctangent(tensor: Tensor) -> Tensor:
    """Return the arctangent, and 0 for 0/0: a frame without sound has no phase."""
    return torch.atan(torch.where(torch.isnan(tensor), 0.0, tensor))


def _divided(first: Tensor, second: Tensor) -> Tensor:
    whole = not (first.is_floating_point() or second.is_floating_point())
    return torch.div(first, second, rounding_mode="trunc" if whole else None)


def _clip(inputs: Inputs, _: Attributes) -> Tensor:
    least, most = (None if each is None else each.item() for each in (*inputs[1:], None, None)[:2])
    return torch.clamp(inputs[0], least, most)


def _concat(inputs: Inputs, attributes: Attributes) -> Tensor:
    return torch.cat(_together(*inputs), attributes["axis"])


def _conv(inputs: Inputs, attributes: Attributes) -> Tensor:
    before, after = attributes["pads"]
    assert before == after
    weight, *bias = inputs[1:]
    return functional.conv1d(
        inputs[0],
        weight,
        *bias,
        stride=attributes["strides"],
        padding=before,
        dilation=attributes["dilations"],
        groups=attributes["group"],
    )


def _conv_transpose(inputs: Inputs, attributes: Attributes) -> Tensor:
    before, after = attributes["pads"]
    assert before == after
    weight, *bias = inputs[1:]
    return functional.conv_transpose1d(
        inputs[0],
        weight,
        *bias,
        stride=attributes["strides"],
        padding=before,
        output_padding=attributes.get("output_padding", 0),
        groups=attributes["group"],
        dilation=attributes["dilations"],
    )


def _expand(inputs: Inputs, _: Attributes) -> Tensor:
    return inputs[0].expand(torch.broadcast_shapes(inputs[0].shape, _numbers(inputs[1])))


def _gather(inputs: Inputs, attributes: Attributes) -> Tensor:
    data, where = inputs
    axis = attributes.get("axis", 0)
    if where.dim() == 0 and not where.is_cuda:
        return data.select(axis, int(where))
    where = where.to(data.device)
    where = torch.where(where < 0, where + data.shape[axis], where)
    taken = data.index_select(axis, where.reshape(-1))
    return taken.reshape(*data.shape[:axis], *where.shape, *data.shape[axis + 1 :])


def _lstm(inputs: Inputs, attributes: Attributes) -> tuple[Tensor, ...]:
    sound, inward, recurrent, bias = inputs
    if id(inward) not in _networks:
        _networks[id(inward)] = _network(inward, recurrent, bias, attributes["hidden_size"])
    told, (hidden, cell) = _networks[id(inward)](sound)
    steps, batch, _ = told.shape
    return told.reshape(steps, batch, 2, -1).permute(0, 2, 1, 3), hidden, cell


def _network(inward: Tensor, recurrent: Tensor, bias: Tensor, size: int) -> torch.nn.LSTM:
    """Return torch's LSTM with ONNX's weights: its gates are in, out, forget and cell, torch's in, forget, cell and out."""

    def gates(weight: Tensor) -> Tensor:
        into, out, forget, cell = weight.split(size)
        return torch.cat([into, forget, cell, out])

    network = torch.nn.LSTM(inward.shape[2], size, bidirectional=True)
    with torch.no_grad():
        for direction, ending in enumerate(("", "_reverse")):
            for name, weight in (
                ("weight_ih_l0", inward[direction]),
                ("weight_hh_l0", recurrent[direction]),
                ("bias_ih_l0", bias[direction][: 4 * size]),
                ("bias_hh_l0", bias[direction][4 * size :]),
            ):
                getattr(network, name + ending).copy_(gates(weight))
    return network.to(inward.device).eval()


def _normed(inputs: Inputs, attributes: Attributes) -> Tensor:
    data, scale, shift = inputs
    return functional.layer_norm(data, data.shape[-1:], scale, shift, attributes["epsilon"])


def _sum_normed(inputs: Inputs, attributes: Attributes) -> Tensor:
    first, second, *rest = inputs
    return _normed([first + second, *rest], attributes)


def _pad(inputs: Inputs, _: Attributes) -> Tensor:
    data, amounts = inputs[0], _numbers(inputs[1])
    before, after = amounts[data.dim() - 1], amounts[-1]
    assert sum(amounts) == before + after
    padded = functional.pad(data.reshape(1, -1, data.shape[-1]), (before, after), mode="reflect")
    return padded.reshape(*data.shape[:-1], -1)


def _range(inputs: Inputs, _: Attributes) -> Tensor:
    first, end, step = (each.item() for each in inputs)
    return torch.arange(first, end, step, dtype=inputs[0].dtype, device=inputs[1].device)


def _reduced(function: Callable[..., Tensor]) -> Operator:
    return lambda inputs, attributes: function(
        inputs[0], dim=_numbers(inputs[1]), keepdim=bool(attributes["keepdims"])
    )


def _reshape(inputs: Inputs, _: Attributes) -> Tensor:
    data, wanted = inputs[0], _numbers(inputs[1])
    return data.reshape([data.shape[at] if size == 0 else size for at, size in enumerate(wanted)])


def _resize(inputs: Inputs, attributes: Attributes) -> Tensor:
    data, scales = inputs[0], inputs[2].tolist()
    axis = data.dim() - 1
    assert all(scale == 1 for scale in scales[:-1])
    size = int(data.shape[axis] * scales[-1])
    if attributes["mode"] == b"linear":
        return functional.interpolate(data, size=size, mode="linear", align_corners=False)
    nearest = (torch.arange(size, device=data.device) / scales[-1]).floor().long()
    return data.index_select(axis, nearest)


def _scatter(inputs: Inputs, _: Attributes) -> Tensor:
    data, where, update = _together(*inputs)
    changed = data.clone()
    changed[tuple(where.reshape(-1, where.shape[-1]).T)] = update.reshape(-1, *data.shape[where.shape[-1] :])
    return changed


def _slice(inputs: Inputs, _: Attributes) -> Tensor:
    data = inputs[0]
    begins, ends = _numbers(inputs[1]), _numbers(inputs[2])
    axes = _numbers(inputs[3]) if len(inputs) > 3 else range(len(begins))
    steps = _numbers(inputs[4]) if len(inputs) > 4 else [1] * len(begins)
    for begin, end, axis, step in zip(begins, ends, axes, steps, strict=True):
        size = data.shape[axis]
        taken = range(*slice(begin, None if step < 0 and end < -size else end, step).indices(size))
        if step == 1:
            data = data.narrow(axis, taken.start, len(taken))
        else:
            data = data.index_select(axis, torch.tensor(list(taken), device=data.device))
    return data


def _split(inputs: Inputs, attributes: Attributes) -> tuple[Tensor, ...]:
    return inputs[0].split(_numbers(inputs[1]), attributes["axis"])


def _squeeze(inputs: Inputs, _: Attributes) -> Tensor:
    return inputs[0].squeeze(tuple(_numbers(inputs[1])))


def _unsqueeze(inputs: Inputs, _: Attributes) -> Tensor:
    data, axes = inputs[0], _numbers(inputs[1])
    for axis in sorted(each % (data.dim() + len(axes)) for each in axes):
        data = data.unsqueeze(axis)
    return data


def _stft(inputs: Inputs, _: Attributes) -> Tensor:
    sound, step, window = inputs[:3]
    frames = sound.reshape(sound.shape[0], -1).unfold(1, len(window), int(step)) * window
    return torch.view_as_real(torch.fft.rfft(frames))


def _multiplied_turned(inputs: Inputs, _: Attributes) -> Tensor:
    return inputs[0].transpose(-1, -2) @ inputs[1]


OPERATORS: dict[str, Operator] = {
    "Add": _of_two(torch.add),
    "And": _of_two(torch.logical_and),
    "Atan": _of_one(_arctangent),
    "Cast": lambda inputs, attributes: inputs[0].to(_TYPES[attributes["to"]]),
    "Clip": _clip,
    "Concat": _concat,
    "ConstantOfShape": lambda inputs, attributes: torch.full(_numbers(inputs[0]), attributes["value"].item()),
    "Conv": _conv,
    "ConvTranspose": _conv_transpose,
    "Cos": _of_one(torch.cos),
    "CumSum": lambda inputs, _: torch.cumsum(inputs[0], int(inputs[1])),
    "DequantizeLinear": lambda inputs, _: (inputs[0].float() - inputs[2].float()) * inputs[1],
    "Div": _of_two(_divided),
    "Equal": _of_two(torch.eq),
    "Exp": _of_one(torch.exp),
    "Expand": _expand,
    "FastGelu": lambda inputs, _: functional.gelu(inputs[0] + inputs[1], approximate="tanh"),
    "Floor": _of_one(torch.floor),
    "FusedMatMul": _multiplied_turned,
    "Gather": _gather,
    "Greater": _of_two(torch.gt),
    "GreaterOrEqual": _of_two(torch.ge),
    "LSTM": _lstm,
    "LayerNormalization": _normed,
    "LeakyRelu": lambda inputs, attributes: functional.leaky_relu(inputs[0], attributes["alpha"]),
    "Less": _of_two(torch.lt),
    "MatMul": _of_two(torch.matmul),
    "Mul": _of_two(torch.mul),
    "NonZero": lambda inputs, _: torch.nonzero(inputs[0]).T,
    "Pad": _pad,
    "Pow": _of_two(torch.pow),
    "Range": _range,
    "ReduceMean": _reduced(torch.mean),
    "ReduceSum": _reduced(torch.sum),
    "Reshape": _reshape,
    "Resize": _resize,
    "Round": _of_one(torch.round),
    "STFT": _stft,
    "ScatterND": _scatter,
    "Shape": lambda inputs, _: torch.tensor(inputs[0].shape),
    "Sigmoid": _of_one(torch.sigmoid),
    "Sin": _of_one(torch.sin),
    "SkipLayerNormalization": _sum_normed,
    "Slice": _slice,
    "Softmax": lambda inputs, attributes: torch.softmax(inputs[0], attributes["axis"]),
    "Split": _split,
    "Sqrt": _of_one(torch.sqrt),
    "Squeeze": _squeeze,
    "Sub": _of_two(torch.sub),
    "Tanh": _of_one(torch.tanh),
    "Transpose": lambda inputs, attributes: inputs[0].permute(attributes["perm"]),
    "Unsqueeze": _unsqueeze,
    "Where": lambda inputs, _: torch.where(*_together(*inputs)),
}
