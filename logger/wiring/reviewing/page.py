"""What the review page asks for and sends, each by a path below the page's own.

Nothing of a path reaches the file system: a static file is one of a fixed list, a call is named by its number, an entry by
an id that is looked up among the entries there are.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib import resources
from typing import Any

from logger.core.deciding import (
    Accept,
    AddMissed,
    Answer,
    Choices,
    EditNote,
    Reject,
    Take,
    Type,
    Undo,
)
from logger.core.json_text import json_text
from logger.errors import AnswerError, ChangedMeanwhileError, SoundError
from logger.model import Utterance
from logger.sound.kept_sound import as_wav, peaks_of
from logger.web.serving import NOT_FOUND, Asked, Reply, json_reply
from logger.wiring.reviewing.detail import detail_of
from logger.wiring.reviewing.drive import ReviewedDrive
from logger.wiring.reviewing.showing import detail_members, settled_members, state_members, track_members
from logger.wiring.reviewing.sounds import Stretch, call_sound, sound_at

FILES = {
    "": ("index.html", "text/html; charset=utf-8"),
    "look.css": ("look.css", "text/css; charset=utf-8"),
    "icon.svg": ("icon.svg", "image/svg+xml"),
    **{
        name: (name, "text/javascript; charset=utf-8")
        for name in (
            "main.js",
            "asking.js",
            "charts.js",
            "entry.js",
            "keys.js",
            "list.js",
            "making.js",
            "missed.js",
            "sound.js",
        )
    },
}
"""Every file of the page, by its path."""

_PEAKS = 240
_NANO = 1_000_000_000
_FARTHEST_S = 1e9
_MOST_ID = 40


class Page:
    """Replies to what the page of one reviewed drive asks for."""

    def __init__(self, reviewed: ReviewedDrive) -> None:
        self._reviewed = reviewed
        self._routes: tuple[tuple[re.Pattern[str], Callable[..., Reply]], ...] = (
            (re.compile(r"state"), self._state),
            (re.compile(r"track"), self._track),
            (re.compile(r"entry/([a-z0-9-]{1,40})", re.ASCII), self._entry),
            (re.compile(r"sound/(\d{1,9})(-wide)?\.wav", re.ASCII), self._sound),
            (re.compile(r"peaks/(\d{1,9})(-wide)?", re.ASCII), self._peaks),
            (re.compile(r"moment/(\d{1,9})\.wav", re.ASCII), self._moment),
        )

    def reply(self, asked: Asked) -> Reply:
        """Return what is asked for.

        Raises:
            OdovoxError: the drive cannot be read or written.
        """
        if asked.changes:
            return self._answer(asked.body) if asked.path == "answer" else NOT_FOUND
        if asked.path in FILES:
            name, kind = FILES[asked.path]
            return Reply((resources.files("logger.web") / "review" / name).read_bytes(), kind)
        for pattern, route in self._routes:
            found = pattern.fullmatch(asked.path)
            if found is not None:
                return route(*found.groups())
        return NOT_FOUND

    def _state(self) -> Reply:
        return json_reply(json_text(self._state_members()))

    def _state_members(self) -> Mapping[str, object]:
        reviewed = self._reviewed
        return state_members(
            reviewed.look(), reviewed.folder.resolve().name, reviewed.who, reviewed.blocked()
        )

    def _track(self) -> Reply:
        return json_reply(json_text(track_members(self._reviewed.look().heard)))

    def _entry(self, entry_id: str) -> Reply:
        view = self._reviewed.look()
        if view.entry(entry_id) is None:
            return NOT_FOUND
        return json_reply(json_text(detail_members(detail_of(self._reviewed.folder, view, entry_id), view)))

    def _sound(self, number: str, wide: str | None) -> Reply:
        return self._of_call(number, wide, _wav)

    def _peaks(self, number: str, wide: str | None) -> Reply:
        return self._of_call(number, wide, _peaks)

    def _of_call(self, number: str, wide: str | None, made: Callable[[Stretch], Reply]) -> Reply:
        utterance = self._utterance(int(number))
        if utterance is None:
            return NOT_FOUND
        try:
            return made(call_sound(self._reviewed.folder, utterance, around=wide is not None))
        except SoundError as error:
            return json_reply(json_text({"error": str(error)}), 404)

    def _moment(self, milliseconds: str) -> Reply:
        try:
            at_ns = int(milliseconds) * 1_000_000
            return _wav(sound_at(self._reviewed.folder, self._reviewed.look().heard, at_ns, 10.0))
        except SoundError as error:
            return json_reply(json_text({"error": str(error)}), 404)

    def _utterance(self, number: int) -> Utterance | None:
        return next((each for each in self._reviewed.look().heard.utterances if each.id == number), None)

    def _answer(self, body: Any) -> Reply:
        try:
            answer, revision, why = read_answer(body)
        except AnswerError as error:
            return json_reply(json_text({"error": str(error)}), 400)
        try:
            settled = self._reviewed.answer(answer, revision=revision, why=why)
        except ChangedMeanwhileError as error:
            return json_reply(
                json_text({"error": str(error), "meanwhile": True, "state": self._state_members()}), 409
            )
        except AnswerError as error:
            return json_reply(json_text({"error": str(error)}), 422)
        if isinstance(settled, Choices):
            return json_reply(json_text({"choices": settled.texts}))
        return json_reply(json_text(settled_members(settled) | {"state": self._state_members()}))


def read_answer(body: Mapping[str, Any]) -> tuple[Answer, str, str]:
    """Return the answer that the page sent, the revision it was given about, and the reason.

    Raises:
        AnswerError: it is none.
    """
    kind = body.get("kind")
    revision, why, entry = (
        _text(body, name, most) for name, most in (("revision", 100), ("why", 500), ("entry", _MOST_ID))
    )
    answer: Answer
    if kind == "accept":
        answer = Accept(entry)
    elif kind == "reject":
        answer = Reject(entry)
    elif kind == "undo":
        answer = Undo(entry, None if body.get("decision") is None else _number(body, "decision"))
    elif kind == "take":
        answer = Take(entry, _number(body, "number"))
    elif kind == "type":
        answer = Type(entry, _text(body, "words", 500), _choice(body))
    elif kind == "note":
        answer = EditNote(entry, _text(body, "words", 500))
    elif kind == "add":
        at_s = body.get("at_s")
        if isinstance(at_s, bool) or not isinstance(at_s, int | float) or not abs(at_s) < _FARTHEST_S:
            raise AnswerError("at_s must be seconds of the drive")
        answer = AddMissed(round(at_s * _NANO), _text(body, "words", 500), _choice(body))
    else:
        raise AnswerError("this is no answer")
    return answer, revision, why


def _text(body: Mapping[str, Any], name: str, most: int) -> str:
    value = body.get(name, "")
    if not isinstance(value, str) or len(value) > most:
        raise AnswerError(f"{name} must be a text of at most {most} letters")
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise AnswerError(f"{name} must be a text of whole letters") from error
    return value


def _number(body: Mapping[str, Any], name: str) -> int:
    value = body.get(name)
    if isinstance(value, bool) or not isinstance(value, int):
        raise AnswerError(f"{name} must be a whole number")
    return value


def _choice(body: Mapping[str, Any]) -> int | None:
    return None if body.get("choice") is None else _number(body, "choice")


def _wav(stretch: Stretch) -> Reply:
    return Reply(as_wav(stretch.samples), "audio/wav", seekable=True)


def _peaks(stretch: Stretch) -> Reply:
    return json_reply(
        json_text(
            {
                "peaks": peaks_of(stretch.samples, _PEAKS),
                "seconds": stretch.seconds,
                "start_s": stretch.start_ns / _NANO,
            }
        )
    )
