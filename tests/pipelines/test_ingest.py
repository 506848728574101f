from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import duckdb
import polars as pl
import pytest
from click.testing import Result
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.engine import leave_word
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from typer.testing import CliRunner

from tests.exports_text import seven_irons
from tests.pipelines.bad_reading import read_badly

pytestmark = pytest.mark.prefect
Ingest = Callable[..., Result]
VIEWS = (
    "shots", "sessions", "carry_by_club", "carry_trend", "dispersion", "shot_distribution",
    "rejected_rows", "other_lines", "remarks", "ingest_log",
)  # fmt: skip


def command_of(home: Home) -> Ingest:
    def run(*words: str | Path) -> Result:
        return CliRunner().invoke(app, ["--home", str(home.root), *map(str, words)])

    return run


@pytest.fixture
def ingest(flow_home: Home) -> Ingest:
    return command_of(flow_home)


@pytest.fixture(scope="module")
def loaded(flow_engine: str, tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home that loaded one export, for tests that only ask it."""
    folder = tmp_path_factory.mktemp("loaded")
    home = open_home(Home(folder / "home"))
    leave_word(home, flow_engine)
    (folder / "a.csv").write_text(seven_irons())
    assert command_of(home)("ingest", folder / "a.csv").exit_code == 0
    return home


def states(home: Home) -> list[tuple[str, str]]:
    return query(home, "SELECT file_name, state FROM ingest_log").rows()


def everything(home: Home) -> dict[str, pl.DataFrame]:
    return {view: query(home, f"FROM {view} ORDER BY ALL") for view in VIEWS}


def test_from_a_file_to_an_answer_in_another_process(
    ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    export = tmp_path / "visit.csv"
    export.write_text(seven_irons())
    assert ingest("ingest", export).exit_code == 0
    code = (
        "import duckdb; print(duckdb.connect("
        f"{str(flow_home.database)!r}, read_only=True).execute("
        "'SELECT player, club, carry_yd, carry_sd_yd FROM carry_by_club').fetchall())"
    )
    answer = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    (row,) = eval(answer.stdout)
    assert row[:2] == ("Ada Brook", "7-iron")
    assert row[2] == pytest.approx(151, abs=4)
    assert 1 < row[3] < 12
    assert export.exists()


def test_a_corrected_export_takes_the_place_of_the_former_one(
    ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    (tmp_path / "visit.csv").write_text(seven_irons())
    corrected = seven_irons(club="8 iron").replace("\n", "\r\n")
    (tmp_path / "corrected.csv").write_text(corrected)
    assert ingest("ingest", tmp_path / "visit.csv").exit_code == 0
    said = ingest("ingest", tmp_path / "corrected.csv")
    assert said.exit_code == 0
    assert "corrected.csv gives 6 shots of visit.csv again; each counts once" in said.stderr
    assert "(6 shots: 7-iron → 8-iron)" in said.stderr
    assert query(flow_home, "SELECT club, shots FROM carry_by_club").rows() == [("8-iron", 6)]
    assert query(flow_home, "SELECT count(*) FROM shots").item() == 6
    # A note that comes late counts when the export is read again, and the command says so.
    (tmp_path / "corrected.toml").write_text('ball = "range"\n')
    said = ingest("ingest", tmp_path / "corrected.csv")
    assert "rangeledger reload corrected.csv" in said.stderr
    assert "rangeledger reload" in ingest("status").stdout
    assert ingest("reload", "corrected.csv").exit_code == 0
    assert query(flow_home, "SELECT ball, shots FROM carry_by_club").rows() == [("range", 6)]
    assert "rangeledger reload" not in ingest("status").stdout


def test_the_same_bytes_are_loaded_once_under_whatever_name(
    ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    for name in ("visit.csv", "visit copy.csv"):
        (tmp_path / name).write_text(seven_irons())
    assert ingest("ingest", tmp_path / "visit.csv").exit_code == 0
    assert ingest("ingest", tmp_path / "visit.csv").exit_code == 0
    assert ingest("ingest", tmp_path / "visit copy.csv").exit_code == 0
    assert states(flow_home) == [
        ("visit.csv", "loaded"), ("visit.csv", "duplicate"), ("visit copy.csv", "duplicate"),
    ]  # fmt: skip
    assert query(flow_home, "SELECT count(*) FROM shots").item() == 6


def test_what_is_no_export_goes_to_quarantine_and_disturbs_nothing(
    ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    none = {
        "statement.csv": b"Date,Text,Amount\n2026-05-01,Range fees,-42.00\n2026-05-02,Iron,-9\n",
        "empty.csv": b"",
        "junk.csv": bytes(range(256)) * 40,
    }
    for name, content in {"a.csv": seven_irons().encode(), **none}.items():
        (tmp_path / name).write_bytes(content)
    answer = ingest("ingest", *(tmp_path / name for name in ("a.csv", *none)))
    assert answer.exit_code == 1
    quarantined = [(name, "quarantined") for name in none]
    assert sorted(states(flow_home)) == sorted([("a.csv", "loaded"), *quarantined])
    for name, content in none.items():
        assert (flow_home.quarantine / name).read_bytes() == content
        reason = (flow_home.quarantine / f"{name}.reason.txt").read_text()
        assert len(reason.split()) > 8
        assert "Traceback" not in reason
    assert query(flow_home, "SELECT count(*) FROM shots").item() == 6


def test_rebuild_gives_equal_views(ingest: Ingest, flow_home: Home, tmp_path: Path) -> None:
    bad = seven_irons("Bo Lind", "2026-05-03").replace("110.0,17.6", "910.0,17.6")
    for name, text in (("a.csv", seven_irons()), ("b.csv", bad), ("c.csv", "x,y\n1,2\n")):
        (tmp_path / name).write_text(text)
        ingest("ingest", tmp_path / name)
    before = everything(flow_home)
    assert before["rejected_rows"].height == 1
    assert before["other_lines"]["taken_for"].to_list() == ["heading", "heading"]
    flow_home.ledger.unlink()
    flow_home.database.unlink()
    assert ingest("rebuild").exit_code == 0
    after = everything(flow_home)
    assert all(before[view].equals(after[view]) for view in VIEWS)


def test_the_order_of_loading_does_not_matter_to_the_fits(
    flow_engine: str, ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    texts = [seven_irons(), seven_irons(day="2026-05-09"), seven_irons(day="2026-05-16", club="8i")]
    fits = []
    for order in (texts, texts[::-1]):
        for number, text in enumerate(order):
            (tmp_path / f"{number}.csv").write_text(text)
            ingest("ingest", tmp_path / f"{number}.csv")
        fits.append(query(flow_home, "SELECT * EXCLUDE (fitted_at) FROM carry_by_club"))
        for folder in ("lake", ".state", "archive"):
            subprocess.run(["rm", "-rf", str(flow_home.root / folder)], check=True)
        flow_home.state.mkdir()
        leave_word(flow_home, flow_engine)
    assert fits[0].equals(fits[1])


def test_every_row_can_be_traced_to_a_line_of_an_archived_original(
    ingest: Ingest, flow_home: Home, tmp_path: Path
) -> None:
    text = seven_irons().replace("106.9,18.4", "906.9,18.4")
    (tmp_path / "a.csv").write_text(text)
    ingest("ingest", tmp_path / "a.csv")
    sha = hashlib.sha256(text.encode()).hexdigest()
    (original,) = (flow_home.archive / sha[:2]).glob(f"{sha}*")
    lines = original.read_text().splitlines()
    shots = query(flow_home, "SELECT source_file, source_row, ball_speed_mph FROM shots")
    assert set(shots["source_file"]) == {sha}
    for _, row, speed in shots.rows():
        assert f"{speed:.1f}" in lines[row - 1]
    ((line, raw, reason),) = query(
        flow_home, "SELECT source_row, raw_text, reason FROM rejected_rows"
    ).rows()
    assert raw == lines[line - 1]
    assert "ball_speed_mps" in reason or "ball speed" in reason.lower()
    assert sorted([*shots["source_row"], line]) == list(range(2, 8))


def test_what_lies_in_the_inbox_is_moved_on_with_its_note(ingest: Ingest, flow_home: Home) -> None:
    (flow_home.inbox / "a.csv").write_text(seven_irons())
    (flow_home.inbox / "a.toml").write_text('ball = "range"\nsurface = "mat"\n')
    assert ingest("ingest").exit_code == 0
    assert list(flow_home.inbox.iterdir()) == []
    kept = sorted(path.suffix for path in flow_home.archive.rglob("*") if path.is_file())
    assert kept == [".csv", ".toml"]
    row = query(flow_home, "SELECT DISTINCT ball, surface FROM shots").row(0)
    assert row == ("range", "mat")


def test_a_session_left_out_and_taken_back(ingest: Ingest, flow_home: Home, tmp_path: Path) -> None:
    for day in ("02", "09"):
        (tmp_path / f"{day}.csv").write_text(seven_irons(day=f"2026-05-{day}"))
    assert ingest("ingest", *tmp_path.glob("*.csv")).exit_code == 0
    before = query(flow_home, "FROM carry_by_club")
    session = query(flow_home, "SELECT max_by(session_id, started_at) FROM sessions").item()
    assert ingest("exclude", session, "--why", "new balls").exit_code == 0
    assert query(flow_home, "SELECT shots, sessions FROM carry_by_club").row(0) == (6, 1)
    assert query(flow_home, "SELECT count(*) FROM shots WHERE excluded").item() == 6
    ingest("rebuild")
    assert query(flow_home, "SELECT shots, sessions FROM carry_by_club").row(0) == (6, 1)
    assert ingest("include", session).exit_code == 0
    assert query(flow_home, "FROM carry_by_club").equals(before)
    assert ingest("exclude", "nobody").exit_code == 2


def test_a_program_fault_in_one_export_does_not_hold_up_the_others(
    ingest: Ingest, flow_home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ledger, "Readers", partial(Readers, read=read_badly))
    (tmp_path / "a.csv").write_text(seven_irons())
    (tmp_path / "faulty.csv").write_text(seven_irons("Bo Lind"))
    answer = ingest("ingest", *sorted(tmp_path.glob("*.csv")))
    assert answer.exit_code == 1
    assert states(flow_home) == [("a.csv", "loaded"), ("faulty.csv", "quarantined")]
    assert "ZeroDivisionError" in (flow_home.logs / "faults.log").read_text()
    assert "Traceback" not in answer.output


@pytest.mark.parametrize("form", ["csv", "json", "parquet"])
def test_rows_come_out_in_every_format(loaded: Home, form: str) -> None:
    asked = "SELECT club, count(*) AS n FROM shots GROUP BY club"
    answer = command_of(loaded)("sql", asked, "--format", form)
    read = {"csv": pl.read_csv, "json": pl.read_json, "parquet": pl.read_parquet}[form]
    assert read(answer.stdout_bytes).rows() == [("7-iron", 6)]


def test_status_tells_the_facts(loaded: Home) -> None:
    waiting = loaded.inbox / "later.csv"
    waiting.write_text("x")
    answer = command_of(loaded)("status", "--format", "json")
    waiting.unlink()
    (facts,) = pl.read_json(answer.stdout_bytes).to_dicts()
    assert (facts["waiting_in_inbox"], facts["shots"], facts["sessions"]) == (1, 6, 1)


def test_the_published_file_is_complete_by_itself(loaded: Home, tmp_path: Path) -> None:
    alone = tmp_path / "elsewhere" / "copy.duckdb"
    alone.parent.mkdir()
    alone.write_bytes(loaded.database.read_bytes())
    with duckdb.connect(str(alone), read_only=True) as connection:
        assert connection.execute("SELECT count(*) FROM shots").fetchone() == (6,)


def test_an_empty_inbox_is_told_in_a_sentence(ingest: Ingest, tmp_path: Path) -> None:
    answer = ingest("ingest")
    assert answer.exit_code == 0
    assert answer.stdout == ""
    assert "Drop exports there" in answer.stderr
    answer = ingest("ingest", tmp_path)
    assert "There is no export to load" in answer.stderr
