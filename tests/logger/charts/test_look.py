"""The colours can be told apart by everybody, on light and on dark paper.

Outside: the palette of Okabe and Ito as Wong printed it (Nature Methods 8, 441, 2011, from memory); contrast by WCAG 2.2, success
criteria 1.4.3 and 1.4.11; colour blindness by the matrices of Machado, Oliveira and Fernandes (2009, table 1, severity 1.0, from memory).
"""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from logger.charts.look import BLUE, GREEN, INK, PAPER, ROLES, SOFT, VERMILLION

CSS = (Path(__file__).resolve().parents[3] / "logger" / "pages" / "templates" / "report.css").read_text(
    encoding="utf-8"
)
BLIND = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
OKABE_ITO = {"#0072b2": "blue", "#d55e00": "vermillion", "#009e73": "bluish green"}


def in_css() -> tuple[dict[str, str], dict[str, str]]:
    """The page's chart colours in the light and in the dark."""
    light, dark = CSS.split("@media screen and (prefers-color-scheme: dark)")
    found = [
        {role: colour.lower() for role, colour in re.findall(r"--chart-(\w+): (#[0-9a-fA-F]{6})", part)}
        for part in (light, dark.split("* { box-sizing")[0])
    ]
    return found[0], found[1]


def linear(colour: str) -> np.ndarray:
    """Linear red, green and blue of an sRGB colour (IEC 61966-2-1)."""
    value = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """The contrast ratio of WCAG."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    high, low = sorted((float(weights @ linear(one)), float(weights @ linear(other))), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_palette_is_okabe_and_itos() -> None:
    """The three colours of data."""
    assert {BLUE, VERMILLION, GREEN} == set(OKABE_ITO)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_contrast(scheme: int) -> None:
    """Text has 4.5 to 1 against the paper, marks have 3 to 1."""
    colours = in_css()[scheme]
    assert set(ROLES.values()) == set(colours)
    for role in ("ink", "soft"):
        assert contrast(colours[role], colours["panel"]) >= 4.5
    for role in ("blue", "vermillion", "green"):
        assert contrast(colours[role], colours["panel"]) >= 3.0


def test_files_have_the_same_contrast() -> None:
    """On their own paper."""
    assert min(contrast(each, PAPER) for each in (INK, SOFT)) >= 4.5
    assert min(contrast(each, PAPER) for each in (BLUE, VERMILLION, GREEN)) >= 3.0


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("kind", BLIND)
def test_colour_blind_people_see_different_colours(scheme: int, kind: str) -> None:
    """The three stay apart by at least as much as two colours that nobody confuses easily (0.12 in linear light)."""
    colours = in_css()[scheme]
    seen = [np.array(BLIND[kind]) @ linear(colours[role]) for role in ("blue", "vermillion", "green")]
    assert min(float(np.linalg.norm(one - other)) for one, other in combinations(seen, 2)) > 0.12
