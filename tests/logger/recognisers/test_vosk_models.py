"""Where Vosk models are found and how one is fetched: Vosk's own loader, against no network and a local server."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
import vosk
from vosk_model import random_model

from logger.errors import RecogniserError
from logger.recognisers.vosk_models import (
    RECOMMENDED,
    fetch_model,
    find_model,
    installed_models,
    recommended_models,
)

NAME = "vosk-model-small-en-us-0.15"
WORDS = ("one", "two")


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder in which Vosk keeps models, made empty for this test."""
    folder = tmp_path / "kept"
    folder.mkdir()
    monkeypatch.setattr(vosk, "MODEL_DIRS", [None, tmp_path / "nowhere", folder])
    return folder


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Serve a folder on loopback in place of Vosk's own server, and return it."""
    folder = tmp_path / "published"
    folder.mkdir()

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder))) as listening:
        base = f"http://127.0.0.1:{listening.server_port}/"
        monkeypatch.setattr(vosk, "MODEL_PRE_URL", base)
        monkeypatch.setattr(vosk, "MODEL_LIST_URL", f"{base}model-list.json")
        thread = Thread(target=listening.serve_forever)
        thread.start()
        yield folder
        listening.shutdown()
        thread.join()


def _publish(folder: Path, *names: str) -> None:
    rows = [{"name": name, "lang": "en-us", "type": "small", "obsolete": "false"} for name in names]
    (folder / "model-list.json").write_text(json.dumps(rows))


def _place(kept: Path, *names: str, static: bool = False) -> None:
    for name in names:
        random_model(kept / name, WORDS, static=static)


def test_the_named_model_comes_first(kept: Path, tmp_path: Path) -> None:
    """A folder that the user names is taken as it is, whatever is installed."""
    _place(kept, NAME)

    assert tmp_path == find_model(tmp_path)


def test_a_named_model_has_to_be_there(kept: Path, tmp_path: Path) -> None:
    """A wrong path is an error rather than a reason to take another model."""
    _place(kept, NAME)
    with pytest.raises(RecogniserError, match="elsewhere: no such folder"):
        find_model(tmp_path / "elsewhere")


def test_none_installed(kept: Path) -> None:
    """Without a model there is none, and a folder of the right name without a model in it is none either."""
    (kept / NAME).mkdir()

    assert () == installed_models()


def test_only_models_of_the_language(kept: Path) -> None:
    """English of any country is English; Spanish, and a language whose code begins alike, are not."""
    _place(
        kept, "vosk-model-small-es-0.42", "vosk-model-enx-1", "vosk-model-en-in-0.5", "vosk-model-en-us-0.22"
    )
    names = [model.name for model in installed_models()]

    assert ["vosk-model-en-in-0.5", "vosk-model-en-us-0.22"] == names


def test_a_model_is_found_by_its_name(kept: Path) -> None:
    """The name of an installed model will do; a path with folders in it is a path."""
    _place(kept, NAME)

    assert kept / NAME == find_model(Path(NAME))
    with pytest.raises(RecogniserError, match="no installed model of that name"):
        find_model(Path("x") / NAME)


def test_installed_models_tell_their_graph(kept: Path) -> None:
    """Whether a phrase list has an effect is read from the folder."""
    _place(kept, "vosk-model-en-us-0.22", static=True)
    _place(kept, NAME)

    assert [(NAME, True), ("vosk-model-en-us-0.22", False)] == sorted(
        ((model.name, model.takes_phrases) for model in installed_models()), reverse=True
    )


