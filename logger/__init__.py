"""odovox: listens, keeps, reconciles, reports. The command line is `logger.cli`."""

__version__ = "0.1.0"
