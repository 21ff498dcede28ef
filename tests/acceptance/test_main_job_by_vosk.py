"""The same job heard by Vosk: the real library, a real model folder made here, real sound."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from command_line import CommandLine, ingesting
from short_drives import ShortDrive
from vosk_model.build import trained_network
from vosk_model.folder import write_folder
from vosk_model.phones import UNKNOWN_WORD, lexicon

from grammar import Language
from logger.wiring.sheets import load_sheet

NAME = "vosk-model-tiny-en-us-0.1"


@pytest.fixture(scope="module")
def installed(short_drive: ShortDrive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which Vosk finds an English model: the tiny trained one, with every word of the drive's language."""
    folder = tmp_path_factory.mktemp("vosk models")
    words = Language(load_sheet(short_drive.sheet).sheet.phrasebook).vocabulary
    known = lexicon([*words, UNKNOWN_WORD])
    (folder / NAME).mkdir()
    write_folder(folder / NAME, known, trained_network(), static=False)
    return folder


def test_an_installed_model_hears_calls(
    run: CommandLine, short_drive: ShortDrive, installed: Path, tmp_path: Path
) -> None:
    """An installed model is named, listens, and most readings are as said; each entry names who heard it."""
    with_model = CommandLine(run.folder)
    with_model.environment = run.environment | {"VOSK_MODEL_PATH": str(installed)}
    folder = tmp_path / "drive"

    done = with_model(*ingesting(short_drive, folder), "--model", NAME)

    assert done.returncode in {0, 1}, done.stderr
    assert f"listening with vosk {NAME} (asked for)" in done.stderr
    assert "Traceback" not in done.stderr
    assert 8 <= _right(run, short_drive, folder, f"vosk {NAME}")


def test_the_call_model_hears_calls(run: CommandLine, short_drive: ShortDrive, tmp_path: Path) -> None:
    """`--recogniser vosk` listens with the model that odovox carries, and every reading is as said."""
    folder = tmp_path / "drive"

    done = run(*ingesting(short_drive, folder), "--recogniser", "vosk")

    assert done.returncode in {0, 1}, done.stderr
    assert "listening with vosk call-model-2 (asked for)" in done.stderr
    said = [each for truth in short_drive.truth for each in truth.truth]
    assert len(said) - 1 <= _right(run, short_drive, folder, "vosk call-model-2")


def _right(run: CommandLine, short_drive: ShortDrive, folder: Path, recogniser: str) -> int:
    """Return how many rows of the log are a reading that was said; all of them heard by that recogniser."""
    rows = [json.loads(line) for line in run("log", folder, "--format", "jsonl", "--all").stdout.splitlines()]
    assert {recogniser} == {row["recogniser"] for row in rows}
    said = {each for truth in short_drive.truth for each in truth.truth}
    return sum((row["quantity"], str(row["value"]), row["unit"]) in said for row in rows)
