from __future__ import annotations

import pyarrow as pa
import pytest
from rangeledger.schemas.arrow import LAKE_COLUMNS, shots_arrow_schema, shots_polars_schema
from rangeledger.schemas.columns import BY_NAME, CANONICAL, NUMBERS, STATABLE, Kind
from rangeledger.schemas.units import UNITS, dimension_of

# Section 2 of the contract, in its order and words for types.
CONTRACT = """\
shot_id session_id player struck_at shot_number club swing ball surface ball_speed_mps
launch_angle_deg launch_direction_deg spin_rate_rpm spin_axis_deg carry_m carry_side_m total_m
total_side_m apex_m descent_angle_deg hang_time_s clubhead_speed_mps angle_of_attack_deg
club_path_deg face_angle_deg dynamic_loft_deg wind_speed_mps wind_from_deg wind_height
air_temp_c air_pressure_hpa humidity_pct altitude_m monitor site flight_basis source_file
source_row""".split()


def test_the_columns_are_the_promised_ones_in_order() -> None:
    assert [column.name for column in CANONICAL] == CONTRACT


def test_arrow_and_polars_say_the_same() -> None:
    arrow = shots_arrow_schema()
    polars = shots_polars_schema().to_frame().to_arrow().schema
    for field in arrow:
        there = polars.field(field.name).type
        assert there == field.type or (pa.types.is_large_string(there) or there == pa.string_view())
    assert arrow.names == list(shots_polars_schema()) == [c.name for c in LAKE_COLUMNS]


def test_types_are_the_promised_ones() -> None:
    schema = shots_arrow_schema()
    assert schema.field("struck_at").type == pa.timestamp("ms", tz="UTC")
    assert schema.field("shot_number").type == schema.field("source_row").type == pa.int32()
    assert {schema.field(name).type for name in NUMBERS} == {pa.float64()}


@pytest.mark.parametrize("column", CANONICAL, ids=lambda c: c.name)
def test_every_column_is_explained_and_bounded(column) -> None:
    assert len(column.meaning) > 10
    if column.kind is Kind.NUMBER:
        assert column.unit
        assert column.low < column.high
        assert dimension_of(column.name) in {unit.dimension for unit in UNITS.values()}


def test_what_an_export_may_state_excludes_what_is_ours() -> None:
    assert not {"shot_id", "session_id", "source_file", "source_row"} & set(STATABLE)
    assert {"player", "carry_m", "air_temp_c"} <= set(STATABLE)


def test_the_comment_of_a_column_names_its_choices() -> None:
    assert BY_NAME["ball"].comment == "Kind of ball: premium, range, limited-flight or unknown"
