"""The pages of a report, laid out by jinja2 from the templates beside this module."""

from logger.pages.laying_out import comparison_page, html_page, markdown_page

__all__ = ["comparison_page", "html_page", "markdown_page"]
