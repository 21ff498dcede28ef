"""Pages show what a report says, and nothing that anybody said becomes part of a page's make.

Outside: html.parser of the standard library, and markdown-it-py, a reader of CommonMark, with GitHub's tables and with HTML allowed.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest
from made_results import NO_SERIES, observed, results
from markdown_it import MarkdownIt
from markdown_it.token import Token
from told_drives import HOSTILE, doubts, empty, hostile, hostile_section, recorded

from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.making import report_of
from logger.core.reporting.report import Report
from logger.pages import html_page, markdown_page

KM = ShownUnits("km")
PICTURE = '<svg viewBox="0 0 1 1"></svg>'
VOID = {"meta", "br", "img", "link", "input", "hr"}


def made(*, doubtful: bool = True) -> Report:
    """A report on a drive with all there is."""
    seen = observed(doubts=doubts() if doubtful else (), test={"car": "Pebble", "temperature_degC": 17})
    unsettled = tuple(f"Doubt {number} may change the range." for number in range(12)) if doubtful else ()
    return report_of(results(seen, doubts=unsettled), recorded(), KM)


def hostile_report() -> Report:
    """A report of which every text is hostile."""
    seen = observed(doubts=hostile().entries, test={HOSTILE: HOSTILE})
    sections = (hostile_section("conditions"), hostile_section("other"))
    worked = results(
        seen, doubts=(HOSTILE,), answer=hostile_section("answer"), sections=sections, cautions=(HOSTILE,)
    )
    return report_of(worked, hostile(), KM)


def pictures(report: Report) -> dict[str, str]:
    """Something in the place of each chart."""
    return {each.key: PICTURE for each in report.charts}


class Reader(HTMLParser):
    """Reads a page: its elements with their attributes, its text, and whether each element is closed in turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.headings: list[str] = []
        self._open: list[str] = []
        self.feed(page)
        self.close()
        assert [] == self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins."""
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """It ends."""
        assert tag == self._open.pop()

    def handle_data(self, data: str) -> None:
        """Some of its text."""
        if self._open and self._open[-1] != "style":
            self.texts.append(data)
        if self._open and self._open[-1] in {"h1", "h2"}:
            self.headings.append(data.strip())

    @property
    def text(self) -> str:
        """All text, blanks made single."""
        return " ".join(" ".join(self.texts).split())


@pytest.fixture(scope="module")
def page() -> Reader:
    """The page of a drive with all there is."""
    report = made()
    return Reader(html_page(report, pictures(report)))


def test_order(page: Reader) -> None:
    """Doubts on the very top, then the answer, conditions, charts, figures, checkpoints, decisions, method, cautions."""
    headings = [
        "loop", "Not settled yet", "The answer", "Conditions", "Charts", "Range", "Checkpoints",
        "Doubts, and what people decided", "Method, in short", "Cautions",
    ]  # fmt: skip
    assert headings == page.headings


def test_nothing_is_hidden(page: Reader) -> None:
    """Values with intervals and what these cover, absent ones with their why, tables, decisions, cautions."""
    for text in (
        "249.2 km 95 %: 247.1 to 251.3 km The interval covers the dash's rounding of charge and trip. By trip meter.",
        "estimate",
        "Not known Honesty of the dash No predicted range was read off.",
        "not known. No wind is told on the sheet under wind_mps.",
        "Temperature 17 °C",
        "1.0123 95 %: 1.0101 to 1.0145 covers rounding of the trip meter.",
        "over the pass",
        "Stops are counted, not cut out.",
        "changed charge 19 % (in doubt) to charge 77 %, typed as '77': heard again",
        "Formulas: What becomes of a reading.",
        "One drive is one sample.",
    ):
        assert text in page.text, text


def test_many_doubts_do_not_push_the_answer_away(page: Reader) -> None:
    """Ten on top, the rest further down; none is left out."""
    top = page.text.split("The answer")[0]
    assert "Doubt 9 may" in top
    assert "Doubt 10 may" not in top
    assert "and 2 more" in top
    assert "Doubt 11 may" in page.text
    assert "odovox review loop" in top


def test_no_doubts_and_a_drive_that_never_ended() -> None:
    """Said on top too."""
    report = made(doubtful=False)
    assert (
        "Nothing is in doubt Every reading that counts below"
        in Reader(html_page(report, pictures(report))).text
    )
    report = report_of(results(shown=NO_SERIES), empty(state=("It never ended.",)), KM)
    text = Reader(html_page(report, {})).text
    assert "Not complete It never ended." in text
    assert "Nothing was called out." in text
    assert "Not drawn Charge over distance No charge was read off" in text
    assert "The sheet tells nothing of the car" in text


def test_one_file_that_asks_for_nothing() -> None:
    """No address, no script, no picture from elsewhere; the policy allows a style and nothing else."""
    report = made()
    page = html_page(report, pictures(report))
    elements = Reader(page).elements
    assert not re.search(r"(?:src|href|action|data|poster)\s*=\s*\"(?!#)", page)
    assert not re.search(r"https?://|url\(|@import", page)
    assert {"script", "img", "link", "iframe", "object", "form"}.isdisjoint(tag for tag, _ in elements)
    policy = next(
        each["content"]
        for tag, each in elements
        if tag == "meta" and each.get("http-equiv") == "Content-Security-Policy"
    )
    assert "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'" == policy


def test_tables_and_headings_for_screen_readers(page: Reader) -> None:
    """Each header cell says what it heads; headings leave out no level; a section is named by its heading."""
    headers = [each for tag, each in page.elements if tag == "th"]
    assert all(each.get("scope") in {"row", "col"} for each in headers)
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
    assert 1 == levels[0]
    assert 1 == levels.count(1)
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = [each["id"] for _, each in page.elements if "id" in each]
    assert len(ids) == len(set(ids))
    for tag, each in page.elements:
        if tag == "section":
            assert each["aria-labelledby"] in ids


def test_hostile_text_stays_text_in_html() -> None:
    """In every place that a person or a sheet fills: no element is made of it, and it can be read."""
    report = hostile_report()
    page = Reader(html_page(report, pictures(report)))
    assert {"script", "img", "b", "i"}.isdisjoint(tag for tag, _ in page.elements)
    assert not any(name.startswith("on") for _, each in page.elements for name in each)
    assert page.text.count(" ".join(HOSTILE.split())) > 20


def tokens(text: str) -> list[Token]:
    """What a reader of Markdown makes of a text, all of it in one list."""
    found: list[Token] = []
    for token in MarkdownIt("commonmark", {"html": True}).enable("table").enable("strikethrough").parse(text):
        found += [token, *(token.children or [])]
    return found


def cells(row: list[Token]) -> int:
    """How many cells a row has."""
    return sum(each.type in {"td_open", "th_open"} for each in row)


def test_hostile_text_stays_text_in_markdown() -> None:
    """No HTML, no link, no emphasis, no picture; the tables keep their columns, and the text can be read."""
    text = markdown_page(hostile_report(), {})
    found = tokens(text)
    kinds = {each.type for each in found}
    assert {"html_inline", "html_block", "link_open", "image", "em_open", "code_inline", "s_open"}.isdisjoint(
        kinds
    )
    assert {"strong_open", "table_open", "heading_open"} <= kinds
    shown = "".join(each.content for each in found if each.type == "text")
    assert shown.count(HOSTILE) > 20
    _rows_are_whole(found)


def _rows_are_whole(found: list[Token]) -> None:
    width, row, rows = 0, [], 0
    for token in found:
        if token.type == "table_open":
            width = 0
        if token.type == "tr_open":
            row = []
        row.append(token)
        if token.type == "tr_close":
            width = width or cells(row)
            assert width == cells(row)
            rows += 1
    assert rows > 4


def test_markdown_says_the_same() -> None:
    """The same headings and figures; charts in words, or as pictures where there are files of them."""
    report = made()
    text = markdown_page(report, {})
    headings = [line.lstrip("# ") for line in text.splitlines() if line.startswith("## ")]
    assert ["Not settled yet", "The answer", "Conditions", "Charts", "Range", "Checkpoints"] == headings[:6]
    assert (
        "| Range at 0 % shown | 249.2 km | 247.1 to 251.3 | covers the dash's rounding of charge and trip. By trip meter. |"
        in text
    )
    assert "| Honesty of the dash | not known | | No predicted range was read off. |" in text
    assert "| 90 | 80 | 25.1 | over the pass |" in text
    assert "\n\n\n" not in text
    _rows_are_whole(tokens(text))

    pictured = tokens(markdown_page(report, {"charge": "my%20charts/charge.svg"}))
    image: Any = next(each for each in pictured if each.type == "image")
    assert "my%20charts/charge.svg" == image.attrs["src"]
    assert image.content.startswith("Charge read off against distance by trip meter: 30 readings")


def test_markdown_of_a_drive_without_anything() -> None:
    """Nothing breaks, and what is missing is said."""
    text = markdown_page(report_of(results(shown=NO_SERIES), empty(state=("It never ended.",)), KM), {})
    assert "## Not complete\n\n- It never ended." in text
    assert "Nothing was called out." in text
