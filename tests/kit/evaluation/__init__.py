"""How well calls are heard, measured honestly: `tests/benchmarks/recognition.py` runs it all.

| module | what it does |
|---|---|
| `trials` | what is said: calls by synthetic voices, by recorded people, and talk |
| `people` | digits that people recorded, and their calls joined of them |
| `read_speech` | recordings of people in PocketSphinx's source distribution: other talk |
| `noises` | kinds of noise for reports, none of them made as the training's |
| `conditions` | the noise and the ratio under which a trial is heard |
| `ears` | who listens: the call model, PocketSphinx, installed public models |
| `hearing` | asks them, and keeps each answer on disk |
| `judging` | answers to counts |
| `costs` | time and memory, in a process of its own |
| `tables` | counts to Markdown, and what had to be reached beside what was |

Nothing is ever chosen on the REPORT voices, noises and people. `--tune` takes TUNING voices and other seeds.
"""
