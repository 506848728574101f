"""Where a home has its exports read and its players fitted, if not by its own processes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator
from rangeledger.schemas.declared import Declared

_ADDRESS = re.compile(r"(?:tcp|tls)://[^\s/:@]+:[0-9]{1,5}|(?:tcp|tls)://\[[0-9a-fA-F:]+\]:[0-9]+")


@dataclass(frozen=True, slots=True)
class SpreadSettings:
    """How the Dask scheduler is reached.

    Attributes
    ----------
    scheduler : str
        `tcp://HOST:PORT`, or `tls://HOST:PORT` with the three files.
    authority, certificate, key : Path or None
        PEM files: whom to believe, who we are, and our private key.
    """

    scheduler: str
    authority: Path | None = None
    certificate: Path | None = None
    key: Path | None = None


def _address(value: Any) -> str:
    if not isinstance(value, str) or not _ADDRESS.fullmatch(value):
        raise ValueError('write the address as "tcp://HOST:PORT" or "tls://HOST:PORT"')
    return value


def _file(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError("write the name of a file in quotes")
    return value


_File = Annotated[str, BeforeValidator(_file)]


class SpreadForm(Declared):
    """The table [spread] of the settings."""

    scheduler: Annotated[str, BeforeValidator(_address)]
    authority: _File | None = None
    certificate: _File | None = None
    key: _File | None = None


def spread_settings(form: SpreadForm, root: Path) -> SpreadSettings:
    """The settings with their files found: names are relative to the home.

    Raises
    ------
    ValueError
        If an encrypted connection lacks a file, or an open one has some.
    """
    names = {"authority": form.authority, "certificate": form.certificate, "key": form.key}
    missing = [name for name, file in names.items() if file is None]
    if form.scheduler.startswith("tls:") and missing:
        raise ValueError(f"[spread] needs {', '.join(missing)} for {form.scheduler}")
    if form.scheduler.startswith("tcp:") and len(missing) < len(names):
        raise ValueError(
            f"[spread] scheduler = {form.scheduler!r} would send everything in the open, though "
            "certificate files are named; write tls:// or leave the files out"
        )
    files = {
        name: root / Path(file).expanduser() for name, file in names.items() if file is not None
    }
    return SpreadSettings(form.scheduler, **files)
