"""What is said: each trial is one sound, and what it means."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, partial
from pathlib import Path

from speechkit import Samples, calls, human, talk
from speechkit.speaking import say
from speechkit.voices import REPORT, TUNING, Voice

from evaluation import people, read_speech
from evaluation.conditions import EVERY, RATIOS, Condition
from grammar import Language, Phrasebook

Truth = tuple[tuple[str, Decimal, str], ...]

SYNTHETIC, PERSON, DIGITS, TALK, READ = "synthetic voices", "a person", "digits", "talk", "read speech"
KINDS = (SYNTHETIC, PERSON, DIGITS, TALK, READ)
COUNTS = {SYNTHETIC: 308, PERSON: 160, DIGITS: 40, TALK: 98}
"""How many trials there are of each kind under each condition: whole rounds of the seven voices, and of digits for each speaker."""
CONDITIONS: dict[str, tuple[Condition, ...]] = {
    SYNTHETIC: EVERY,
    PERSON: EVERY,
    DIGITS: RATIOS,
    TALK: RATIOS,
    READ: RATIOS,
}
PERSON_VOICE = "asterisk-core-sounds-en"
_CALL_SEEDS = {False: 9001, True: 555}
_TALK_SEEDS = {False: 9003, True: 556}
_PERSON_SEED = 9002


@dataclass(frozen=True, slots=True)
class Trial:
    """One sound to recognise.

    Attributes:
        kind: one of KINDS.
        voice: who says it; a digit speaker as the training's corpus names him.
        speaker: whose voice that is: voices of one speaker are never a second talker behind each other.
        number: the how-manieth of its kind, from 0; of digits, of its speaker's.
        text: the words.
        truth: the readings; None for talk, which means nothing.
        sheet: which of `language`'s languages it is said in.
        sound: makes the sound.
    """

    kind: str
    voice: str
    speaker: str
    number: int
    text: str
    truth: Truth | None
    sheet: str
    sound: Callable[[], Samples]

    @property
    def key(self) -> str:
        """What tells it from all other trials."""
        return f"{self.kind}/{self.voice}/{self.number}/{self.text}"


@cache
def language(sheet: str) -> Language:
    """Return the language of a sheet: "default"; "person" without our lead word, which nobody recorded; "digits"."""
    if sheet == "digits":
        return people.digit_language()
    return Language(Phrasebook() if sheet == "default" else Phrasebook(lead="", notes=()))


def trials(
    *, digits: Path | None = None, sdist: Path | None = None, tune: bool = False, share: float = 1.0
) -> list[Trial]:
    """Return all trials, or the first `share` of each kind; with `tune` those of TUNING voices, which hold no people.

    Args:
        digits: the folder of the recorded digits; None leaves them out.
        sdist: the folder of `read_speech`; None leaves it out.
        tune: other voices and seeds.
        share: above 0, at most 1.
    """
    counts = {kind: max(1, round(share * count)) for kind, count in COUNTS.items()}
    found = [*_synthetic(counts[SYNTHETIC], tune=tune), *_talk(counts[TALK], tune=tune)]
    if tune:
        return found
    found += _person(counts[PERSON])
    for speaker in people.speakers(digits) if digits else ():
        assert digits is not None
        found += [_digits(digits, speaker, number) for number in range(counts[DIGITS])]
    if sdist:
        found += [
            _read(sdist, number, name) for number, name in enumerate((*read_speech.READ, *read_speech.OTHERS))
        ]
    return found


def _voices(*, tune: bool) -> tuple[Voice, ...]:
    return TUNING if tune else REPORT


def _truth(said: tuple[calls.Said, ...]) -> Truth:
    return tuple((each.quantity, Decimal(each.value), each.unit) for each in said)


def _synthetic(count: int, *, tune: bool) -> list[Trial]:
    voices = _voices(tune=tune)
    made = []
    # All of them are drawn, so that a share of them is the first of the same calls.
    for number, call in enumerate(calls.calls(COUNTS[SYNTHETIC], _CALL_SEEDS[tune])[:count]):
        voice = voices[number % len(voices)]
        sound = partial(say, voice, call.script)
        made.append(
            Trial(
                SYNTHETIC, voice.name, voice.speaker, number, call.text, _truth(call.truth), "default", sound
            )
        )
    return made


def _person(count: int) -> list[Trial]:
    return [
        Trial(
            PERSON,
            PERSON_VOICE,
            PERSON_VOICE,
            number,
            call.text,
            _truth(call.truth),
            "person",
            partial(_samples, call),
        )
        for number, call in enumerate(human.calls(COUNTS[PERSON], _PERSON_SEED)[:count])
    ]


def _samples(call: human.HumanCall) -> Samples:
    return call.samples


def _digits(folder: Path, speaker: str, number: int) -> Trial:
    words, value = people.digit_call(speaker, number)
    truth: Truth = (("odometer", Decimal(value), "mi"),)
    sound = partial(people.joined, folder, speaker, words, number)
    return Trial(DIGITS, f"digits-{speaker}", f"digits-{speaker}", number, words, truth, "digits", sound)


def _talk(count: int, *, tune: bool) -> list[Trial]:
    voices = _voices(tune=tune)
    made = []
    for number, text in enumerate(talk.sentences(COUNTS[TALK], _TALK_SEEDS[tune])[:count]):
        voice = voices[number % len(voices)]
        made.append(
            Trial(TALK, voice.name, voice.speaker, number, text, None, "default", partial(say, voice, text))
        )
    return made


def _read(place: Path, number: int, name: str) -> Trial:
    who = "a reader" if name in read_speech.READ else "others"
    return Trial(READ, who, who, number, name, None, "default", partial(read_speech.recording, place, name))
