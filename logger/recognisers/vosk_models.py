"""Where Vosk models lie on this machine, which one to have, and how to get it.

Vosk's own loader knows where models are published and where they are kept; both are left to it.
"""

from __future__ import annotations

import re
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import ContentTooShortError, HTTPError, URLError
from zipfile import BadZipFile

from logger.errors import RecogniserError
from logger.recognisers.vosk_engine import load_published_model, model_folders

_SILENCE_LIMIT_S = 30.0


@dataclass(frozen=True, slots=True)
class InstalledModel:
    """A model folder that was found, and whether its graph takes a phrase list at run time."""

    name: str
    path: Path
    takes_phrases: bool


@dataclass(frozen=True, slots=True)
class PublishedModel:
    """A public model: its published name, download size, and what is known of it."""

    name: str
    size: str
    takes_phrases: bool
    remark: str


RECOMMENDED = (
    PublishedModel(
        "vosk-model-small-en-us-0.15",
        "40 MB",
        takes_phrases=True,
        remark="fits any laptop or a small board; word error 9.85 % on LibriSpeech test-clean, 10.38 % on TED-LIUM",
    ),
    PublishedModel(
        "vosk-model-en-us-0.22-lgraph",
        "128 MB",
        takes_phrases=True,
        remark="the better ear where there is room; word error 7.82 % on LibriSpeech, 8.20 % on TED-LIUM",
    ),
    PublishedModel(
        "vosk-model-en-us-0.22",
        "1.8 GB",
        takes_phrases=False,
        remark=(
            "most exact in open talk (5.69 % and 6.05 %), but it cannot be told what to expect, "
            "which call-outs gain most from"
        ),
    ),
)
"""Names, sizes, word error rates and graph kinds as the Vosk project's model page lists them, read in copies of it
on 2026-11-25, not in the page itself; odovox has not measured these models. The figures are for open talk, not
for call-outs. All three are under the Apache License 2.0."""


def installed_models(language: str = "en") -> tuple[InstalledModel, ...]:
    """Return the models found where Vosk looks whose names say `language`: in its order, then by name."""
    named = re.compile(rf"vosk-model(-small|-tiny)?-{re.escape(language)}(?![a-z])")
    found: list[InstalledModel] = []
    for folder in filter(Path.is_dir, model_folders()):
        found += [
            _described(path)
            for path in sorted(folder.iterdir())
            if named.match(path.name) and _is_model(path)
        ]
    return tuple(found)


def find_model(named: Path) -> Path:
    """Return the model's folder: the path itself, or an installed model of that name.

    Raises:
        RecogniserError: there is neither.
    """
    if named.is_dir():
        return named
    if named.name == str(named):
        for folder in model_folders():
            if (folder / named).is_dir():
                return folder / named
    raise RecogniserError(
        f"{named}: no such folder, and no installed model of that name; `odovox model` lists the installed ones"
    )


def recommended_models() -> str:
    """Return which public model suits, as text for a person."""
    lines = ["Public English models for Vosk that suit call-outs, best choice first:", ""]
    for model in RECOMMENDED:
        kind = (
            "takes the call-outs as a phrase list"
            if model.takes_phrases
            else "fixed graph, takes no phrase list"
        )
        lines += [f"  {model.name}  ({model.size}; {kind})", f"      {model.remark}"]
    lines += [
        "",
        "Sizes and word error rates are the Vosk project's own, for open talk; odovox has not measured them.",
        f"Fetch one with `odovox model --fetch {RECOMMENDED[0].name}`, or unpack one into a folder that Vosk looks in.",
    ]
    return "\n".join(lines)


def fetch_model(name: str) -> Path:
    """Let Vosk's own loader fetch the model `name` (its progress goes to stderr) and return its folder.

    A model that is already there is not fetched again.

    Raises:
        RecogniserError: there is no such model, no network, no room, or the download was broken. Nothing is left
            behind that looks like a model.
    """
    if not re.fullmatch(r"vosk-model-[a-z0-9.-]+", name):
        raise RecogniserError(f"{name}: not the name of a Vosk model; `odovox model` lists some")
    places = [folder / name for folder in model_folders()]
    new = [place for place in places if not place.exists()]
    fetched = False
    try:
        with _patience():
            found = load_published_model(name)
        fetched = _is_model(found)
    except LookupError as error:
        raise RecogniserError(
            f"{name}: Vosk publishes no model of this name; `odovox model` lists some"
        ) from error
    except Exception as error:
        raise RecogniserError(
            f"{name}: cannot be fetched ({_in_short(error)}); try again when online, "
            "or unpack a model into a folder that Vosk looks in"
        ) from error
    finally:
        if not fetched:
            _clear(new)
    if not fetched:
        raise RecogniserError(f"{found}: no Vosk model in it; remove that folder and fetch it again")
    return found


@contextmanager
def _patience() -> Iterator[None]:
    """Give up on a server that goes silent: Vosk's download itself would wait for ever."""
    before = socket.getdefaulttimeout()
    socket.setdefaulttimeout(_SILENCE_LIMIT_S)
    try:
        yield
    finally:
        socket.setdefaulttimeout(before)


def _clear(places: list[Path]) -> None:
    """Remove what a broken fetch left: the archive and a half unpacked folder."""
    for place in places:
        place.with_name(f"{place.name}.zip").unlink(missing_ok=True)
        shutil.rmtree(place, ignore_errors=True)


def _in_short(error: Exception) -> str:
    """Return what went wrong in a few words; the libraries' own messages are long and full of addresses."""
    if isinstance(error, ContentTooShortError):
        return "the download broke off"
    if isinstance(error, HTTPError):
        return f"the server answers {error.code}"
    if isinstance(error, TimeoutError) or "timed out" in str(error).lower():
        return "the server does not answer"
    # requests' own errors are OSErrors too; those that are about the connection name it in their type.
    if isinstance(error, URLError | ConnectionError) or "Connection" in type(error).__name__:
        return "no connection to the server"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    if isinstance(error, BadZipFile):
        return "what came is no archive"
    return " ".join(str(error).split())[:80] or type(error).__name__


def _is_model(path: Path) -> bool:
    return (path / "am" / "final.mdl").is_file() or (path / "final.mdl").is_file()


def _described(path: Path) -> InstalledModel:
    takes_phrases = (path / "graph" / "HCLr.fst").exists() or (path / "HCLr.fst").exists()
    return InstalledModel(path.name, path, takes_phrases)
