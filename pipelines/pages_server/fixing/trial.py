"""Reads one export for the fixing page, in a process of its own: how it would be understood now,
or under a mapping that is tried.

An export may be hostile or huge; whatever it does to the process that reads it, the pages go on.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport, RefusedExportError
from rangeledger.pipelines.reader.reading.grid import read_grid
from rangeledger.pipelines.reader.reading.source import read_bytes
from rangeledger.pipelines.reader.recognising.tables.found_layout import found_layout
from rangeledger.pipelines.reader.recognising.tables.proposal import proposed_mapping
from rangeledger.pipelines.reader.recognising.tables.report import Recognition
from rangeledger.pipelines.reader.recognising.words.mapping_file import (
    HeadingMap,
    plain_form,
    read_mapping,
    read_mappings,
)
from rangeledger.pipelines.reader.recognising.words.remark import as_remark
from rangeledger.schemas.errors import RangeledgerError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings

# A coach waits so long [s] at most; exports of sessions take well under one.
_LONGEST_S = 60.0
_SAMPLE_ROWS, _SHOWN_SHOTS = 4, 3
_HEAD_ROWS = 40
_NOT_SHOWN = ("shot_id", "session_id", "source_file", "extras")


def try_reading(
    home: Home, path: Path, file_name: str, mapping: str | None = None, note: str | None = None
) -> dict[str, Any]:
    """How an export is read, asked of a process that reads it.

    Parameters
    ----------
    home : Home
        Its mappings and settings count.
    path : pathlib.Path
        The export.
    file_name : str
        Name under which it was offered.
    mapping : str or None
        Text of a mapping to try before those of the home.
    note : str or None
        Text of a note to try in place of the one beside the export.

    Returns
    -------
    dict
        `loads`, `reason`, `code`, `columns`, `mapping`, `before`, `after`, `remarks`, `shots`,
        `rejected`, `cells` (first cells of each column, by `placed_key`).
    """
    job = {"home": str(home.root), "path": str(path), "name": file_name}
    request = json.dumps(job | {"mapping": mapping, "note": note})
    try:
        finished = subprocess.run(
            [sys.executable, "-m", "rangeledger.pipelines.pages_server.fixing.trial"],
            input=request, capture_output=True, text=True, timeout=_LONGEST_S, check=True,
        )  # fmt: skip
        answer: dict[str, Any] = json.loads(finished.stdout)
        return answer
    except subprocess.TimeoutExpired:
        return _unread(f"{file_name} takes longer than {_LONGEST_S:.0f} s to read.")
    except (subprocess.CalledProcessError, ValueError):
        return _unread(f"{file_name} ended the process that read it.")


def _unread(reason: str) -> dict[str, Any]:
    return _answer(Recognition()) | {"reason": f"{reason} Export a smaller part of the session."}


def _answer(found: Recognition) -> dict[str, Any]:
    return {
        "loads": False, "reason": "", "code": "", "mapping": None, "before": [], "after": [],
        "shots": 0, "rejected": 0, "columns": [asdict(column) for column in found.columns],
        "remarks": [str(as_remark(remark)) for remark in found.remarks],
        "number_format": found.number_format, "cells": {},
    }  # fmt: skip


def read_for_fixing(job: dict[str, Any]) -> dict[str, Any]:
    """The same in this process."""
    home, path = Home(Path(job["home"])), Path(job["path"])
    with tempfile.TemporaryDirectory() as folder:
        try:
            tried = _written(Path(folder), "mapping.toml", job["mapping"])
            note = _written(Path(folder), "note.toml", job["note"])
            mapping = read_mapping(tried) if tried else None
            answer = _read(home, path, job["name"], mapping, note)
        except RangeledgerError as error:
            answer = _answer(Recognition()) | {"reason": str(error)}
        answer["before"] = _first_lines(path)
        answer["cells"] = _samples(home, path, job["name"])
        return answer


def _written(folder: Path, name: str, text: str | None) -> Path | None:
    if text is None:
        return None
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def _read(
    home: Home, path: Path, name: str, mapping: HeadingMap | None, note: Path | None
) -> dict[str, Any]:
    usual = read_settings(home).reading
    try:
        export = prepare_export(
            path, mappings_dir=home.mappings, zone=usual.zone,
            date_order=usual.date_order, note=note, file_name=name, mapping=mapping,
            wind_height=usual.wind_height, site=usual.site, monitors=usual.monitors,
        )  # fmt: skip
    except RefusedExportError as refusal:
        why = {"reason": str(refusal), "code": str(refusal.code), "mapping": refusal.mapping}
        return _answer(refusal.recognition) | why
    return _loaded(export)


def _loaded(export: PreparedExport) -> dict[str, Any]:
    shots = export.shots.head(_SHOWN_SHOTS)
    columns = [name for name in shots.columns if name not in _NOT_SHOWN]
    after = [
        {"column": name, "values": shots[name].to_list()}
        for name in columns
        if shots[name].null_count() < shots.height
    ]
    return _answer(export.recognition) | {
        "loads": True, "after": after, "shots": export.shots.height,
        "rejected": export.rejected.height,
        "mapping": proposed_mapping(export.recognition.columns),
    }  # fmt: skip


def _first_lines(path: Path) -> list[str]:
    """The export's first records as they stand in it."""
    try:
        grid = read_grid(read_bytes(path))
    except RangeledgerError:
        return []
    return [grid.raw_text(record)[:400] for record in range(min(len(grid), _SAMPLE_ROWS + 4))]


def _samples(home: Home, path: Path, name: str) -> dict[str, list[str]]:
    """First cells of each column that has any."""
    try:
        mappings, _ = read_mappings(home.mappings)
        grid, layout = found_layout(read_grid(read_bytes(path)), name, mappings)
    except RangeledgerError:
        return {}
    samples: dict[str, list[str]] = {}
    for block in layout.blocks[:_HEAD_ROWS]:
        for place, (heading, column) in enumerate(zip(block.headings, block.columns, strict=True)):
            cells = grid.cells[f"c{column}"].gather(block.records[:_SAMPLE_ROWS])
            if values := [str(cell).strip() for cell in cells if cell]:
                samples.setdefault(placed_key(heading.text, place), values)
    return samples


def placed_key(heading: str, place: int) -> str:
    """A column as mappings name it where its heading is not the only one, or blank: `carry@5`.

    Parameters
    ----------
    heading : str
        As it stands in the export.
    place : int
        Column of the table, counted from 0.
    """
    return f"{plain_form(heading)}@{place + 1}"


if __name__ == "__main__":
    json.dump(read_for_fixing(json.load(sys.stdin)), sys.stdout, ensure_ascii=False, default=str)
