"""Which rows sum up others: by where their label stands or by arithmetic, never by a remark."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

REMARKS = {
    "en": ["best of the day", "worst one", "average strike", "max effort", "mean looking", "Best"],
    "de": ["bester Schlag", "schlechtester", "Durchschnitt", "maximal", "Mittel getroffen"],
    "fr": ["meilleur du jour", "pire coup", "moyenne", "maximum", "moyen"],
    "es": ["mejor golpe", "peor", "promedio", "máximo", "media vuelta"],
    "it": ["migliore", "peggiore", "media", "massimo sforzo"],
    "sv": ["bäst", "sämst", "medel", "max"],
    "nl": ["beste", "slechtste", "gemiddeld", "maximaal"],
    "pt": ["melhor", "pior", "média", "máximo"],
    "da": ["bedste", "værste", "gennemsnit", "maks"],
}
MEASURED = ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", "carry_m")


def columns(last: str = "") -> dict[str, list[str]]:
    """Computed flights, numbered, with a last column of that heading."""
    flights = launches()
    headings = ("Ball speed (m/s)", "Launch angle (deg)", "Spin (rpm)", "Carry (m)")
    sheet = {"Shot": [str(k) for k in range(1, 15)], "Club": clubs()}
    sheet |= {h: [f"{x:.2f}" for x in flights[n]] for h, n in zip(headings, MEASURED, strict=True)}
    return sheet | ({last: [""] * 14} if last else {})


@pytest.mark.parametrize("language", REMARKS)
@pytest.mark.parametrize("heading", ["Comment", "Feel", "Result", "Zwqx"])
@pytest.mark.parametrize("first", [False, True])
def test_a_remark_never_makes_a_row_a_summary(
    tmp_path: Path, language: str, heading: str, first: bool
) -> None:
    sheet = columns(heading)
    sheet[heading][: len(REMARKS[language])] = REMARKS[language]
    if first:
        sheet = {heading: sheet.pop(heading)} | sheet
    assert prepared(tmp_path, table(sheet)).shots.height == 14


def test_the_best_shot_stays_one(tmp_path: Path) -> None:
    sheet = columns("Comment")
    best = int(np.argmax(launches()["carry_m"]))
    for heading in ("Ball speed (m/s)", "Launch angle (deg)", "Spin (rpm)", "Carry (m)"):
        sheet[heading][best] = max(sheet[heading][7:], key=float)
    sheet["Comment"][best] = "best"
    assert prepared(tmp_path, table(sheet)).shots.height == 14


def test_a_player_called_max_or_mean_gene_is_no_statistic(tmp_path: Path) -> None:
    sheet = {"Player": ["Max", "Mean Gene"] * 7} | columns()
    assert prepared(tmp_path, table(sheet)).shots.height == 14


@pytest.mark.parametrize("place", ["Shot", "Club"])
@pytest.mark.parametrize("label", ["Average", "Best", "Std Dev", "Mittelwert", "Zusammen"])
@pytest.mark.parametrize("top", [False, True])
def test_a_label_where_shots_have_their_number_or_club(
    tmp_path: Path, place: str, label: str, top: bool
) -> None:
    sheet = columns()
    means = {h: f"{np.mean([float(c) for c in cells]):.2f}" for h, cells in sheet.items()
             if h not in ("Shot", "Club")}  # fmt: skip
    summary = ",".join(({"Shot": "", "Club": ""} | means | {place: label}).values())
    heading, *rows = table(sheet).splitlines()
    lines = [heading, summary, *rows] if top else [heading, *rows, summary]
    export = prepared(tmp_path, "\n".join(lines))
    assert export.shots.height == 14
    assert export.other_lines["source_row"].to_list() == [1, 2 if top else 16]


def test_means_of_each_club_at_the_end(tmp_path: Path) -> None:
    sheet = columns()
    lines = table(sheet).splitlines()
    for club, rows in (("7 Iron", slice(0, 7)), ("Driver", slice(7, 14))):
        means = [f"{np.mean([float(c) for c in cells[rows]]):.2f}" for h, cells in sheet.items()
                 if h not in ("Shot", "Club")]  # fmt: skip
        lines.append(",".join(["", club, *means]))
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 14


def test_a_row_with_number_and_club_but_no_measurement_is_rejected(tmp_path: Path) -> None:
    lines = table(columns()).splitlines()
    lines[5:5] = ["15,7 Iron,,,,", "16,7 Iron,,,,"]
    export = prepared(tmp_path, "\n".join(lines))
    assert export.rejected["source_row"].to_list() == [6, 7]
    assert export.shots.height == 14


def test_a_remark_in_the_last_column_may_hold_the_delimiter(tmp_path: Path) -> None:
    sheet = columns("Zwqx")
    sheet["Zwqx"][3] = "a bit thin, but straight"
    assert prepared(tmp_path, table(sheet)).shots.height == 14


def test_means_of_what_a_column_names_and_their_difference(tmp_path: Path) -> None:
    flights = launches(14)
    values = np.stack([flights[name].round(1) for name in _FOUR], axis=1)
    means = [values[:7].mean(axis=0), values[7:].mean(axis=0)]
    lines = [f"{'A' if k < 7 else 'B'},{_cells(values[k])}" for k in range(14)]
    lines += ["", f"Mean A,{_cells(means[0])}", f"Mean B,{_cells(means[1])}"]
    lines += [f"B minus A,{_cells(means[1] - means[0])}"]
    text = "\n".join(["Club: Driver", f"Build,{_HEADS}", *lines]) + "\n"
    export = prepared(tmp_path, text)
    assert export.shots.height == 14
    assert export.other_lines["taken_for"].to_list()[-3:] == ["summary"] * 3


def test_balls_that_are_left_are_no_shots_that_a_row_stands_for(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "Club": clubs(14),
        "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
        "Balls left": [str(60 - k) for k in range(14)],
    })  # fmt: skip
    assert prepared(tmp_path, text).shots.height == 14


def test_a_title_of_shots_ends_what_a_title_of_means_above_says(tmp_path: Path) -> None:
    flights = launches(14)
    shots = table({
        "Shot": [str(k + 1) for k in range(14)], "Club": clubs(14),
        "Ball speed (m/s)": flights["ball_speed_mps"], "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    means = "Averages\nClub,Shots,Avg carry (m)\n7 Iron,7,128.1\nDriver,7,214.9\n\nAll shots\n"
    assert prepared(tmp_path, means + shots).shots.height == 14


_FOUR = MEASURED
_HEADS = "Ball speed (m/s),Launch (deg),Spin (rpm),Carry (m)"


def _cells(values: np.ndarray) -> str:
    return ",".join(f"{x:.1f}" for x in values)


@pytest.mark.parametrize(
    "label", ["BEST TODAY", "Zwischensumme Eisen 7 (Mittel aus 7)", "Subtotal"]
)
def test_a_label_in_place_of_a_club_is_no_shot(tmp_path: Path, label: str) -> None:
    flights = launches(14)
    lines = table({
        "Club": clubs(14), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    }).splitlines()  # fmt: skip
    lines.insert(8, f"{label},48.02,,131.9")
    export = prepared(tmp_path, "\n".join(lines) + "\n")
    assert export.shots.height == 14
    assert export.other_lines["source_row"].to_list() == [1, 9]


def test_a_club_whose_name_begins_like_a_statistic_stays_one(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "Club": ["Max zapper"] * 7 + ["Driver"] * 7, "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    assert prepared(tmp_path, text).shots.height == 14
