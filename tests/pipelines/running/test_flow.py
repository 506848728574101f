from __future__ import annotations

import json
from base64 import b64encode
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running.engine import engine_secret
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.exports_text import seven_irons

pytestmark = pytest.mark.prefect


def test_a_run_leaves_an_artifact_a_person_can_read(
    flow_home: Home, flow_engine: str, tmp_path: Path
) -> None:
    bad = seven_irons("Bo Lind").replace("110.0,17.6", "910.0,17.6")
    (tmp_path / "plain visit.csv").write_text(seven_irons())
    (tmp_path / "bad|<b>row.csv").write_text(bad)
    (tmp_path / "list.csv").write_text("a,b\n1,2\n")
    files = [str(path) for path in tmp_path.glob("*.csv")]
    answer = CliRunner().invoke(app, ["--home", str(flow_home.root), "ingest", *files])
    assert answer.exit_code == 1
    newest = {"sort": "CREATED_DESC", "artifacts": {"key": {"any_": ["load"]}}}
    asked = Request(f"{flow_engine}/artifacts/filter", data=json.dumps(newest).encode())
    asked.add_header("Authorization", f"Basic {b64encode(engine_secret().encode()).decode()}")
    asked.add_header("Content-Type", "application/json")
    with urlopen(asked) as page:
        (text, *_) = [found["data"] for found in json.load(page) if "visit" in found["data"]]
    assert "| plain visit.csv | loaded | 6 | 0 |" in text
    assert "loaded-with-rejects | 5 | 1 |" in text
    assert "list.csv | quarantined | 0 | 0 |" in text
    assert "| Ball speed (mph) | ball_speed_mps | mph |" in text
    assert "- 1 rows rejected: out-of-range" in text
    assert "<b>" not in text


def test_the_engine_answers_nobody_without_its_secret(flow_engine: str) -> None:
    """Other users of the machine reach the loopback address too."""
    for page in ("flow_runs/count", "admin/settings"):
        with pytest.raises(HTTPError) as refused:
            urlopen(Request(f"{flow_engine}/{page}", data=b"{}"))
        with refused.value as answer:  # it holds the socket until it is closed
            assert answer.code == 401
