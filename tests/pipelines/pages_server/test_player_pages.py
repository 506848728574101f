"""Numbers of pages and twins against SQL, permanent addresses, marks, units, hostile names."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import datetime
from typing import Any
from urllib.parse import parse_qs

import duckdb
import polars as pl
import pytest
from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.player_pages import SCREENS
from rangeledger.pipelines.running.fitting import fit_changed
from rangeledger.schemas.units import YARD_M
from rangeledger.warehouse import database, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.screens.over_time import monitor_name, monitor_sentence
from rangeledger.warehouse.pages.screens.parts import ScreenRequest
from rangeledger.warehouse.pages.screens.sessions import page_of_sessions
from rangeledger.warehouse.pages.units import YARDS
from rangeledger.warehouse.settings import read_settings
from starlette.testclient import TestClient

from tests.made_home import ADA, HOSTILE
from tests.pipelines.pages_server.browsing import client_of, come_in
from tests.shots import make_shots
from tests.warehouse.counting.test_visits import put
from tests.warehouse.pages.pages_of import Page

ADAS = "/players/ada-brook"
# Table of a twin -> the view whose columns it gives. The others are sums over views, asked below.
VIEWS = {
    "carry_by_club": "carry_by_club", "shot_shape": "shot_shape", "club_gaps": "club_gaps",
    "wedge_grid": "wedge_grid", "swings": "carry_by_club", "carry_trend": "carry_trend",
    "putting_start_line": "putting_start_line", "sessions": "sessions", "shots": "shots",
    "monitors": "monitors", "putting_by_break": "putting_start_line",
}  # fmt: skip


def asked(home: Home, sql: str, *parameters: Any) -> list[dict[str, Any]]:
    with duckdb.connect(str(home.database), read_only=True) as connection:
        return connection.execute(sql, list(parameters)).pl().to_dicts()


def plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


@pytest.mark.parametrize("screen", list(SCREENS))
@pytest.mark.parametrize("player", [ADA, HOSTILE])
def test_the_rows_of_every_twin_stand_in_their_views(
    inside: TestClient, made_home: Home, screen: str, player: str
) -> None:
    path = f"/players/{file_word(player)}" + (f"/{screen}" if screen else "")
    twin = inside.get(f"{path}.json").json()
    for name, rows in twin["tables"].items():
        if name not in VIEWS or not rows:
            continue
        there = asked(made_home, f"FROM {VIEWS[name]} WHERE player = ?", player)
        shared = [column for column in rows[0] if column in there[0]]
        assert len(shared) >= 3, name
        known = {json.dumps([plain(row[column]) for column in shared]) for row in there}
        for row in rows:
            assert json.dumps([row[column] for column in shared]) in known, name


@pytest.mark.parametrize("screen", list(SCREENS))
def test_csv_and_json_give_the_same_rows(inside: TestClient, screen: str) -> None:
    path = ADAS + (f"/{screen}" if screen else "")
    tables = inside.get(f"{path}.json").json()["tables"]
    for name, rows in tables.items():
        answer = inside.get(f"{path}.csv?table={name}")
        assert answer.headers["content-type"].startswith("text/csv")
        read = list(csv.DictReader(io.StringIO(answer.text)))
        assert len(read) == len(rows)
        for one, other in zip(read, rows, strict=True):
            for column, value in other.items():
                if isinstance(value, float):
                    assert float(one[column]) == pytest.approx(value, rel=1e-12)


def test_the_page_shows_the_numbers_of_its_twin(inside: TestClient, made_home: Home) -> None:
    rows = asked(
        made_home,
        "SELECT club, round(carry_yd) AS yd, round(carry_m) AS m, carry_p10_yd, carry_p90_yd "
        "FROM carry_by_club WHERE player = ? AND swing = 'full' ORDER BY carry_m DESC",
        ADA,
    )
    for unit in ("yd", "m"):
        text = inside.get(f"{ADAS}?unit={unit}").text
        cells = re.findall(r'<tr[^>]*><th scope="row">.*?</th>\s*<td>(.*?)</td>', text, re.DOTALL)
        assert [float(cell) for cell in cells] == [row[unit] for row in rows]
    band = f"{rows[0]['carry_p10_yd']:.0f}–{rows[0]['carry_p90_yd']:.0f}"
    assert band in inside.get(f"{ADAS}?unit=yd").text


def test_middles_of_landing_points_are_those_of_sql(inside: TestClient, made_home: Home) -> None:
    found = inside.get(f"{ADAS}/dispersion.json?club=7-iron|full|premium&session=ada-s1").json()
    (row,) = found["tables"]["landings"]
    (there,) = asked(
        made_home,
        "SELECT count(*) AS shots, avg(still_carry_yd) FILTER (strike = 'clean') AS mean, "
        "stddev_samp(still_side_m) FILTER (strike = 'clean') AS side FROM shots "
        "WHERE session_id = 'ada-s1' AND club = '7-iron' AND still_carry_m IS NOT NULL",
    )
    assert row["shots"] == there["shots"]
    assert row["mean_carry_yd"] == pytest.approx(there["mean"])
    assert row["sd_side_m"] == pytest.approx(there["side"])
    assert len(found["tables"]["shots"]) == there["shots"]


def test_the_weather_page_asks_the_macro(inside: TestClient, made_home: Home) -> None:
    address = f"{ADAS}/weather.json?unit=m&wind=5&wind_height=ball&from=12&temp=10&up=500"
    rows = inside.get(address).json()["tables"]["carry_in"]
    iron = next(row for row in rows if row["club"] == "7-iron")
    (there,) = asked(
        made_home,
        "SELECT carry_m, side_m FROM carry_in(?, '7-iron', headwind := 5, air_temp := 10, "
        "altitude := 500)",
        ADA,
    )
    assert iron["carry_m"] == pytest.approx(there["carry_m"])
    assert iron["change_m"] < -5.0  # into 11 mph, common practice: about 1 % a mph, no source


def test_a_wind_has_a_height_on_the_weather_page(inside: TestClient) -> None:
    changes = {}
    for height in ("weather", "player", "ball", ""):
        address = f"{ADAS}/weather.json?unit=m&wind=5&wind_height={height}"
        rows = inside.get(address).json()["tables"]["carry_in"]
        changes[height] = rows[0]["change_m"]
    assert changes["player"] < changes["weather"] < changes["ball"] < 0.0
    assert changes[""] == changes["weather"]
    assert "read by hand" in inside.get(f"{ADAS}/weather?unit=m&wind=5&wind_height=player").text


def test_a_wind_from_three_o_clock_pushes_left(inside: TestClient) -> None:
    rows = inside.get(f"{ADAS}/weather.json?unit=m&wind=5&from=3").json()["tables"]["carry_in"]
    assert all(row["push_m"] < 0 for row in rows)


def test_two_players_stand_side_by_side_and_two_dates_too(inside: TestClient) -> None:
    text = inside.get(f"{ADAS}/dispersion", params={"beside": HOSTILE}).text
    assert text.count('class="drawing"') == 2
    twin = inside.get(
        f"{ADAS}/dispersion.json",
        params={"beside": ADA, "last": "2026-05-12", "first_beside": "2026-05-13"},
    ).json()
    first, second = twin["tables"]["landings"][0], twin["tables"]["landings_beside"][0]
    assert first["club"] == second["club"]


def test_the_unit_is_kept(inside: TestClient) -> None:
    in_yards = inside.get(ADAS).text
    assert "In metres" in in_yards
    inside.get(f"{ADAS}?unit=m")
    assert "In yards" in inside.get(ADAS).text


def test_a_page_that_is_still_true_is_not_sent_again(inside: TestClient) -> None:
    for path in ("/players", ADAS, f"{ADAS}/clubs.json"):
        mark = inside.get(path).headers["etag"]
        again = inside.get(path, headers={"if-none-match": mark})
        assert (again.status_code, again.content) == (304, b"")
        other = inside.get(f"{path}?unit=m", headers={"if-none-match": mark})
        assert other.status_code == 200
        inside.get(f"{path}?unit=yd")


def test_a_name_of_markup_is_shown_and_never_run(inside: TestClient) -> None:
    for path in ("/players", f"/players/{file_word(HOSTILE)}"):
        page = Page(inside.get(path).text)
        assert HOSTILE in page.text
        assert all(set(script) == {"src", "defer"} for script in page.of("script"))


def test_text_that_a_spreadsheet_would_reckon_out_is_made_harmless() -> None:
    import polars as pl
    from rangeledger.pipelines.pages_server.replies.answers import harmless

    told = harmless(pl.DataFrame({"player": ["=1+1", "@x", "Ada", None], "carry_m": [1.0] * 4}))
    assert told["player"].to_list() == ["'=1+1", "'@x", "Ada", None]
    assert told["carry_m"].to_list() == [1.0] * 4


def test_what_is_not_there_says_so_and_leads_on(inside: TestClient) -> None:
    for path in ("/players/nobody", f"{ADAS}/nothing", f"{ADAS}/clubs.csv?table=x", "/x"):
        answer = inside.get(path)
        assert answer.status_code == 404
        assert '<a class="button" href="/' in answer.text


def test_lengths_in_both_units_agree(inside: TestClient) -> None:
    rows = inside.get(f"{ADAS}.json").json()["tables"]["carry_by_club"]
    for row in rows:
        assert row["carry_yd"] == pytest.approx(row["carry_m"] / YARD_M)


def test_over_time_draws_the_clubs_that_are_asked_for_else_those_hit_most(
    inside: TestClient,
) -> None:
    def drawn(query: str) -> list[str]:
        page = inside.get(f"{ADAS}/over-time{query}").text
        return re.findall(r'<p class="drawing-title">(.*?)</p>', page)

    assert len(drawn("")) == 6
    assert len(drawn("?show=all")) == 10
    assert drawn("?club=driver|full|premium&club=none") == ["driver"]
    assert "Drawn: 6 of 10 clubs and swings" in inside.get(f"{ADAS}/over-time").text
    # Tools get every row, whatever is drawn.
    rows = inside.get(f"{ADAS}/over-time.json").json()["tables"]["carry_trend"]
    assert len(rows) == 40


@pytest.mark.parametrize(
    ("query", "days"),
    [("", 20), ("?page=3", 5), ("?page=9", 5), ("?page=-1", 20), ("?show=all", 45)],
)
def test_many_sessions_are_shown_a_page_at_a_time(query: str, days: int) -> None:
    asked = ScreenRequest(duckdb.connect(), ADA, YARDS, parse_qs(query.lstrip("?")))
    assert page_of_sessions(asked, pl.DataFrame({"n": range(45)}))[0].height == days


def test_a_monitor_that_nobody_named_is_known_by_an_export_of_it() -> None:
    such_as = {"layout-0a1b": "visit.csv"}
    assert monitor_name("layout-0a1b", such_as) == "that of visit.csv"
    assert monitor_name("bay B", such_as) == "bay B"
    told = "The monitor behind layout-0a1b reads 1 % longer than the monitor behind bay B."
    assert monitor_sentence(told, such_as) == (
        "The monitor of visit.csv reads 1 % longer than the monitor behind bay B."
    )


def test_a_band_stands_beside_the_carry_that_it_is_of(inside: TestClient) -> None:
    headings = re.findall(r'<th scope="col".*?>(.*?)</th>', inside.get("/players").text)
    assert headings[headings.index("Longest") + 1] == "8 of 10"


def test_wedges_are_shown_for_distances_that_a_swing_is_for(
    inside: TestClient, made_home: Home
) -> None:
    """The twin gives the whole view; people see none that every swing flies over."""
    page, twin = inside.get(f"{ADAS}/wedges").text, inside.get(f"{ADAS}/wedges.json").json()
    picks = twin["tables"]["wedge_grid"]
    noted = asked(
        made_home, "SELECT target_yd, hole_note LIKE 'shorter%' AS below, hole_note LIKE 'longer%' "
        "AS beyond FROM wedge_grid WHERE player = ? AND rank = 1 AND ball = 'premium'", ADA,
    )  # fmt: skip
    below = sorted(row["target_yd"] for row in noted if row["below"])
    fit = {f"{row['target_yd']:.0f}" for row in noted if not (row["below"] or row["beyond"])}
    assert below
    assert {row["target_yd"] for row in picks} == {row["target_yd"] for row in noted}
    table = page.partition('id="wedge_grid"')[2].partition("</figure>")[0]
    assert set(re.findall(r'<th scope="row">\s*(\d+)\s*</th>', table)) == fit
    assert f"{below[0]:.0f} to {below[-1]:.0f} yards: every wedge carries farther" in page


def test_shots_of_nobody_lead_to_whose_they_are(home: Home) -> None:
    put(home, 1, make_shots([140.0, 141.0, 143.0], player="unknown"))
    with database.open_ledger(home) as connection:
        fit_changed(home, connection, read_settings(home))
    publishing.publish(home)
    with come_in(client_of(home)) as client:
        (address,) = re.findall(r'href="/(players/unknown[^"]*)"', client.get("/players").text)
        page = client.get(f"/{address}").text
    assert "Move each session to its player under Sessions" in page
