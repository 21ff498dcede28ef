"""A quantised ONNX graph run operator by operator in torch, with float weights.

ONNX Runtime's wheel for GPUs is too large to take to a lent machine, and on a core Kokoro speaks little faster than people do.
torch is there already, and on one H100 sixteen processes say some 120 s of speech a second, all of the work of a corpus told.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import onnx
import torch
from onnx import helper, numpy_helper
from torch import Tensor

from call_model.neural_ops import OPERATORS


@dataclass(slots=True)
class _Node:
    operator: str
    inputs: list[str]
    outputs: list[str]
    attributes: dict[str, Any]


class Graph:
    """A graph on one device; called with its inputs by name it gives its first output."""

    def __init__(self, model: bytes, device: str) -> None:
        graph = onnx.load_from_string(model).graph
        self._device = device
        self._constants = {each.name: _tensor(each) for each in graph.initializer}
        self._result = graph.output[0].name
        self._nodes = self._scaled(self._folded(self._in_floats([_node(each) for each in graph.node])))
        used = {name for node in self._nodes for name in node.inputs}
        # Whole numbers of 64 bits are shapes, positions or axes, and stay where they are read.
        self._constants = {
            name: tensor.to(device) if tensor.dim() and tensor.dtype != torch.int64 else tensor
            for name, tensor in self._constants.items()
            if name in used
        }
        last = {name: at for at, node in enumerate(self._nodes) for name in node.inputs}
        self._let_go: list[list[str]] = [[] for _ in self._nodes]
        for name, at in last.items():
            if name not in self._constants and name != self._result:
                self._let_go[at].append(name)

    @torch.inference_mode()
    def __call__(self, **inputs: Tensor) -> Tensor:
        """Return the graph's first output, on the graph's device."""
        known = {name: tensor.to(self._device) for name, tensor in inputs.items()}
        for node, let_go in zip(self._nodes, self._let_go, strict=True):
            given = [
                known[name] if name in known else self._constants[name] if name else None
                for name in node.inputs
            ]
            told = OPERATORS[node.operator](given, node.attributes)
            known.update(zip(node.outputs, told if isinstance(told, tuple) else (told,), strict=False))
            for name in let_go:
                known.pop(name, None)
        return known[self._result]

    def _in_floats(self, nodes: list[_Node]) -> list[_Node]:
        """Return the nodes with products in floats: what was rounded for them passes unrounded."""
        renamed: dict[str, str] = {}
        kept: list[_Node] = []
        for node in nodes:
            node.inputs = [renamed.get(name, name) for name in node.inputs]
            match node.operator:
                case "DynamicQuantizeLinear":
                    renamed[node.outputs[0]] = node.inputs[0]
                    self._constants[node.outputs[1]] = torch.tensor(1.0)
                    continue
                case "ConvInteger" | "MatMulInteger":
                    _, weight, _, zero = node.inputs
                    self._constants[f"{weight}.float"] = (
                        self._constants[weight].float() - self._constants[zero].float()
                    )
                    node.operator = node.operator.removesuffix("Integer")
                    node.inputs = [node.inputs[0], f"{weight}.float"]
                case "DynamicQuantizeLSTM":
                    node.operator = "LSTM"
                    node.inputs = [
                        node.inputs[0],
                        self._lstm_weight(node.inputs[1], *node.inputs[8:10]),
                        self._lstm_weight(node.inputs[2], *node.inputs[10:12]),
                        node.inputs[3],
                    ]
                case "Floor" | "Cast" if node.outputs[0].endswith(
                    ("bias_quant_rounded:0", "bias_quantized", "_cast_output")
                ):
                    renamed[node.outputs[0]] = node.inputs[0]
                    continue
            kept.append(node)
        return kept

    def _lstm_weight(self, weight: str, scale: str, zero: str) -> str:
        """Keep an LSTM's weight in floats, as ONNX's LSTM has it; return its name."""
        shape = (2, 1, -1)
        rounded, zeros = self._constants[weight].float(), self._constants[zero].float().reshape(shape)
        floats = (rounded - zeros) * self._constants[scale].reshape(shape)
        self._constants[f"{weight}.float"] = floats.transpose(1, 2).contiguous()
        return f"{weight}.float"

    def _folded(self, nodes: list[_Node]) -> list[_Node]:
        """Return the nodes that hang on an input; what the others give becomes a constant."""
        kept: list[_Node] = []
        for node in nodes:
            if not all(name in self._constants for name in node.inputs if name):
                kept.append(node)
                continue
            told = OPERATORS[node.operator](
                [self._constants.get(name) for name in node.inputs], node.attributes
            )
            self._constants.update(
                zip(node.outputs, told if isinstance(told, tuple) else (told,), strict=False)
            )
        return kept

    def _scaled(self, nodes: list[_Node]) -> list[_Node]:
        """Return the nodes with each convolution's bias and scale, which followed it as sum and product, within it."""
        maker = {name: node for node in nodes for name in node.outputs}
        uses = Counter(name for node in nodes for name in node.inputs)
        gone: set[int] = set()
        for product in nodes:
            if product.operator != "Mul" or not self._one_is_a_number(product):
                continue
            summed, scale = self._sorted(product)
            total = maker.get(summed)
            if total is None or total.operator != "Add" or uses[summed] > 1:
                continue
            convolved, bias = self._sorted(total)
            node = maker.get(convolved)
            if node is None or node.operator != "Conv" or uses[convolved] > 1 or bias not in self._constants:
                continue
            weight, factor = node.inputs[1], self._constants[scale]
            self._constants[f"{weight}.scaled"] = self._constants[weight] * factor
            self._constants[f"{bias}.scaled"] = (self._constants[bias] * factor).reshape(-1)
            node.inputs = [node.inputs[0], f"{weight}.scaled", f"{bias}.scaled"]
            node.outputs = product.outputs
            gone |= {id(product), id(total)}
        return [node for node in nodes if id(node) not in gone]

    def _one_is_a_number(self, node: _Node) -> bool:
        return any(name in self._constants and self._constants[name].numel() == 1 for name in node.inputs)

    def _sorted(self, node: _Node) -> list[str]:
        """Return a node's two inputs, the constant last."""
        return sorted(node.inputs, key=lambda name: name in self._constants)


def _node(proto: onnx.NodeProto) -> _Node:
    attributes = {each.name: helper.get_attribute_value(each) for each in proto.attribute}
    if isinstance(attributes.get("value"), onnx.TensorProto):
        attributes["value"] = _tensor(attributes["value"])
    return _Node(proto.op_type, list(proto.input), list(proto.output), attributes)


def _tensor(proto: onnx.TensorProto) -> Tensor:
    return torch.from_numpy(numpy_helper.to_array(proto).copy())
