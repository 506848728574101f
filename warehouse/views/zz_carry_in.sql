-- relation: carry_in
-- comment: Expected carry, side and spread of a player's club in given conditions, a row a swing
--   and ball. Head wind (against) and cross wind (pushing right) in m/s as the ball meets it (what a
--   weather report has, times 1.05; what is read by hand 2 m up, times 1.28), air temperature in
--   degC, altitude in m. Good for winds to 12 m/s, -5 to 40 degC and 0 to 2,500 m; beyond, the
--   conditions are held at those limits, and the column held says which; else it is NULL. Where a
--   condition is NULL, so are carry, side and spread. Columns can be given too: FROM sessions AS s,
--   LATERAL (FROM carry_in(s.player, '7-iron', headwind := s.head_wind_mps)) AS c.
CREATE OR REPLACE MACRO carry_in(
    player, club, headwind := 0.0, crosswind := 0.0, air_temp := 23.888888888888889, altitude := 0.0
) AS TABLE
WITH asked AS ( -- away from all tables: a column given as an argument must not find one of ours
    SELECT
        player AS asked_player, club AS asked_club,
        CAST(headwind AS DOUBLE) AS head, CAST(crosswind AS DOUBLE) AS cross_,
        CAST(air_temp AS DOUBLE) AS temp, CAST(altitude AS DOUBLE) AS up
),
conditions AS (
    SELECT -- least and greatest pass NULL over, so what is unknown must be kept from them
        asked_player, asked_club,
        CASE WHEN head IS NOT NULL THEN greatest(-12.0, least(12.0, head)) END AS x_head,
        CASE WHEN cross_ IS NOT NULL THEN greatest(-12.0, least(12.0, cross_)) END AS x_cross,
        CASE WHEN temp IS NOT NULL
             THEN greatest(-5.0, least(40.0, temp)) - 23.888888888888889 END AS x_warmer,
        CASE WHEN up IS NOT NULL THEN greatest(0.0, least(2500.0, up)) END AS x_up,
        nullif(concat_ws('; ',
            CASE WHEN abs(head) > 12
                 THEN format('wind held at {:.0f} m/s along', 12.0 * sign(head)) END,
            CASE WHEN abs(cross_) > 12
                 THEN format('wind held at {:.0f} m/s across', 12.0 * sign(cross_)) END,
            CASE WHEN temp NOT BETWEEN -5 AND 40
                 THEN format('air held at {:.0f} degC', greatest(-5.0, least(40.0, temp))) END,
            CASE WHEN up NOT BETWEEN 0 AND 2500
                 THEN format('altitude held at {:.0f} m', greatest(0.0, least(2500.0, up))) END
        ), '') AS held
    FROM asked
),
changes AS (
    SELECT
        t.player AS t_player, t.club AS t_club, t.swing AS t_swing, any_value(x.held) AS held,
        sum(t.carry_change_m * m.monomial) AS d_carry,
        sum(t.side_change_m * m.monomial) AS d_side,
        sum(t.carry_sd_change * m.monomial) AS d_carry_sd,
        sum(t.side_sd_change * m.monomial) AS d_side_sd
    FROM conditions AS x
    INNER JOIN fits.wind_responses AS t ON t.player = x.asked_player AND t.club = x.asked_club
    CROSS JOIN LATERAL (
        SELECT x.x_head ** t.head_wind_power * x.x_cross ** t.cross_wind_power
            * x.x_warmer ** t.air_temp_power * x.x_up ** t.altitude_power AS monomial
    ) AS m
    GROUP BY t.player, t.club, t.swing
)
SELECT
    c.player AS player, c.club AS club, c.swing, c.ball,
    c.carry_m + d.d_carry AS carry_m, yards(c.carry_m + d.d_carry) AS carry_yd,
    c.side_m + d.d_side AS side_m, yards(c.side_m + d.d_side) AS side_yd,
    c.carry_sd_m * (1 + d.d_carry_sd) AS carry_sd_m,
    yards(c.carry_sd_m * (1 + d.d_carry_sd)) AS carry_sd_yd,
    c.side_sd_m * (1 + d.d_side_sd) AS side_sd_m,
    yards(c.side_sd_m * (1 + d.d_side_sd)) AS side_sd_yd,
    d.held AS held
FROM changes AS d
INNER JOIN fits.carry AS c
    ON c.player = d.t_player AND c.club = d.t_club AND c.swing = d.t_swing
ORDER BY c.swing, c.ball;
