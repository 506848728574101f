"""When shots were struck, as lines and columns say it together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

START = "Recording started: 2025-05-20 13:40:00\n"


def export(seconds: np.ndarray, heading: str) -> str:
    flights = launches()
    columns = {
        heading: seconds, "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch angle (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    }  # fmt: skip
    return table(columns, delimiter=";")


@pytest.mark.parametrize("heading", ["t / s", "Elapsed (s)", "Zeit seit Start (s)"])
def test_seconds_since_a_stated_start_are_added_to_it(tmp_path: Path, heading: str) -> None:
    seconds = 31.0 + 40.5 * np.arange(14)
    struck = prepared(tmp_path, START + export(seconds, heading)).shots["struck_at"]
    passed = (struck - struck[0]).dt.total_milliseconds().to_numpy() / 1000.0
    assert passed == pytest.approx(seconds - 31.0)
    assert (struck[0].minute, struck[0].second) == (40, 31)


@pytest.mark.parametrize("seconds", [np.linspace(4.5, 6.0, 14), 300.0 - 20.0 * np.arange(14)])
def test_seconds_that_are_no_running_clock_are_not_added(
    tmp_path: Path, seconds: np.ndarray
) -> None:
    struck = prepared(tmp_path, START + export(seconds, "t / s")).shots["struck_at"]
    assert struck.n_unique() == 1
