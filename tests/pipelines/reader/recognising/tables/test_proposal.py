"""Proposed mappings: whoever completes only their flagged lines has one that loads the export."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import prepared

ROWS = ("108.1,17.5,6100,149.2,2.1", "109.6,16.8,5900,151.8,-3.0", "106.9,18.2,6300,147.0,1.4")
NAMED = {"ball": ("ball_speed_mps", "mph"), "up": ("launch_angle_deg", "deg"),
         "turns": ("spin_rate_rpm", "rpm"), "flown": ("carry_m", "yd"),
         "off": ("carry_side_m", "yd")}  # fmt: skip


def completed(mapping: str, answers: dict[str, tuple[str, str]], club: str | None = None) -> str:
    """A mapping with its flagged lines completed, and nothing else touched.

    The lines to complete are those below a CHECK up to the next table.
    """
    done, key, flagged = list[str](), "", False
    for line in mapping.splitlines():
        table = re.match(r'\[columns\."(.*)"\]', line)
        if line.startswith("["):
            key, flagged = (table[1] if table else ""), False
        flagged |= line.startswith("# CHECK")
        if flagged and club and line.startswith("# club"):
            line = f'club = "{club}"'
        if flagged and key in answers and line.startswith("column"):
            column, unit = answers[key]
            line = f'column = "{column}"'
            done += [f'unit = "{unit}"'] if unit else []
            done += ['positive = "right"'] if "side" in column else []
        elif flagged and key in answers and re.match(r"(# )?(unit|positive) =", line):
            continue
        done.append(line)
    return "\n".join(done)


def settled(tmp_path: Path, text: str, answers: dict[str, tuple[str, str]], **more: str) -> int:
    """Number of shots of an export that was refused, under its completed proposal."""
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert refusal.value.mapping is not None
    folder = tmp_path / "mappings"
    folder.mkdir()
    (folder / "mine.toml").write_text(completed(refusal.value.mapping, answers, **more))
    first = prepared(tmp_path, text, mappings_dir=folder).shots
    # Another export of the layout loads without a question.
    again = prepared(tmp_path, text.replace("108.1", "107.3"), mappings_dir=folder).shots
    assert again.height == first.height
    assert first["carry_m"].to_list()[0] == pytest.approx(149.2 * 0.9144)
    return first.height


def test_headings_that_nobody_knows(tmp_path: Path) -> None:
    lines = ["Wurfholz,Qa,Qb,Qc,Qd,Qe", *(f"7 iron,{row}" for row in ROWS)]
    answers = dict(zip(("Qa", "Qb", "Qc", "Qd", "Qe"), NAMED.values(), strict=True))
    assert settled(tmp_path, "\n".join(lines), answers) == 3


def test_the_line_of_headings_that_were_not_found_is_told(tmp_path: Path) -> None:
    lines = ["Some words of ours", "", "Wurfholz,Qa,Qb,Qc,Qd,Qe", *(f"7 iron,{r}" for r in ROWS)]
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, "\n".join(lines))
    assert "heading_line = 3" in (refusal.value.mapping or "")


def test_a_unit_that_nothing_states(tmp_path: Path) -> None:
    lines = ["Club,Carry", "7 iron,149.2", "7 iron,151.8", "7 iron,147.0"]
    assert settled(tmp_path, "\n".join(lines), {"Carry": ("carry_m", "yd")}) == 3


def test_a_club_that_nothing_states(tmp_path: Path) -> None:
    head = "Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd),Side (yd) + right"
    assert settled(tmp_path, "\n".join([head, *ROWS]), {}, club="7-iron") == 3


def test_headings_that_are_there_twice_are_told_apart_by_their_place(tmp_path: Path) -> None:
    lines = ["Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd),Carry (yd)"]
    lines += [f"7 iron,{row.rsplit(',', 1)[0]},{120 + 7 * k}" for k, row in enumerate(ROWS)]
    answers = {"Carry (yd)@5": ("carry_m", "yd"), "Carry (yd)@6": ("", "")}
    assert settled(tmp_path, "\n".join(lines), answers) == 3


def test_a_carry_under_a_word_that_nobody_knows(tmp_path: Path) -> None:
    head = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Zurp (yd),Side (yd) + right"
    lines = [head, *(f"7 iron,{row}" for row in ROWS)]
    assert settled(tmp_path, "\n".join(lines), {"Zurp (yd)": ("carry_m", "yd")}) == 3


def test_all_canonical_names_and_units_stand_beside_a_doubt(tmp_path: Path) -> None:
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, "Club,Carry\n7 iron,149.2\n7 iron,151.8\n7 iron,147.0\n")
    mapping = refusal.value.mapping or ""
    assert "launch_direction_deg" in mapping
    assert re.search(r"unit = .*or one of: yd, m, ft", mapping)


@pytest.mark.parametrize(
    "text",
    [
        "Item,Price,Stock\nDriver,199,3\n7 iron,89,12\nTowel,9,40\n",
        "Serve,Speed (km/h),Net clearance (cm)\n1,180,22\n2,176,30\n3,183,18\n",
        "Runner,Lap,Split (s)\nAnn,1,71.2\nAnn,2,72.0\nAnn,3,70.8\n",
    ],
)
def test_no_mapping_is_offered_for_what_holds_no_golf_shots(tmp_path: Path, text: str) -> None:
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert refusal.value.mapping is None
