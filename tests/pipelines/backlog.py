"""A small backlog with everything that can happen to an export."""

from __future__ import annotations

from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons


def put_backlog(home: Home) -> None:
    """Drop plain exports, a duplicate, one with a note, one with a bad row, and two to refuse."""
    texts = {
        "a.csv": seven_irons("Ada Brook", "2026-05-02"),
        "b-again.csv": seven_irons("Ada Brook", "2026-05-02"),
        "c.csv": seven_irons("Ada Brook", "2026-06-09", "8 iron"),
        "d.csv": "\n".join(row.split(",", 1)[1] for row in seven_irons().splitlines()),
        "d.toml": 'player = "Noted Name"\n',
        "e.csv": seven_irons("Emil Vasse", "2026-05-03") + "Emil Vasse,2026-05-03,7 iron,x,,,,,,\n",
        "f.csv": "nothing of the kind\n",
        "g-again.csv": "nothing of the kind\n",
    }
    for name, text in texts.items():
        (home.inbox / name).write_text(text)


def put_many(home: Home, count: int) -> None:
    """Drop many small exports of a few players."""
    for number in range(count):
        year, month = 2026 - number // 336, 1 + number // 28 % 12  # no two days alike
        day = f"{year}-{month:02d}-{1 + number % 28:02d}"
        text = seven_irons(f"Player {number % 4}", day, f"{7 + number % 3} iron")
        if number % 11 == 10:
            text = f"nothing of the kind {number}\n"
        (home.inbox / f"{number:04d}.csv").write_text(text)
