"""The report, the card and the overview of invented players."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import duckdb
import polars as pl
import pytest
from rangeledger.models.strategy.practice_gain import (
    PracticeAdvice,
    PracticeGain,
    lessened,
    practice_advice,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.bag import bag_of
from rangeledger.warehouse.pages.card import card_content, card_page
from rangeledger.warehouse.pages.card_pdf import card_pdf
from rangeledger.warehouse.pages.overview import PlayerEntry, overview_page
from rangeledger.warehouse.pages.player_rows import PlayerRows, player_rows
from rangeledger.warehouse.pages.practice_words import advice, not_judged
from rangeledger.warehouse.pages.report import report_page
from rangeledger.warehouse.pages.units import METRES, YARDS
from rangeledger.warehouse.pages.wedge_tables import swing_cells, swing_matrix
from rangeledger.warehouse.published import published

from tests.made_home import ADA, BAG, HOSTILE
from tests.warehouse.pages.pages_of import Page, pdf_text

TABLE = StrokesToHoleOut.published()


@pytest.fixture(scope="module")
def database(made_home: Home) -> Iterator[duckdb.DuckDBPyConnection]:
    with published(made_home) as connection:
        yield connection


def report_of(
    database: duckdb.DuckDBPyConnection, player: str, rows: PlayerRows | None = None
) -> str:
    bag = bag_of(database, player)
    gains = practice_advice([club.practice for club in bag], TABLE)
    return report_page(rows or player_rows(database, player), bag, gains, TABLE.source, YARDS)


def card_of(database: duckdb.DuckDBPyConnection, player: str):
    return card_content(player_rows(database, player), bag_of(database, player), YARDS)


def every_page(database: duckdb.DuckDBPyConnection, player: str) -> list[str]:
    rows, bag = player_rows(database, player), bag_of(database, player)
    gains = practice_advice([club.practice for club in bag], TABLE)
    return [
        report_of(database, player),
        card_page(card_of(database, player)),
        overview_page([PlayerEntry(rows, gains, "report.html")], YARDS),
    ]


def test_hostile_names_are_shown_and_never_run(database: duckdb.DuckDBPyConnection) -> None:
    for text in every_page(database, HOSTILE):
        page = Page(text)
        assert not page.of("script")
        assert HOSTILE in page.text
        assert all(not any(name.startswith("on") for name in tag) for _, tag in page.elements)


def test_pages_stand_alone(database: duckdb.DuckDBPyConnection) -> None:
    for text in every_page(database, ADA):
        page = Page(text)
        assert not page.of("link")
        assert not page.of("img")
        assert "@import" not in text
        assert set(re.findall(r"https?://[^\s\"']+", text)) <= {"http://www.w3.org/2000/svg"}
        (policy,) = [m for m in page.of("meta") if m.get("http-equiv")]
        assert str(policy["content"]).startswith("default-src 'none'")


def test_pages_can_be_read_without_seeing_them(database: duckdb.DuckDBPyConnection) -> None:
    for text in every_page(database, ADA):
        page = Page(text)
        assert page.of("html")[0]["lang"] == "en"
        assert page.of("meta")[1]["name"] == "viewport"
        assert len(page.of("h1")) == 1
        assert all(picture["role"] == "img" and picture["aria-label"] for picture in page.of("svg"))
        assert all("scope" in heading for heading in page.of("th"))
        names = {tag["id"] for _, tag in page.elements if "id" in tag}
        labels = {tag["aria-labelledby"] for _, tag in page.elements if "aria-labelledby" in tag}
        assert labels <= names
        assert len(page.of("table")) == len(
            [t for t in page.of("table") if t.get("aria-labelledby")]
        )


def test_no_identifier_is_given_twice(database: duckdb.DuckDBPyConnection) -> None:
    for text in every_page(database, ADA):
        names = [tag["id"] for _, tag in Page(text).elements if "id" in tag]
        assert len(names) == len(set(names))


def test_the_report_shows_every_club(database: duckdb.DuckDBPyConnection) -> None:
    page = Page(report_of(database, ADA))
    for part in ("What to practise next", "Dispersion", "Shape", "Carry over time", "Sessions"):
        assert part in page.text
    plans = [p for p in page.of("svg") if str(p["aria-label"]).startswith("Dispersion of the")]
    assert len(plans) == len(BAG)
    assert "54° wedge 9:00" in page.text
    assert "240 shots in 4 sessions, 2026-05-02 to 2026-05-29" in page.text


def test_numbers_on_the_page_are_those_of_the_view(database: duckdb.DuckDBPyConnection) -> None:
    carry, p10, p90 = database.execute(
        "SELECT carry_yd, carry_p10_yd, carry_p90_yd FROM carry_by_club "
        "WHERE player = $1 AND club = '7-iron'",
        [ADA],
    ).fetchone()
    row = re.search(r'<th scope="row">7-iron</th>(.*?)</tr>', report_of(database, ADA))
    assert row is not None
    cells = re.findall(r"<td>(.*?)</td>", row.group(1))
    assert cells[0] == f"{carry:.0f}"
    assert cells[4] == f"{p10:.0f}–{p90:.0f}"


def test_metres_are_metres(database: duckdb.DuckDBPyConnection) -> None:
    rows, bag = player_rows(database, ADA), bag_of(database, ADA)
    page = Page(report_page(rows, bag, PracticeAdvice(), TABLE.source, METRES))
    driver = rows.carry["carry_m"].max()
    assert f"{driver:.0f}" in page.text
    assert "5 m/s head" in page.text
    assert "mph" not in page.text


def test_twenty_thousand_shots_stay_below_two_megabytes(
    database: duckdb.DuckDBPyConnection,
) -> None:
    rows = player_rows(database, ADA)
    many = pl.concat([rows.shots] * (20_000 // rows.shots.height + 1)).head(20_000)
    text = report_of(database, ADA, replace(rows, shots=many))
    assert len(text.encode()) < 2_000_000


def test_a_player_with_nothing_but_one_shot(database: duckdb.DuckDBPyConnection) -> None:
    rows = player_rows(database, ADA)
    empty = {name: getattr(rows, name).head(0) for name in PlayerRows.__slots__ if name != "player"}
    page = Page(
        report_page(PlayerRows(player=ADA, **empty), [], PracticeAdvice(), TABLE.source, YARDS)
    )
    assert "There are no clubs to compare yet." in page.text
    assert "No shot has both a start direction and a side, which a shape needs." in page.text
    assert "A club needs two sessions to show how its carry goes." in page.text


def test_advice_names_each_club_once_and_the_gain(database: duckdb.DuckDBPyConnection) -> None:
    bag = bag_of(database, ADA)
    clubs = [club.practice for club in bag]
    for place in (0, 3):
        wild = lessened(clubs[place].option.pattern, "direction", 3.0)
        clubs[place] = replace(clubs[place], option=replace(clubs[place].option, pattern=wild))
    practice = practice_advice(clubs, TABLE)
    items = advice(practice)
    assert len({item["what"].split(" the ")[1] for item in items}) == len(items) >= 2
    assert "to the sides" in items[0]["why"]
    assert f"about {practice.gains[0].strokes_a_round:.2f} strokes fewer" in items[0]["why"]
    rows = player_rows(database, ADA)
    text = Page(report_page(rows, bag, practice, TABLE.source, YARDS)).text
    assert items[0]["why"] in text
    assert "Not enough shots" not in text


def test_what_can_not_be_judged_is_said(database: duckdb.DuckDBPyConnection) -> None:
    own, few = (bag_of(database, ADA)[place].practice for place in (1, 2))
    practice = PracticeAdvice(too_few=(replace(few, shots=1, sessions=1),), loft_unknown=(own,))
    assert not_judged(practice) == [
        "Not enough shots yet to judge: 5-iron (1 shot in 1 session).",
        "Not judged, because the name tells no loft: 5-wood.",
    ]
    assert advice(practice) == []


def test_the_card_has_four_faces_that_fit(database: duckdb.DuckDBPyConnection) -> None:
    content = card_of(database, ADA)
    cover, wedges, wind, gaps = content.faces
    assert [face.title for face in content.faces] == ["Carry", "Wedges", "Wind and air", "Gaps"]
    full = [entry for entry in BAG if entry[1] == "full"]
    assert len(cover.rows) == len(full)
    assert len(gaps.rows) == len(full) - 1
    assert wind.headings[1:3] == ("10 mph head", "10 mph tail")
    assert "read by hand at head height" in wind.note
    assert wedges.rows
    head = {row[0]: row[1] for row in wind.rows}
    assert all(cell.startswith("−") for cell in head.values())


def test_balls_stand_apart_on_card_and_report(database: duckdb.DuckDBPyConnection) -> None:
    rows, bag = player_rows(database, ADA), bag_of(database, ADA)
    other = pl.when(pl.col("club") == "7-iron").then(pl.lit("range")).otherwise("ball")
    mixed = [
        replace(club, pattern=replace(club.pattern, ball="range"))
        if club.pattern.club == "7-iron" else club
        for club in bag
    ]  # fmt: skip
    card = card_content(replace(rows, carry=rows.carry.with_columns(ball=other)), mixed, YARDS)
    assert ", premium ball, shots to" in card.lead
    for face in (card.faces[0], card.faces[2]):
        named = {row[0] for row in face.rows}
        assert "7-iron (range ball)" in named
        assert "driver" in named
    swung = rows.carry.filter(pl.col("swing") != "full").with_columns(ball=pl.lit("range"))
    both = replace(
        rows,
        carry=pl.concat([rows.carry, swung]),
        wedges=pl.concat([rows.wedges, rows.wedges.with_columns(ball=pl.lit("range"))]),
    )
    text = report_page(both, bag, PracticeAdvice(), "a table", YARDS)
    headings = re.findall(r"<h3>(\w+ ball)</h3>", text)
    assert headings == ["Premium ball", "Range ball"]


def test_the_card_prints_on_one_page_of_a4(database: duckdb.DuckDBPyConnection) -> None:
    content = card_of(database, ADA)
    pdf = card_pdf(content)
    assert pdf.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    assert b"/MediaBox [0 0 595.28 841.89]" in pdf
    words = pdf_text(pdf)
    for cell in (ADA, "driver", content.faces[0].rows[0][1], "Wind and air", "Gaps"):
        assert cell in words
    assert card_pdf(content) == pdf


def test_a_card_in_letters_that_a_pdf_does_not_have(database: duckdb.DuckDBPyConnection) -> None:
    for name in ("Zoë Ångström", "Łukasz Šťastný", "王小明", "x" * 200):
        content = replace(card_of(database, ADA), player=name)
        assert card_pdf(content).startswith(b"%PDF")
        assert name in Page(card_page(content)).text


def test_the_overview_links_each_report(database: duckdb.DuckDBPyConnection) -> None:
    entries = [
        PlayerEntry(player_rows(database, player), PracticeAdvice(), f"report-{place}.html")
        for place, player in enumerate((ADA, HOSTILE))
    ]
    page = Page(overview_page(entries, YARDS))
    assert [link["href"] for link in page.of("a")] == ["report-0.html", "report-1.html"]
    assert "2 players, 480 shots in 8 sessions." in page.text


def test_wedges_flags_and_putts_are_shown_where_there_are_any(
    database: duckdb.DuckDBPyConnection,
) -> None:
    rows = player_rows(database, ADA)
    wedges = pl.DataFrame(
        {
            "ball": ["premium"] * 3, "target_m": [45.72, 45.72, 91.44], "rank": [1, 2, 1],
            "club": ["54-wedge", "58-wedge", "54-wedge"], "swing": ["7:30", "9:00", "full"],
            "carry_m": [46.0, 48.0, 90.0], "expected_miss_m": [4.5, 5.0, 5.5],
            "hole_note": ["", "", "nothing carries this far"],
        }
    )  # fmt: skip
    session = rows.trend["session_id"][0]
    flags = pl.DataFrame(
        {
            "club": ["7-iron", "driver"], "swing": ["full"] * 2, "ball": ["premium"] * 2,
            "session_id": [session] * 2, "started_at": [rows.trend["started_at"][0]] * 2,
            "probability": [0.004, 0.02], "cause": ["A <b>head</b> wind."] * 2,
        }
    )  # fmt: skip
    putting = pl.DataFrame(
        {
            "putts": [30], "sessions": [2], "start_direction_deg": [-0.4], "start_sd_deg": [0.9],
            "share_holed_dead_weight": [0.97], "share_holed_firm": [0.93],
            "share_holed_firm_low": [0.81], "share_holed_firm_high": [0.97],
            "share_holed_hard": [0.86],
        }
    )  # fmt: skip
    shown = replace(rows, wedges=wedges, flags=flags, putting=putting)
    text = report_of(database, ADA, shown)
    page = Page(text)
    assert "54° wedge 7:30" in page.text
    assert "nothing carries this far" in page.text
    assert re.search(r'<th scope="row">50</th>', text)
    assert text.count("1 in 250") == 1
    assert "7-iron, driver" in page.text
    assert "A <b>head</b> wind." in page.text
    assert "30 putts in 2 sessions start 0.4 left degrees" not in page.text
    assert "0.4 degrees left of the line" in page.text
    assert "about 97 % of those fall that die at the hole" in page.text
    assert "of firm ones between 81 % and 97 %" in page.text
    # Half a hole of 108 mm (rules of the game) over 5 ft: atan(54 / 1524) = 2.03 deg.
    assert "must start within 2.0 degrees of the middle of the hole" in page.text
    assert f"leave it out everywhere: rangeledger exclude {session}" in page.text
    wedge_face = card_content(shown, bag_of(database, ADA), YARDS).faces[1]
    assert wedge_face.rows[0] == ("50", "54° wedge 7:30", "50")


def test_one_session_is_marked_by_a_star_and_not_by_the_sign_of_degrees(
    database: duckdb.DuckDBPyConnection,
) -> None:
    rows = player_rows(database, ADA)
    once = replace(rows, carry=rows.carry.with_columns(provisional=pl.col("club") == "7-iron"))
    face = card_content(once, bag_of(database, ADA), YARDS).faces[0]
    assert [row[0] for row in face.rows if row[0].endswith(("*", "°"))] == ["7-iron*"]
    assert face.note.endswith("* one session only.")
    text = report_of(database, ADA, once)
    assert "one session only are marked *." in Page(text).text
    assert '<th scope="row">7-iron*</th>' in text
    assert '<th scope="row">driver*</th>' not in text


def test_the_change_of_a_level_is_told_with_its_doubt(database: duckdb.DuckDBPyConnection) -> None:
    rows = player_rows(database, ADA)
    sure = rows.trend.with_columns(
        change_m=pl.lit(9.2), change_low_m=pl.lit(4.6), change_high_m=pl.lit(13.7), changed=True
    )
    told = Page(report_of(database, ADA, replace(rows, trend=sure))).text
    since = rows.trend["started_at"].min().date()
    assert f"+10 yd since {since} (90 %: +5 to +15)." in told
    unsure = sure.with_columns(changed=False, change_low_m=pl.lit(-1.0))
    told = Page(report_of(database, ADA, replace(rows, trend=unsure))).text
    assert f"+10 yd since {since} (90 %: −1 to +15), so no sure change." in told


def test_the_shape_tells_how_often_it_comes(database: duckdb.DuckDBPyConnection) -> None:
    share, low, high, left, straight, right = database.execute(
        "SELECT share_stock_shape, share_stock_low, share_stock_high, share_curving_left, "
        "share_straight, share_curving_right FROM shot_shape WHERE player = $1 "
        "AND club = '7-iron'", [ADA],
    ).fetchone()  # fmt: skip
    cells = [f"{100 * share:.0f} % ({100 * low:.0f}–{100 * high:.0f})"]
    cells += [f"{100 * value:.0f} %" for value in (left, straight, right)]
    assert "".join(f"<td>{cell}</td>" for cell in cells) in report_of(database, ADA)
    note = card_of(database, ADA).faces[3].note
    assert f"{100 * share:.0f} % of shots" in note


def test_each_swing_of_each_wedge_is_told(database: duckdb.DuckDBPyConnection) -> None:
    rows = player_rows(database, ADA)
    matrix = swing_matrix(rows.carry)
    assert "9:00" in matrix.swings
    cells = {row["label"]: row["cells"] for row in swing_cells(matrix, YARDS)}
    (carry, p10, p90) = database.execute(
        "SELECT carry_yd, carry_p10_yd, carry_p90_yd FROM carry_by_club "
        "WHERE player = $1 AND club = '54-wedge' AND swing = '9:00'", [ADA],
    ).fetchone()  # fmt: skip
    told = cells["54° wedge"][matrix.swings.index("9:00")]
    assert told == f"{carry:.0f} ({p10:.0f}–{p90:.0f})"
    assert told in Page(report_of(database, ADA)).text
    assert swing_matrix(rows.carry.filter(pl.col("swing") == "full")).rows == ()


def test_the_card_takes_round_distances_where_they_are_enough(
    database: duckdb.DuckDBPyConnection,
) -> None:
    yards = [float(yard) for yard in range(40, 125, 5)]
    wedges = pl.DataFrame(
        {"ball": "premium", "target_m": [0.9144 * yard for yard in yards], "rank": 1,
         "club": "54-wedge", "swing": "full", "carry_m": 80.0, "expected_miss_m": 5.0,
         "hole_note": None}
    )  # fmt: skip
    shown = replace(player_rows(database, ADA), wedges=wedges)
    face = card_content(shown, bag_of(database, ADA), YARDS).faces[1]
    assert [row[0] for row in face.rows] == [f"{yard}" for yard in range(40, 125, 10)]


def test_the_overview_and_the_report_tell_the_same_mishits(
    database: duckdb.DuckDBPyConnection,
) -> None:
    rows = player_rows(database, ADA)
    (share,) = database.execute(
        "SELECT sum(mishit_rate * shots) / sum(shots) FROM carry_by_club WHERE player = $1", [ADA]
    ).fetchone()
    text = overview_page([PlayerEntry(rows, PracticeAdvice(), "r.html")], YARDS)
    assert f"<td>{100 * share:.0f} %</td>" in text


def test_what_is_twice_as_much_is_told_in_times() -> None:
    gain = PracticeGain("7-iron", "full", "mishits", 2.17, 3.0, 0.087, 0.0043)
    (item,) = advice(PracticeAdvice((gain,)))
    assert item["why"] == (
        "Mishits are 3.2 times as frequent as usual; without that about 0.26 strokes fewer a "
        "round (about 3 uses a round). By luck: 1 in 230."
    )


def test_a_database_without_the_later_views_still_gives_pages(
    database: duckdb.DuckDBPyConnection,
) -> None:
    with duckdb.connect() as bare:
        for view in ("carry_by_club", "dispersion", "shots", "carry_trend", "sessions",
                     "shot_shape", "club_gaps", "putting_start_line"):  # fmt: skip
            rows = database.execute(f"SELECT * FROM {view}").pl()
            bare.execute(f"CREATE TABLE {view} AS SELECT * FROM rows")
            del rows
        found = player_rows(bare, ADA)
    assert found.wedges.is_empty()
    assert found.flags.is_empty()
    assert found.carry.height == len(BAG)


def test_letters_that_no_font_has_are_not_left_to_the_library_to_complain_of(
    database: duckdb.DuckDBPyConnection, caplog: pytest.LogCaptureFixture
) -> None:
    content = replace(card_of(database, ADA), player="Łucja 界 🏌")
    assert card_pdf(content).startswith(b"%PDF")
    assert caplog.text == ""


def test_a_coach_meets_no_codes(database: duckdb.DuckDBPyConnection) -> None:
    for text in every_page(database, ADA):
        for code in ("assumed-calm", "recovered", "provisional", " m/s", "1 sessions", "degC"):
            assert code not in Page(text).text
