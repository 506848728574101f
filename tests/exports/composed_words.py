"""A third vocabulary of headings: put together from parts, in every order that people write."""

# ruff: noqa: E501 - a table of words reads best with one meaning a line

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.exports.printing import pick

# Column -> two or three lists of parts; one part of each is chosen and they are joined.
PARTS: dict[str, dict[str, tuple[Sequence[str], ...]]] = {
    "en": {
        "clubhead_speed_mps": (("club", "clubhead", "club head", "head"), ("speed", "velocity", "spd", "vel.")),
        "ball_speed_mps": (("ball", "golf ball", "ball"), ("speed", "velocity", "spd", "vel.")),
        "angle_of_attack_deg": (("attack", "club attack"), ("angle", "ang.")),
        "club_path_deg": (("club", "swing", "clubhead"), ("path", "path angle", "path direction")),
        "face_angle_deg": (("face", "club face", "clubface"), ("angle", "ang.", "direction")),
        "dynamic_loft_deg": (("dynamic", "delivered", "impact"), ("loft", "loft angle")),
        "launch_angle_deg": (("launch", "take-off", "start", "initial"), ("angle", "ang.", "elevation")),
        "launch_direction_deg": (("launch", "start", "initial"), ("direction", "dir.", "azimuth", "bearing")),
        "spin_rate_rpm": (("spin", "total spin", "ball spin"), ("rate", "", "speed")),
        "spin_axis_deg": (("spin", "spin-axis", "axis"), ("axis tilt", "tilt", "axis angle")),
        "carry_m": (("carry", "flight", "airborne"), ("distance", "dist.", "length", "range")),
        "carry_side_m": (("carry", "landing"), ("side", "deviation", "offline", "lateral", "side distance")),
        "total_m": (("total", "overall", "final"), ("distance", "dist.", "length")),
        "total_side_m": (("total", "final"), ("side", "deviation", "offline", "lateral")),
        "apex_m": (("peak", "max", "maximum", "apex", "highest"), ("height", "ball height", "flight height")),
        "descent_angle_deg": (("descent", "landing", "touchdown"), ("angle", "ang.", "steepness")),
        "hang_time_s": (("flight", "hang", "air", "airborne"), ("time", "duration")),
    },
    "de": {
        "clubhead_speed_mps": (("Schläger", "Schlägerkopf"), ("geschwindigkeit", "-Geschwindigkeit", " Geschw.", "tempo")),
        "ball_speed_mps": (("Ball", "Golfball"), ("geschwindigkeit", "-Geschwindigkeit", " Geschw.", "tempo")),
        "angle_of_attack_deg": (("Eintreff", "Angriffs"), ("winkel", "-Winkel")),
        "club_path_deg": (("Schwung", "Schläger"), ("pfad", "bahn", "weg")),
        "face_angle_deg": (("Schlagflächen", "Schlägerblatt"), ("winkel", "stellung", "-Winkel")),
        "dynamic_loft_deg": (("Dynamischer", "Dyn."), (" Loft",)),
        "launch_angle_deg": (("Abflug", "Start", "Abschuss"), ("winkel", "-Winkel")),
        "launch_direction_deg": (("Abflug", "Start", "Anfangs"), ("richtung", "-Richtung")),
        "spin_rate_rpm": (("Spin", "Gesamtspin", "Drall"), ("rate", "", "-Rate")),
        "spin_axis_deg": (("Spin", "Dreh"), ("achse", "achsen-Neigung", "achsenneigung")),
        "carry_m": (("Flug", "Carry-", "Carry"), ("weite", "länge", "distanz", "strecke")),
        "carry_side_m": (("Seitliche ", "Seiten", "Carry-"), ("abweichung", "Abweichung")),
        "total_m": (("Gesamt", "Total"), ("weite", "länge", "distanz", "strecke")),
        "total_side_m": (("Gesamt", "Total"), ("abweichung", "-Abweichung")),
        "apex_m": (("Scheitel", "Gipfel", "Max. "), ("höhe", "-Höhe")),
        "descent_angle_deg": (("Lande", "Einfall", "Auftreff"), ("winkel", "-Winkel")),
        "hang_time_s": (("Flug",), ("zeit", "dauer", "-Zeit")),
    },
    "fr": {
        "clubhead_speed_mps": (("Vitesse", "Vit."), (" du club", " club", " tête de club", " de la tête de club")),
        "ball_speed_mps": (("Vitesse", "Vit."), (" de balle", " de la balle", " balle", " initiale de la balle")),
        "angle_of_attack_deg": (("Angle", "Ang."), (" d'attaque", " attaque")),
        "club_path_deg": (("Chemin", "Trajectoire"), (" du club", " club", " de swing")),
        "face_angle_deg": (("Angle", "Ang."), (" de face", " de la face", " de la face du club")),
        "dynamic_loft_deg": (("Loft",), (" dynamique", " dyn.", " à l'impact")),
        "launch_angle_deg": (("Angle", "Ang."), (" de lancement", " de départ", " d'envol", " de décollage")),
        "launch_direction_deg": (("Direction", "Dir."), (" de lancement", " de départ", " initiale")),
        "spin_rate_rpm": (("Spin", "Rotation"), (" total", " de la balle", "")),
        "spin_axis_deg": (("Axe", "Inclinaison de l'axe"), (" de spin", " de rotation")),
        "carry_m": (("Distance", "Longueur", "Dist."), (" de carry", " de vol", " au vol", " portée")),
        "carry_side_m": (("Écart", "Déviation", "Décalage"), (" latéral", " au carry", " de côté")),
        "total_m": (("Distance", "Longueur", "Dist."), (" totale", " finale")),
        "total_side_m": (("Écart", "Déviation"), (" total", " final")),
        "apex_m": (("Hauteur", "Haut."), (" max", " maximale", " maxi", " de l'apex")),
        "descent_angle_deg": (("Angle", "Ang."), (" de descente", " d'atterrissage", " de chute")),
        "hang_time_s": (("Temps", "Durée"), (" de vol", " en l'air", " du vol")),
    },
    "es": {
        "clubhead_speed_mps": (("Velocidad", "Vel."), (" del palo", " palo", " de la cabeza del palo")),
        "ball_speed_mps": (("Velocidad", "Vel."), (" de bola", " de la bola", " bola", " inicial de la bola")),
        "angle_of_attack_deg": (("Ángulo", "Áng."), (" de ataque", " ataque")),
        "club_path_deg": (("Trayectoria", "Camino"), (" del palo", " palo", " del swing")),
        "face_angle_deg": (("Ángulo", "Áng."), (" de la cara", " de cara", " de la cara del palo")),
        "dynamic_loft_deg": (("Loft",), (" dinámico", " din.", " en el impacto")),
        "launch_angle_deg": (("Ángulo", "Áng."), (" de lanzamiento", " de salida", " de despegue")),
        "launch_direction_deg": (("Dirección", "Dir."), (" de lanzamiento", " de salida", " inicial")),
        "spin_rate_rpm": (("Giro", "Spin", "Rotación"), (" total", " de la bola", "")),
        "spin_axis_deg": (("Eje", "Inclinación del eje"), (" de giro", " de spin")),
        "carry_m": (("Distancia", "Longitud", "Dist."), (" de vuelo", " de carry", " en el aire")),
        "carry_side_m": (("Desviación", "Desvío"), (" lateral", " a un lado", " del carry")),
        "total_m": (("Distancia", "Longitud", "Dist."), (" total", " final")),
        "total_side_m": (("Desviación", "Desvío"), (" total", " final")),
        "apex_m": (("Altura", "Alt."), (" máxima", " máx.", " del ápice")),
        "descent_angle_deg": (("Ángulo", "Áng."), (" de caída", " de descenso", " de aterrizaje")),
        "hang_time_s": (("Tiempo", "Duración"), (" de vuelo", " en el aire", " del vuelo")),
    },
    "sv": {
        "clubhead_speed_mps": (("Klubb", "Klubbhuvuds"), ("hastighet", "fart", "-hastighet")),
        "ball_speed_mps": (("Boll", "Golfboll"), ("hastighet", "fart", "-hastighet", "ens hastighet")),
        "angle_of_attack_deg": (("Attack", "Anfalls"), ("vinkel", "-vinkel")),
        "club_path_deg": (("Sving", "Klubb"), ("bana", "spår", "väg")),
        "face_angle_deg": (("Blad", "Klubblads"), ("vinkel", "riktning", "-vinkel")),
        "dynamic_loft_deg": (("Dynamiskt", "Dyn."), (" loft",)),
        "launch_angle_deg": (("Utgångs", "Start"), ("vinkel", "-vinkel")),
        "launch_direction_deg": (("Utgångs", "Start"), ("riktning", "-riktning")),
        "spin_rate_rpm": (("Spinn", "Spin", "Total spinn"), ("", "hastighet")),
        "spin_axis_deg": (("Spinn", "Rotations"), ("axel", "axelns lutning", "axel, lutning")),
        "carry_m": (("Carry", "Flyg", "Bär"), ("längd", "-längd")),
        "carry_side_m": (("Sid", "Carry, sid", "Sido"), ("avvikelse", "-avvikelse")),
        "total_m": (("Total", "Slut"), ("längd", "-längd")),
        "total_side_m": (("Total ", "Slutlig "), ("sidavvikelse", "avvikelse i sidled")),
        "apex_m": (("Max", "Topp", "Högsta "), ("höjd", "höjd")),
        "descent_angle_deg": (("Landnings", "Nedslags"), ("vinkel", "-vinkel")),
        "hang_time_s": (("Flyg", "Luft", "Häng"), ("tid", "-tid")),
    },
}  # fmt: skip
_ENGLISH_ORDERS = (
    "{a} {b}",
    "{b} of {a}",
    "{b} ({a})",
    "{a}: {b}",
    "{a} - {b}",
    "{b}, {a}",
    "{a}_{b}",
)


def composed_heading(name: str, language: str, rng: np.random.Generator) -> str | None:
    """A heading made of parts, None for columns that have none."""
    parts = PARTS[language].get(name)
    if parts is None:
        return None
    first, second = (str(pick(rng, choices)) for choices in parts)
    if language != "en":
        return (first + second).strip()
    if not second:
        return first.capitalize()
    made = str(pick(rng, _ENGLISH_ORDERS)).format(a=first, b=second)
    return made.upper() if rng.random() < 0.1 else made[0].upper() + made[1:]
