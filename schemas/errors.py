"""The error tree. Every message says what is wrong, where, and what to do.

`RangeledgerError.again` tells whether trying again unchanged can help: only those errors are
retried by the service. `exit_code` is what a command returns.
"""

from __future__ import annotations


class RangeledgerError(Exception):
    """Base of all errors that a user may see; the message is one plain sentence or two."""

    retryable: bool = False
    exit_code: int = 3


class UsageError(RangeledgerError):
    """The command or the call was given words it can't use."""

    exit_code = 2


class ExportError(RangeledgerError):
    """An export can't be read or recognised as a whole; it goes to quarantine.

    Parameters
    ----------
    message : str
        What is wrong, where (line, column), and what to do.
    code : str
        A `rangeledger.schemas.reasons.FileReason` value.
    mapping : str or None
        Text of a mapping file that would fix it, where one can be proposed.
    """

    exit_code = 1

    def __init__(self, message: str, code: str = "unreadable", mapping: str | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.mapping = mapping


class NoteError(ExportError):
    """A note file beside an export, or a mapping file, can't be understood."""


class HomeError(RangeledgerError):
    """The home folder can't be used as it is: permissions, version, damaged state."""


class NoHomeError(UsageError, HomeError):
    """The folder that was named as home is none, or none that has been begun."""


class OtherVersionError(HomeError):
    """The published database is another version's; it is made anew by the next fit."""


class BusyError(RangeledgerError):
    """Another process holds what we need; trying again later can help."""

    retryable = True


class StorageError(RangeledgerError):
    """The disk refused: full, read-only, vanished; trying again later can help."""

    retryable = True


class NothingPublishedError(UsageError, HomeError):
    """A home was asked before anything was loaded into it."""


class QueryError(UsageError):
    """An SQL query that the database refused."""


class NotEnoughShotsError(UsageError):
    """A question that the shots in the ledger can't answer yet."""
