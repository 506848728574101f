"""Club words and head lines of the sample layouts, in several spellings and languages."""

from __future__ import annotations

from collections.abc import Callable

from rangeledger.sample_exports.scenario import Export, Visit

SHORT_WEDGES = {"pitching-wedge": "PW", "gap-wedge": "GW", "sand-wedge": "SW", "lob-wedge": "LW"}

_WIND_DIRECTIONS = "Wind directions count clockwise from the target and 0 is in the face"


def hyphened(club: str) -> str:
    """`7-iron`, `PW`, `54 degree`."""
    if club.endswith("-wedge") and club[0].isdigit():
        return club.removesuffix("-wedge") + " degree"
    return SHORT_WEDGES.get(club, club)


def spelled(club: str) -> str:
    """`Seven` stays a figure: `Iron 7`, `Pitching wedge`, `54 degree wedge`."""
    kind = club.partition("-")[2]
    if club[0].isdigit() and kind == "wedge":
        return club.partition("-")[0] + " degree wedge"
    if club[0].isdigit():
        return f"{kind} {club[0]}"
    return club.replace("-", " ")


def letters(club: str) -> str:
    """`7i`, `4h`, `3w`, `DR`, `PW`, `54°`."""
    if club == "driver":
        return "DR"
    number, _, kind = club.partition("-")
    if not number.isdigit():
        return SHORT_WEDGES[club]
    return f"{number}°" if kind == "wedge" else f"{number}{kind[0]}"


def translated(
    wood: str, hybrid: str, iron: str, wedges: dict[str, str], loft: str
) -> Callable[[str], str]:
    """Club words of a language that puts the number after the noun."""
    nouns = {"wood": wood, "hybrid": hybrid, "iron": iron, "wedge": loft}

    def word(club: str) -> str:
        number, _, kind = club.partition("-")
        if not number.isdigit():
            return wedges.get(club, "Driver")
        return f"{nouns[kind]} {number}" + ("°" if kind == "wedge" else "")

    return word


def _last(export: Export) -> Visit:
    """The visit whose day and air the lines above the table state."""
    return export.visits[-1]


def hash_notes(export: Export) -> list[list[str]]:
    """Comment lines; the wind only where it was written down."""
    weather = _last(export).weather
    lines = [
        "# Bag check at the academy range",
        "# Flight: measured",
        f"# Ball: {_last(export).ball}",
        f"# Surface: {_last(export).surface}",
        f"# Air temperature: {weather.air_temp_c:.0f} °C",
    ]
    if "wind" in export.states:
        lines.append(f"# Wind speed: {export.states['wind']} m/s")
        lines.append(f"# Wind from: {weather.wind_from_deg:.0f}°")
        lines.append(f"# {_WIND_DIRECTIONS}")
    return [[line] for line in lines]


def titled(export: Export) -> list[list[str]]:
    """Name and value in two cells, then an empty line."""
    visit = _last(export)
    mph = visit.weather.wind_speed_mps / 0.44704
    return [
        ["Golfer", visit.player],
        ["Date", f"{visit.started_at.day} {visit.started_at:%B %Y}"],
        ["Air temperature", f"{visit.weather.air_temp_c * 1.8 + 32:.0f} °F"],
        ["Wind speed", f"{mph:.1f} mph"],
        ["Wind from", f"{visit.weather.wind_from_deg:.0f} deg"],
        [_WIND_DIRECTIONS],
        ["Flight", "measured"],
        ["Ball", visit.ball],
        ["Struck from", visit.surface],
        [""],
    ]


def kopf(export: Export) -> list[list[str]]:
    """German head lines; the wind only where it was written down."""
    visit = _last(export)
    lines = [
        f"Spieler: {visit.player}",
        f"Datum: {visit.started_at:%d.%m.%Y}",
        f"Lufttemperatur: {visit.weather.air_temp_c:.0f} °C",
        "Flug: gemessen",
        "Ball: Premium",
        "Untergrund: Rasen",
    ]
    if "wind" in export.states:
        lines.append(f"Windgeschwindigkeit: {export.states['wind']} m/s")
        lines.append(f"Wind aus: {visit.weather.wind_from_deg:.0f}°")
        lines.append("Windrichtungen zählen vom Ziel aus im Uhrzeigersinn, 0 von vorn")
    return [[line] for line in [*lines, ""]]


def feel_notes(export: Export) -> list[list[str]]:
    """Equals signs between name and value."""
    visit = _last(export)
    return [
        [f"Player = {visit.player}"],
        [f"Date = {visit.started_at:%Y-%m-%d}"],
        [f"Ball = {visit.ball}"],
        [f"Surface = {visit.surface}"],
        [f"Temperature = {visit.weather.air_temp_c:.0f} °C"],
        ["Flight = measured"],
    ]


def entete(export: Export) -> list[list[str]]:
    """French head lines."""
    visit = _last(export)
    balls = {"range": "practice", "premium": "premium"}[visit.ball]
    surface = {"mat": "tapis", "grass": "herbe"}[visit.surface]
    return [[f"Balles : {balls}"], [f"Surface : {surface}"], ["Vol : mesuré"], [""]]
