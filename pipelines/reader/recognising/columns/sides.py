"""Which way is positive in every column that has a left and a right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import GRAVITY_MPS2
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.consistency import sample_rows
from rangeledger.pipelines.reader.recognising.columns.curving import Curving, relative_signs
from rangeledger.pipelines.reader.recognising.words.heading import names_only_a_side
from rangeledger.pipelines.reader.recognising.words.signs import CLOSED, OPEN
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT
from rangeledger.schemas.compositions import SIDE_SPIN, SIDED
from rangeledger.schemas.limits import MOST_SIDE_OF_FLIGHT

# Rows, and how far carries must and roundings may differ [m]; common practice, no source.
_FEWEST_LENGTHS, _VARIED_M, _ROUNDED_M = 4, 2.0, 0.25
_CLUB_SIDE = ("club_path_deg", "face_angle_deg")
_SIGNS = ("left", "right")
# A club's path or face may well lie on one side all day; where balls go does not.
_SIZED = ("launch_direction_deg", "spin_axis_deg", "carry_side_m", "total_side_m")
_AXES = ("spin_axis_deg", SIDE_SPIN)


@dataclass(slots=True)
class SideReading:
    """Sign of right (1 or -1) and where it is from."""

    sign: int
    evidence: str
    stated: bool = False


@dataclass(slots=True)
class SidesFound:
    """Signs of all sided columns, what speaks against them, and columns left out for doubt."""

    readings: dict[str, SideReading] = field(default_factory=dict)
    problems: list[tuple[str, str]] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    curving: Curving = field(default_factory=lambda: Curving(0, 0))
    upwards: dict[str, str] = field(default_factory=dict)  # `up` or `down`, as lines say it


def _all_stated(
    assigned: Assigned, statements: list[Statement], given: Mapping[str, str]
) -> list[SideReading]:
    """All that is said of a column's sign, the note first, each with where it stands."""
    heading, found = assigned.profile.heading, []
    if heading.text in given:
        sign = 1 if given[heading.text] == "right-positive" else -1
        found.append(SideReading(sign, "the note or mapping says so", True))
    if assigned.profile.has_sides:
        front = [f"line {s.line}" for s in statements if s.kind == "view" and s.positive == FRONT]
        front += ["the heading"] if heading.front else []
        if front:
            text = f"{front[0]} says that sides are seen from the target"
            return [*found, SideReading(-1, text, True)]
        return [*found, SideReading(1, "the cells say left and right", True)]
    if heading.positive in (OPEN, CLOSED):
        found.append(SideReading(1, f"the heading says {heading.positive} is positive", True))
    elif heading.positive in _SIGNS:
        sign = 1 if heading.positive == "right" else -1
        found.append(SideReading(sign, f"the heading says {heading.positive} is positive", True))
    named = [s for s in statements if assigned.column in s.columns and s.positive in _SIGNS]
    # What a line says of one column goes before what it says of all.
    for statement in named or [s for s in statements if not s.columns and s.positive in _SIGNS]:
        sign = 1 if statement.positive == "right" else -1
        found.append(SideReading(sign, f"line {statement.line} says so: {statement.text!r}", True))
    return found


def find_sides(
    columns: Mapping[str, Assigned],
    values: Mapping[str, FloatArray],
    statements: list[Statement],
    given: Mapping[str, str],
) -> SidesFound:
    """Settle the signs of all sided columns.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    values : Mapping[str, numpy array]
        Measured columns in canonical units, signs as written except where cells name sides.
    statements : list of Statement
        What lines beside the table say.
    given : Mapping[str, str]
        Heading -> `right-positive` or `left-positive` from a note or mapping.

    Returns
    -------
    SidesFound
        A sign for every sided column. Where nothing is said, right is positive, unless the
        columns disagree among themselves: that is a problem to be asked about.
    """
    found = SidesFound()
    sided = [name for name in SIDED if name in columns and name in values]
    for name in sided:
        readings = _all_stated(columns[name], statements, given)
        if readings:
            found.readings[name] = readings[0]
        if len({reading.sign for reading in readings}) > 1:
            _contradicting(found, name, columns[name], readings)
    found.curving = _curving(values)
    _upwards(found, columns, statements)
    sided = _without_lengths(found, sided, values)
    sided = _without_distances(found, sided, values)
    relations = _relations(values, found.curving)
    sided = _without_sizes(found, sided, columns, values, relations)
    relations = [r for r in relations if not {r[0], r[1]} & set(found.left_out)]
    _spread_stated(found, relations)
    _contradictions(found, relations, columns)
    sided = _without_unclear(found, sided, columns, statements)
    spoken = any(s.kind == "unclear" for s in statements)
    for name in sided:
        if name in found.readings:
            continue
        if spoken:  # custom decides only where nothing in the file speaks of signs
            found.left_out.append(name)
        else:
            _customary(found, name, relations, columns)
    return found


