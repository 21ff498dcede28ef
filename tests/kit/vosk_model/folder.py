"""Writes a Vosk model folder: Kaldi's transition model and nnet3 network as text, configuration, graphs.

The text forms are Kaldi's own (`TransitionModel::Write`, `nnet3::AmNnetSimple::Write`); Vosk reads them as it
reads binary ones.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vosk_model.features import CEPSTRA, MFCC_CONF
from vosk_model.graph import loop_of_words, looped, word_graph
from vosk_model.network import OFFSETS, Network
from vosk_model.phones import SOUNDS, Lexicon, all_phones

ACOUSTIC_SCALE = 0.6
MODEL_CONF = f"""\
--min-active=200
--max-active=3000
--beam=14.0
--lattice-beam=8.0
--acoustic-scale={ACOUSTIC_SCALE}
--frame-subsampling-factor=3
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=1.0
--endpoint.rule4.min-trailing-silence=2.0
"""
"""Vosk counts word times in output frames of 30 ms whatever the factor is, so it has to be 3."""


def write_folder(folder: Path, lexicon: Lexicon, network: Network, *, static: bool) -> None:
    """Write a model folder with a run-time graph (takes phrase lists) or a static one (a loop of all words)."""
    for part in ("am", "conf", "graph/phones"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    (folder / "conf/mfcc.conf").write_text(MFCC_CONF)
    (folder / "conf/model.conf").write_text(MODEL_CONF)
    (folder / "am/final.mdl").write_text(_transitions() + _nnet3(network))
    words = ["<eps>", *sorted(lexicon), "#0", "<s>", "</s>"]
    numbers = {word: number for number, word in enumerate(words)}
    (folder / "graph/words.txt").write_text("".join(f"{word} {n}\n" for word, n in numbers.items()))
    phones = "".join(f"{SOUNDS[sound]}_{place} {phone}\n" for phone, sound, place in all_phones())
    (folder / "graph/phones.txt").write_text("<eps> 0\n" + phones)
    places = "".join(f"{phone} {place}\n" for phone, _, place in all_phones())
    (folder / "graph/phones/word_boundary.int").write_text(places)
    lower = word_graph(lexicon, numbers)
    if static:
        (folder / "graph/HCLG.fst").write_bytes(looped(lower, len(lexicon)).to_bytes())
    else:
        (folder / "graph/HCLr.fst").write_bytes(lower.to_bytes(by_given=True))
        (folder / "graph/Gr.fst").write_bytes(loop_of_words(len(lexicon)).to_bytes())
        (folder / "graph/disambig_tid.int").write_text("")


def _transitions() -> str:
    phones = all_phones()
    lines = [
        "<TransitionModel> ",
        "<Topology> ",
        "<TopologyEntry> ",
        "<ForPhones> ",
        " ".join(str(phone) for phone, _, _ in phones),
        "</ForPhones> ",
        "<State> 0 <PdfClass> 0 <Transition> 0 0.5 <Transition> 1 0.5 </State> ",
        "<State> 1 </State> ",
        "</TopologyEntry> ",
        "</Topology> ",
        f"<Triples> {len(phones)} ",
        *(f"{phone} 0 {sound} " for phone, sound, _ in phones),
        "</Triples> ",
        "<LogProbs> ",
        " [ 0 " + " ".join(["-0.6931472"] * (2 * len(phones))) + " ]",
        "</LogProbs> ",
        "</TransitionModel> ",
    ]
    return "\n".join(lines) + "\n"


def _vector(values: NDArray[np.float32]) -> str:
    return " [ " + " ".join(f"{value:.7g}" for value in values) + " ]\n"


def _matrix(rows: NDArray[np.float32]) -> str:
    return " [\n" + "\n".join("  " + " ".join(f"{value:.7g}" for value in row) for row in rows) + " ]\n"


def _nonlinearity(kind: str, size: int) -> str:
    return (
        f"<{kind}> <Dim> {size} <ValueAvg>  [ ]\n<DerivAvg>  [ ]\n"
        f"<Count> 0 <NumDimsSelfRepaired> 0 <NumDimsProcessed> 0 </{kind}> \n"
    )


def _nnet3(network: Network) -> str:
    spliced = ", ".join("input" if offset == 0 else f"Offset(input, {offset})" for offset in OFFSETS)
    nodes = [f"input-node name=input dim={CEPSTRA}"]
    parts: list[str] = []
    source = f"Append({spliced})"
    last = len(network.weights) - 1
    for layer, (weight, bias) in enumerate(zip(network.weights, network.biases, strict=True)):
        kind = "LogSoftmaxComponent" if layer == last else "RectifiedLinearComponent"
        affine, after = f"affine{layer}", f"after{layer}"
        nodes.append(f"component-node name={affine} component={affine} input={source}")
        nodes.append(f"component-node name={after} component={after} input={affine}")
        parts.append(
            f"<ComponentName> {affine} <FixedAffineComponent> <LinearParams> {_matrix(weight)}"
            f"<BiasParams> {_vector(bias)}</FixedAffineComponent> \n"
        )
        parts.append(f"<ComponentName> {after} {_nonlinearity(kind, len(bias))}")
        source = after
    nodes.append(f"output-node name=output input={source} objective=linear")
    # The blank after <Nnet3> and the empty line after the nodes are part of Kaldi's format.
    head = "<Nnet3> \n" + "\n".join(nodes) + "\n\n" + f"<NumComponents> {len(parts)} \n"
    context = f"<LeftContext> {-OFFSETS[0]} <RightContext> {OFFSETS[-1]} "
    return head + "".join(parts) + "</Nnet3> " + context + "<Priors> " + _vector(network.priors)
