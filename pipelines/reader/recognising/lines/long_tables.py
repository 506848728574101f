"""Tables with one line for each quantity of a shot (`shot, quantity, value, unit`), made wide."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl
from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid, Remade, Row, TurnedGrid
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.headings import unit_symbols

_MOST_RECORDS, _HEAD, _LEAST_WIDTH = 50_000, 30, 3
_MOST_QUANTITIES, _FEWEST_QUANTITIES = 30, 3
_LEAST_WEIGHT, _MOSTLY = 0.6, 0.9


@dataclass(frozen=True, slots=True)
class _Form:
    """Record of the heading, and columns of the quantity, its value, its unit and all others."""

    heading: int
    quantity: int
    value: int
    unit: int | None
    names: tuple[int, ...]


def made_wide(grid: Grid) -> AnyGrid:
    """The grid itself, or its wide copy where each line holds one quantity of a shot.

    Parameters
    ----------
    grid : Grid
        As read.

    Returns
    -------
    Grid or TurnedGrid
        One record a shot; the first of a shot's lines is its source.
    """
    if not _LEAST_WIDTH <= len(grid) <= _MOST_RECORDS or grid.cells.width < _LEAST_WIDTH:
        return grid
    form = _form_of(grid)
    return grid if form is None else _wide(grid, form)


def _form_of(grid: Grid) -> _Form | None:
    for record, cells in enumerate(grid.cells.head(_HEAD).rows()):
        filled = [place for place, cell in enumerate(cells) if cell and cell.strip()]
        if len(filled) < _LEAST_WIDTH or any((cells[p] or "")[0].isdigit() for p in filled):
            continue
        below = grid.cells.slice(record + 1)
        quantity = next((p for p in filled if _names_quantities(below[f"c{p}"])), None)
        if quantity is None:
            continue
        rest = [place for place in filled if place != quantity]
        if sum(_measured_column((cells[p] or "").strip()) is not None for p in rest) > 1:
            return None  # a remark that speaks of quantities, beside columns of their own
        unit = next((p for p in rest if _all_units(below[f"c{p}"])), None)
        numbers = [p for p in rest if p != unit and _all_numbers(below[f"c{p}"])]
        if not numbers:
            continue
        named = below[f"c{quantity}"]
        value = max(numbers, key=lambda p: _explained_share(named, below[f"c{p}"]))
        names = tuple(p for p in rest if p not in (value, unit))
        return _Form(record, quantity, value, unit, names)
    return None


def _explained_share(quantity: pl.Series, text: pl.Series) -> float:
    """Share of the variance of numbers that the quantity tells, as it does that of its values."""
    number = text.str.replace(",", ".", literal=True).str.extract(r"([-+]?[0-9.]+)")
    frame = pl.DataFrame({"q": quantity, "x": number.cast(pl.Float64, strict=False)}).drop_nulls()
    mean = pl.col("x").mean()
    spread = frame.select(
        whole=((pl.col("x") - mean) ** 2).sum(), within=((pl.col("x") - mean.over("q")) ** 2).sum()
    )
    whole, within = spread.row(0)
    return 1.0 - within / whole if whole else 0.0


def _names_quantities(text: pl.Series) -> bool:
    if len({_bare(cell) for cell in text.head(2 * _MOST_QUANTITIES).to_list()}) > _MOST_QUANTITIES:
        return False
    names = [_bare(cell) for cell in text.to_list()]
    counts = Counter(names)
    if len(counts) > _MOST_QUANTITIES:
        return False
    counts.pop("", None)
    read = {name: column for name in counts if (column := _measured_column(name))}
    known = sum(counts[name] for name in read)
    enough = len(set(read.values())) >= _FEWEST_QUANTITIES
    return enough and min(counts.values()) > 1 and known >= 0.5 * len(names)


def _bare(cell: str | None) -> str:
    return (cell or "").strip()


def _measured_column(name: str) -> str | None:
    """The measured column that a name surely is of."""
    heading = read_heading(name)
    sure = heading.best is not None and heading.weight >= _LEAST_WEIGHT
    column = heading.best.column if heading.best and sure else ""
    return column if column_dimension(column) else None


def _all_units(text: pl.Series) -> bool:
    words = [word for word in text.drop_nulls().str.strip_chars().unique() if word]
    return len(words) > 1 and all(unit_symbols(word) for word in words)


def _all_numbers(text: pl.Series) -> bool:
    found = text.fill_null("").str.contains(r"^\s*[-+−]?[0-9]")
    return int(found.sum()) >= _MOSTLY * len(found)


def _wide(grid: Grid, form: _Form) -> TurnedGrid:
    rows: list[Row] = grid.cells.rows()
    labels: dict[str, int] = {}
    shots: list[tuple[int, list[str | None], dict[str, str | None]]] = []
    other_records = list(range(form.heading))
    by_names: dict[tuple[str | None, ...], int] = {}
    form = _without_details(rows, form)
    identified, needed = _identifies_shots(rows, form), _always_filled(rows, form)
    for record in range(form.heading + 1, len(rows)):
        row = rows[record]
        quantity = (row[form.quantity] or "").strip()
        nameless = not all((row[p] or "").strip() for p in needed)
        if not quantity or nameless or not (row[form.value] or "").strip():
            if not quantity or nameless:
                other_records.append(record)
            continue
        label = _label(quantity, row[form.unit] if form.unit is not None else None)
        labels.setdefault(label, len(labels))
        names = [row[place] for place in form.names]
        if identified:
            place = by_names.setdefault(tuple(names), len(shots))
        else:
            new = not shots or shots[-1][1] != names or label in shots[-1][2]
            place = len(shots) - (not new)
        if place == len(shots):
            shots.append((record, names, {}))
        shots[place][2][label] = row[form.value]
    heading: Row = (*(rows[form.heading][place] for place in form.names), *labels)
    table: list[Row] = [(*names, *(values.get(label) for label in labels))
                        for _, names, values in shots]  # fmt: skip
    remade = Remade(grid)
    for record in other_records:
        remade.keep(record, rows[record])
    remade.take(heading, form.heading)
    for (record, _, _), cells in zip(shots, table, strict=True):
        remade.take(cells, record)
    return remade.finished(
        "Each quantity of a shot stands in a line of its own; the lines were put together."
    )


def _without_details(rows: list[Row], form: _Form) -> _Form:
    """A form without columns that tell of each quantity, such as its error, and not of the shot."""
    lines = [row for row in rows[form.heading + 1 :] if (row[form.quantity] or "").strip()]
    telling: list[int] = []
    for place in sorted(form.names, key=lambda p: len({row[p] for row in lines})):
        if not (telling and _identifies_shots(rows, replace(form, names=tuple(telling)))):
            telling.append(place)
    if not _identifies_shots(rows, replace(form, names=tuple(telling))):
        return form
    for place in tuple(telling):
        rest = [p for p in telling if p != place]
        if _identifies_shots(rows, replace(form, names=tuple(rest))):
            telling = rest
    return replace(form, names=tuple(p for p in form.names if _follows(lines, p, telling)))


def _follows(lines: list[Row], place: int, telling: Sequence[int]) -> bool:
    """Whether a column says the same in all lines that others hold for one shot."""
    values: dict[tuple[str | None, ...], str | None] = {}
    return all(values.setdefault(tuple(row[p] for p in telling), row[place]) == row[place]
               for row in lines)  # fmt: skip


def _always_filled(rows: list[Row], form: _Form) -> list[int]:
    """Columns that name the shot in nearly every line: a line without it belongs to no shot."""
    lines = rows[form.heading + 1 :]
    filled = {p: sum(bool((row[p] or "").strip()) for row in lines) for p in form.names}
    return [p for p, count in filled.items() if count >= _MOSTLY * len(lines)]


def _identifies_shots(rows: list[Row], form: _Form) -> bool:
    """Whether what stands beside a quantity tells every shot, as in tables sorted by quantity."""
    keys = [
        (row[form.quantity], *(row[place] for place in form.names))
        for row in rows[form.heading + 1 :]
        if (row[form.quantity] or "").strip() and (row[form.value] or "").strip()
    ]
    return bool(form.names) and len(set(keys)) == len(keys)


def _label(quantity: str, unit: str | None) -> str:
    return f"{quantity} [{unit.strip()}]" if unit and unit_symbols(unit.strip()) else quantity
