"""The charts of a report, drawn by matplotlib; nothing else imports it."""

from logger.charts.drawing import Drawing, draw, draw_overlays

__all__ = ["Drawing", "draw", "draw_overlays"]
