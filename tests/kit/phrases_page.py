"""docs/phrases.md, made from the grammar itself. Run as a program it writes the file."""

from __future__ import annotations

from pathlib import Path

from grammar import Command, Language, Meaning, Phrasebook, Quantity, Reading, card, default_quantities

PATH = Path(__file__).resolve().parents[2] / "docs" / "phrases.md"

_HEAD = """\
# What may be called out

Made from the grammar itself by `python tests/kit/phrases_page.py`; a test holds that it is current.
`odovox phrases` prints the card, with `--sheet` for your own; `odovox say WORDS` tells what words mean.

"""

_BETWEEN = """\
## The card

The card of the default sheet, to print:

"""

_SECTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "Readings",
        (
            "The unit says which quantity is meant; a keyword is needed only where units collide. "
            "Several readings may be said in one breath, in any order."
        ),
        (
            "checkpoint sixty three percent",
            "checkpoint ninety seven point two miles",
            "checkpoint ninety seven point two kilometers",
            "checkpoint trip ninety seven point two",
            "checkpoint odometer twelve thousand four hundred and twenty one",
            "checkpoint one oh nine miles left",
            "checkpoint range one oh nine",
            "checkpoint three point four miles per kilowatt hour",
            "checkpoint five point five kilometers per kilowatt hour",
            "checkpoint eighteen point two kilowatt hours per hundred kilometers",
            "checkpoint two ninety five watt hours per mile",
            "checkpoint one eighty five watt hours per kilometer",
            "checkpoint forty one point five kilowatt hours",
            "checkpoint outside forty four degrees",
            "checkpoint forty four degrees outside",
            "checkpoint battery twenty four degrees celsius",
            "checkpoint indicated sixty seven",
            "checkpoint sixty seven miles per hour",
            "checkpoint time seven forty a m",
            "checkpoint sixty three percent ninety seven point two miles three point four miles per kilowatt hour",
            "checkpoint outside forty four degrees indicated sixty seven",
        ),
    ),
    (
        "Numbers",
        "Every usual way to say a number is understood.",
        (
            "checkpoint trip two hundred and seven",
            "checkpoint trip two hundred seven",
            "checkpoint trip two oh seven",
            "checkpoint trip two zero seven",
            "checkpoint trip one fifty three point six",
            "checkpoint trip one five three point eight",
            "checkpoint trip a hundred",
            "checkpoint trip a hundred and seven point five",
            "checkpoint zero point five miles",
            "checkpoint half a mile",
            "checkpoint trip sixty three point oh",
            "checkpoint trip sixty three and a half",
            "checkpoint three point oh five miles per kilowatt hour",
            "checkpoint odometer twelve four twenty one",
            "checkpoint outside minus four degrees",
            "checkpoint outside four degrees below zero",
            "checkpoint outside minus four degrees fahrenheit",
        ),
    ),
    (
        "Times of day",
        "A value is minutes after midnight. Without a half of the day both are kept, and the drive decides.",
        (
            "checkpoint time seven forty p m",
            "checkpoint time seven forty",
            "checkpoint time seven oh five a m",
            "checkpoint seven o'clock a m",
            "checkpoint time half past seven p m",
            "checkpoint time quarter to eight p m",
            "checkpoint time seventeen forty",
            "checkpoint time oh seven forty",
            "checkpoint time seventeen hundred",
        ),
    ),
    (
        "Everything else",
        'The lead word may also stand before these. "correction" takes readings in every way that a call does.',
        (
            "correction sixty four percent",
            "checkpoint correction sixty four percent",
            "strike that",
            "note headwind",
            "note trip reset",
            "say again",
            "how far",
            "checkpoint sixty three percent note headwind",
        ),
    ),
    (
        "What means nothing",
        (
            "What is not in the language gives nothing, never a guess. "
            "A call without a meaning is kept with its sound and shown in doubt."
        ),
        (
            "sixty three percent",
            "checkpoint percent",
            "checkpoint sixty three",
            "checkpoint forty four degrees",
            "checkpoint a hundred and one percent",
            "checkpoint time twenty five forty",
            "note something else",
        ),
    ),
)


def page() -> str:
    """Return what docs/phrases.md must hold."""
    language = Language(Phrasebook())
    parts = [_HEAD, _BETWEEN]
    parts.append("".join(f"    {line}".rstrip() + "\n" for line in card(language.phrasebook).splitlines()))
    for title, text, phrases in _SECTIONS:
        parts.append(f"\n## {title}\n\n{text}\n\n| said | meaning |\n|---|---|\n")
        parts.append("".join(f"| {phrase} | {meaning_of(language, phrase)} |\n" for phrase in phrases))
    parts.append(_keywords())
    return "".join(parts)


def meaning_of(language: Language, phrase: str) -> str:
    """Return what a phrase means, in the way of the page."""
    meanings = language.meanings(phrase.split())
    return ", or ".join(sorted(_told(meaning) for meaning in meanings)) or "nothing"


def _told(meaning: Meaning) -> str:
    return "; ".join(_part(part) for part in meaning.parts)


def _part(part: Reading | Command) -> str:
    if isinstance(part, Reading):
        told = f"{part.quantity} {part.value} {part.unit}"
        return f"correction: {told}" if part.correction else told
    name = part.kind.value.replace("_", " ")
    return f"{name}: {part.text}" if part.text else name


def _keywords() -> str:
    rows = "".join(
        f"| `{each.name}` | {', '.join(f'`{unit.symbol}`' for unit in each.units)} "
        f"| {', '.join(each.keywords)} | {_without(each)} |\n"
        for each in default_quantities()
    )
    return (
        "\n## Keywords and units\n\n"
        "The first unit is meant when none is said. A sheet can put others first, leave some out and add keywords "
        "([sheet.md](sheet.md)).\n\n"
        f"| quantity | units | keywords | without a keyword |\n|---|---|---|---|\n{rows}"
    )


def _without(quantity: Quantity) -> str:
    if quantity.clock:
        return "hour with a m, p m or o'clock"
    if not quantity.bare:
        return "needs one, and the unit" if quantity.unit_needed else "needs one"
    return f"number, unit and {' or '.join(quantity.after)}" if quantity.after else "number and unit"


if __name__ == "__main__":
    PATH.write_text(page(), encoding="utf-8")
