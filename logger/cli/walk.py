"""The walk through a drive's doubts in a terminal: one after the other, with their sound, one line for each answer."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from logger.cli.reviewed import LETTERS, detail_lines, outcome_lines, what_to_do
from logger.cli.talk import printable, say
from logger.errors import AnswerError, ChangedMeanwhileError, SoundError

if TYPE_CHECKING:
    from logger.core.deciding import Answer, Choices
    from logger.wiring.reviewing.detail import Detail
    from logger.wiring.reviewing.drive import ReviewedDrive, View
    from logger.wiring.reviewing.playing import Player

_HELP = (
    (
        "a to h take what is beside the letter; ok accepts it as it is; anything else is taken as what was said: 105, 105 mi, "
        "one oh five, note headwind"
    ),
    "p plays the call, pp plays it slower, w plays it with two seconds before and after",
    "x nothing of the kind was said; s leave it for now; u undo the last answer; q end",
)


class Walk:
    """Goes through the doubts of a drive.

    Args:
        drive: the drive.
        player: plays sound.
        played_first: whether each call is played as it comes up.
    """

    def __init__(self, drive: ReviewedDrive, player: Player, *, played_first: bool) -> None:
        self._drive, self._player, self._played_first = drive, player, played_first
        self._skipped: set[str] = set()
        self._answered: list[str] = []
        self._lines = _typed_lines()

    def go(self) -> View:
        """Go on until nothing is in doubt, or the person has had enough; return the drive then."""
        from logger.wiring.reviewing.detail import detail_of

        shown = ""
        while True:
            view = self._drive.look()
            waiting = [entry for entry in view.doubts if entry.id not in self._skipped]
            if not waiting:
                return view
            entry = waiting[0]
            detail = detail_of(self._drive.folder, view, entry.id)
            if entry.id != shown:
                shown = entry.id
                number = view.doubts.index(entry) + 1
                click.echo("\n" + "\n".join(map(printable, detail_lines(detail, number, len(view.doubts)))))
                click.echo(printable(f"  {what_to_do(entry, detail.ranked)}"))
                if self._played_first:
                    self._play(detail, "p")
            click.echo("> ", nl=False)
            line = next(self._lines, None)
            if line is None or line == "q":
                click.echo()
                return view
            if self._take(line, detail, view):
                shown = ""

    def _take(self, line: str, detail: Detail, view: View) -> bool:
        """Do what a line says; whether the drive is to be looked at again."""
        if line in ("", "?"):
            for each in _HELP:
                click.echo(f"  {each}")
        elif line in ("p", "pp", "w"):
            self._play(detail, line)
        elif line == "s":
            self._skipped.add(detail.entry.id)
            return True
        else:
            return self._answer(line, detail, view)
        return False

    def _answer(self, line: str, detail: Detail, view: View) -> bool:
        from logger.core.deciding import Choices, Type

        answer = self._meant(line, detail)
        if answer is None:
            return False
        try:
            settled = self._drive.answer(answer, revision=view.revision)
            if isinstance(settled, Choices) and isinstance(answer, Type):
                number = self._chosen(settled)
                if number is None:
                    return False
                settled = self._drive.answer(
                    Type(answer.entry_id, answer.words, number), revision=view.revision
                )
        except ChangedMeanwhileError as error:
            say(str(error))
            return True
        except AnswerError as error:
            say(str(error))
            return False
        assert not isinstance(settled, Choices)
        if line == "u":
            self._answered.pop()
        else:
            self._answered += reversed(settled.about)
        self._skipped.discard(detail.entry.id)
        for each in outcome_lines(settled):
            click.echo(f"  {printable(each)}")
        return True

    def _meant(self, line: str, detail: Detail) -> Answer | None:
        from logger.core.deciding import Accept, EditNote, Reject, Take, Type, Undo

        entry = detail.entry
        if line == "u":
            if not self._answered:
                say(
                    "there is nothing to undo in this walk; `odovox amend DRIVE ENTRY --undo` undoes older answers"
                )
                return None
            return Undo(self._answered[-1])
        if line == "x":
            return Reject(entry.id)
        if line == "ok":
            return Accept(entry.id)
        if len(line) == 1 and line in LETTERS:
            number = LETTERS.index(line)
            if number >= len(detail.ranked):
                say(f"there is nothing beside {line}")
                return None
            place = detail.ranked[number].number
            return Accept(entry.id) if place is None else Take(entry.id, place)
        return EditNote(entry.id, line) if entry.quantity == "note" else Type(entry.id, line)

    def _chosen(self, choices: Choices) -> int | None:
        for number, text in enumerate(choices.texts, 1):
            click.echo(f"    {number}  {printable(text)}")
        click.echo("which? ", nl=False)
        line = next(self._lines, "") or ""
        if line.isdecimal() and 1 <= int(line[:4]) <= len(choices.ways):
            return int(line[:4]) - 1
        say("nothing was changed")
        return None

    def _play(self, detail: Detail, how: str) -> None:
        from logger.wiring.reviewing.sounds import call_sound

        if detail.utterance is None:
            say("there is no sound of it: it was typed")
            return
        try:
            stretch = call_sound(self._drive.folder, detail.utterance, around=how == "w")
            if how == "w" and not detail.has_more:
                say("only the call itself was kept")
            self._player.play(stretch.samples, slower=how == "pp")
        except SoundError as error:
            say(f"{error}; the sound is {detail.utterance.clip or 'not kept'} in the drive's folder")


def _typed_lines() -> Iterator[str]:
    for line in sys.stdin:
        yield " ".join(line.split())
