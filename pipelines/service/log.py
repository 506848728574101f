"""The log of a service: one line an event, as text or JSON, in files that are turned over."""

from __future__ import annotations

import json
import logging
import sys
from datetime import UTC, datetime
from enum import StrEnum
from logging.handlers import RotatingFileHandler
from pathlib import Path

from rangeledger.warehouse.home import Home

_FILE_BYTES = 2 * 2**20
_FILES_KEPT = 5
_LINE = "%(asctime)s %(levelname)-7s %(message)s"


class LogFormat(StrEnum):
    """How a line of the log is written."""

    TEXT = "text"
    JSON = "json"


# For a log whose lines are written out by who logs.
BARE = "%(message)s"


class _JsonLines(logging.Formatter):
    """A JSON object a line: when [UTC], how grave, which service, what."""

    def __init__(self, service: str) -> None:
        super().__init__()
        self._service = service

    def format(self, record: logging.LogRecord) -> str:
        """One line."""
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line = {
            "at": at.replace("+00:00", "Z"), "level": record.levelname.lower(),
            "service": self._service, "message": record.getMessage(),
        }  # fmt: skip
        return json.dumps(line, ensure_ascii=False)


def log_path(home: Home, name: str) -> Path:
    """Newest file of a service's log."""
    return home.logs / f"{name}.log"


def open_log(
    home: Home,
    name: str,
    *,
    quiet: bool = False,
    form: LogFormat = LogFormat.TEXT,
    line: str = _LINE,
) -> logging.Logger:
    """Log to `logs/NAME.log`, and to standard error unless `quiet`.

    A log that can't be written, because the disk is full, never stops the service.
    """
    logging.raiseExceptions = False
    logger = logging.getLogger(f"rangeledger.{name}")
    logger.setLevel(logging.INFO)
    logger.propagate = False
    close_log(logger)
    formatter = logging.Formatter(line) if form is LogFormat.TEXT else _JsonLines(name)
    path = log_path(home, name)
    to_file = RotatingFileHandler(
        path,
        maxBytes=_FILE_BYTES,
        backupCount=_FILES_KEPT,
        encoding="utf-8",
        delay=True,
        errors="backslashreplace",
    )
    handlers: list[logging.Handler] = [to_file]
    if not quiet:
        handlers.append(logging.StreamHandler(sys.stderr))
    for handler in handlers:
        handler.setFormatter(formatter)
        logger.addHandler(handler)
    return logger


def close_log(logger: logging.Logger) -> None:
    """Close the files of a log."""
    for handler in list(logger.handlers):
        logger.removeHandler(handler)
        handler.close()
