"""Files that are no exports of shots, though some share words and shape with them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.exports.other_games import GAMES
from tests.exports.printing import pick


def _table(heading: str, rows: list[str], line_end: str = "\n") -> bytes:
    return (line_end.join([heading, *rows]) + line_end).encode()


def bank_statement(rng: np.random.Generator) -> bytes:
    """Dates, amounts and a shop that sells irons."""
    shops = (
        "Iron & Wood Ltd",
        "Driver licence office",
        "Club membership",
        "Wedge bakery",
        "Ball hire",
    )
    rows = [
        f"2025-0{1 + i % 9}-1{i % 9},{pick(rng, shops)},"
        f"{rng.normal(0, 80):.2f},{rng.uniform(100, 900):.2f}"
        for i in range(14)
    ]
    return _table("Date,Description,Amount,Balance", rows)


def weather_log(rng: np.random.Generator) -> bytes:
    """Speeds, directions, temperatures and heights, but no balls."""
    rows = [
        f"2025-05-04 {h:02d}:00,{rng.uniform(0, 12):.1f},{rng.uniform(0, 360):.0f},"
        f"{rng.uniform(5, 25):.1f},{rng.uniform(990, 1030):.1f},{rng.uniform(30, 90):.0f}"
        for h in range(24)
    ]
    return _table(
        "Time,Wind speed (m/s),Wind direction (°),Temperature (°C),Pressure (hPa),Humidity (%)",
        rows,
    )


def scorecard(rng: np.random.Generator) -> bytes:
    """Eighteen holes with lengths in yards, clubs off the tee and putts."""
    rows = [
        f"{hole},{pick(rng, (3, 4, 5))},{rng.integers(130, 540)},"
        f"{pick(rng, ('Driver', '7 Iron', '3 Wood'))},{rng.integers(3, 7)},{rng.integers(1, 4)}"
        for hole in range(1, 19)
    ]
    return _table("Hole,Par,Length (yards),Club off the tee,Score,Putts", rows)


def heart_rate_log(rng: np.random.Generator) -> bytes:
    """A runner's log: speed, distance, height, time."""
    rows = [
        f"2025-05-04T09:{m:02d}:00,{rng.integers(90, 170)},{rng.uniform(2, 5):.2f},"
        f"{m * 180},{rng.uniform(20, 60):.1f}"
        for m in range(40)
    ]
    return _table("Time,Heart rate (bpm),Speed (m/s),Distance (m),Elevation (m)", rows)


def putting_statistics(rng: np.random.Generator) -> bytes:
    """Percentages of putts holed by distance."""
    rows = [f"{d},{rng.integers(20, 60)},{rng.uniform(10, 99):.1f}" for d in range(2, 30, 2)]
    return _table("Distance (ft),Putts,Holed (%)", rows)


def averages(rng: np.random.Generator) -> bytes:
    """Means by club, no shots."""
    clubs = ("Driver", "3 Wood", "5 Iron", "7 Iron", "9 Iron", "PW")
    rows = [
        f"{club},{rng.integers(8, 60)},{150 - 12 * i + rng.normal():.1f},"
        f"{240 - 25 * i + rng.normal():.1f},{rng.uniform(3, 12):.1f}"
        for i, club in enumerate(clubs)
    ]
    heading = str(pick(rng, (
        "Club,Shots,Avg ball speed (mph),Avg carry (yds),Std dev carry (yds)",
        "Club,Number of shots,Average ball speed (mph),Average carry (yards),SD carry (yards)",
        "Schläger,Anzahl,Mittlere Ballgeschwindigkeit (mph),Mittlere Flugweite (yd),Streuung (yd)",
    )))  # fmt: skip
    return _table(heading, rows)


def heading_only(rng: np.random.Generator) -> bytes:
    """A heading without shots, perhaps with a row of units."""
    rows = ["", "mph,°,rpm,yards"][: int(rng.integers(0, 3))][1:]
    return _table("Ball speed,Launch angle,Spin rate,Carry", rows)


def stock_list(rng: np.random.Generator) -> bytes:
    """A shop's stock of clubs and balls."""
    goods = ("Driver 10.5°", "7 Iron", "Sand Wedge 56°", "Range balls", "Putter", "Tees")
    rows = [f"{item};{rng.integers(1, 40)};{rng.uniform(5, 400):.2f}" for item in goods]
    return _table("Club;Quantity;Price", rows)


def prose(rng: np.random.Generator) -> bytes:
    """A letter with commas and numbers in it."""
    lines = [
        "Dear coach,",
        "yesterday I hit the driver 240 yards, with 150 mph ball speed, or so they said.",
        f"Carry was {rng.integers(200, 240)}, side 12, and the launch angle about 11 degrees.",
        "Best wishes,",
        "a pupil",
    ]
    return "\n".join(lines).encode()


def opening_hours(rng: np.random.Generator) -> bytes:
    """Bay numbers and times of a driving range."""
    rows = [
        f"{bay},{8 + bay % 3}:00,{18 + bay % 4}:30,{rng.integers(0, 99)}" for bay in range(1, 20)
    ]
    return _table("Bay,Opens,Closes,Balls left", rows)


def lesson_plan(rng: np.random.Generator) -> bytes:
    """Targets by club: a carry that is wished for, not struck."""
    clubs = ("Driver", "5 Wood", "6 Iron", "8 Iron", "PW", "SW")
    rows = [
        f"{club},{rng.integers(60, 240)},{rng.integers(5, 20)},{rng.integers(5, 30)}"
        for club in clubs
    ]
    return _table("Club,Target carry (yards),Allowed miss (yards),Repetitions", rows)


_OTHERS: tuple[tuple[str, Callable[[np.random.Generator], bytes], str], ...] = (
    ("statement.csv", bank_statement, "a bank statement"),
    ("weather.csv", weather_log, "a weather log"),
    ("scorecard.csv", scorecard, "a scorecard"),
    ("run.csv", heart_rate_log, "a heart-rate log"),
    ("putting.csv", putting_statistics, "putting statistics"),
    ("averages.csv", averages, "averages per club"),
    ("empty-table.csv", heading_only, "a heading without shots"),
    ("stock.csv", stock_list, "a shop's stock list"),
    ("letter.csv", prose, "a letter"),
    ("bays.csv", opening_hours, "opening hours"),
    ("plan.csv", lesson_plan, "a lesson plan"),
)


def random_other(rng: np.random.Generator) -> tuple[str, bytes, str]:
    """Name, content and description of a file that is no export."""
    name, make, hard = pick(rng, (*_OTHERS, *GAMES))
    return name, make(rng), hard
