"""Carry and spread of each club session by session, with the level and the player's lessons."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Drawings,
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.screens.today import club_choices, club_key
from rangeledger.warehouse.pages.time_plots import Marks, level_over_time, spread_over_time
from rangeledger.warehouse.pages.units import club_label, day

_SQL = """
    SELECT t.club, t.swing, t.ball, t.session_id, t.started_at, t.shots, t.carry_m, t.carry_yd,
           t.carry_sd_m, t.carry_sd_yd, t.level_m, t.level_yd, t.level_low_m, t.level_low_yd,
           t.level_high_m, t.level_high_yd, t.change_m, t.change_yd, t.change_low_m,
           t.change_high_m, t.changed, m.monitor, f.session_id IS NOT NULL AS flagged
    FROM carry_trend AS t
    LEFT JOIN (SELECT session_id, club, min(monitor) AS monitor FROM shots
               WHERE player = $1 GROUP BY session_id, club) AS m USING (session_id, club)
    LEFT JOIN (SELECT DISTINCT player, session_id, club, swing, ball FROM session_flags) AS f
        USING (player, session_id, club, swing, ball)
    LEFT JOIN carry_by_club AS c USING (player, club, swing, ball)
    WHERE t.player = $1
    ORDER BY c.carry_m DESC NULLS LAST, t.club, t.swing, t.ball, t.started_at NULLS LAST,
        t.session_id"""
# An export of each layout that stands in for a monitor, so that people know which is meant.
_LAYOUTS_SQL = """
    SELECT details ->> '$.layout' AS layout, min(file_name) AS file_name FROM ingest_log
    WHERE starts_with(state, 'loaded') GROUP BY layout"""
# More drawings and rows than these are a long way down a phone, unless somebody asks for them.
_UNASKED, _SESSIONS_SEEN = 6, 8
_MONITORS_SQL = """
    SELECT monitor, named, reference, shots, sessions, sessions_in_common, carry_offset,
           carry_offset_se, ball_speed_offset, ball_speed_offset_se, apart, told
    FROM monitors WHERE player = $1 ORDER BY reference DESC, monitor"""
_ORDER_SQL = """
    SELECT club, swing, ball, shots FROM carry_by_club WHERE player = $1
    ORDER BY carry_m DESC, club, swing, ball"""


def over_time(request: ScreenRequest) -> Screen:
    """Carry and spread over time.

    Parameters
    ----------
    request : ScreenRequest
        Whose; `lesson` adds days to mark.

    Returns
    -------
    Screen
    """
    trend = request.rows(_SQL)
    order = request.rows(_ORDER_SQL)
    usual = usual_ball(order)
    chosen = _chosen(request, order, usual)
    marks = Marks(
        tuple(sorted({*request.lessons, *request.query.get("lesson", ())})), _monitors(trend)
    )
    items = []
    for row in order.to_dicts():
        if club_key(row) not in chosen:
            continue
        own = trend.filter([pl.col(name) == row[name] for name in ("club", "swing", "ball")])
        if own.drop_nulls("carry_m").height >= 2:
            label = club_label(row["club"], row["swing"], row["ball"], usual)
            level = level_over_time(label, own, marks, request.unit)
            spread = spread_over_time(label, own, marks, request.unit)
            items.append((label, level + spread, _change(own, request)))
    about = (
        f"Dots: a session’s centre of clean strikes in still air, {request.unit.word}; diamonds "
        "stand out. Line and band: the level and its 90 % interval. Columns below: the spread of "
        "each session’s clean strikes. Upright strokes: lessons." + marks.about()
    )
    none = Words("Over time", ["A club needs two sessions to show how its carry goes."])
    drawn = Drawings(items, about) if items else none
    parts = (drawn, *_monitor_table(request), _table(request, trend, usual, chosen))
    few = len(chosen) < order.height
    lead = f"Drawn: {len(chosen)} of {order.height} clubs and swings; choose others." if few else ""
    asks = {"lessons": marks.lessons, "clubs": club_choices(order, chosen)}
    return Screen("Over time", lead, parts, asks)


def _chosen(request: ScreenRequest, order: pl.DataFrame, usual: str) -> list[str]:
    """Keys of what is drawn: as asked, else the full swings that were hit most."""
    keys = [club_key(row) for row in order.to_dicts()]
    if request.one("show") == "all":
        return keys
    chosen = [key for key in keys if key in request.query.get("club", ())]
    if chosen:
        return chosen
    full = order.filter((pl.col("swing") == "full") & (pl.col("ball") == usual))
    most = full.sort("shots", descending=True, maintain_order=True).head(_UNASKED)
    return [club_key(row) for row in most.to_dicts()] or keys[:_UNASKED]


def _monitor_table(request: ScreenRequest) -> tuple[Table, ...]:
    """What the monitors read apart, where there are several."""
    monitors = request.rows(_MONITORS_SQL)
    if monitors.height < 2:
        return ()
    rows = request.connection.execute(_LAYOUTS_SQL).fetchall()
    such_as = {str(layout): str(name) for layout, name in rows}
    nameless = "" if monitors["named"].all() else (
        " Where nobody named the monitor, exports of one layout stand for it: one is named here. "
        "It can be named under Inbox."
    )  # fmt: skip
    about = (
        "Monitors, held against the one that measured most sessions. What they read apart is taken "
        f"off the numbers on these pages.{nameless}"
    )
    shown = (
        Shown("Monitor", lambda row: monitor_name(row["monitor"], such_as)),
        Shown("Sessions", lambda row: str(row["sessions"])),
        Shown("Same day", lambda row: str(row["sessions_in_common"])),
        Shown("What it reads", lambda row: monitor_sentence(row["told"], such_as), words=True),
    )
    return (Table("monitors", about, shown, monitors),)


def monitor_name(monitor: str, such_as: Mapping[str, str]) -> str:
    """A monitor as people know it: its name, else an export that it wrote.

    Parameters
    ----------
    monitor : str
        Its name, or the layout that stands in for it.
    such_as : mapping of str to str
        Layout -> name of an export.
    """
    return f"that of {such_as[monitor]}" if monitor in such_as else monitor


def monitor_sentence(sentence: str, such_as: Mapping[str, str]) -> str:
    """What a monitor reads, with monitors as people know them.

    Parameters
    ----------
    told : str
        As the view monitors tells it.
    such_as : mapping of str to str
        Layout -> name of an export.
    """
    for layout, name in such_as.items():
        sentence = sentence.replace(f"he monitor behind {layout}", f"he monitor of {name}")
    return sentence


def _monitors(trend: pl.DataFrame) -> tuple[str, ...]:
    return tuple(sorted(set(trend["monitor"].drop_nulls()) - {"unknown"}))


def _change(own: pl.DataFrame, request: ScreenRequest) -> str:
    """How the level has changed since the first dated session."""
    first = own.drop_nulls("change_m").head(1).to_dicts()
    if not first:
        return ""
    change, low, high = (
        request.unit.change(first[0][f"change_{end}m"]) for end in ("", "low_", "high_")
    )
    sure = "" if first[0]["changed"] else ", so no sure change"
    since = day(first[0]["started_at"])
    return f"{change} {request.unit.symbol} since {since} (90 %: {low} to {high}){sure}."


def _table(request: ScreenRequest, trend: pl.DataFrame, usual: str, chosen: list[str]) -> Table:
    unit = request.unit
    key = pl.concat_str("club", "swing", "ball", separator="|")
    seen = trend.filter(key.is_in(chosen))
    if request.one("show") != "all":
        seen = seen.group_by("club", "swing", "ball", maintain_order=True).tail(_SESSIONS_SEEN)
    note = "" if seen.height == trend.height else (
        f" The last {_SESSIONS_SEEN} sessions of the clubs drawn; all "
        f"{counted(trend.height, 'row')} are in the files for tools."
    )  # fmt: skip
    return Table(
        "carry_trend",
        f"The numbers behind it, {unit.word}. Spread that visit: standard deviation of its clean "
        f"strikes, without what changes between visits.{note}",
        (
            Shown("Club", lambda row: club_label(row["club"], row["swing"], row["ball"], usual)),
            Shown("Session", lambda row: day(row["started_at"])),
            Shown("Shots", lambda row: str(row["shots"])),
            Shown("Carry", lambda row: unit.whole(row["carry_m"])),
            Shown("Spread that visit", lambda row: unit.tenth(row["carry_sd_m"])),
            Shown("Level", lambda row: unit.whole(row["level_m"])),
            Shown("90 %", lambda row: _interval(row, request)),
            *([Shown("Monitor", _monitor, words=True)] if _monitors(trend) else []),
        ),
        trend,
        lines_of=seen,
    )


def _interval(row: Row, request: ScreenRequest) -> str:
    return f"{request.unit.whole(row['level_low_m'])}–{request.unit.whole(row['level_high_m'])}"


def _monitor(row: Row) -> str:
    return "" if row["monitor"] in (None, "unknown") else str(row["monitor"])
