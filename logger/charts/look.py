"""How the charts look: colours, sizes and the settings of matplotlib.

The colours of data are those that Okabe and Ito chose so that colour-blind people can tell them apart ("Color Universal Design",
2008; printed by B. Wong, Nature Methods 8, 441, 2011). Shape and line style always say the same as the colour does.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

INK = "#23272b"
SOFT = "#555d66"
GRID = "#dad7ce"
PAPER = "#fffffe"
BLUE = "#0072b2"
VERMILLION = "#d55e00"
GREEN = "#009e73"

ROLES: Mapping[str, str] = MappingProxyType(
    {
        INK: "ink",
        SOFT: "soft",
        GRID: "grid",
        PAPER: "panel",
        BLUE: "blue",
        VERMILLION: "vermillion",
        GREEN: "green",
    }
)
"""Each colour and what a page calls it: in a page the reader's light or dark colours take its place."""

WIDTH_IN = 4.9
HEIGHT_IN = 3.35
PNG_DPI = 200

SETTINGS: Mapping[str, object] = MappingProxyType(
    {
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],  # comes with matplotlib, so that every machine draws the same
        "font.size": 10.0,
        "text.color": INK,
        "text.parse_math": False,
        "axes.edgecolor": SOFT,
        "axes.facecolor": "none",
        "axes.labelcolor": INK,
        "axes.axisbelow": True,
        "axes.grid": True,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "grid.color": GRID,
        "grid.linewidth": 0.7,
        "xtick.color": SOFT,
        "xtick.labelcolor": INK,
        "ytick.color": SOFT,
        "ytick.labelcolor": INK,
        "legend.frameon": False,
        "legend.fontsize": 9.5,
        "legend.handlelength": 2.2,
        "lines.linewidth": 1.6,
        "lines.markersize": 4.5,
        "figure.facecolor": "none",
        "svg.hashsalt": "odovox",
        "svg.fonttype": "path",
        "path.simplify": True,
        "axes.unicode_minus": True,
        "axes.formatter.useoffset": False,
        "savefig.dpi": PNG_DPI,
    }
)
