"""A report becomes a page: HTML in one file, or Markdown. Whatever a person or a sheet said stays text in both."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from logger.core.comparing.page import ComparisonPage
from logger.core.reporting.report import Report

if TYPE_CHECKING:
    from jinja2 import Environment

_TEMPLATES = Path(__file__).parent / "templates"
_MARKUP = re.compile(r"([\\`*_{}\[\]<>#+!|~&$:@-])")
"""What could begin something in Markdown (CommonMark 0.31, section 2.4: any of these may have a backslash before it), and `:` and
`@`, which some readers make links of."""
_HARMLESS = re.compile(r"(?<=\w)\\([-+:#!])(?=\w)|(?<=[\w%)])\\(:)(?=\s|$)|(?<=\d)\\(-)(?=\d)")


def html_page(report: Report, pictures: Mapping[str, str]) -> str:
    """Return a report as one HTML file that needs nothing from anywhere.

    Args:
        report: what it says.
        pictures: the charts as SVG elements, by their keys; put in as they are.
    """
    from markupsafe import Markup

    style = (_TEMPLATES / "report.css").read_text(encoding="utf-8")
    page = _environment(html=True).get_template("report.html.jinja")
    return page.render(
        report=report,
        pictures={key: Markup(svg) for key, svg in pictures.items()},  # noqa: S704  (drawn by us, of numbers only)
        style=Markup(style),  # noqa: S704  (the file beside the template)
    )


def comparison_page(comparison: ComparisonPage, pictures: Mapping[str, str]) -> str:
    """Return compared drives as one HTML file that needs nothing from anywhere.

    Args:
        comparison: what it says.
        pictures: the charts as SVG elements, by their keys; put in as they are.
    """
    from markupsafe import Markup

    style = (_TEMPLATES / "report.css").read_text(encoding="utf-8")
    return (
        _environment(html=True)
        .get_template("compare.html.jinja")
        .render(
            page=comparison,
            pictures={key: Markup(svg) for key, svg in pictures.items()},  # noqa: S704  (drawn by us)
            style=Markup(style),  # noqa: S704  (the file beside the template)
        )
    )


def markdown_page(report: Report, pictures: Mapping[str, str]) -> str:
    """Return a report as Markdown, with tables as GitHub has them.

    Args:
        report: what it says.
        pictures: where the files of the charts are, by their keys, as seen from the page; may be empty.
    """
    text = _environment(html=False).get_template("report.md.jinja").render(report=report, pictures=pictures)
    return re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"


def markdown_text(value: object) -> str:
    """Return a text as Markdown that shows it, on one line: what could begin something has a backslash before it."""
    return _HARMLESS.sub(
        lambda found: found[1] or found[2] or found[3], _MARKUP.sub(r"\\\1", " ".join(str(value).split()))
    )


def _environment(*, html: bool) -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=html,  # noqa: S701  (Markdown has its own: every value goes through `markdown_text`)
        finalize=None if html else markdown_text,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
