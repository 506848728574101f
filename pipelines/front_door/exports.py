"""One export read, without a home."""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from zoneinfo import ZoneInfo

from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport


def read_export(
    path: str | PathLike[str],
    *,
    note: str | PathLike[str] | None = None,
    mappings: str | PathLike[str] | None = None,
    zone: str | None = None,
    date_order: str | None = None,
) -> PreparedExport:
    """Read one export; nothing is stored.

    Parameters
    ----------
    path : path
        The export.
    note : path, optional
        Its note; by default the TOML file of the same name beside it.
    mappings : path, optional
        Folder with mapping files.
    zone : str, optional
        Zone of times that state none, such as `Europe/Stockholm`; by default the machine's.
    date_order : str, optional
        `day-month` or `month-day`, for dates that could be either.

    Returns
    -------
    PreparedExport
        `shots` and `rejected` as polars frames, the latter with a reason each; `recognition`
        tells what each column became, and `recognition.remarks` what was noticed.

    Raises
    ------
    ExportError
        If the export as a whole can't be taken; the message says why and what to do.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> export = rl.read_export(sample_folder() / "mountain-range.csv", zone="Europe/Stockholm")
    >>> export.shots.select("club", "ball_speed_mps", "carry_m").row(0)
    ('lob-wedge', 35.7, 91.8)
    >>> export.rejected.select("source_row", "reason_code", "reason").rows()
    []
    """
    return prepare_export(
        Path(path),
        note=Path(note) if note is not None else None,
        mappings_dir=Path(mappings) if mappings is not None else None,
        zone=ZoneInfo(zone) if zone is not None else None,
        date_order=date_order,
    )
