-- relation: fits.carry
-- comment: Fitted carry and spread in still air.
-- grain: player, club, swing, ball
CREATE TABLE IF NOT EXISTS fits.carry (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    shots INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    carry_m DOUBLE NOT NULL,
    carry_se_m DOUBLE NOT NULL,
    carry_mean_m DOUBLE NOT NULL,
    carry_sd_m DOUBLE NOT NULL,
    carry_within_sd_m DOUBLE NOT NULL,
    carry_between_sd_m DOUBLE NOT NULL,
    carry_p10_m DOUBLE NOT NULL,
    carry_p90_m DOUBLE NOT NULL,
    session_carry_p10_m DOUBLE NOT NULL,
    session_carry_p90_m DOUBLE NOT NULL,
    side_m DOUBLE,
    side_se_m DOUBLE,
    side_sd_m DOUBLE,
    mishit_rate DOUBLE NOT NULL,
    provisional BOOLEAN NOT NULL,
    PRIMARY KEY (player, club, swing, ball)
);
