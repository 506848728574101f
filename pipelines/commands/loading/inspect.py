"""`rangeledger inspect`."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import polars as pl
import typer
from rangeledger.pipelines.output.printing import to_stderr, write_result
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport, RefusedExportError
from rangeledger.pipelines.reader.recognising.tables.proposal import proposed_mapping
from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport, Recognition
from rangeledger.pipelines.reader.recognising.words.remark import Remark, as_remark
from rangeledger.schemas.errors import ExportError, UsageError
from rangeledger.schemas.reasons import LineKind
from rangeledger.schemas.units import counted
from rangeledger.warehouse.home import Home, find_home
from rangeledger.warehouse.settings import ReadingDefaults, read_settings

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

_WIDTH = 100
_MOST_REJECTED = 20
_NOT_SHOWN = ("shot_id", "session_id", "source_file", "extras")


class InspectFormat(StrEnum):
    """Formats of what `inspect` tells."""

    TABLE = "table"
    JSON = "json"


def inspect(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(readable=False, help="The export.")],
    form: Annotated[
        InspectFormat, typer.Option("--format", help="How it is told on standard output.")
    ] = InspectFormat.TABLE,
    rows: Annotated[int, typer.Option("--rows", min=0, help="How many shots to show.")] = 3,
    write_mapping: Annotated[
        Path | None,
        typer.Option("--write-mapping", help="Write the mapping that was used, ready to edit."),
    ] = None,
) -> None:
    """Show how an export is understood, without loading it.

    For each column: what it becomes, in which unit and sign, from which evidence, and how sure
    that is; then the first shots before and after, and the rows that would be rejected. For an
    export that would be refused: the reason, and a mapping that settles it.

    Exit status: 0 it would be loaded, 1 it would be quarantined, 2 wrong usage.

    Example:

    \b
    rangeledger inspect session.csv --write-mapping session-mapping.toml
    """
    home = find_home(context.obj)
    _refuse_no_file(file)
    try:
        export = _prepared(home, file)
    except ExportError as refusal:
        _write(write_mapping, refusal.mapping)
        _print_refusal(refusal, file, form)
        raise typer.Exit(1) from None
    _write(write_mapping, proposed_mapping(export.recognition.columns))
    if form is InspectFormat.JSON:
        _print_json(_as_plain(export, rows))
    else:
        _print_export(export, rows)


def _refuse_no_file(file: Path) -> None:
    """Refuse a path that is no file: that is wrong usage, not an export to refuse."""
    if file.is_dir():
        raise UsageError(f"{file} is a folder. Name one export in it.")
    if not file.exists():
        raise UsageError(f"There is no file {file}. Check the path.")


def _prepared(home: Home, file: Path) -> PreparedExport:
    known = home.root.is_dir()
    defaults = read_settings(home).reading if known else ReadingDefaults()
    return prepare_export(
        file,
        mappings_dir=home.mappings if known else None,
        zone=defaults.zone,
        date_order=defaults.date_order,
        wind_height=defaults.wind_height,
        site=defaults.site,
        monitors=defaults.monitors,
    )


def _write(path: Path | None, mapping: str | None) -> None:
    """Write a mapping file; a refusal that no mapping can settle has none."""
    if path is None:
        return
    if mapping is None:
        to_stderr().print("There is no mapping to write: none could settle it.", markup=False)
        return
    if path.exists():
        raise UsageError(f"{path} exists; name a file that doesn't, or remove it first.")
    write_result(path, mapping.encode())
    to_stderr().print(f"Wrote {path}.", markup=False)


def _print_json(document: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(document, ensure_ascii=False, default=str, indent=1) + "\n")


def _as_plain(export: PreparedExport, rows: int) -> dict[str, Any]:
    return {
        "file_name": export.file_name,
        "source_file": export.source_file,
        "state": "loaded-with-rejects" if export.rejected.height else "loaded",
        "shots": export.shots.height,
        "rejected": export.rejected.to_dicts(),
        "other_lines": export.other_lines.to_dicts(),
        **_recognition(export.recognition),
        "first_shots": export.shots.head(rows).to_dicts(),
        "seconds": export.timings,
    }


def _recognition(found: Recognition) -> dict[str, Any]:
    return {
        "columns": [_column(report) for report in found.columns],
        "constants": found.constants,
        "number_format": found.number_format,
        "layout": found.signature,
        "language": found.language,
        "mapping": found.mapping,
        "remarks": [_remark(as_remark(remark)) for remark in found.remarks],
    }


def _remark(remark: Remark) -> dict[str, str]:
    return {
        "place": remark.place, "remark": remark.sentence, "settled_by": remark.settled_by
    }  # fmt: skip


def _column(report: ColumnReport) -> dict[str, Any]:
    return {name: getattr(report, name) for name in report.__slots__}


def _print_refusal(refusal: ExportError, file: Path, form: InspectFormat) -> None:
    found = refusal.recognition if isinstance(refusal, RefusedExportError) else Recognition()
    if form is InspectFormat.JSON:
        reason = {"state": "quarantined", "reason_code": str(refusal.code), "reason": str(refusal)}
        mapping = {"proposed_mapping": refusal.mapping}
        _print_json({"file_name": file.name, **reason, **_recognition(found), **mapping})
        return
    console = _console()
    console.print(f"Refused ({refusal.code})", style="bold", markup=False)
    console.print(str(refusal), markup=False)
    if found.columns:
        console.print(_columns_table(found))
    if refusal.mapping:
        console.print("A mapping that would settle it:\n", style="bold", markup=False)
        console.print(refusal.mapping, markup=False, soft_wrap=True)


def _console() -> Console:
    from rich.console import Console

    return Console(width=None if sys.stdout.isatty() else _WIDTH, highlight=False)


def _print_export(export: PreparedExport, rows: int) -> None:
    console = _console()
    found = export.recognition
    console.print(
        f"{export.file_name}: {counted(export.shots.height, 'shot')}, "
        f"{counted(export.rejected.height, 'rejected row')}, "
        f"{counted(export.other_lines.height, 'other line')}",
        style="bold",
        markup=False,
    )
    console.print(_columns_table(found))
    for name, value in _facts(found).items():
        console.print(f"{name:<10}{value}", markup=False)
    if rows and export.shots.height:
        console.print()
        _print_shots(console, export, rows)
    if export.rejected.height:
        console.print()
        console.print(_rejected_table(export))
    if export.other_lines.height:
        console.print()
        console.print(_other_lines_table(export.other_lines))


def _facts(found: Recognition) -> dict[str, str]:
    facts = {"numbers": found.number_format}
    facts |= {f"stated {k}": f"{name} = {value}" for k, (name, value) in enumerate(
        found.constants.items(), 1)}  # fmt: skip
    facts |= {f"remark {k}": str(remark) for k, remark in enumerate(found.remarks, 1)}
    facts |= {"mapping": found.mapping} if found.mapping else {}
    return facts | {"layout": found.signature}


def _table(title: str, *columns: str) -> Table:
    from rich import box
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _columns_table(found: Recognition) -> Table:
    from rich.markup import escape

    table = _table("Columns", "heading", "becomes", "unit", "+ is", "sure", "because")
    for report in found.columns:
        sure = f"{report.confidence:.0%}" if report.column else ""
        cells = (report.heading, report.column or "(extra)", report.unit or "",
                 report.positive or "", sure, "; ".join(report.evidence))  # fmt: skip
        table.add_row(*(escape(cell) for cell in cells))
    return table


def _print_shots(console: Console, export: PreparedExport, rows: int) -> None:
    """The first shots as the export has them, and as the ledger would."""
    from rich.markup import escape

    shots = export.shots.head(rows)
    console.print("Before", style="bold")
    for line in shots["source_row"]:
        console.print(f"line {line}: {export.raw_text_of(line)}", markup=False)
    console.print()
    lines = [f"line {line}" for line in shots["source_row"]]
    table = _table("After", "column", *lines)
    for name in shots.columns:
        if name in _NOT_SHOWN or shots[name].null_count() == shots.height:
            continue
        table.add_row(name, *(escape(_cell(value)) for value in shots[name]))
    console.print(table)


def _cell(value: object) -> str:
    if value is None:
        return "-"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _other_lines_table(lines: pl.DataFrame) -> Table:
    """The lines that are neither shots nor rejected rows; blank ones are only counted."""
    from rich.markup import escape

    telling = lines.filter(pl.col("taken_for") != LineKind.BLANK)
    blank = lines.height - telling.height
    title = "Other lines" if telling.height <= _MOST_REJECTED else (
        f"The first {_MOST_REJECTED} of {telling.height} other lines"
    )  # fmt: skip
    table = _table(f"{title}, and {counted(blank, 'blank one')}" if blank else title,
                   "line", "taken for", "text")  # fmt: skip
    for line, kind, text in telling.head(_MOST_REJECTED).iter_rows():
        table.add_row(str(line), kind, escape(text))
    return table


def _rejected_table(export: PreparedExport) -> Table:
    from rich.markup import escape

    title = "Rejected rows"
    if export.rejected.height > _MOST_REJECTED:
        title = f"The first {_MOST_REJECTED} of {export.rejected.height} rejected rows"
    table = _table(title, "line", "code", "reason")
    for line, _, code, reason in export.rejected.head(_MOST_REJECTED).iter_rows():
        table.add_row(str(line), code, escape(reason))
    return table
