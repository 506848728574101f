-- relation: carry_in
-- comment: Expected carry, side and spread of a player's club in given conditions, a row a swing
--   and ball. Head wind (against) and cross wind (pushing right) in m/s, air temperature in degC,
--   altitude in m. Good for winds to 12 m/s, -5 to 40 degC and 0 to 2,500 m; beyond, the
--   conditions are held at those limits, and the column held says which; else it is NULL. Where a
--   condition is NULL, so are carry, side and spread.
CREATE OR REPLACE MACRO carry_in(
    player, club, headwind := 0.0, crosswind := 0.0, air_temp := 23.888888888888889, altitude := 0.0
) AS TABLE
WITH conditions AS (
    SELECT -- least and greatest pass NULL over, so what is unknown must be kept from them
        CASE WHEN headwind IS NOT NULL THEN greatest(-12.0, least(12.0, headwind)) END AS x_head,
        CASE WHEN crosswind IS NOT NULL THEN greatest(-12.0, least(12.0, crosswind)) END AS x_cross,
        CASE WHEN air_temp IS NOT NULL
             THEN greatest(-5.0, least(40.0, air_temp)) - 23.888888888888889 END AS x_warmer,
        CASE WHEN altitude IS NOT NULL THEN greatest(0.0, least(2500.0, altitude)) END AS x_up,
        nullif(concat_ws('; ',
            CASE WHEN abs(headwind) > 12 THEN format('wind held at {:.0f} m/s along', x_head) END,
            CASE WHEN abs(crosswind) > 12 THEN format('wind held at {:.0f} m/s across', x_cross) END,
            CASE WHEN air_temp NOT BETWEEN -5 AND 40
                 THEN format('air held at {:.0f} degC', greatest(-5.0, least(40.0, air_temp))) END,
            CASE WHEN altitude NOT BETWEEN 0 AND 2500
                 THEN format('altitude held at {:.0f} m', x_up) END
        ), '') AS held
),
changes AS (
    SELECT
        t.swing AS t_swing,
        sum(t.carry_change_m * m.monomial) AS d_carry,
        sum(t.side_change_m * m.monomial) AS d_side,
        sum(t.carry_sd_change * m.monomial) AS d_carry_sd,
        sum(t.side_sd_change * m.monomial) AS d_side_sd
    FROM fits.wind_responses AS t
    CROSS JOIN conditions AS x
    CROSS JOIN LATERAL (
        SELECT x.x_head ** t.head_wind_power * x.x_cross ** t.cross_wind_power
            * x.x_warmer ** t.air_temp_power * x.x_up ** t.altitude_power AS monomial
    ) AS m
    WHERE t.player = player AND t.club = club
    GROUP BY t.swing
)
SELECT
    c.player AS player, c.club AS club, c.swing, c.ball,
    c.carry_m + d.d_carry AS carry_m, (c.carry_m + d.d_carry) / 0.9144 AS carry_yd,
    c.side_m + d.d_side AS side_m, (c.side_m + d.d_side) / 0.9144 AS side_yd,
    c.carry_sd_m * (1 + d.d_carry_sd) AS carry_sd_m,
    c.carry_sd_m * (1 + d.d_carry_sd) / 0.9144 AS carry_sd_yd,
    c.side_sd_m * (1 + d.d_side_sd) AS side_sd_m,
    c.side_sd_m * (1 + d.d_side_sd) / 0.9144 AS side_sd_yd,
    (SELECT x.held FROM conditions AS x) AS held
FROM fits.carry AS c
INNER JOIN changes AS d ON d.t_swing = c.swing
WHERE c.player = player AND c.club = club
ORDER BY c.swing, c.ball;
