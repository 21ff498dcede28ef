"""The command line: one module per command, loaded only when it is asked for."""

from logger.cli.group import main, odovox

__all__ = ["main", "odovox"]
