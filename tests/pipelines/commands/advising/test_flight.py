"""The flight command: figures, formats, drawings and refusals."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ElementTree

import polars as pl
import pytest
from rangeledger.models.flight.trajectory import fly
from rangeledger.pipelines.main import app
from typer.testing import CliRunner

run = CliRunner()
DRIVE = "--ball-speed-mps 74.5 --launch-angle-deg 11 --spin-rate-rpm 2700".split()


def answer(*more: str) -> dict:
    done = run.invoke(app, ["flight", *DRIVE, "--format", "json", *more])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_json_has_canonical_names_and_the_second_programs_figures() -> None:
    # Independent solver (DOP853, 1e-10) in dry air of 15 degC and 1013.25 hPa: calm carry 247.04,
    # apex 31.80 m, 6.92 s, 39.6 deg; 5 m/s against 228.35; across from the left 16.66 m.
    air = ["--air-temp-c", "15", "--air-pressure-hpa", "1013.25", "--humidity-pct", "0"]
    calm = answer(*air)
    assert calm["carry_m"] == pytest.approx(247.04, abs=0.02)
    assert calm["apex_m"] == pytest.approx(31.80, abs=0.01)
    assert calm["hang_time_s"] == pytest.approx(6.92, abs=0.01)
    assert calm["descent_angle_deg"] == pytest.approx(39.6, abs=0.1)
    assert calm["assumed"] == ""
    air += ["--wind-height", "ball"]
    against = answer(*air, "--wind-speed-mps", "5")
    assert against["carry_m"] == pytest.approx(228.35, abs=0.02)
    across = answer(*air, "--wind-speed-mps", "5", "--wind-from-deg", "270")
    assert across["carry_side_m"] == pytest.approx(16.66, abs=0.02)


def test_omitted_air_is_the_reference_air() -> None:
    found = answer()
    assert found["carry_m"] == found["still_carry_m"] == fly(74.5, 11.0, 0.0, 2700.0).carry_m
    assert found["air_temp_c"] == pytest.approx(23.89, abs=0.01)
    assert "temperature assumed" in found["assumed"]


def test_still_air_is_shown_beside_the_days_air() -> None:
    found = answer("--wind-speed-mps", "6", "--altitude-m", "500", "--spin-axis-deg", "5")
    assert found["still_carry_m"] == fly(74.5, 11.0, 0.0, 2700.0, 5.0).carry_m
    assert found["carry_m"] < found["still_carry_m"]
    assert found["still_side_m"] > 0.0


def test_a_wind_read_low_down_blows_harder_aloft() -> None:
    same, player, weather = (
        answer("--wind-speed-mps", "5", "--wind-height", height)["carry_m"]
        for height in ("ball", "player", "weather")
    )
    assert player < weather < same
    said = answer("--wind-speed-mps", "5")
    assert (said["wind_height"], said["carry_m"]) == ("weather", weather)


def test_table_for_people() -> None:
    done = run.invoke(app, ["flight", *DRIVE, "--wind-speed-mps", "5"])
    assert done.exit_code == 0
    for word in ("carry", "descent angle", "in still air", "yd", "rpm", "air density", "10 m up"):
        assert word in done.stdout


def test_csv_and_parquet_hold_the_same_figures() -> None:
    csv = run.invoke(app, ["flight", *DRIVE, "--format", "csv"])
    assert pl.read_csv(io.StringIO(csv.stdout))["carry_m"][0] == answer()["carry_m"]
    parquet = run.invoke(app, ["flight", *DRIVE, "--format", "parquet"])
    assert pl.read_parquet(io.BytesIO(parquet.stdout_bytes))["carry_m"][0] == answer()["carry_m"]


def test_plot_keeps_standard_output_clean_for_programs() -> None:
    done = run.invoke(app, ["flight", *DRIVE, "--format", "json", "--plot"])
    json.loads(done.stdout)
    assert "height [yd]" in done.stderr
    shown = run.invoke(app, ["flight", *DRIVE, "--plot"])
    assert "height [yd]" in shown.stdout


def test_svg_file(tmp_path) -> None:
    target = tmp_path / "flight.svg"
    answer("--svg", str(target), "--spin-axis-deg", "-8")
    assert ElementTree.parse(target).getroot().tag.endswith("svg")


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--ball-speed-mps", "300"),
        ("--launch-angle-deg", "95"),
        ("--spin-rate-rpm", "-5"),
        ("--wind-speed-mps", "-3"),
        ("--air-pressure-hpa", "30"),
        ("--humidity-pct", "140"),
        ("--altitude-m", "nan"),
        ("--landing-height-m", "900"),
    ],
)
def test_impossible_values_are_refused_in_one_sentence(option, value) -> None:
    done = run.invoke(app, ["flight", *DRIVE, option, value])
    assert done.exit_code == 2
    assert option in done.stderr
    assert done.stderr.count("\n") == 1
    assert done.stdout == ""


def test_a_landing_out_of_reach_is_said() -> None:
    done = run.invoke(app, ["flight", *DRIVE, "--landing-height-m", "80"])
    assert done.exit_code == 2
    assert "never comes down" in done.stderr


def test_unknown_aerodynamics_and_missing_options() -> None:
    done = run.invoke(app, ["flight", *DRIVE, "--aerodynamics", "best"])
    assert done.exit_code == 2
    assert "choose one of" in done.stderr
    assert run.invoke(app, ["flight", "--ball-speed-mps", "70"]).exit_code == 2


def test_a_launch_outside_the_stated_range_is_flown_with_a_warning() -> None:
    done = run.invoke(
        app,
        "flight --ball-speed-mps 20 --launch-angle-deg 30 --spin-rate-rpm 12000".split(),
    )
    assert done.exit_code == 0
    assert "take the result as a guess" in done.stderr
