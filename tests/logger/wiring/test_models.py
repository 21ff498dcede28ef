"""What is told about recognisers and models."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

import pytest

from logger.errors import RecogniserError
from logger.recognisers import vosk_models
from logger.recognisers.call_model import NAME
from logger.wiring import models


def model(folder: Path, name: str) -> Path:
    """Make a folder that looks like a Vosk model with a run-time graph."""
    path = folder / name
    (path / "am").mkdir(parents=True)
    (path / "graph").mkdir()
    (path / "am" / "final.mdl").write_bytes(b"x")
    (path / "graph" / "HCLr.fst").write_bytes(b"x")
    return path


def test_what_auto_takes_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Versions are the installed ones (by importlib.metadata), the folders looked in and a suitable model are named."""
    monkeypatch.setattr("logger.recognisers.vosk_models.model_folders", lambda: (tmp_path,))
    monkeypatch.setattr("logger.recognisers.vosk_engine.model_folders", lambda: (tmp_path,))

    text = models.describe_recognisers()

    assert f"pocketsphinx {version('pocketsphinx')}" in text
    assert f"vosk {version('vosk')}: {NAME}" in text
    assert f"none; looked in: {tmp_path}" in text
    assert "auto takes: both together" in text
    assert vosk_models.RECOMMENDED[0].name in text


def test_an_installed_model_is_shown(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An English model where Vosk looks is listed; one of another language is not."""
    monkeypatch.setattr("logger.recognisers.vosk_models.model_folders", lambda: (tmp_path,))
    monkeypatch.setattr("logger.recognisers.vosk_engine.model_folders", lambda: (tmp_path,))
    path = model(tmp_path, "vosk-model-small-en-us-0.0")
    model(tmp_path, "vosk-model-small-fr-0.0")

    text = models.describe_recognisers()

    assert f"  {path.name}  (takes the call-outs as a phrase list; in {tmp_path})" in text
    assert "small-fr" not in text


def test_a_name_that_is_none_is_refused() -> None:
    """Fetching refuses, before any network, what cannot be a model's name."""
    with pytest.raises(RecogniserError, match="not the name of a Vosk model"):
        models.fetch("../etc")
