from __future__ import annotations

import pytest
from rangeledger.schemas.columns import FORMER_NAMES
from rangeledger.warehouse.statements import comment_for, parse_statement, statements

TEXT = """-- relation: thing
-- comment: What a row is,
--   said in two lines.
-- grain: a thing
-- columns:
--   carry_m: Centre of carry,
--     in still air [m]
CREATE OR REPLACE VIEW thing AS SELECT 1 AS carry_m;
"""


def test_the_header_is_read_with_lines_that_go_on() -> None:
    statement = parse_statement(TEXT, "VIEW")
    assert statement.relation == "thing"
    assert statement.comment == "What a row is, said in two lines."
    assert statement.columns == {"carry_m": "Centre of carry, in still air [m]"}


def test_a_file_without_a_header_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a relation"):
        parse_statement("CREATE TABLE x (a INT)", "TABLE")


def test_a_column_in_yards_says_what_its_twin_says() -> None:
    stated = {"carry_se_m": "Standard error [m]"}
    assert comment_for("carry_se_yd", stated) == "Standard error [yd]"
    assert comment_for("ball_speed_mph", {}).endswith("[mph]")
    assert comment_for("nothing_known", {}) == ""


@pytest.mark.parametrize("folder", ["tables", "views"])
def test_every_sql_file_is_small_and_says_its_grain(folder: str) -> None:
    for statement in statements(folder):
        macro = "CREATE OR REPLACE MACRO" in statement.sql
        assert statement.grain or macro, statement.relation
        assert len(statement.sql.splitlines()) <= 80, statement.relation
        assert "SELECT *" not in statement.sql.upper(), statement.relation


def test_former_names_of_columns_say_so_and_name_the_new_one() -> None:
    (shots,) = (s for s in statements("views") if s.relation == "shots")
    for former, name in FORMER_NAMES.items():
        assert shots.columns[former].startswith(f"Former name of {name}")
