"""Files dropped in a browser: harmless names, notes, several at once, and what became of them."""

from __future__ import annotations

import io
import re
import tomllib
from concurrent.futures import ThreadPoolExecutor

import duckdb
import polars as pl
import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.offered import is_export_name
from rangeledger.pipelines.pages_server import inbox_pages
from rangeledger.pipelines.pages_server.outcomes import Progress, _remarks
from rangeledger.pipelines.pages_server.uploads.dropping import drop, harmless_name
from rangeledger.pipelines.reader.normalising.notes import read_note
from rangeledger.schemas.arrow import REJECTED_SCHEMA, shots_polars_schema
from rangeledger.warehouse import database, lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import Batch, Offer
from starlette.testclient import TestClient

from tests.pipelines.pages_server.browsing import OWN, client_of, come_in


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd", "..\\..\\boot.ini", "/abs/olute.csv", ".hidden", "", "a.toml",
        "x.part",
        "x" * 400 + ".csv", "nul\x00byte.csv", "line\nbreak.csv", "<b>.csv", "ä ö é.csv",
        "..", "con", "a.csv\u202e", "é" * 300,
    ],
)  # fmt: skip
def test_any_name_becomes_a_harmless_one(home: Home, name: str) -> None:
    safe = harmless_name(name)
    assert is_export_name(safe)
    assert not re.search(r'[/\\\x00-\x1f<>:"|?*]', safe)
    assert len(safe.encode()) < 200
    dropped = drop(home, name, io.BytesIO(b"a,b\n1,2\n"), {})
    assert dropped.path.parent == home.inbox
    assert dropped.path.read_bytes() == b"a,b\n1,2\n"


def test_twenty_of_one_name_at_once_are_twenty_files_each_with_its_note(home: Home) -> None:
    def one(number: int) -> None:
        drop(home, "session.csv", io.BytesIO(b"%d\n" % number), {"player": f"P{number}"})

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(one, range(20)))
    found = {path.read_text().strip(): path for path in home.inbox.glob("*.csv")}
    assert set(found) == {str(number) for number in range(20)}
    for number, path in found.items():
        note = tomllib.loads(path.with_suffix(".toml").read_text())
        assert note == {"player": f"P{number}"}
    assert not list(home.inbox.glob(".*"))


def test_what_is_said_on_the_form_becomes_a_note_that_the_reader_takes(
    empty_inside: TestClient,
) -> None:
    home = empty_inside.app.state.site.home
    said = {
        "units": "yd", "player": 'Ann "Q" Lee', "date": "2026-05-02", "ball": "range",
        "surface": "mat", "wind": "10", "wind_from": "3", "temp": "50", "up": "1000",
        "range": "Home range",
    }  # fmt: skip
    files = {"files": ("a.csv", b"Club,Carry\n", "text/csv")}
    answer = empty_inside.post("/inbox/drop", data=said, files=files, headers=OWN)
    assert answer.status_code == 303
    note = read_note(home.inbox / "a.toml")
    assert note.values["player"] == 'Ann "Q" Lee'
    assert note.values["wind_speed_mps"] == pytest.approx(4.4704, abs=1e-3)  # 10 mph, NIST SP 811
    assert note.values["wind_from_deg"] == 90.0
    assert note.values["air_temp_c"] == pytest.approx(10.0)  # 50 degF, NIST SP 811
    assert note.values["altitude_m"] == pytest.approx(304.8)
    assert str(note.day) == "2026-05-02"
    page = empty_inside.get("/inbox?range=Home range").text
    assert re.search(r"<option selected>mat</option>", page)
    assert 'value="1000"' in page


@pytest.mark.parametrize(
    ("field", "value"), [("wind", "strong"), ("wind", "400"), ("temp", "300"), ("date", "soon")]
)
def test_what_cannot_be_is_told_and_nothing_is_dropped(
    empty_inside: TestClient, field: str, value: str
) -> None:
    files = {"files": ("a.csv", b"x", "text/csv")}
    answer = empty_inside.post("/inbox/drop", data={field: value}, files=files, headers=OWN)
    assert answer.status_code == 400
    assert "To the inbox" in answer.text
    assert inbox.waiting(empty_inside.app.state.site.home) == []


def test_a_dropped_file_waits_where_nobody_watches_and_the_page_says_so(
    empty_inside: TestClient,
) -> None:
    files = {"files": ("a.csv", b"x", "text/csv")}
    answer = empty_inside.post("/inbox/drop", files=files, headers=OWN)
    page = empty_inside.get(answer.headers["location"])
    assert "nobody watches" in page.text
    assert 'http-equiv="refresh"' in page.text  # so that it follows without a script


def test_an_empty_home_leads_to_a_first_file_or_the_demo(empty_inside: TestClient) -> None:
    assert empty_inside.get("/").headers["location"] == "/welcome"
    assert empty_inside.get("/players").headers["location"] == "/welcome"
    page = empty_inside.get("/welcome").text
    assert 'action="/demo"' in page
    assert 'type="file"' in page


