"""Errors of broken devices, stores and files.

    OdovoxError
    ├── SoundError        a sound file, microphone or loudspeaker that cannot be used
    │   └── SoundLostError    a device that stopped while in use; opening it again may work
    ├── TrackError        a track file or receiver that cannot be used
    ├── SheetError        a sheet with a mistake in it
    ├── RecogniserError   a recogniser or its model that cannot be used
    │   └── UnknownWordsError words of the sheet that it cannot hear
    ├── StoreError        a drive folder that cannot be read or written
    │   └── DamagedError      its database is not what was written into it
    ├── AnswerError       an answer about an entry that cannot be taken
    │   └── ChangedMeanwhileError  the drive is not as it was when the answer was given
    └── ExportError       a log that cannot be written in the form asked for

Each message is one line that says what is wrong and what to do about it.
Something somebody *said* is never an error: it becomes an entry or a doubt.
"""


class OdovoxError(Exception):
    """Something outside the program is broken; the message says what and what to do."""


class SoundError(OdovoxError):
    """A sound file, a microphone or a loudspeaker cannot be used."""


class SoundLostError(SoundError):
    """A microphone or loudspeaker stopped while in use: unplugged, or its sound server gone. Opening it again may work."""


class TrackError(OdovoxError):
    """A track file or a receiver cannot be used."""


class SheetError(OdovoxError):
    """A sheet has a mistake; the message names the line and the key."""


class RecogniserError(OdovoxError):
    """A recogniser or its model cannot be used."""


class UnknownWordsError(RecogniserError):
    """A recogniser cannot hear some words of the sheet; the message names them."""


class StoreError(OdovoxError):
    """A drive folder cannot be read or written."""


class DamagedError(StoreError):
    """The database of a drive folder is not what was written into it; `odovox recover` saves what is left."""


class AnswerError(OdovoxError):
    """A person's answer about an entry cannot be taken; nothing was changed."""


class ChangedMeanwhileError(AnswerError):
    """Somebody else changed the drive after the person had looked; nothing was changed."""


class ExportError(OdovoxError):
    """A log cannot be written in the form asked for."""
