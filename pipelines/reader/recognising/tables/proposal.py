"""Mapping files that are proposed to the user: how an export was read, nearly ready to be used.

All that is known is filled in. A line to look at is marked CHECK and has its choices beside it, so
that whoever completes these lines alone has a mapping with which the export loads.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport
from rangeledger.schemas.columns import STATABLE
from rangeledger.schemas.compositions import HELPERS, SIDED, column_dimension

_UNITS = {
    "length": "yd, m, ft", "speed": "mph, m/s, km/h, kn", "temperature": "degC, degF",
    "rotation": "rpm", "angle": "deg", "time": "s", "pressure": "hPa, inHg",
}  # fmt: skip
_WIDE = 96  # characters of a line of the introduction
# What an export of shots most often has; a column that nobody could read is likely one of them.
_LIKELY = (
    "club", "carry_m", "ball_speed_mps", "launch_angle_deg", "spin_rate_rpm",
    "launch_direction_deg", "carry_side_m", "total_m", "apex_m", "clubhead_speed_mps",
)  # fmt: skip

_INTRODUCTION = """\
# A mapping for exports with exactly these headings. Check the lines marked CHECK, then put the
# file into the mappings folder of the ledger and offer the export again.
#   column    canonical column; "" keeps it as an extra
#   unit      mph, m/s, km/h, ft/s, yd, m, ft, deg, rpm, s, degC, degF, hPa, inHg, %
#   positive  left or right: which side is counted as positive
#   measured  straight (to the point) or along (the target line), for distances
# "Carry@5" is the fifth column, where several have the heading "Carry"; "@5" one without a heading.
# The canonical columns:
"""


def _names() -> str:
    """All names that a column may be given, as lines of a comment."""
    lines, line = list[str](), "#  "
    for name in (*STATABLE, *HELPERS):
        if len(line) + len(name) > _WIDE:
            lines.append(line)
            line = "#  "
        line += f" {name}"
    return "\n".join([*lines, line, ""])


def _quoted(text: str) -> str:
    """A TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " else f"\\u{ord(c):04x}" for c in escaped) + '"'


def _lines(key: str, report: ColumnReport, doubt: str | None, unit: str | None,
           open_names: Sequence[str]) -> list[str]:  # fmt: skip
    column = report.column or ""
    lines = ["", f"[columns.{_quoted(key)}]"]
    if doubt:
        lines.append(f"# CHECK: {doubt}")
    choices = [*([report.runner_up] if report.runner_up else []), *([] if column else open_names)]
    also = f"  # or one of: {', '.join(choices)}" if doubt and choices else ""
    lines.append(f"column = {_quoted(column)}{also}")
    dimension = column_dimension(column) or ""
    unit = report.unit or unit
    others = f"  # or one of: {_UNITS[dimension]}" if doubt and dimension in _UNITS else ""
    if unit and unit not in ("cells", "1"):
        lines.append(f"unit = {_quoted(unit)}{others}")
    elif doubt and (others or not column):
        lines.append(f"# unit = {_quoted((_UNITS.get(dimension) or 'm').split(',')[0])}{others}")
    if report.positive:
        hint = "  # or left, right" if doubt else ""
        lines.append(f"positive = {_quoted(report.positive)}{hint}")
    elif doubt and (column in SIDED or not column):
        lines.append('# positive = "right"  # or "left", for a side')
    return lines


def proposed_mapping(
    reports: Sequence[ColumnReport],
    doubts: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    *,
    heading_line: int | None = None,
    club: bool = True,
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
    heading_line : int or None
        Line of the headings, where they were not found to be such.
    club : bool
        Whether the club is known; else a line asks for it.

    Returns
    -------
    str
        TOML, to be read by `read_mapping` of `words/mapping_file.py`.
    """
    listed = [report for report in reports if report.heading.strip() or report.place is not None]
    named = [report for report in listed if report.heading.strip()]
    headings = ", ".join(_quoted(report.heading) for report in named)
    lines = [_INTRODUCTION + _names(), "[match]", f"headings = [{headings}]"]
    if heading_line is not None:
        lines.append(f"heading_line = {heading_line}")
    taken = {report.column for report in listed}
    open_names = [name for name in _LIKELY if name not in taken]
    times = Counter(report.heading for report in listed)
    seen: set[str] = set()
    for report in listed:
        placed = report.place is not None and (times[report.heading] > 1 or not report.heading)
        key = f"{report.heading}@{(report.place or 0) + 1}" if placed else report.heading
        doubt = (doubts or {}).get(report.heading)
        if key in seen or (not report.heading.strip() and not doubt):
            continue
        seen.add(key)
        unit = (units or {}).get(report.heading)
        lines += _lines(key, report, doubt and doubt.replace("\n", " "), unit, open_names)
    if not club:
        lines += ["", "[constants]", "# CHECK: the club of all shots, unless a column names clubs",
                  '# club = "7-iron"']  # fmt: skip
    return "\n".join(lines) + "\n"
