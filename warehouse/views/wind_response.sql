-- relation: wind_response
-- comment: What wind, temperature and altitude do to a club's still-air carry and side.
-- grain: player, club, swing
-- columns:
--   headwind_carry_m: Change of carry in a head wind of 5 m/s (11 mph) as the ball meets it [m]
--   tailwind_carry_m: Change of carry in a helping wind of 5 m/s [m]
--   crosswind_side_m: Change of side in a wind of 5 m/s from the left; from the right it is about
--     the opposite [m]
--   crosswind_carry_m: Change of carry in that cross wind [m]
--   warm_carry_m: Change of carry 10 degC above 23.9 degC [m]
--   cold_carry_m: Change of carry 10 degC below 23.9 degC [m]
--   altitude_carry_m: Change of carry 1,000 m above sea level [m]
--   headwind_apex_m: Change of apex in that head wind [m]
--   headwind_carry_sd_change: Relative change of the spread of carry in that head wind
--   launch_basis: typical-launch of the player's own shots, or assumed-launch
CREATE OR REPLACE VIEW wind_response AS
WITH conditions (name, head, cross_, warmer, up) AS (
    VALUES ('head', 5.0, 0.0, 0.0, 0.0), ('tail', -5.0, 0.0, 0.0, 0.0),
        ('cross', 0.0, 5.0, 0.0, 0.0), ('warm', 0.0, 0.0, 10.0, 0.0),
        ('cold', 0.0, 0.0, -10.0, 0.0), ('up', 0.0, 0.0, 0.0, 1000.0)
),
changes AS (
    SELECT
        t.player, t.club, t.swing, c.name, any_value(t.launch_basis) AS launch_basis,
        sum(t.carry_change_m * monomial) AS carry_m,
        sum(t.side_change_m * monomial) AS side_m,
        sum(t.apex_change_m * monomial) AS apex_m,
        sum(t.carry_sd_change * monomial) AS carry_sd
    FROM fits.wind_responses AS t
    CROSS JOIN conditions AS c
    CROSS JOIN LATERAL (
        SELECT c.head ** t.head_wind_power * c.cross_ ** t.cross_wind_power
            * c.warmer ** t.air_temp_power * c.up ** t.altitude_power AS monomial
    )
    GROUP BY t.player, t.club, t.swing, c.name
),
side_by_side AS (
    SELECT
        player, club, swing, any_value(launch_basis) AS launch_basis,
        any_value(carry_m) FILTER (name = 'head') AS headwind_carry_m,
        any_value(carry_m) FILTER (name = 'tail') AS tailwind_carry_m,
        any_value(side_m) FILTER (name = 'cross') AS crosswind_side_m,
        any_value(carry_m) FILTER (name = 'cross') AS crosswind_carry_m,
        any_value(carry_m) FILTER (name = 'warm') AS warm_carry_m,
        any_value(carry_m) FILTER (name = 'cold') AS cold_carry_m,
        any_value(carry_m) FILTER (name = 'up') AS altitude_carry_m,
        any_value(apex_m) FILTER (name = 'head') AS headwind_apex_m,
        any_value(carry_sd) FILTER (name = 'head') AS headwind_carry_sd_change
    FROM changes
    GROUP BY player, club, swing
)
SELECT
    player, club, swing,
    headwind_carry_m, yards(headwind_carry_m) AS headwind_carry_yd,
    tailwind_carry_m, yards(tailwind_carry_m) AS tailwind_carry_yd,
    crosswind_side_m, yards(crosswind_side_m) AS crosswind_side_yd,
    crosswind_carry_m, yards(crosswind_carry_m) AS crosswind_carry_yd,
    warm_carry_m, yards(warm_carry_m) AS warm_carry_yd,
    cold_carry_m, yards(cold_carry_m) AS cold_carry_yd,
    altitude_carry_m, yards(altitude_carry_m) AS altitude_carry_yd,
    headwind_apex_m, yards(headwind_apex_m) AS headwind_apex_yd,
    headwind_carry_sd_change, launch_basis
FROM side_by_side
ORDER BY player, club, swing;
