"""Headings in nine languages, from their parts. Expected readings: common practice, no source."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.signs import positive_side
from rangeledger.schemas.headings import unit_symbols


@pytest.mark.parametrize(
    ("text", "column", "units"),
    [
        ("Velocity of the ball [mph]", "ball_speed_mps", ("mph",)),
        ("BALLSPEED", "ball_speed_mps", ()),
        ("ballVelocityKmh", "ball_speed_mps", ("km/h",)),
        ("club_head_speed_mph", "clubhead_speed_mps", ("mph",)),
        ("Take-off elevation, degrees", "launch_angle_deg", ("deg",)),
        ("Lauch angle", "launch_angle_deg", ()),
        ("Side launch (°)", "launch_direction_deg", ("deg",)),
        ("Revolutions per minute", "spin_rate_rpm", ("rpm",)),
        ("Tilt of the axis", "spin_axis_deg", ()),
        ("Bsp. rpm", "back_spin_rpm", ("rpm",)),
        ("Carry / yd", "carry_m", ("yd",)),
        ("Offline at landing (ft)", "carry_side_m", ("ft",)),
        ("Distance incl. run, m", "total_m", ("m",)),
        ("Peak (feet)", "apex_m", ("ft",)),
        ("Angle of descent", "descent_angle_deg", ()),
        ("Seconds in the air", "hang_time_s", ("s",)),
        ("Schlaegerkopfgeschwindigkeit", "clubhead_speed_mps", ()),
        ("Seitliche Abweichung m", "carry_side_m", ("m",)),
        ("Startwinkel in Grad", "launch_angle_deg", ("deg",)),
        ("Vitesse initiale de la balle (km/h)", "ball_speed_mps", ("km/h",)),
        ("Hauteur maximale", "apex_m", ()),
        ("Desviación lateral (m)", "carry_side_m", ("m",)),
        ("Ángulo de caída", "descent_angle_deg", ()),
        ("Klubbhuvudets hastighet", "clubhead_speed_mps", ()),
        ("Bärlängd meter", "carry_m", ("m",)),
        ("Vald klubba", "club", ()),
        ("Shot #", "shot_number", ()),
        ("Ball speed &#40;mph&#41;", "ball_speed_mps", ("mph",)),
        ("Launch &lt;vertical&gt; (&deg;)", "launch_angle_deg", ("deg",)),
        ("CARRYM", "carry_m", ("m",)),
        ("elev_rad", "launch_angle_deg", ("rad",)),
        ("omega_rad_s", "spin_rate_rpm", ("rad/s",)),
        ("tof_s", "hang_time_s", ("s",)),
        ("Offline at landing from target yd", "carry_side_m", ("yd",)),
        ("Date serial", "date", ()),
        ("Ball-v [km/h]", "ball_speed_mps", ("km/h",)),
        ("Velocità palla (km/h)", "ball_speed_mps", ("km/h",)),
        ("Angolo di lancio (gradi)", "launch_angle_deg", ("deg",)),
        ("Distanza in volo (m)", "carry_m", ("m",)),
        ("Tempo di volo (s)", "hang_time_s", ("s",)),
        ("Balsnelheid (km/u)", "ball_speed_mps", ("km/h",)),
        ("Zijwaartse afwijking (m)", "carry_side_m", ("m",)),
        ("Spin (tpm)", "spin_rate_rpm", ("rpm",)),
        ("Hoogste punt (m)", "apex_m", ("m",)),
        ("Velocidade do taco (km/h)", "clubhead_speed_mps", ("km/h",)),
        ("Direção de lançamento (°)", "launch_direction_deg", ("deg",)),
        ("Ângulo de queda (°)", "descent_angle_deg", ("deg",)),
        ("Carry (jd)", "carry_m", ("yd",)),
        ("Boldhastighed (km/t)", "ball_speed_mps", ("km/h",)),
        ("Sideafvigelse (m)", "carry_side_m", ("m",)),
        ("Svevlengde (m)", "carry_m", ("m",)),
        ("Spinn (o/min)", "spin_rate_rpm", ("rpm",)),
        ("Launch V (deg)", "launch_angle_deg", ("deg",)),
        ("Launch H (deg)", "launch_direction_deg", ("deg",)),
        ("Line, deg", "launch_direction_deg", ("deg",)),
        ("Carry (ligne droite) (m)", "carry_m", ("m",)),
    ],
)
def test_a_heading_is_read_from_its_parts(text: str, column: str, units: tuple[str, ...]) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert heading.best.column == column
    assert heading.units == units


@pytest.mark.parametrize(
    "text",
    [
        "Distance to pin", "Face to path", "Mean carry (yd)", "Carry, still air", "Spin loft",
        "Swing direction", "Best total", "Target distance (m)", "Blatt zur Bahn", "Écart type",
        "Wind blowing towards (°)", "Putt length (ft)", "Battery", "",
        "Distanza dalla bandiera", "Carry medio", "Afstand tot de vlag", "Verwachte carry",
        "Perda de spin", "Carry médio", "Afstand til flag", "Forventet carry",
        "Gennemsnitlig carry",
    ],
)  # fmt: skip
def test_what_is_no_column_of_a_shot_is_left_alone(text: str) -> None:
    assert read_heading(text).weight < 0.6


@pytest.mark.parametrize(
    ("text", "side"),
    [
        ("Side (left positive)", "left"), ("Offline L-/R+", "right"), ("+ = links", "left"),
        ("left + / right -", "left"), ("negativ = höger", "left"),
        ("gauche/droite (droite +)", "right"),
        ("Side", None), ("left/right", None), ("left positive, right positive", None),
        ("SeiteLinksPositiv", "left"),
    ],
)  # fmt: skip
def test_the_positive_side_is_read_from_words_and_signs(text: str, side: str | None) -> None:
    assert positive_side(text) == side


def test_a_sign_note_glued_to_a_camel_case_heading_is_read() -> None:
    heading = read_heading("SeiteLinksPositiv")
    assert heading.positive == "left"
    assert heading.best is not None
    assert heading.best.column == "carry_side_m"


def test_straight_and_along_are_told_apart() -> None:
    assert read_heading("Carry, straight line (m)").straight
    assert read_heading("Carry along the target line (m)").along
    assert not read_heading("Carry (m)").straight


def test_a_slip_of_the_pen_is_mended_in_the_language_of_the_file_alone() -> None:
    assert read_heading("Hoogde (m)", "", "nl").best is not None  # one letter off `hoogte`
    assert read_heading("Hoogde (m)", "", "en").best is None


def test_a_word_is_read_in_the_language_of_the_file() -> None:
    assert read_heading("Tempo", "", "en").best is None
    german = read_heading("Tempo Ball", "", "de").best
    assert german is not None
    assert german.column == "ball_speed_mps"


def test_a_unit_in_the_row_below_rules_out_columns_of_another_dimension() -> None:
    assert read_heading("Side", "°").best.column == "launch_direction_deg"
    assert read_heading("Side", "rpm").best.column == "side_spin_rpm"
    assert read_heading("Side", "yd").best.column == "carry_side_m"


@pytest.mark.parametrize(
    ("text", "symbols"),
    [
        ("[Km/h]", ("km/h",)), ("Grad", ("deg",)), ("U/min", ("rpm",)), ("m s-1", ("m/s",)),
        ("yards", ("yd",)), ("'", ("ft",)), ("° C", ("degC",)), ("", ()), ("banana", ()),
    ],
)  # fmt: skip
def test_units_are_known_by_their_writings(text: str, symbols: tuple[str, ...]) -> None:
    assert unit_symbols(text) == symbols


def test_a_writing_of_two_units_lists_both() -> None:
    assert set(unit_symbols("ms")) == {"m/s", "ms"}


def test_a_straight_line_is_no_right_of_the_line() -> None:
    heading = read_heading("Portée en ligne droite (m)")
    assert heading.straight
    assert heading.positive is None
    assert heading.best is not None
    assert heading.best.column == "carry_m"
    assert read_heading("Right of the line (yd)").positive == "right"


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("phi_launch [deg; right+]", "launch_direction_deg"),
        ("y_carry [m; left -]", "carry_side_m"),
        ("q total (m, minus = left)", "total_side_m"),
    ],
)
def test_what_is_said_to_have_a_left_and_a_right_is_a_side(text: str, column: str) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert heading.best.column == column


@pytest.mark.parametrize(
    "text", ["Time (hh:mm)", "Uhrzeit (HH:MM:SS)", "tijd [uu:mm]", "Datum (TT.MM.JJJJ)"]
)
def test_how_cells_are_written_is_no_word_of_a_heading(text: str) -> None:
    assert not read_heading(text).unknown


@pytest.mark.parametrize("text", ["Hit from (mat/tee/grass)", "Abschlag von (Matte, Tee, Gras)"])
def test_what_cells_may_say_is_no_word_of_a_heading(text: str) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert heading.best.column == "surface"


def test_the_sign_of_a_mean_makes_a_mean() -> None:
    assert read_heading("Ø Carry (m)").best is None


@pytest.mark.parametrize(
    ("text", "column", "units", "positive"),
    [
        # ISO 80000-1: a column's numbers are the quantity divided by its unit.
        ("side (+ right) / m", "carry_side_m", ("m",), "right"),
        ("Seitenablage (rechts positiv) / m", "carry_side_m", ("m",), "right"),
        ("hang time (total) / s", "hang_time_s", ("s",), None),
        ("Spin (Umdrehungen) / min", "spin_rate_rpm", ("rpm",), None),
        ("n [1/min]", "spin_rate_rpm", ("rpm",), None),
        ("carry_y_m_right_positive", "carry_side_m", ("m",), "right"),
        ("Bearing of pitch mark (deg, right positive)", "landing_bearing_deg", ("deg",), "right"),
        ("azimuth (deg, clockwise positive)", "launch_direction_deg", ("deg",), "right"),
        ("Startrichtung (°, gegen den Uhrzeigersinn positiv)", "launch_direction_deg", ("deg",),
         "left"),
        ("direction de départ (°, + sens horaire)", "launch_direction_deg", ("deg",), "right"),
        ("Wie steil der Ball losfliegt (Grad)", "launch_angle_deg", ("deg",), None),
        ("Hur högt den startar (grader)", "launch_angle_deg", ("deg",), None),
        ("Wie weit daneben (Meter, minus = links)", "carry_side_m", ("m",), "right"),
    ],
)  # fmt: skip
def test_units_behind_a_stroke_axes_turns_and_plain_words(
    text: str, column: str, units: tuple[str, ...], positive: str | None
) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert (heading.best.column, heading.units, heading.positive) == (column, units, positive)


@pytest.mark.parametrize(
    "text", ["gauche - / droite + m", "left - / right + m", "links - / rechts + m"]
)
def test_a_heading_of_nothing_but_sides_is_one(text: str) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert (heading.best.column, heading.units, heading.positive) == (
        "carry_side_m", ("m",), "right",
    )  # fmt: skip
