-- relation: fits.wind_responses
-- comment: Coefficients of the change of carry with wind and air, one monomial a row.
-- grain: player, club, swing, powers
CREATE TABLE IF NOT EXISTS fits.wind_responses (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    head_wind_power INTEGER NOT NULL,
    cross_wind_power INTEGER NOT NULL,
    air_temp_power INTEGER NOT NULL,
    altitude_power INTEGER NOT NULL,
    carry_change_m DOUBLE,
    side_change_m DOUBLE,
    apex_change_m DOUBLE,
    carry_sd_change DOUBLE,
    side_sd_change DOUBLE,
    launch_basis VARCHAR,
    PRIMARY KEY (player, club, swing, head_wind_power, cross_wind_power, air_temp_power, altitude_power)
);
