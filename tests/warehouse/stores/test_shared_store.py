"""Several homes on one store: each export once, all answer alike, academies apart."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import forgetting, ledger
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.schemas.errors import BusyError, HomeError, StorageError, UsageError
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores import rows, shown
from rangeledger.warehouse.stores.moving import join, leave
from rangeledger.warehouse.stores.shared_store import PUBLISHED, SharedStore
from rangeledger.warehouse.stores.steward import fetch_published, steward_of
from rangeledger.warehouse.stores.store import store_of

from tests.exports_text import seven_irons
from tests.pipelines.killing import CLOCK_COLUMNS, Killer, contents, different
from tests.pipelines.remembering import remember_reading_and_fits
from tests.pipelines.rival_loaders import exports, fill, rival, wrong_with
from tests.services.shared_place import SharedPlace, lake_of, objects_of

pytestmark = [pytest.mark.fleet, pytest.mark.slow]


@pytest.fixture(autouse=True)
def _read_and_fit_once(monkeypatch: pytest.MonkeyPatch) -> None:
    remember_reading_and_fits(monkeypatch)


def load(home: Home, **files: str) -> list[str]:
    for name, text in files.items():
        (home.inbox / f"{name}.csv").write_text(text)
    outcomes = ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    return [outcome.state.value if outcome.state else outcome.left for outcome in outcomes]


def as_read_in_the_lake(home: Home) -> dict[str, list[str]]:
    lake = lake_of(home)
    try:
        names = query(home, "SELECT DISTINCT view_name FROM data_dictionary").to_series()
        found = {}
        for name in names:
            rows = lake.execute(f"FROM {name}").pl()
            kept = [c for c in rows.columns if c not in CLOCK_COLUMNS]
            found[name] = sorted(map(repr, rows.select(kept).iter_rows()))
        return found
    finally:
        lake.close()


def test_homes_on_one_store_answer_alike_and_like_a_home_alone(
    home: Home, tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user, site="North")
    south = shared_place.home(tmp_path / "south", user, site="South")
    home.settings_file.write_text('zone = "Europe/Stockholm"\n')
    ada, zoe = seven_irons(), seven_irons("Zoe Marsh", "2026-05-03")
    assert load(north, ada=ada) == ["loaded"]
    assert load(south, zoe=zoe) == ["loaded"]
    assert load(south, ada=ada) == ["duplicate"]
    for each in ("ada", "zoe"):
        load(home, **{each: {"ada": ada, "zoe": zoe}[each]})
    load(home, ada=ada)
    ledger.complete(north)
    sites = query(north, "SELECT DISTINCT player, site FROM shots ORDER BY ALL").rows()
    assert sites == [("Ada Brook", "North"), ("Zoe Marsh", "South")]
    alone, one, other = contents(home.root), contents(north.root), contents(south.root)
    assert set(different(one, other)) <= {"archive", "quarantine", "inbox"}
    assert set(different(alone, one)) <= {"archive", "quarantine", "inbox", "shots"}
    shown = as_read_in_the_lake(north)
    assert [name for name in shown if shown[name] != one[name]] == []
    lake = lake_of(north)
    question = "FROM carry_in('Ada Brook', '7-iron', headwind := 5)"
    assert lake.execute(question).fetchall() == query(north, question).rows()
    lake.close()
    reader = shared_place.home(tmp_path / "reader", user)
    fetch_published(reader)
    assert query(reader, "SELECT count(*) FROM shots").item() == 12


def test_who_lost_the_lock_to_another_home_writes_nothing_and_may_try_again(
    tmp_path: Path, shared_place: SharedPlace, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = shared_place.academy()
    north, south = (shared_place.home(tmp_path / name, user) for name in ("north", "south"))
    assert load(north, ada=seven_irons()) == ["loaded"]
    write, lost = SharedStore.write_batch, []

    def write_late(self: SharedStore, *load_of_one: Any) -> None:
        if self._home.root == north.root and not lost:  # as where the catalog is started again
            lost.append(self._catalog.execute("SELECT pg_advisory_unlock_all()"))
            assert load(south, zoe=seven_irons("Zoe Marsh")) == ["loaded"]
        write(self, *load_of_one)

    monkeypatch.setattr(SharedStore, "write_batch", write_late)
    with pytest.raises(BusyError, match="try again"):
        load(north, bo=seven_irons("Bo Lind"))
    assert load(north) == ["loaded"]
    for home in (north, south):
        ledger.complete(home)
        players = query(home, "SELECT DISTINCT player FROM shots ORDER BY player").to_series()
        assert players.to_list() == ["Ada Brook", "Bo Lind", "Zoe Marsh"]


class _Beside:
    """A connection that lets something happen right after its first query of a table."""

    def __init__(self, connection: Any, table: str, happens: Callable[[], object]) -> None:
        self._connection, self._table, self._happens = connection, table, [happens]

    def execute(self, query: str, *parameters: Any) -> Any:
        answer = self._connection.execute(query, *parameters)
        if self._table in query and self._happens:
            found = answer.pl()
            self._happens.pop()()
            return SimpleNamespace(pl=lambda: found, fetchall=found.rows)
        return answer


def test_a_load_that_comes_while_others_are_brought_is_brought_whole(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north, south = (shared_place.home(tmp_path / name, user) for name in ("north", "south"))
    load(north, ada=seven_irons())
    load(south, zoe=seven_irons("Zoe Marsh"))
    lake = _Beside(lake_of(north), "loads.offers", lambda: load(south, bo=seven_irons("Bo Lind")))
    rows.pull_batches(lake, north)  # type: ignore[arg-type]
    ledger.complete(north)
    players = query(north, "SELECT DISTINCT player FROM shots ORDER BY player").to_series()
    assert players.to_list() == ["Ada Brook", "Bo Lind", "Zoe Marsh"]


def test_a_load_that_comes_after_all_was_brought_is_brought_the_next_time(
    tmp_path: Path, shared_place: SharedPlace, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = shared_place.academy()
    north, south = (shared_place.home(tmp_path / name, user) for name in ("north", "south"))
    load(north, ada=seven_irons())
    load(south, zoe=seven_irons("Zoe Marsh"))
    pull, came = rows.pull_decisions, []

    def pull_late(connection: Any, home: Home) -> int:
        found = pull(connection, home)
        if home.root == north.root and not came:
            came.append(True)
            load(south, bo=seven_irons("Bo Lind"))
        return found

    monkeypatch.setattr(rows, "pull_decisions", pull_late)
    ledger.complete(north)
    assert came
    assert load(north, eva=seven_irons("Eva Holt")) == ["loaded"]
    players = query(north, "SELECT DISTINCT player FROM shots ORDER BY player").to_series()
    assert players.to_list() == ["Ada Brook", "Bo Lind", "Eva Holt", "Zoe Marsh"]


def test_rivals_that_are_killed_load_each_export_once(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    homes = [shared_place.home(tmp_path / name, user) for name in ("north", "south")]
    files = exports(5)
    for one in homes:
        fill(one, files, backwards=one is homes[1])
    with Killer() as killer:
        assert rival(killer, homes, kills=2) >= 1
    for one in homes:
        ledger.complete(one)
    assert wrong_with(homes[0], files) == []
    assert not any(inbox.waiting(one) for one in homes)
    with steward_of(homes[0]) as steward:
        steward.tidy(0.0)
    assert wrong_with(homes[1], files) == []


def test_a_home_moves_into_a_store_and_back(
    home: Home, tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user)
    load(north, ada=seven_irons())
    load(home, ada=seven_irons(), zoe=seven_irons("Zoe Marsh", "2026-05-03"))
    with pytest.raises(UsageError, match="names no shared store"):
        join(home)
    home.settings_file.write_text('zone = "UTC"\n' + shared_place.settings(user))
    shared_place.write_secrets(home)
    with pytest.raises(HomeError, match="has loads of its own"):
        ledger.complete(home)
    assert join(home) == {"loads": 1, "exports": 2, "shots": 6}
    ledger.complete(home)
    ledger.complete(north)
    for one in (home, north):
        assert query(one, "SELECT count(*) FROM shots").item() == 12
    shared_place.closing.callback(store_of(home).close)  # type: ignore[attr-defined]
    assert leave(north) == {"loads": 2, "shots": 12, "originals fetched": 1}
    assert read_settings(north).store is None
    assert load(north, ines=seven_irons("Ines Dahl", "2026-05-04")) == ["loaded"]
    ledger.complete(home)
    assert query(home, "SELECT count(*) FROM shots").item() == 12


def test_what_one_home_forgets_is_gone_everywhere(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user)
    south = shared_place.home(tmp_path / "south", user)
    load(north, ada=seven_irons(), zoe=seven_irons("Zoe Marsh", "2026-05-03"))
    ledger.complete(south)
    assert forgetting.forget(north, forgetting.weigh_player(north, "Ada Brook")) == []
    ledger.complete(south)
    assert query(south, "SELECT DISTINCT player FROM shots").rows() == [("Zoe Marsh",)]
    assert forgetting.forgetting.forgotten_files(south, ["Ada Brook"]) == []
    ledger.complete(north)
    folder = shared_place.objects.folder / shared_place.bucket
    told = [name for name in objects_of(shared_place) if _names_ada(folder / name)]
    assert told == []


def _names_ada(path: Path) -> bool:
    if path.suffix != ".parquet":
        return b"Ada Brook" in path.read_bytes()
    rows = duckdb.sql(f"SELECT * FROM read_parquet('{path}')").fetchall()
    return any("Ada Brook" in str(row) for row in rows)


def test_an_academy_can_not_name_what_is_anothers(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    one = shared_place.academy("academy_one", "first-password")
    two = shared_place.academy("academy_two", "second-password")
    first = shared_place.home(tmp_path / "first", one, "academy_one")
    second = shared_place.home(tmp_path / "second", two, "academy_two")
    shared_place.write_secrets(first, "first-password")
    shared_place.write_secrets(second, "second-password")
    load(first, ada=seven_irons())
    load(second, zoe=seven_irons("Zoe Marsh"))
    assert query(second, "SELECT DISTINCT player FROM shots").rows() == [("Zoe Marsh",)]
    stranger = shared_place.home(tmp_path / "stranger", two, "academy_one")
    shared_place.write_secrets(stranger, "second-password")
    with pytest.raises(StorageError, match="permission denied"):
        ledger.complete(stranger)


def test_a_reader_asks_the_lake_and_changes_nothing(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user)
    load(north, ada=seven_irons())
    role = f"reader_{shared_place.database[-6:]}"
    shared_place.postgres.do(f"CREATE ROLE {role} LOGIN PASSWORD 'read-only-please'")
    with steward_of(north) as steward:
        steward.grant_reading(role)
    reader = shared_place.home(tmp_path / "reader", role)
    shared_place.write_secrets(reader, "read-only-please")
    lake = lake_of(reader)
    assert lake.execute("SELECT shots FROM carry_by_club").fetchall() == [(6,)]
    with pytest.raises(duckdb.Error, match="permission denied"):
        lake.execute("DELETE FROM loads.shots")
    lake.close()


def test_a_home_that_was_killed_before_it_copied_its_database_copies_it_later(
    tmp_path: Path, shared_place: SharedPlace, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user)
    with monkeypatch.context() as killed:
        killed.setattr(shown, "show", _then_stop(shown.show))
        with pytest.raises(KeyboardInterrupt):
            load(north, ada=seven_irons())
    assert f"academy_one/{PUBLISHED}" not in objects_of(shared_place)
    ledger.complete(north)
    reader = shared_place.home(tmp_path / "reader", user)
    fetch_published(reader)
    assert query(reader, "SELECT count(*) FROM shots").item() == 6
    assert ledger.complete(north) is False


def _then_stop(function: Callable[..., object]) -> Callable[..., object]:
    def run(*words: object) -> None:
        function(*words)
        raise KeyboardInterrupt

    return run


def test_a_store_of_another_version_is_refused_until_it_is_upgraded(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    north = shared_place.home(tmp_path / "north", shared_place.academy())
    load(north, ada=seven_irons())
    with steward_of(north) as steward, steward.entered():
        steward.lake.execute("UPDATE loads.meta SET database_version = database_version - 1")
        steward.lake.execute("DROP VIEW carry_by_club")
    with steward_of(north) as steward:
        with pytest.raises(HomeError, match="run 'rangeledger store upgrade'"):
            steward.tidy(0.0)
        steward.upgrade()
    ledger.fit(north)
    with closing(lake_of(north)) as lake:
        assert lake.execute("SELECT shots FROM carry_by_club").fetchall() == [(6,)]
    assert [one for one in check_up(north) if not one.ok] == []


def test_a_checkup_tells_of_a_copy_that_differs_from_its_load(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    north = shared_place.home(tmp_path / "north", shared_place.academy())
    load(north, ada=seven_irons())
    assert [one for one in check_up(north) if not one.ok] == []
    (original,) = north.archive.rglob("*.csv")
    original.unlink()  # the bucket has it
    (shots,) = north.lake.rglob("shots/*/*.parquet")
    shots.unlink()
    assert [one.looked_at for one in check_up(north) if not one.ok] == ["lake"]


def test_secrets_that_others_can_read_are_refused_and_none_is_told(
    tmp_path: Path, shared_place: SharedPlace
) -> None:
    user = shared_place.academy()
    north = shared_place.home(tmp_path / "north", user)
    secrets = north.root / "store-secrets.toml"
    os.chmod(secrets, 0o644)
    with pytest.raises(HomeError, match="chmod 600"):
        ledger.complete(north)
    os.chmod(secrets, 0o600)
    shared_place.write_secrets(north, "no-such-password")
    with pytest.raises(StorageError) as refused:
        ledger.complete(north)
    assert "no-such-password" not in str(refused.value)
    assert shared_place.objects.secret not in str(refused.value)