def _contradicting(
    found: SidesFound, name: str, assigned: Assigned, readings: list[SideReading]
) -> None:
    """What is said of one column in two places that contradict each other."""
    other = next(reading for reading in readings if reading.sign != readings[0].sign)
    heading = assigned.profile.heading.text
    found.problems.append(
        (
            name,
            f"It is said twice which way {heading!r} is positive, and the two contradict each "
            f"other: {readings[0].evidence}; {other.evidence}",
        )
    )


def _without_unclear(
    found: SidesFound,
    sided: list[str],
    columns: Mapping[str, Assigned],
    statements: list[Statement],
) -> list[str]:
    """Leave out columns of whose signs a line speaks in words that can't be understood."""
    unclear = [s for s in statements if s.kind == "unclear"]
    views = {s.positive for s in statements if s.kind == "view"}
    for name in sided:
        doubted = [s for s in unclear if not s.columns or name in s.columns]
        by_cells = columns[name].profile.has_sides and views == {"unknown"}
        in_doubt = bool(doubted) or columns[name].profile.heading.unclear
        if by_cells or (in_doubt and name not in found.readings):
            found.left_out.append(name)
    return [name for name in sided if name not in found.left_out]


def _without_lengths(
    found: SidesFound, sided: list[str], values: Mapping[str, FloatArray]
) -> list[str]:
    """Leave out a side that is the carry less a goal: how far long or short, and no side."""
    for name, along in (("carry_side_m", "carry_m"), ("total_side_m", "total_m")):
        if name not in sided or along not in values:
            continue
        both = np.isfinite(values[name]) & np.isfinite(values[along])
        size, length = values[name][both], values[along][both]
        if size.size < _FEWEST_LENGTHS or np.ptp(length) < _VARIED_M:
            continue
        if min(np.ptp(length - size), np.ptp(length + size)) <= _ROUNDED_M:
            found.left_out.append(name)
            found.readings.pop(name, None)
    return [name for name in sided if name not in found.left_out]


def _upwards(
    found: SidesFound, columns: Mapping[str, Assigned], statements: list[Statement]
) -> None:
    """What lines say of angles up and down; a heading that says otherwise contradicts them."""
    for statement in (s for s in statements if s.kind == "height_sign" and s.positive):
        for name in statement.columns & columns.keys():
            heading = columns[name].profile.heading
            if found.upwards.setdefault(name, statement.positive or "") != statement.positive or (
                heading.positive in ("up", "down") and heading.positive != statement.positive
            ):
                found.problems.append(
                    (
                        name,
                        f"It is said twice which way {heading.text!r} is positive, and the two "
                        f"contradict each other; one of them is line {statement.line}: "
                        f"{statement.text!r}",
                    )
                )


def _without_distances(
    found: SidesFound, sided: list[str], values: Mapping[str, FloatArray]
) -> list[str]:
    """Leave out a side as large as the flight: it is a distance, whatever its words say."""
    for name, along in (("carry_side_m", "carry_m"), ("total_side_m", "total_m")):
        if name not in sided:
            continue
        length = values.get(along, values.get("carry_m", values.get("total_m")))
        if length is None and "ball_speed_mps" in values:
            length = values["ball_speed_mps"] ** 2 / GRAVITY_MPS2  # the farthest without air
        if length is None:
            continue
        known = np.isfinite(values[name]) & np.isfinite(length)
        if known.sum() < _FEWEST_LENGTHS:
            continue
        middle = np.median(np.abs(values[name][known]))
        if middle > MOST_SIDE_OF_FLIGHT * np.median(length[known]):
            found.left_out.append(name)
            found.readings.pop(name, None)
    return [name for name in sided if name not in found.left_out]


def _without_sizes(
    found: SidesFound,
    sided: list[str],
    columns: Mapping[str, Assigned],
    values: Mapping[str, FloatArray],
    relations: list[tuple[str, str, int]],
) -> list[str]:
    """Leave out columns that may be sizes without a sign; they would all lie on the right."""
    proven = {name for one, other, sign in relations if sign > 0 for name in (one, other)}
    for name in sided:
        clear = name in found.readings and not names_only_a_side(columns[name].profile.heading.text)
        if name not in _SIZED or clear or name in proven - _unsigned(found):
            continue
        known = values[name][np.isfinite(values[name])]
        if known.size and known.min() >= 0.0 and not _has_plus(columns[name]):
            found.left_out.append(name)
    return [name for name in sided if name not in found.left_out]


def _unsigned(found: SidesFound) -> set[str]:
    return {"carry_side_m", "total_side_m"} if found.curving.unsigned else set()


def _has_plus(assigned: Assigned) -> bool:
    """Whether a column marks its positive values, as one of sizes never does."""
    return any(cell.lstrip().startswith("+") for cell in assigned.profile.sample)


