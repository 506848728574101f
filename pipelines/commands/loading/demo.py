"""`rangeledger demo`."""

from __future__ import annotations

import os
import shutil
from importlib.resources import as_file, files
from pathlib import Path

import typer
from rangeledger.pipelines.commands.loading.ingest import load_with_progress, result_rows
from rangeledger.pipelines.loading.offered import NOTE_SUFFIX, Offered, content_hash
from rangeledger.pipelines.output.neat_table import Shown, print_neat
from rangeledger.pipelines.output.printing import Format, print_rows, to_stderr, to_stdout
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.asking import query
from rangeledger.warehouse.home import DEMO_HOME, HOME_VARIABLE, Home, find_home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.stores.originals import archived

_MARK = "demo"
_CARRY = """
    SELECT player, club, swing, ball, shots, carry_yd, carry_sd_yd, carry_p10_yd, carry_p90_yd,
           side_sd_yd
    FROM carry_by_club ORDER BY player, carry_yd DESC"""
_SHOWN = (
    Shown("club", "club"),
    Shown("swing", "swing"),
    Shown("ball", "ball"),
    Shown("shots", "shots", ".0f"),
    Shown("carry_yd", "carry\nyd", ".1f"),
    Shown("carry_sd_yd", "spread\nyd", ".1f"),
    Shown("carry_p10_yd", "8 of 10 from\nyd", ".0f"),
    Shown("carry_p90_yd", "to\nyd", ".0f"),
    Shown("side_sd_yd", "side spread\nyd", ".1f"),
)


def demo(context: typer.Context) -> None:
    """Fill a home with the sample exports and show carry by club.

    The home is the one named with --home or RANGELEDGER_HOME, else ~/rangeledger-demo; a home
    with data of your own is left alone. The players and places are invented.

    Example:

    \b
    rangeledger --home /tmp/try demo
    """
    home = _demo_home(context.obj)
    open_home(home)
    if not (home.state / _MARK).exists():
        with as_file(files("rangeledger.sample_exports") / "settings.toml") as settings:
            shutil.copyfile(settings, home.settings_file)
    (home.state / _MARK).touch()
    fresh = _drop_samples(home)
    if fresh:
        print_rows(result_rows(load_with_progress(home, fresh)), Format.TABLE, "Sample exports")
    for (player,), bag in query(home, _CARRY).group_by("player", maintain_order=True):
        print_neat(bag, _SHOWN, f"{player}: carry in still air")
    to_stdout().print(
        f"The database: {home.database}\n"
        f'Ask it: rangeledger --home {home.root} sql "SELECT * FROM carry_by_club"',
        markup=False,
        soft_wrap=True,
    )


def _demo_home(option: Path | None) -> Home:
    chosen = option or os.environ.get(HOME_VARIABLE)
    home = find_home(Path(chosen) if chosen else DEMO_HOME)
    own_data = home.archive.is_dir() and any(home.archive.iterdir())
    if own_data and not (home.state / _MARK).exists():
        raise UsageError(
            f"{home.root} holds data of your own, so the demo is not put there. "
            "Name an empty home: rangeledger --home FOLDER demo"
        )
    return home


def _drop_samples(home: Home) -> list[Offered]:
    """Put the sample exports into the inbox, those that are not in the archive yet."""
    from rangeledger.sample_exports import sample_files

    dropped = []
    for file in sample_files():
        if archived(home, content_hash(file)) is not None:
            continue
        if (home.quarantine / file.name).exists():
            continue
        note = file.with_suffix(NOTE_SUFFIX)
        if note.exists():
            shutil.copyfile(note, home.inbox / note.name)
        shutil.copyfile(file, home.inbox / file.name)
        dropped.append(Offered(home.inbox / file.name, file.name))
    if not dropped:
        to_stderr().print("The sample exports are in this home already.", markup=False)
    return dropped
