"""The charts of a report, drawn by matplotlib; nothing else imports it."""

from logger.charts.drawing import Drawing, draw

__all__ = ["Drawing", "draw"]
