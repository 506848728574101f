-- relation: sessions
-- comment: Sessions: one player's continuous visit.
-- grain: a session
-- columns:
--   started_at: When the first shot was struck; NULL where unknown [UTC]
--   ended_at: When the last shot was struck; NULL where unknown [UTC]
--   shots: Shots in the session; one that a later export gives again counts once
--   clubs: Clubs used, in order of use
--   balls: Kinds of ball used
--   surfaces: What the ball was struck from
--   wind_speed_mps: Mean recorded wind speed, at the height of wind_height [m/s]
--   wind_from_deg: Recorded direction that the wind comes from [deg]
--   air_temp_c: Mean air temperature [degC]
--   air_pressure_hpa: Mean station pressure [hPa]
--   humidity_pct: Mean relative humidity [%]
--   altitude_m: Height above sea level [m]
--   conditions: Recorded wind and air in plain words
--   wind_source: recorded, recovered (from the shots), or assumed-calm
--   head_wind_mps: Wind against the shot reckoned with, as the ball meets it; helping is < 0 [m/s]
--   head_wind_se_mps: Standard error of the head wind [m/s]
--   cross_wind_mps: Wind pushing the ball right reckoned with, likewise; left is negative [m/s]
--   cross_wind_se_mps: Standard error of the cross wind [m/s]
--   wind_reason: Why the wind is taken so, in plain words
--   excluded: Whether the user left the session out of the fits
--   moved: Whether the user moved it, or shots of it, here from another player
--   merged: Of how many visits the user merged it; 1 where it is one
CREATE OR REPLACE VIEW sessions AS
-- A session is one player's; grouped by player too, so that who asks for one reads only his shots.
WITH first_uses AS (
    SELECT player, session_id, club,
           min(struck_at) AS first_struck_at, min(shot_number) AS first_shot
    FROM ledger.counted_shots
    GROUP BY player, session_id, club
),
clubs_in_order AS (
    SELECT player, session_id,
        -- By name at last: two exports of one visit may begin at the same time and number.
        string_agg(club, ', ' ORDER BY first_struck_at NULLS LAST, first_shot, club) AS clubs
    FROM first_uses
    GROUP BY player, session_id
),
visits AS (
    SELECT player, session_id, min(struck_at) AS started_at, max(struck_at) AS ended_at, count(*) AS shots,
        string_agg(DISTINCT ball, ', ' ORDER BY ball) AS balls, string_agg(DISTINCT surface, ', ' ORDER BY surface) AS surfaces,
        avg(wind_speed_mps) AS wind_speed_mps,
        CASE WHEN min(wind_from_deg) = max(wind_from_deg) THEN min(wind_from_deg) END AS wind_from_deg,
        CASE WHEN min(wind_height) = max(wind_height) THEN min(wind_height) END AS wind_height,
        avg(air_temp_c) AS air_temp_c, avg(air_pressure_hpa) AS air_pressure_hpa,
        avg(humidity_pct) AS humidity_pct, avg(altitude_m) AS altitude_m
    FROM ledger.counted_shots
    GROUP BY player, session_id
)
SELECT
    v.session_id, v.player, v.started_at, v.ended_at, v.shots,
    c.clubs, v.balls, v.surfaces,
    v.wind_speed_mps, mph(v.wind_speed_mps) AS wind_speed_mph, v.wind_from_deg,
    v.wind_height, v.air_temp_c, v.air_pressure_hpa, v.humidity_pct, v.altitude_m,
    concat_ws(', ',
        CASE WHEN v.wind_speed_mps IS NOT NULL THEN format(
            'wind {:.1f} m/s ({:.0f} mph)', v.wind_speed_mps, mph(v.wind_speed_mps)) END,
        CASE v.wind_height WHEN 'weather' THEN 'as a weather report has it'
            WHEN 'player' THEN 'read by hand' WHEN 'ball' THEN 'as the ball meets it' END,
        CASE WHEN v.wind_from_deg IS NOT NULL THEN format('from {:.0f} deg', v.wind_from_deg) END,
        CASE WHEN v.air_temp_c IS NOT NULL
             THEN format('{:.0f} degC ({:.0f} degF)', v.air_temp_c, 32 + 1.8 * v.air_temp_c) END,
        CASE WHEN v.altitude_m IS NOT NULL
             THEN format('{:.0f} m ({:.0f} ft) up', v.altitude_m, v.altitude_m / 0.3048) END
    ) AS conditions,
    coalesce(w.wind_source, 'assumed-calm') AS wind_source,
    w.head_wind_mps, mph(w.head_wind_mps) AS head_wind_mph,
    w.head_wind_se_mps, mph(w.head_wind_se_mps) AS head_wind_se_mph,
    w.cross_wind_mps, mph(w.cross_wind_mps) AS cross_wind_mph,
    w.cross_wind_se_mps, mph(w.cross_wind_se_mps) AS cross_wind_se_mph,
    w.wind_reason,
    coalesce(d.excluded, false) AS excluded, coalesce(a.moved, false) AS moved, coalesce(a.parts, 1) AS merged
FROM visits AS v
INNER JOIN clubs_in_order AS c ON c.player = v.player AND c.session_id = v.session_id
LEFT JOIN fits.session_winds AS w ON w.player = v.player AND w.session_id = v.session_id
LEFT JOIN ledger.arranged_sessions AS a ON a.player = v.player AND a.session_id = v.session_id
LEFT JOIN ledger.current_decisions AS d ON d.session_id = v.session_id;
