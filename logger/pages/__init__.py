"""The pages of a report, laid out by jinja2 from the templates beside this module."""

from logger.pages.laying_out import html_page, markdown_page

__all__ = ["html_page", "markdown_page"]
