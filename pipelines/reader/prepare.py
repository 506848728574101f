"""An export to canonical shots, or a plain sentence why not: read, recognise, normalise, screen."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from time import perf_counter
from zoneinfo import ZoneInfo

from rangeledger.pipelines.background import run_in_background
from rangeledger.pipelines.reader.export_job import ExportJob, VisitDefaults
from rangeledger.pipelines.reader.normalising.notes import Note, companion_note, read_note
from rangeledger.pipelines.reader.normalising.zones import machine_zone
from rangeledger.pipelines.reader.prepared_export import PreparedExport, RefusedExportError
from rangeledger.pipelines.reader.reading.grid import read_grid
from rangeledger.pipelines.reader.reading.source import read_bytes
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap, read_mappings
from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.errors import ExportError

_LONG = 1 << 24  # bytes that are worth a thread to hash


def prepare_export(
    path: Path,
    *,
    mappings_dir: Path | None = None,
    zone: ZoneInfo | None = None,
    date_order: str | None = None,
    note: Path | None = None,
    file_name: str | None = None,
    mapping: HeadingMap | None = None,
    wind_height: str = WIND_HEIGHTS[0],
    site: str | None = None,
    monitors: Sequence[tuple[str, str]] = (),
) -> PreparedExport:
    """Read, recognise, normalise and screen one export.

    Parameters
    ----------
    path : Path
        The export.
    mappings_dir : Path or None
        Folder with the user's mapping files.
    zone : ZoneInfo or None
        Zone of times that state none; by default the machine's.
    date_order : str or None
        `day-month` or `month-day`, for dates that could be either; without it they are refused.
    note : Path or None
        Note file; by default the one of the same name beside the export.
    file_name : str or None
        Name under which it was offered; by default that of `path`.
    mapping : HeadingMap or None
        A mapping to try before those of the folder.
    wind_height : str
        Where noted winds are taken, if nothing says so; one of `WIND_HEIGHTS`.
    site : str or None
        Place of the home.
    monitors : sequence of (str, str)
        Pattern of a file name, or layout, and what measured such exports.

    Returns
    -------
    PreparedExport
        Accepted shots, rejected rows with reasons, and how the file was read.

    Raises
    ------
    ExportError
        The export as a whole can't be taken; the message says why and what to do.
    """
    started = perf_counter()
    raw = read_bytes(path)
    source_file = run_in_background(partial(_digest, raw), long=len(raw) > _LONG)
    grid = read_grid(raw)
    found_note = note or companion_note(path)
    stated_note = read_note(found_note) if found_note else Note()
    read_at = perf_counter()
    visit = VisitDefaults(wind_height, site, tuple(monitors))
    job = ExportJob(grid, file_name or path.name, source_file(), stated_note, date_order, visit)
    del raw, grid  # large; the job lets go of what it no longer needs
    mappings, broken = read_mappings(mappings_dir)
    job.recognition.remarks += broken
    try:
        return job.run(
            zone or machine_zone(),
            [*([mapping] if mapping else []), *mappings],
            {"read": read_at - started},
        )
    except ExportError as refusal:
        raise RefusedExportError(refusal, job.recognition, broken) from refusal


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()
