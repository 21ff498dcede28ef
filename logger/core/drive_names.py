"""Names of drives that are safe in a path, a column and a query, and unique among several. Pure."""

from __future__ import annotations

from collections.abc import Iterable

_KEPT = "._-"
_READ_AS_SOMETHING_ELSE = frozenset({"nan", "inf", "infinity", "null", "none", "true", "false"})


def safe_name(folder_name: str) -> str:
    """Return a name of letters, digits, dots, dashes and underscores that begins with a letter.

    Engines that find a name in a path (`drive=NAME`) take one like a number or a date for one, which begins with no
    letter; such a name gets `drive-` in front.
    """
    kept = "".join(letter if letter.isalnum() or letter in _KEPT else "-" for letter in folder_name)
    if kept[:1].isalpha() and kept.casefold() not in _READ_AS_SOMETHING_ELSE:
        return kept
    return f"drive-{kept}".rstrip("-")


def unique_names(folder_names: Iterable[str]) -> tuple[str, ...]:
    """Return a safe name for each folder, no two alike, also where capitals do not count; the first keeps its own."""
    taken: set[str] = set()
    names = []
    for each in folder_names:
        name = next(free for free in numbered(safe_name(each)) if free.casefold() not in taken)
        taken.add(name.casefold())
        names.append(name)
    return tuple(names)


def numbered(name: str) -> Iterable[str]:
    """Yield a name, and then the same with -2, -3 and so on."""
    yield name
    number = 2
    while True:
        yield f"{name}-{number}"
        number += 1
