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


@pytest.fixture(scope="module")
def installed(short_drive: ShortDrive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which Vosk finds an English model: the tiny trained one, with every word of the drive's language."""
    folder = tmp_path_factory.mktemp("vosk models")
    words = Language(load_sheet(short_drive.sheet).sheet.phrasebook).vocabulary - {"crosswind", "tailwind"}
    known = lexicon([*words, UNKNOWN_WORD, "cross", "tail", "wind"])
    for word in ("cross", "tail"):  # the dictionary lacks these two compounds
        known[f"{word}wind"] = tuple(first + second for first in known[word] for second in known["wind"])
    (folder / "vosk-model-tiny-en-us-0.1").mkdir()
    write_folder(folder / "vosk-model-tiny-en-us-0.1", known, trained_network(), static=False)
    return folder


def test_vosk_is_chosen_and_hears_calls(
    run: CommandLine, short_drive: ShortDrive, installed: Path, tmp_path: Path
) -> None:
    """`auto` takes an installed model and says so; of its readings most are as said; each entry names who heard it."""
    with_model = CommandLine(run.folder)
    with_model.environment = run.environment | {"VOSK_MODEL_PATH": str(installed)}
    folder = tmp_path / "drive"

    done = with_model(*ingesting(short_drive, folder))

    assert done.returncode in {0, 1}, done.stderr
    assert "listening with vosk vosk-model-tiny-en-us-0.1" in done.stderr
    assert "Traceback" not in done.stderr
    rows = [json.loads(line) for line in run("log", folder, "--format", "jsonl", "--all").stdout.splitlines()]
    assert {"vosk vosk-model-tiny-en-us-0.1"} == {row["recogniser"] for row in rows}
    said = {each for truth in short_drive.truth for each in truth.truth}
    right = [row for row in rows if (row["quantity"], str(row["value"]), row["unit"]) in said]
    assert 8 <= len(right)
