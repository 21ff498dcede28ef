"""The drive folder: everything a drive is made of, in one SQLite file beside its kept sound."""

from logger.store.drive_store import DriveStore

__all__ = ["DriveStore"]
