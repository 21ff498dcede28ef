"""Trains the acoustic model for call-outs in a moving car that `logger/recognisers/data/call-model` ships.

`make call-model` does all of it, from seeds; the training wants a GPU (see docs/call-model.md for what it took).

| module | what it does |
|---|---|
| `texts` | what is said: calls, words of the language in no order, other talk |
| `speaking` | TRAINING voices say it, with recorded human digits beside them (`python -m call_model.speaking`) |
| `neural_speaking` | Kokoro's speakers say it, on a GPU (`python -m call_model.neural_speaking`); a candidate, see docs/call-model.md |
| `neural_graph`, `neural_ops` | Kokoro's graph, run by torch |
| `corpus` | what was spoken, read back |
| `material` | batches of it, each at one of a few lengths and speeds |
| `bands` | mel bands and the settings under which Kaldi computes the same |
| `front` | sound to log-mel energies as Kaldi computes them, with a warped vocal tract where wanted |
| `cabin` | noises, rooms, microphones and levels, drawn anew for each batch |
| `shape`, `network` | the network and its sizes |
| `objective` | lattice-free maximum mutual information over phones |
| `training` | the training itself (`python -m call_model.training`) |
| `export` | the weights in Kaldi's binary form |

The noises are drawn from curves of their own, not from `speechkit.noise`, which the figures are reported on.
"""
