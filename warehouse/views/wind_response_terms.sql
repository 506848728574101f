-- relation: wind_response_terms
-- comment: Coefficients that the macro carry_in sums: change = sum of coefficient x monomial.
-- grain: player, club, swing, four powers
-- columns:
--   head_wind_power: Power of the head wind, against positive, in m/s
--   cross_wind_power: Power of the cross wind, pushing right positive, in m/s
--   air_temp_power: Power of the air temperature less 23.9 degC
--   altitude_power: Power of the height above sea level in m
--   carry_change_m: Coefficient of the change of carry [m]
--   side_change_m: Coefficient of the change of side, right positive [m]
--   apex_change_m: Coefficient of the change of apex [m]
--   carry_sd_change: Coefficient of the relative change of the spread of carry
--   side_sd_change: Coefficient of the relative change of the spread of side
--   launch_basis: typical-launch of the player's own shots, or assumed-launch
CREATE OR REPLACE VIEW wind_response_terms AS
SELECT
    player, club, swing, head_wind_power, cross_wind_power, air_temp_power, altitude_power,
    carry_change_m, yards(carry_change_m) AS carry_change_yd,
    side_change_m, yards(side_change_m) AS side_change_yd,
    apex_change_m, yards(apex_change_m) AS apex_change_yd,
    carry_sd_change, side_sd_change, launch_basis
FROM fits.wind_responses
ORDER BY ALL;
