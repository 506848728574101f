"""Notes beside an export: what they may say, and the sentences for what they may not."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from rangeledger.pipelines.reader.normalising.notes import KEYS, Note, companion_note, read_note
from rangeledger.schemas.errors import NoteError


def _note(folder: Path, text: str) -> Note:
    path = folder / "visit.toml"
    path.write_text(text, encoding="utf-8")
    return read_note(path)


def test_a_full_note(tmp_path: Path) -> None:
    note = _note(
        tmp_path,
        'player = " Runa  Halvorsen "\ndate = 2025-02-15\ntime = "14:30"\nball = "Rangeball"\n'
        'surface = "matte"\nclub = "Eisen 7"\nswing = "9 Uhr"\nair_temp_c = 19.5\n'
        "altitude_m = 210\n"
        'wind_speed_mps = 3\nwind_from_deg = 90\nzone = "Europe/Stockholm"\nhand = "left"\n'
        'date_order = "day-month"\nflight_basis = "measured"\n'
        '[units]\n"Carry" = "yards"\n[signs]\n"Side" = "left-positive"\n',
    )
    assert note.values == {
        "player": "Runa Halvorsen", "ball": "range", "surface": "mat", "club": "7-iron",
        "swing": "9:00", "air_temp_c": 19.5, "altitude_m": 210.0, "wind_speed_mps": 3.0,
        "wind_from_deg": 90.0, "flight_basis": "measured",
    }  # fmt: skip
    assert note.day == date(2025, 2, 15)
    assert note.moment == datetime(2025, 2, 15, 14, 30)
    assert note.zone is not None
    assert note.zone.key == "Europe/Stockholm"
    assert (note.hand, note.date_order) == ("left", "day-month")
    assert (note.units, note.signs) == ({"Carry": "yd"}, {"Side": "left-positive"})


@pytest.mark.parametrize("text", ['date = "2025-02-15"', "date = 2025-02-15", 'date = "15.2.2025"'])
def test_dates(tmp_path: Path, text: str) -> None:
    note = _note(tmp_path, text)
    assert (note.day, note.moment) == (date(2025, 2, 15), None)


def test_an_empty_note_and_a_byte_order_mark_are_fine(tmp_path: Path) -> None:
    assert _note(tmp_path, "# nothing yet\n") == Note()
    assert _note(tmp_path, '\ufeffball = "range"').values == {"ball": "range"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            'ball = "range"\nplyer = "x"',
            r"line 2: the key 'plyer' is not known; did you mean player",
        ),
        ("altitude_ft = 300", "did you mean altitude_m"),
        ("qqq = 1", "known keys are player, date"),
        (
            "air_temp_c = 99",
            r"air_temp_c = 99 can't be used; expected a number from -30 to 55 degC",
        ),
        ('air_temp_c = "18"', "without quotes"),
        ("humidity_pct = nan", "from 0 to 100"),
        ("altitude_m = true", "expected a number"),
        ('date = "03/04/2025"', "expected a date such as 2025-02-15"),
        ('time = "10:00"', "time is stated without date"),
        ('zone = "Mars/Base"', "expected a time zone"),
        ('zone = "../../etc/passwd"', "expected a time zone"),
        ('ball = "blue"', "expected premium, range, limited-flight or unknown"),
        ("\nplayer = ", "line 2: not valid TOML"),
        (
            '[units]\nCarry = "paces"',
            r"line 2: \[units\] Carry = 'paces' .* one of m, dm, cm",
        ),
        ("units = 3", r"write \[units\] on its own line"),
        ('date_order = "dmy"', "day-month or month-day"),
        ('player = ""', "expected text in quotes"),
    ],
)
def test_what_a_note_may_not_say(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(NoteError, match=message) as caught:
        _note(tmp_path, text)
    assert caught.value.code == "bad-note"
    assert str(caught.value).startswith("visit.toml, line")


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    path = tmp_path / "visit.toml"
    path.write_bytes(b'player = "J\xe4rn"')
    with pytest.raises(NoteError, match="save it as UTF-8"):
        read_note(path)
    with pytest.raises(NoteError, match="can't be read"):
        read_note(tmp_path / "absent.toml")


def test_the_note_beside_an_export(tmp_path: Path) -> None:
    export = tmp_path / "Visit 1.CSV"
    assert companion_note(export) is None
    (tmp_path / "visit 1.TOML").write_text("")
    assert companion_note(export) == tmp_path / "visit 1.TOML"


def test_every_key_is_named_in_full() -> None:
    assert len(set(KEYS)) == len(KEYS) == 20
