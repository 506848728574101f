"""Mapping files that are proposed to the user: how an export was read, ready to be edited."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rangeledger.pipelines.reader.recognising.report import ColumnReport
from rangeledger.schemas.compositions import column_dimension

_UNITS = {"length": "yd, m, ft", "speed": "mph, m/s, km/h, kn", "temperature": "degC, degF"}

_INTRODUCTION = """\
# A mapping for exports with exactly these headings. Check the lines marked CHECK, then put the
# file into the mappings folder of the ledger and offer the export again.
#   column    canonical column; "" keeps it as an extra
#   unit      mph, m/s, km/h, ft/s, yd, m, ft, deg, rpm, s, degC, degF, hPa, inHg, %
#   positive  left or right: which side is counted as positive
#   measured  straight (to the point) or along (the target line), for distances
"""


def _quoted(text: str) -> str:
    """A TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " else f"\\u{ord(c):04x}" for c in escaped) + '"'


def _lines(report: ColumnReport, doubt: str | None, unit: str | None) -> list[str]:
    lines = ["", f"[columns.{_quoted(report.heading)}]"]
    if doubt:
        lines.append(f"# CHECK: {doubt}")
    lines.append(f"column = {_quoted(report.column or '')}")
    unit = report.unit or unit
    if unit and unit not in ("cells", "1"):
        lines.append(f"unit = {_quoted(unit)}")
    elif doubt and column_dimension(report.column or "") in _UNITS:
        lines.append(f"# unit = ...  one of {_UNITS[column_dimension(report.column or '') or '']}")
    if report.positive:
        lines.append(f"positive = {_quoted(report.positive)}")
    return lines


def proposed_mapping(
    reports: Sequence[ColumnReport],
    doubts: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
) -> str:
    """Text of a mapping file that says what was recognised.

    Parameters
    ----------
    reports : sequence of ColumnReport
        The columns of one table.
    doubts : Mapping[str, str] or None
        Heading -> what to check about it, in one line.
    units : Mapping[str, str] or None
        Heading -> unit that fits best where none is stated.

    Returns
    -------
    str
        TOML, to be read by `rangeledger.pipelines.reader.recognising.mapping_file.read_mapping`.
    """
    told = [report for report in reports if report.heading.strip()]
    headings = ", ".join(_quoted(report.heading) for report in told)
    lines = [_INTRODUCTION, "[match]", f"headings = [{headings}]"]
    seen: set[str] = set()
    for report in told:
        if report.heading in seen:
            continue
        seen.add(report.heading)
        doubt = (doubts or {}).get(report.heading)
        unit = (units or {}).get(report.heading)
        lines += _lines(report, doubt.replace("\n", " ") if doubt else None, unit)
    return "\n".join(lines) + "\n"
