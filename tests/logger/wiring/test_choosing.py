"""Which recogniser listens, and what is said about it."""

from __future__ import annotations

from pathlib import Path

import pytest

from grammar import Language, Phrasebook
from logger.errors import RecogniserError
from logger.recognisers import vosk_models
from logger.wiring.choosing import choose


@pytest.fixture(scope="module")
def language() -> Language:
    """The default language."""
    return Language(Phrasebook())


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder that looks like an installed English Vosk model, and is broken."""
    folder = tmp_path / "vosk-model-small-en-us-0.0"
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"no model")
    monkeypatch.setattr(vosk_models, "model_folders", lambda: (tmp_path,))
    return folder


@pytest.fixture
def nothing_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """No Vosk model is installed."""
    monkeypatch.setattr(vosk_models, "model_folders", lambda: ())


def test_auto_without_a_model_is_pocketsphinx(language: Language, nothing_installed: None) -> None:
    """Without an installed Vosk model `auto` takes PocketSphinx and says why."""
    chosen = choose("auto", None, language)

    assert chosen.recogniser.name.startswith("pocketsphinx ")
    assert "no English Vosk model is installed" == chosen.why


def test_auto_passes_over_a_broken_installed_model(language: Language, installed: Path) -> None:
    """An installed model that cannot be used makes `auto` fall back, and the reason names the model."""
    chosen = choose("auto", None, language)

    assert chosen.recogniser.name.startswith("pocketsphinx ")
    assert str(installed) in chosen.why


def test_what_is_asked_for_is_not_replaced(language: Language, installed: Path) -> None:
    """A model that is named, or Vosk asked for, fails clearly where it cannot be used."""
    for choice, model in (("auto", installed), ("vosk", installed), ("vosk", None)):
        with pytest.raises(RecogniserError, match="vosk-model-small-en-us"):
            choose(choice, model, language)  # type: ignore[arg-type]


def test_vosk_without_a_model_is_told(language: Language, nothing_installed: None) -> None:
    """Vosk asked for without any model is an error that says where to find one."""
    with pytest.raises(RecogniserError, match="odovox model"):
        choose("vosk", None, language)


def test_a_model_for_pocketsphinx_is_a_mistake(language: Language, tmp_path: Path) -> None:
    """`--model` names Vosk models only."""
    with pytest.raises(RecogniserError, match="names a Vosk model"):
        choose("pocketsphinx", tmp_path, language)