def test_the_environment_says_where(tmp_path: Path) -> None:
    """VOSK_MODEL_PATH is looked in, as Vosk itself does."""
    _place(tmp_path, NAME)
    script = "from logger.recognisers.vosk_models import find_model; from pathlib import Path; print(find_model(Path('vosk-model-small-en-us-0.15')))"
    environment = {"VOSK_MODEL_PATH": str(tmp_path), "HOME": str(tmp_path / "home"), "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=Path(__file__).parents[3],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )

    assert f"{tmp_path / NAME}\n" == done.stdout


def test_recommendations_name_every_model() -> None:
    """Each recommended model is named with its size, and no address is in the text."""
    text = recommended_models()

    assert all(f"{model.name}  ({model.size};" in text for model in RECOMMENDED)
    assert "://" not in text


def test_no_network_is_one_line(
    kept: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With nobody listening there is one error, quickly, nothing on stdout and nothing left behind.

    Port 9 on loopback refuses at once; on a machine without a network the name lookup fails in the same place.
    """
    monkeypatch.setattr(vosk, "MODEL_LIST_URL", "http://127.0.0.1:9/model-list.json")
    with pytest.raises(
        RecogniserError, match=f"^{NAME}: cannot be fetched \\(no connection to the server\\); try again"
    ) as caught:
        fetch_model(NAME)

    assert "\n" not in str(caught.value)
    assert ("", []) == (capsys.readouterr().out, list(kept.iterdir()))


def test_a_name_that_cannot_be_looked_up_is_one_line(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A failing name service gives the same line; `.invalid` never resolves (RFC 6761)."""
    monkeypatch.setattr(vosk, "MODEL_LIST_URL", "http://models.invalid/model-list.json")
    with pytest.raises(RecogniserError, match="no connection to the server"):
        fetch_model(NAME)

    assert [] == list(kept.iterdir())


def test_an_unknown_name_is_one_line(kept: Path, server: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Vosk prints and ends the process for a name it does not publish; here it is an error."""
    _publish(server, NAME)
    with pytest.raises(RecogniserError, match=r"^vosk-model-en-0\.1: Vosk publishes no model of this name"):
        fetch_model("vosk-model-en-0.1")

    assert ("", []) == (capsys.readouterr().out, list(kept.iterdir()))


@pytest.mark.parametrize("name", ["", "small", "../vosk-model-en", "vosk-model-en/..", "vosk-model-en\n"])
def test_a_name_that_is_none_is_refused(kept: Path, name: str) -> None:
    """Only names shaped like Vosk's reach the loader, which makes paths of them."""
    with pytest.raises(RecogniserError, match="not the name of a Vosk model"):
        fetch_model(name)

    assert [] == list(kept.iterdir())


def test_a_model_is_fetched_and_found(kept: Path, server: Path, tmp_path: Path) -> None:
    """The loader downloads and unpacks; the model is then installed, and a second call needs no server."""
    _publish(server, NAME)
    random_model(tmp_path / "made" / NAME, WORDS)
    shutil.make_archive(str(server / NAME), "zip", tmp_path / "made")
    fetched = fetch_model(NAME)
    (server / "model-list.json").unlink()

    assert kept / NAME == fetched == find_model(Path(NAME)) == fetch_model(NAME)
    assert [kept / NAME] == list(kept.iterdir())


@pytest.mark.parametrize(
    ("archive", "reason"),
    [(None, "the server answers 404"), (b"no archive", "what came is no archive")],
    ids=["missing", "broken"],
)
def test_a_broken_download_leaves_nothing(
    kept: Path, server: Path, archive: bytes | None, reason: str
) -> None:
    """What cannot be unpacked, or is not there, is one error, and no file stays."""
    _publish(server, NAME)
    if archive is not None:
        (server / f"{NAME}.zip").write_bytes(archive)
    with pytest.raises(RecogniserError, match=f"cannot be fetched \\({reason}\\)"):
        fetch_model(NAME)

    assert [] == list(kept.iterdir())


def test_a_half_archive_leaves_nothing(kept: Path, server: Path, tmp_path: Path) -> None:
    """An archive cut in the middle is no archive (its directory is at its end)."""
    _publish(server, NAME)
    random_model(tmp_path / "made" / NAME, WORDS)
    whole = Path(shutil.make_archive(str(server / NAME), "zip", tmp_path / "made"))
    whole.write_bytes(whole.read_bytes()[:100_000])
    with pytest.raises(RecogniserError, match="what came is no archive"):
        fetch_model(NAME)

    assert [] == list(kept.iterdir())


def test_an_archive_of_something_else_leaves_nothing(kept: Path, server: Path, tmp_path: Path) -> None:
    """A good archive without a model in it is not installed."""
    _publish(server, NAME)
    (tmp_path / "made" / NAME).mkdir(parents=True)
    (tmp_path / "made" / NAME / "README").write_text("nothing here")
    shutil.make_archive(str(server / NAME), "zip", tmp_path / "made")
    with pytest.raises(RecogniserError, match="no Vosk model in it"):
        fetch_model(NAME)

    assert [] == list(kept.iterdir())


def test_what_was_there_before_is_kept(kept: Path) -> None:
    """A folder of the user's that only looks like a model is reported, not removed."""
    (kept / NAME).mkdir()
    (kept / NAME / "notes.txt").write_text("mine")
    with pytest.raises(RecogniserError, match="no Vosk model in it; remove that folder"):
        fetch_model(NAME)

    assert "mine" == (kept / NAME / "notes.txt").read_text()
