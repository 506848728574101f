from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox, staging
from rangeledger.pipelines.loading.offered import Offered, content_hash, stamp_of
from rangeledger.schemas.errors import StorageError, UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.system.file_leases import open_for_writing


def drop(home: Home, name: str, text: str = "a,b\n1,2\n") -> Offered:
    path = home.inbox / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return Offered(path, path.name)


def names_below(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_notes_hidden_and_unfinished_files_are_no_exports(home: Home) -> None:
    for name in ("b.csv", "a.CSV", "b.toml", ".c.csv", "d.csv.part", "e.crdownload", "f/g.txt"):
        drop(home, name)
    assert [o.file_name for o in inbox.waiting(home)] == ["a.CSV", "b.csv", "g.txt"]


@pytest.mark.parametrize("note", ["s.toml", "s.TOML"])
def test_a_note_goes_with_its_export_to_the_archive(home: Home, note: str) -> None:
    one = drop(home, "s.csv")
    drop(home, note, 'player = "Ada"\n')
    source = content_hash(one.path)
    inbox.to_archive(home, one, source)
    assert names_below(home.archive) == [
        f"{source[:2]}/{source}.csv", f"{source[:2]}/{source}.note.toml",
    ]  # fmt: skip
    assert names_below(home.inbox) == []
    found = archived(home, source)
    assert found is not None
    assert found.suffix == ".csv"


def test_a_note_for_two_exports_serves_both(home: Home) -> None:
    first, second = drop(home, "s.csv", "1"), drop(home, "s.txt", "2")
    drop(home, "s.toml")
    inbox.to_archive(home, first, content_hash(first.path))
    assert second.note is not None
    inbox.to_archive(home, second, content_hash(second.path))
    assert names_below(home.inbox) == []
    assert len(list(home.archive.rglob("*.note.toml"))) == 2


def test_a_later_note_does_not_overwrite_the_one_that_was_used(home: Home) -> None:
    for text in ("first", "second"):
        one = drop(home, "s.csv")
        drop(home, "s.toml", text)
        inbox.to_archive(home, one, content_hash(one.path))
    notes = [p.read_text() for p in sorted(home.archive.rglob("*.note.toml"))]
    assert sorted(notes) == ["first", "second"]


def test_quarantine_keeps_bytes_reason_and_mapping_and_never_overwrites(home: Home) -> None:
    for text in ("one", "two", "one"):
        inbox.to_quarantine(home, drop(home, "s.csv", text), "unclear: say what", "[columns]\n")
    kept = {p.name: p.read_text() for p in home.quarantine.iterdir()}
    assert kept["s.csv"] == "one"
    assert kept["s (2).csv"] == "two"
    assert "say what" in kept["s.csv.reason.txt"]
    assert "s.csv.mapping.toml" in kept["s.csv.reason.txt"]
    endings = ("", ".reason.txt", ".mapping.toml")
    assert set(kept) == {f"{stem}.csv{end}" for stem in ("s", "s (2)") for end in endings}


def test_a_file_that_can_not_be_renamed_across_file_systems_is_copied(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = drop(home, "s.csv", "bytes")
    source, rename = content_hash(one.path), os.replace

    def across(old: Path, new: Path) -> None:
        if Path(old).parent == home.inbox:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        rename(old, new)

    monkeypatch.setattr(os, "replace", across)
    inbox.to_archive(home, one, source)
    assert (home.archive / source[:2] / f"{source}.csv").read_text() == "bytes"
    assert not one.path.exists()


def test_a_move_that_the_system_refuses_leaves_the_export_and_says_what_to_do(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = drop(home, "s.csv", "bytes")

    def refused(old: Path, new: Path) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(os, "replace", refused)
    with pytest.raises(StorageError, match=r"stays where it is.*rangeledger ingest"):
        inbox.to_archive(home, one, content_hash(one.path))
    assert one.path.read_text() == "bytes"


def test_what_is_named_elsewhere_is_copied_with_its_note_and_left(
    home: Home, tmp_path: Path
) -> None:
    folder = tmp_path / "downloads"
    folder.mkdir()
    for name in ("s.csv", "s.toml", "t.txt", "photo.jpg"):
        (folder / name).write_text(name)
    offered, passed_over = staging.gather(home, [folder])
    assert [o.file_name for o in offered] == ["s.csv", "t.txt"]
    assert [o.note.read_text() if o.note else None for o in offered] == ["s.toml", None]
    assert [p.name for p in passed_over] == ["photo.jpg"]
    assert names_below(folder) == ["photo.jpg", "s.csv", "s.toml", "t.txt"]
    assert inbox.waiting(home) == []  # they are ours as long as we live
    for one in offered:
        inbox.to_archive(home, one, content_hash(one.path))
    assert list(home.inbox.iterdir()) == []
    assert list(home.state.glob(".offered-*")) == []


def test_the_inbox_itself_is_known_through_a_link(home: Home, tmp_path: Path) -> None:
    one = drop(home, "s.csv")
    link = tmp_path / "link"
    link.symlink_to(home.inbox)
    assert staging.gather(home, [link / "s.csv"])[0] == [one]


def test_a_path_that_is_not_there_is_told(home: Home) -> None:
    with pytest.raises(UsageError, match="There is no"):
        staging.gather(home, [Path("/nowhere/s.csv")])


GATHER_AND_DIE = """
import os, sys
from pathlib import Path
from rangeledger.pipelines.loading import staging
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.home import Home
staging.gather(Home(Path(sys.argv[1])), [Path(sys.argv[2])])
os.kill(os.getpid(), 9)
"""


def test_a_folder_that_can_not_be_listed_is_not_taken_for_empty(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(os, "scandir", refuse)
    with pytest.raises(StorageError, match=r"Permission denied.*name the exports"):
        staging.gather(home, [tmp_path])


def test_what_a_killed_command_had_copied_is_taken_over(home: Home, tmp_path: Path) -> None:
    (tmp_path / "s.csv").write_text("bytes")
    subprocess.run(
        [sys.executable, "-c", GATHER_AND_DIE, home.root, tmp_path / "s.csv"], check=False
    )
    (half,) = home.inbox.glob(".offered-*")
    (half / "2").mkdir()
    (half / "2" / "t.csv.part").write_text("half")
    taken = inbox.waiting(home)
    assert [o.file_name for o in taken] == ["s.csv"]
    staging.clear_abandoned(home)
    assert taken[0].path.exists()
    inbox.to_archive(home, taken[0], content_hash(taken[0].path))
    staging.clear_abandoned(home)
    assert list(home.inbox.iterdir()) == []
    assert list(home.state.glob(".offered-*")) == []


def test_a_file_open_for_writing_is_known_and_reading_does_not_count(home: Home) -> None:
    one = drop(home, "s.csv")
    with one.path.open("rb"):
        assert not open_for_writing(one.path)
    with one.path.open("ab"):
        assert open_for_writing(one.path)
    assert not open_for_writing(one.path)
    assert not open_for_writing(home.inbox / "gone.csv")


def test_stamp_tells_a_changed_file(home: Home) -> None:
    one = drop(home, "s.csv")
    before = stamp_of(one.path)
    with one.path.open("a") as stream:
        stream.write("3,4\n")
    assert stamp_of(one.path) != before
    assert stamp_of(home.inbox / "gone.csv") is None


def test_notes_without_an_export_are_found(home: Home) -> None:
    drop(home, "s.csv")
    drop(home, "s.toml")
    drop(home, "alone.toml")
    assert [p.name for p in inbox.orphan_notes(home)] == ["alone.toml"]


def test_batches_are_bounded_in_number_and_bytes(home: Home) -> None:
    offered = [drop(home, f"{n}.csv", "x" * 10) for n in range(5)]
    assert [len(b) for b in inbox.chunks(offered, 2, 10**6)] == [2, 2, 1]
    assert [len(b) for b in inbox.chunks(offered, 9, 25)] == [2, 2, 1]
    assert [len(b) for b in inbox.chunks(offered, 9, 5)] == [1] * 5
