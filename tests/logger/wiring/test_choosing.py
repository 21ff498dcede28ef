"""Which recogniser listens, and what is said about it."""

from __future__ import annotations

from pathlib import Path

import pytest
from vosk_model import random_model

from grammar import Language, Phrasebook
from logger.errors import RecogniserError
from logger.recognisers import call_model, sphinx_search, vosk_models
from logger.wiring.choosing import Choice, choose


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
def no_call_model(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The call model's files are gone."""
    monkeypatch.setattr(call_model, "_DATA", tmp_path / "nowhere")


def test_auto_is_both_together(language: Language, installed: Path) -> None:
    """Whatever else is installed, `auto` takes what measured best and says so."""
    chosen = choose("auto", None, language)

    assert chosen.recogniser.name.startswith(f"vosk {call_model.NAME} with pocketsphinx ")
    assert "together they measured best" == chosen.why


def test_auto_takes_what_works(language: Language, no_call_model: None) -> None:
    """Without the call model PocketSphinx listens alone, and the reason says what is wrong."""
    chosen = choose("auto", None, language)

    assert chosen.recogniser.name.startswith("pocketsphinx ")
    assert "install odovox again" in chosen.why


def test_auto_without_pocketsphinx_is_the_call_model(
    language: Language, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without PocketSphinx's adapted model the call model listens alone."""
    monkeypatch.setattr(sphinx_search, "DATA", Path("/nowhere"))

    chosen = choose("auto", None, language)

    assert f"vosk {call_model.NAME}" == chosen.recogniser.name
    assert "pocketsphinx" in chosen.why


def test_what_is_asked_for_is_not_replaced(language: Language, installed: Path, no_call_model: None) -> None:
    """A model that is named, or a recogniser asked for, fails clearly where it cannot be used."""
    for choice, model in (("auto", installed), ("vosk", installed), ("vosk", None), ("both", None)):
        with pytest.raises(RecogniserError, match=r"vosk-model-small-en-us|call model"):
            choose(choice, model, language)  # type: ignore[arg-type]


def test_an_installed_model_is_found_by_name(
    language: Language, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`--model` takes the name of a model where Vosk keeps them."""
    name = "vosk-model-small-en-us-9.9"
    random_model(tmp_path / name, language.vocabulary)
    monkeypatch.setattr(vosk_models, "model_folders", lambda: (tmp_path,))

    chosen = choose("auto", Path(name), language)

    assert (f"vosk {name}", "asked for") == (chosen.recogniser.name, chosen.why)


@pytest.mark.parametrize("choice", ["pocketsphinx", "both"])
def test_a_model_for_another_recogniser_is_a_mistake(
    language: Language, tmp_path: Path, choice: Choice
) -> None:
    """`--model` names Vosk models only."""
    with pytest.raises(RecogniserError, match="names a Vosk model"):
        choose(choice, tmp_path, language)
