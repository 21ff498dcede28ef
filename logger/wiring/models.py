"""Which recognisers and models this machine has, as text for a person."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

from logger.errors import RecogniserError


def describe_recognisers() -> str:
    """Return which recognisers and models are installed, which `auto` takes, and which public models suit."""
    lines = [
        f"pocketsphinx {_version('pocketsphinx')}: English model in its wheel, adapted to cabins by odovox"
    ]
    try:
        from logger.recognisers.call_model import NAME
        from logger.recognisers.vosk_engine import model_folders
        from logger.recognisers.vosk_models import installed_models, recommended_models

        folders, found = model_folders(), installed_models()
    except (ImportError, OSError) as error:
        lines += [f"vosk: cannot be loaded on this machine ({error})", "", "auto takes: pocketsphinx"]
        return "\n".join(lines) + "\n"
    lines.append(f"vosk {_version('vosk')}: {NAME}, odovox's own for call-outs in a moving car")
    lines += ["", "auto takes: both together (they measured best), nothing to install", ""]
    lines.append("Other English models for Vosk on this machine, for --model:")
    for model in found:
        kind = "takes the call-outs as a phrase list" if model.takes_phrases else "fixed graph"
        lines.append(f"  {model.name}  ({kind}; in {model.path.parent})")
    if not found:
        lines.append("  none; looked in: " + ", ".join(str(folder) for folder in folders))
    return "\n".join([*lines, ""]) + "\n" + recommended_models() + "\n"


def fetch(name: str) -> Path:
    """Let Vosk's own loader fetch a model, and return its folder.

    Raises:
        RecogniserError: there is no such model, or it cannot be fetched.
    """
    try:
        from logger.recognisers.vosk_models import fetch_model
    except (ImportError, OSError) as error:
        raise RecogniserError(f"Vosk cannot be loaded on this machine ({error})") from error
    return fetch_model(name)


def _version(distribution: str) -> str:
    try:
        return metadata.version(distribution)
    except metadata.PackageNotFoundError:
        return "(not installed)"
