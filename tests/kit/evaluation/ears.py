"""Who listens."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Literal

from evaluation.trials import DIGITS, Trial
from grammar import Language
from logger.ports import Recogniser
from logger.recognisers.call_model import CallModelRecogniser, shipped_weights
from logger.recognisers.vosk_models import installed_models
from logger.wiring.choosing import open_one

AUTO, CALL_MODEL, POCKETSPHINX = "auto", "call model", "PocketSphinx"
ROOT = Path(__file__).resolve().parents[3]
_HEARD_WITH = ("logger/recognisers", "grammar", "tests/kit/speechkit", "tests/kit/evaluation")
"""Sources on which an answer depends; the last two make the sound."""
_SOUND_ALSO = ("logger/core/fusing.py", "tests/kit/other_sound/cabin.py", "tests/kit/other_sound/music.py")
_NOT_HEARD_WITH = ("judging.py", "tables.py", "costs.py", "hearing.py")


@dataclass(frozen=True, slots=True)
class Ear:
    """A recogniser by itself.

    Attributes:
        name: what tables call it.
        kind: which of odovox's adapters.
        folder: a public Vosk model, or other weights of the call model; None for what odovox carries.
        only: the voice it is for; empty for all but those that a model learned from.
    """

    name: str
    kind: Literal["call model", "pocketsphinx", "public"]
    folder: Path | None = None
    only: str = ""

    def open(self, language: Language) -> Recogniser:
        """Return it ready to listen for a language.

        Raises:
            RecogniserError: it cannot be used; `UnknownWordsError`: it lacks words of the language.
        """
        if self.kind == "call model":
            return CallModelRecogniser(language, self.folder)
        return open_one("pocketsphinx" if self.kind == "pocketsphinx" else "vosk", self.folder, language)

    def hears(self, trial: Trial) -> bool:
        """Whether its answer to a trial may be reported: never to a voice that it learned from."""
        if self.kind != "call model":
            return True
        if trial.kind == DIGITS:
            return self.only == trial.voice and trial.voice not in learned_from(self.folder)
        return not self.only and trial.voice not in learned_from(self.folder)

    @property
    def identity(self) -> str:
        """A digest of all that its answers depend on but the trial: sources, models, libraries."""
        return _digest(self.kind, self.folder)


def ears(without: Mapping[str, Path] | None = None) -> tuple[Ear, ...]:
    """Return who listens: the call model, PocketSphinx, every installed public English model of Vosk.

    Args:
        without: voice -> folder of the call model trained without it.

    Raises:
        ValueError: such a folder doesn't tell who taught it, or that voice did.
    """
    found = [Ear(CALL_MODEL, "call model"), Ear(POCKETSPHINX, "pocketsphinx")]
    for voice, folder in (without or {}).items():
        if voice in learned_from(folder):
            raise ValueError(f"{folder}: this model learned from {voice}; train one --without {voice}")
        found.append(Ear(CALL_MODEL, "call model", folder, voice))
    return (*found, *(Ear(model.name, "public", model.path) for model in installed_models()))


@cache
def learned_from(weights: Path | None) -> frozenset[str]:
    """Return the voices that taught a call model, None for the one that odovox carries.

    Raises:
        ValueError: its folder does not tell.
    """
    path = (weights or shipped_weights()) / "voices.txt"
    if not path.exists():
        raise ValueError(f"{path} is missing, so nobody knows who taught this model; export it anew")
    return frozenset(path.read_text(encoding="utf-8").split())


@cache
def _digest(kind: str, folder: Path | None) -> str:
    digest = hashlib.sha256()
    sources = [path for part in _HEARD_WITH for path in (ROOT / part).rglob("*") if path.suffix != ".pyc"]
    sources += [ROOT / part for part in _SOUND_ALSO]
    sources += folder.rglob("*") if folder else ()
    for path in sorted(sources):
        if path.is_file() and path.name not in _NOT_HEARD_WITH:
            digest.update(path.read_bytes())
    for library in ("pocketsphinx", "vosk", "soxr"):
        digest.update(f"{kind} {library} {metadata.version(library)}".encode())
    return digest.hexdigest()[:12]
