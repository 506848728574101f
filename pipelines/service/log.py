"""The log that a person can read: one line an event, in files that are turned over."""

from __future__ import annotations

import logging
import sys
from logging.handlers import RotatingFileHandler
from pathlib import Path

from rangeledger.warehouse.home import Home

_FILE_BYTES = 2 * 2**20
_FILES_KEPT = 5
_LINE = "%(asctime)s %(levelname)-7s %(message)s"


def log_path(home: Home, name: str) -> Path:
    """Newest file of a service's log."""
    return home.logs / f"{name}.log"


def open_log(home: Home, name: str, *, quiet: bool = False) -> logging.Logger:
    """Log to `logs/NAME.log`, and to standard error unless `quiet`.

    A log that can't be written, because the disk is full, never stops the service.
    """
    logging.raiseExceptions = False
    logger = logging.getLogger(f"rangeledger.{name}")
    logger.setLevel(logging.INFO)
    logger.propagate = False
    close_log(logger)
    formatter = logging.Formatter(_LINE)
    path = log_path(home, name)
    to_file = RotatingFileHandler(
        path, maxBytes=_FILE_BYTES, backupCount=_FILES_KEPT, encoding="utf-8", delay=True
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
