"""Carry and spread of each club session by session, with the level and the player's lessons."""

from __future__ import annotations

import polars as pl
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Asked,
    Drawings,
    Row,
    Screen,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.time_plots import Marks, level_over_time, spread_over_time
from rangeledger.warehouse.pages.units import club_label, day

_SQL = """
    SELECT t.club, t.swing, t.ball, t.session_id, t.started_at, t.shots, t.carry_m, t.carry_yd,
           t.carry_sd_m, t.carry_sd_yd, t.level_m, t.level_yd, t.level_low_m, t.level_low_yd,
           t.level_high_m, t.level_high_yd, t.change_m, t.change_yd, t.change_low_m,
           t.change_high_m, t.changed, {monitor} AS monitor,
           f.session_id IS NOT NULL AS flagged
    FROM carry_trend AS t
    LEFT JOIN (SELECT DISTINCT player, session_id, club, swing, ball FROM session_flags) AS f
        USING (player, session_id, club, swing, ball)
    LEFT JOIN carry_by_club AS c USING (player, club, swing, ball)
    WHERE t.player = $1
    ORDER BY c.carry_m DESC NULLS LAST, t.club, t.swing, t.ball, t.started_at NULLS LAST,
        t.session_id"""
_MONITOR = """(SELECT min(s.monitor) FROM shots AS s
            WHERE s.session_id = t.session_id AND s.club = t.club)"""
_MONITORS_SQL = """
    SELECT monitor, named, reference, shots, sessions, sessions_in_common, carry_offset,
           carry_offset_se, ball_speed_offset, ball_speed_offset_se, apart, told
    FROM monitors WHERE player = $1 ORDER BY reference DESC, monitor"""
_ORDER_SQL = """
    SELECT club, swing, ball, shots FROM carry_by_club WHERE player = $1
    ORDER BY carry_m DESC, club, swing, ball"""


def over_time(asked: Asked) -> Screen:
    """Carry and spread over time.

    Parameters
    ----------
    asked : Asked
        Whose; `lesson` adds days to mark.

    Returns
    -------
    Screen
    """
    monitor = _MONITOR if _knows_monitors(asked) else "'unknown'"
    trend = asked.rows(_SQL.format(monitor=monitor))
    order = asked.rows(_ORDER_SQL)
    usual = usual_ball(order)
    marks = Marks(tuple(sorted({*asked.lessons, *asked.query.get("lesson", ())})), _monitors(trend))
    items = []
    for row in order.to_dicts():
        own = trend.filter([pl.col(name) == row[name] for name in ("club", "swing", "ball")])
        if own.drop_nulls("carry_m").height >= 2:
            label = club_label(row["club"], row["swing"], row["ball"], usual)
            level = level_over_time(label, own, marks, asked.unit)
            spread = spread_over_time(label, own, marks, asked.unit)
            items.append((label, level + spread, _change(own, asked)))
    about = (
        f"Dots: a session’s centre of clean strikes in still air, {asked.unit.word}; diamonds "
        "stand out. Line and band: the level and its 90 % interval. Columns below: the spread of "
        "each session’s clean strikes. Upright strokes: lessons." + marks.about()
    )
    none = Words("Over time", ["A club needs two sessions to show how its carry goes."])
    drawn = Drawings(items, about) if items else none
    parts = (drawn, *_monitor_table(asked), _table(asked, trend, usual))
    return Screen("Over time", "", parts, {"lessons": marks.lessons})


def _knows_monitors(asked: Asked) -> bool:
    sql = "SELECT 1 FROM duckdb_columns() WHERE table_name = 'shots' AND column_name = 'monitor'"
    return bool(asked.connection.execute(sql).fetchall())


def _monitor_table(asked: Asked) -> tuple[Table, ...]:
    """What the monitors read apart, where there are several."""
    monitors = asked.rows(_MONITORS_SQL)
    if monitors.height < 2:
        return ()
    about = (
        "Monitors, held against the one that measured most sessions. What they read apart is taken "
        "off the numbers on these pages."
    )
    shown = (
        Shown("Monitor", lambda row: str(row["monitor"])),
        Shown("Sessions", lambda row: str(row["sessions"])),
        Shown("Same day", lambda row: str(row["sessions_in_common"])),
        Shown("What it reads", lambda row: str(row["told"]), words=True),
    )
    return (Table("monitors", about, shown, monitors),)


def _monitors(trend: pl.DataFrame) -> tuple[str, ...]:
    return tuple(sorted(set(trend["monitor"].drop_nulls()) - {"unknown"}))


def _change(own: pl.DataFrame, asked: Asked) -> str:
    """How the level has changed since the first dated session."""
    first = own.drop_nulls("change_m").head(1).to_dicts()
    if not first:
        return ""
    change, low, high = (
        asked.unit.change(first[0][f"change_{end}m"]) for end in ("", "low_", "high_")
    )
    sure = "" if first[0]["changed"] else ", so no sure change"
    since = day(first[0]["started_at"])
    return f"{change} {asked.unit.symbol} since {since} (90 %: {low} to {high}){sure}."


def _table(asked: Asked, trend: pl.DataFrame, usual: str) -> Table:
    unit = asked.unit
    return Table(
        "carry_trend",
        f"The numbers behind it, {unit.word}. Spread that visit: standard deviation of its clean "
        "strikes, without what changes between visits.",
        (
            Shown("Club", lambda row: club_label(row["club"], row["swing"], row["ball"], usual)),
            Shown("Session", lambda row: day(row["started_at"])),
            Shown("Shots", lambda row: str(row["shots"])),
            Shown("Carry", lambda row: unit.whole(row["carry_m"])),
            Shown("Spread that visit", lambda row: unit.tenth(row["carry_sd_m"])),
            Shown("Level", lambda row: unit.whole(row["level_m"])),
            Shown("90 %", lambda row: _interval(row, asked)),
            Shown("Monitor", lambda row: _monitor(row), words=True),
        ),
        trend,
    )


def _interval(row: Row, asked: Asked) -> str:
    return f"{asked.unit.whole(row['level_low_m'])}–{asked.unit.whole(row['level_high_m'])}"


def _monitor(row: Row) -> str:
    return "" if row["monitor"] in (None, "unknown") else str(row["monitor"])
