"""Which recognisers and models this machine has, as text for a person."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

from logger.errors import RecogniserError


def describe_recognisers() -> str:
    """Return which recognisers are installed, which Vosk models there are, which `auto` takes, which suit."""
    lines = [f"pocketsphinx {_version('pocketsphinx')}: English model in its wheel, works at once"]
    try:
        from logger.recognisers.vosk_engine import model_folders
        from logger.recognisers.vosk_models import find_model, installed_models, recommended_models

        folders, found, best = model_folders(), installed_models(), find_model(None)
    except (ImportError, OSError) as error:
        return "\n".join([*lines, f"vosk: cannot be loaded on this machine ({error})"]) + "\n"
    lines.append(f"vosk {_version('vosk')}: " + ("" if found else "no English model is installed"))
    for model in found:
        kind = "takes the call-outs as a phrase list" if model.takes_phrases else "fixed graph"
        lines.append(f"  {model.path}  ({kind})")
    lines += ["  looked in: " + ", ".join(str(folder) for folder in folders)]
    lines += ["", f"auto takes: {'vosk ' + best.name if best is not None else 'pocketsphinx'}", ""]
    return "\n".join(lines) + "\n" + recommended_models() + "\n"


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