OUTCOME = f"/inbox/outcome?file={'a' * 64}"


def test_a_load_can_be_undone_and_that_taken_back_by_the_commands_for_it(
    inside: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[list[str]] = []

    class Started:
        number = 7

    def start(words: list[str], _what: str, back: str) -> type[Started]:
        started.append([*words, back])
        return Started

    monkeypatch.setattr(inside.app.state.site.errands, "start", start)
    shown = inside.get(OUTCOME).text
    assert "Undo: take it out again" in shown
    assert "The file is kept" in shown
    address = f"/inbox/exports/{'a' * 64}"
    for do in ("take-out", "take-back", "read-again"):
        answer = inside.post(address, data={"do": do}, headers=OWN)
        assert answer.headers["location"] == "/errands/7"
    assert started == [
        ["exclude", "--why=taken out on the pages", "--export", "a" * 64, OUTCOME],
        ["include", "--export", "a" * 64, OUTCOME],
        ["reload", "a" * 64, OUTCOME],
    ]
    for wrong, do in ((address, "forget"), (f"/inbox/exports/{'c' * 64}", "take-out")):
        assert inside.post(wrong, data={"do": do}, headers=OWN).status_code == 404
    assert len(started) == 3


def test_what_was_taken_out_says_so_and_is_offered_back(
    inside: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = Progress("a" * 64, "a.csv", True, "Loaded, and taken out again", "loaded", taken_out=True)
    monkeypatch.setattr(inbox_pages, "progress_of", lambda *_: out)
    shown = inside.get(OUTCOME).text
    assert "taken out again" in shown
    assert 'value="take-back"' in shown
    assert 'value="take-out"' not in shown


def test_the_inbox_lists_what_came_lately_and_whose_it_is(inside: TestClient) -> None:
    shown = inside.get("/inbox").text
    assert re.search(r"1\.csv</a> <span>Loaded: 240 shots</span>\s*<span[^>]*>Ada Brook,", shown)


def test_of_many_files_what_is_to_be_done_stands_first_and_the_rest_is_short(
    inside: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    many = {
        letter: Progress(letter * 64, f"{letter}.csv", True, "Loaded", "loaded",
                         ["6 shots loaded, 0 rows rejected.", "One remark.", "Another."])
        for letter in "abcd"
    }  # fmt: skip
    many["d"] = Progress("d" * 64, "d.csv", True, "Refused", "quarantined", ["Why.", "And how."])
    monkeypatch.setattr(inbox_pages, "progress_of", lambda _site, source: many[source[0]])
    asked = "&".join(f"file={letter * 64}" for letter in "abcd")
    shown = inside.get(f"/inbox/outcome?{asked}").text
    assert re.findall(r"<h2>(\w)\.csv", shown) == ["d", "a", "b", "c"]
    assert "4 files: 3 loaded, 1 refused. What was refused stands first" in shown
    assert shown.count("<summary>2 remarks") == 3
    assert shown.count("<details>") == 3  # why one was refused is not folded away
    assert shown.count("The file is kept") == 1


def test_a_remark_does_not_say_twice_where_it_is() -> None:
    """A remark of the reader may name its line itself."""
    with duckdb.connect() as connection:
        connection.execute(
            "CREATE TABLE remarks (source_file TEXT, place TEXT, remark TEXT, settled_by TEXT)"
        )
        connection.executemany(
            "INSERT INTO remarks VALUES ('f', ?, ?, ?)",
            [["line 8", "Line 8: a word is unclear.", ""], ["line 9", "So is one.", "Say it."]],
        )
        told = _remarks(connection, "f")
    assert told == ["Line 8: a word is unclear.", "Line 9: So is one. Say it."]


def test_a_file_is_loaded_without_passing_all_that_may_be_said_of_it(
    empty_inside: TestClient,
) -> None:
    form = empty_inside.get("/welcome").text.partition('id="drop"')[2].partition("</form>")[0]
    assert form.index('type="file"') < form.index("<button>Load") < form.index("<details>")
    assert form.index("<details>") < form.index('name="player"')


def test_a_refusal_is_told_in_the_words_of_the_page(home: Home) -> None:
    """Not in those of mapping files, which the page that puts it right writes by itself."""
    reason = (
        "unclear: x.csv, line 1, column 6: The unit of column 'Carry' (carry_m) is not stated and "
        "its values fit more than one. Which is it? State it in a mapping or in the headings."
    )
    refused = Offer("x.csv", "f" * 64, "quarantined", reason)
    shots = pl.DataFrame(schema=shots_polars_schema())
    batch = Batch(1, "2026-06-01T10:00:00.000", (refused,))
    lake.write_batch(home, batch, shots, pl.DataFrame(schema=REJECTED_SCHEMA))
    with database.open_ledger(home):
        pass
    publishing.publish(home)
    with come_in(client_of(home)) as client:
        page = client.get(f"/inbox/outcome?file={'f' * 64}").text
    assert "(carry) is not stated" in page
    assert "Choose it below, or state it in the headings." in page