def _curving(values: Mapping[str, FloatArray]) -> Curving:
    needed = ("ball_speed_mps", "launch_angle_deg")
    side = values.get("carry_side_m", values.get("total_side_m"))
    if side is None or any(name not in values for name in needed):
        return Curving(0, 0)
    usable = np.isfinite(side) & np.isfinite(values[needed[0]]) & np.isfinite(values[needed[1]])
    rows = sample_rows(usable, 60)
    if rows.size < 5:
        return Curving(0, 0)
    launch = values["launch_angle_deg"][rows]
    spin = _spin(values)
    spun = usual_spin(launch) if spin is None else spin[rows]
    axis = _axis(values)
    direction = values.get("launch_direction_deg")
    return relative_signs(
        values["ball_speed_mps"][rows],
        launch,
        np.where(spun > 0, spun, usual_spin(launch)),
        None if direction is None else direction[rows],
        None if axis is None else axis[rows],
        side[rows],
    )


def _spin(values: Mapping[str, FloatArray]) -> FloatArray | None:
    if "spin_rate_rpm" in values:
        return values["spin_rate_rpm"]
    if "back_spin_rpm" in values:
        return np.hypot(values["back_spin_rpm"], np.nan_to_num(values.get(SIDE_SPIN, 0.0)))
    return None


def _axis(values: Mapping[str, FloatArray]) -> FloatArray | None:
    if "spin_axis_deg" in values:
        return values["spin_axis_deg"]
    if SIDE_SPIN in values and "back_spin_rpm" in values:
        return np.degrees(np.arctan2(values[SIDE_SPIN], np.abs(values["back_spin_rpm"])))
    return None


def _slope_sign(x: FloatArray | None, y: FloatArray | None) -> int:
    """Sign of the relation of two columns where it is beyond doubt, else 0."""
    if x is None or y is None:
        return 0
    usable = np.isfinite(x) & np.isfinite(y)
    if usable.sum() < 6 or np.std(x[usable]) < 1e-6 or np.std(y[usable]) < 1e-6:
        return 0
    r = float(np.corrcoef(x[usable], y[usable])[0, 1])
    strength = abs(r) * np.sqrt((usable.sum() - 2) / max(1.0 - r * r, 1e-9))
    return int(np.sign(r)) if strength > 4.5 and abs(r) > 0.6 else 0


def _relations(values: Mapping[str, FloatArray], curving: Curving) -> list[tuple[str, str, int]]:
    """Pairs of columns whose relative sign the numbers prove."""
    side = "carry_side_m" if "carry_side_m" in values else "total_side_m"
    axis = next((name for name in _AXES if name in values), None)
    pairs = [("launch_direction_deg", side, curving.direction)]
    if axis:
        pairs.append((axis, side, curving.axis))
    if "carry_side_m" in values and "total_side_m" in values:
        sign = _slope_sign(values["carry_side_m"], values["total_side_m"])
        pairs.append(("total_side_m", "carry_side_m", sign))
    if "spin_axis_deg" in values and SIDE_SPIN in values:
        sign = _slope_sign(values["spin_axis_deg"], values[SIDE_SPIN])
        pairs.append((SIDE_SPIN, "spin_axis_deg", sign))
    start = values.get("launch_direction_deg")
    pairs += [
        (name, "launch_direction_deg", _slope_sign(values[name], start))
        for name in _CLUB_SIDE
        if name in values and start is not None
    ]
    return [pair for pair in pairs if pair[2] != 0 and pair[0] in values and pair[1] in values]


def _spread_stated(found: SidesFound, relations: list[tuple[str, str, int]]) -> None:
    """Carry a stated sign over to the columns whose relation to it is proven."""
    changed = True
    while changed:
        changed = False
        for one, other, sign in relations:
            for known, unknown in ((one, other), (other, one)):
                if known in found.readings and unknown not in found.readings:
                    value = found.readings[known].sign * sign
                    text = f"agrees in sign with {known}" if sign > 0 else f"opposed to {known}"
                    found.readings[unknown] = SideReading(value, text, True)
                    changed = True


def _contradictions(
    found: SidesFound, relations: list[tuple[str, str, int]], columns: Mapping[str, Assigned]
) -> None:
    for one, other, sign in relations:
        first, second = found.readings.get(one), found.readings.get(other)
        if first and second and first.sign * second.sign != sign:
            headings = [columns[name].profile.heading.text for name in (one, other)]
            found.problems.append(
                (
                    one,
                    f"Columns {headings[0]!r} and {headings[1]!r} contradict each other in "
                    "which way is left and right",
                )
            )


def _customary(
    found: SidesFound,
    name: str,
    relations: list[tuple[str, str, int]],
    columns: Mapping[str, Assigned],
) -> None:
    """Right positive where nothing is said, if no relation speaks against it."""
    opposed = [(a, b) for a, b, sign in relations if name in (a, b) and sign < 0]
    reversed_ones = [n for n, r in found.readings.items() if r.stated and r.sign < 0]
    if reversed_ones:
        found.left_out.append(name)
        return
    found.readings[name] = SideReading(1, "right positive is customary; nothing says otherwise")
    if opposed and not any(p[0] in opposed[0] for p in found.problems):
        headings = [columns[n].profile.heading.text for n in opposed[0]]
        found.problems.append(
            (
                name,
                f"Columns {headings[0]!r} and {headings[1]!r} run in opposite directions and "
                "nothing says which of them counts right as positive",
            )
        )
