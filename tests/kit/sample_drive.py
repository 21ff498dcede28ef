"""The bundled sample drive and the truth about it, for tests."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
FOLDER = SAMPLES / "ostmere-loop"


@dataclass(frozen=True, slots=True)
class SaidInSample:
    """One line of truth.jsonl; see samples/README.md. `values` has quantity, value and unit of a reading, else nothing."""

    elapsed_s: float
    ends_s: float
    turn: int
    kind: str
    values: tuple[str, str, str] | None
    words: str
    voice: str
    lat_deg: float
    lon_deg: float
    driven_km: float
    shown: str | None
    replaces_s: float | None
    becomes: str | None

    @property
    def stands_s(self) -> float:
        """Which time an entry for it must have: a correction's is that of what it replaces."""
        return self.elapsed_s if self.replaces_s is None else self.replaces_s


def truth(folder: Path = FOLDER) -> tuple[SaidInSample, ...]:
    """Return everything said in the sample, in the order said."""
    lines = (folder / "truth.jsonl").read_text(encoding="utf-8").splitlines()
    return tuple(_said(json.loads(line)) for line in lines)


def _said(line: dict[str, object]) -> SaidInSample:
    values = None
    if "quantity" in line:
        values = (str(line["quantity"]), str(line["value"]), str(line["unit"]))
    kept = (
        "elapsed_s",
        "ends_s",
        "turn",
        "kind",
        "words",
        "voice",
        "lat_deg",
        "lon_deg",
        "driven_km",
    )
    may_be = ("shown", "replaces_s", "becomes")
    return SaidInSample(
        values=values,
        **{key: line[key] for key in kept},  # type: ignore[arg-type]
        **{key: line.get(key) for key in may_be},  # type: ignore[arg-type]
    )
