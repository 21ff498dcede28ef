"""An SVG file of matplotlib's becomes an element of a page: no names that clash, the page's colours, and words for who cannot see it."""

from __future__ import annotations

import re
from html import escape

from logger.charts.look import ROLES
from logger.core.reporting.chart_words import Chart

_BEFORE = re.compile(r"^.*?(?=<svg)", re.DOTALL)
_ABOUT = re.compile(r"<metadata>.*?</metadata>|<defs>\s*<style.*?</style>\s*</defs>", re.DOTALL)
_OPENING = re.compile(r"<svg[^>]*?viewBox=\"([^\"]+)\"[^>]*>", re.DOTALL)
_COLOUR = re.compile(r"#[0-9a-f]{6}\b")
_SPACE = re.compile(r"\s*\n\s*")


def inline(svg: str, chart: Chart) -> str:
    """Return an SVG as an element; its colours are the page's (`var(--chart-ink)`), as named in `ROLES`."""
    text = _ABOUT.sub("", _BEFORE.sub("", svg))
    text = re.sub(r'\bid="([^"]+)"', rf'id="{chart.key}-\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{chart.key}-\1"', text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{chart.key}-\1)", text)
    text = _COLOUR.sub(_in_page, text)
    text = _OPENING.sub(
        lambda found: f'<svg viewBox="{found[1]}" role="img" aria-label="{escape(chart.shows)}">',
        text,
        count=1,
    )
    return _SPACE.sub("\n", text).strip()


def _in_page(found: re.Match[str]) -> str:
    role = ROLES.get(found[0])
    return found[0] if role is None else f"var(--chart-{role})"
