"""What lines beside a table say that its headings and codes mean."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.reader.recognising.legends import decoded, meanings_in
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

FLIGHTS = ("48.3,17.5,6100,139.2", "49.0,16.8,5900,142.8", "47.6,18.2,6300,136.0")


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("ball: X = premium ball, Y = range ball", {"X": "premium ball", "Y": "range ball"}),
        ("Slots: 1 driver / 2 five wood / 3 six iron", {"1": "driver", "2": "five wood"}),
        ("A ... what was swung", {"A": "what was swung"}),
        ("Symbols: v = ball speed; n = total spin", {"v": "ball speed", "n": "total spin"}),
        ("D: direction, plus = left of the line", {"D": "direction, plus = left of the line"}),
    ],
)
def test_a_legend_is_understood_however_it_is_punctuated(
    line: str, expected: dict[str, str]
) -> None:
    found = {meaning.code: meaning.words for meaning in meanings_in([line])}
    assert expected.items() <= found.items()


def test_numbers_are_codes_only_in_the_column_that_the_legend_names() -> None:
    meanings = meanings_in(["Slots: 1 driver / 2 five wood"])
    cells = [pl.Series(["1", "2", "1"]), pl.Series(["1", "2", "2"])]
    found = decoded(["Slot", "Shot"], cells, meanings)
    assert {place: text.to_list() for place, text in found.items()} == {
        0: ["driver", "five wood", "driver"]
    }


LEGEND = [
    "A: ball speed in metres per second", "B: launch angle in degrees",
    "C: total spin in revolutions per minute", "D: carry along the target line in metres",
]  # fmt: skip


@pytest.mark.parametrize("above", [True, False])
def test_headings_of_one_letter_are_read_by_a_legend_above_or_below(
    tmp_path: Path, above: bool
) -> None:
    table = ["Club,A,B,C,D", *(f"7 iron,{flight}" for flight in FLIGHTS)]
    lines = [*LEGEND, "", *table] if above else [*table, "", *LEGEND]
    export = prepared(tmp_path, "\n".join(lines))
    assert export.shots["carry_m"].to_list() == [139.2, 142.8, 136.0]
    assert export.shots["ball_speed_mps"].to_list() == [48.3, 49.0, 47.6]


def test_a_codebook_of_two_columns_is_no_heading(tmp_path: Path) -> None:
    book = ["CB\t1 = driver, 2 = 7 iron", "BV\tball velocity, m/s", "LA\tlaunch angle, degrees",
            "TS\ttotal spin, rpm", "CD\tcarry distance, m"]  # fmt: skip
    rows = [f"2\t{flight}".replace(",", "\t") for flight in FLIGHTS]
    export = prepared(tmp_path, "\n".join([*book, "", "CB\tBV\tLA\tTS\tCD", *rows]))
    assert export.shots["club"].to_list() == ["7-iron"] * 3


HEAD = "Club,Ball speed (m/s),Launch angle (deg),Spin (rpm),Carry (m)"


def test_a_code_that_stands_for_simulated_rejects_its_rows(tmp_path: Path) -> None:
    rows = [f"7 iron,{f},{code}" for f, code in zip(FLIGHTS, ("m", "s", "m"), strict=True)]
    legend = "Origin: m = a ball was struck; s = simulated by the program"
    export = prepared(tmp_path, "\n".join([legend, f"{HEAD},Origin", *rows]))
    assert export.shots["source_row"].to_list() == [3, 5]
    assert export.rejected["reason_code"].to_list() == ["not-a-shot"]


def test_a_heading_between_tabs_explains_nothing(tmp_path: Path) -> None:
    rows = [f"7 iron,{flight}" for flight in FLIGHTS]
    lines = [line.replace(",", "\t") for line in [HEAD, *rows]]
    assert meanings_in([lines[0]]) == []
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 3


def test_a_straight_distance_that_a_legend_names_is_not_taken_for_the_carry(tmp_path: Path) -> None:
    legend = "Polar form: r = straight-line distance tee to landing (m), beta = bearing of it (deg)"
    head = "Club,Ball speed (m/s),Launch angle (deg),Spin (rpm),r,beta"
    rows = [f"7 iron,{flight},-4.5" for flight in FLIGHTS]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join([legend, head, *rows]))
    assert refused.value.code == "unclear-columns"


def test_two_codes_before_one_colon_get_their_two_meanings() -> None:
    line = "up / across: launch angle and launch direction in degrees; across is minus when left"
    found = {meaning.code: meaning.words for meaning in meanings_in([line])}
    assert found == {"up": "launch angle", "across": "launch direction in degrees"}


@pytest.mark.parametrize(
    "line", ["Ball: R = range ball, P = premium ball. Lie: M = mat, G = grass"]
)
def test_a_legend_of_two_columns_may_stand_in_one_line(line: str) -> None:
    meanings = [(m.scope, m.code, m.words) for m in meanings_in([line]) if m.scope]
    assert meanings == [
        ("ball", "R", "range ball"), ("ball", "P", "premium ball"),
        ("lie", "M", "mat"), ("lie", "G", "grass"),
    ]  # fmt: skip


def test_a_heading_before_its_code_says_of_which_column_it_speaks() -> None:
    meanings = [(m.scope, m.code, m.words) for m in meanings_in(["Tick x = struck off the toe"])]
    assert meanings == [("tick", "x", "struck off the toe")]


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("Axis: D = tilted left (draw), F = tilted right (fade)", "DF"),
        ("Spin axis: A = to the left, B = to the right", "AB"),
        ("A = nach links, B = nach rechts", "AB"),
        ("G = vers la gauche; D = vers la droite", "GD"),
    ],
)
def test_codes_behind_numbers_are_sides_where_a_legend_says_so(line: str, codes: str) -> None:
    cells = pl.Series([f"3.0 {codes[0]}", f"4.2 {codes[1]}", None, "0.0", f"1,5{codes[0]}"])
    found = decoded(["Spin axis (°)"], [cells], meanings_in([line]))
    assert found[0].to_list() == ["3.0 L", "4.2 R", None, "0.0", "1,5L"]


@pytest.mark.parametrize(
    "line",
    [
        "D = draw, F = fade", "D = left of the line, F = left of the flag", "D = tilted left",
        "D = left to right, F = right to left",
    ],
)  # fmt: skip
def test_codes_that_tell_no_two_sides_stay_as_they_are(line: str) -> None:
    cells = pl.Series(["3.0 D", "4.2 F"])
    assert not decoded(["Spin axis"], [cells], meanings_in([line]))


def test_letters_that_two_lines_explain_the_other_way_round_stay_unread() -> None:
    lines = ["A = left of the target, B = right of the target", "Side: A = right, B = left"]
    texts = [pl.Series(["2 B", "3 A", "4 B"])]
    assert not decoded(["Side (yd)"], texts, meanings_in(lines))
    assert decoded(["Side (yd)"], texts, meanings_in(lines[:1]))


def test_codes_that_count_on_from_line_to_line_are_a_legend() -> None:
    lines = ["# V1 club", "# V2 ball speed, miles per hour", "# V3 carry, yards"]
    meanings = {meaning.code: meaning.words for meaning in meanings_in(lines)}
    assert meanings == {"V1": "club", "V2": "ball speed, miles per hour", "V3": "carry, yards"}
    assert not meanings_in(["Bay3 club", "Bay5 ball", "Bay9 mat"])


@pytest.mark.parametrize(
    "lines",
    [
        ("A = left of the target, B = right of the target", "Side: A = right, B = left"),
        ("Side: A = left, B = right", "A = right, B = left"),
        ("A = links, B = rechts", "Side: A = rechts, B = links"),
    ],
)
def test_a_legend_that_is_told_both_ways_gives_no_side(
    tmp_path: Path, lines: tuple[str, str]
) -> None:
    shots = [f"7 iron,48.{k},17.{k},13{k}.2,{k + 1} {'AB'[k % 2]}" for k in range(6)]
    head = "Club,Ball speed (m/s),Launch angle (deg),Carry (m),Side (m)"
    export = prepared(tmp_path, "\n".join([lines[0], head, *shots, lines[1]]))
    assert export.shots.height == 6
    assert export.shots["carry_side_m"].null_count() == 6
    assert any("Side (m)" in str(remark) for remark in export.recognition.remarks)


def test_letters_of_clubs_mean_what_the_legend_says(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "B": ["I4"] * 4 + ["F7"] * 3 + ["L3"] * 7, "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, f"Le mie sigle: F = ferro, L = legno, I = ibrido\n{text}")
    assert export.shots["club"].to_list() == ["4-hybrid"] * 4 + ["7-iron"] * 3 + ["3-wood"] * 7


def test_a_slash_in_brackets_parts_no_legend() -> None:
    found = meanings_in(["OFF = yards off line (R right / L left); HT = height in feet"])
    words = {meaning.code: meaning.words for meaning in found}
    assert words == {"OFF": "yards off line (R right / L left)", "HT": "height in feet"}


def test_a_sentence_below_lists_what_the_headings_mean(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "cl": clubs(14), "v": flights["ball_speed_mps"], "up": flights["launch_angle_deg"],
        "cr": flights["carry_m"], "o": flights["carry_side_m"],
    }, delimiter=";")  # fmt: skip
    line = "My letters: cl club, v ball speed m/s, up launch angle in degrees, cr carry metres, "
    export = prepared(tmp_path, f"{text}\n{line}o offline at landing in metres\n")
    assert export.shots.height == 14
    assert export.shots["ball_speed_mps"].to_list() == pytest.approx(
        flights["ball_speed_mps"].tolist(), abs=0.01
    )
    assert export.shots["carry_side_m"].null_count() == 0
