-- relation: fits.shot_distributions
-- comment: Everything needed to draw the next shot of a club, swing and ball.
-- grain: player, club, swing, ball
CREATE TABLE IF NOT EXISTS fits.shot_distributions (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    shots INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    carry_m DOUBLE NOT NULL,
    side_m DOUBLE NOT NULL,
    carry_se_m DOUBLE NOT NULL,
    side_se_m DOUBLE NOT NULL,
    within_carry_sd_m DOUBLE NOT NULL,
    within_side_sd_m DOUBLE NOT NULL,
    within_correlation DOUBLE NOT NULL,
    between_carry_sd_m DOUBLE NOT NULL,
    between_side_sd_m DOUBLE NOT NULL,
    degrees_of_freedom DOUBLE NOT NULL,
    mishit_rate DOUBLE NOT NULL,
    mishit_shortfall_m DOUBLE NOT NULL,
    mishit_long_share DOUBLE NOT NULL,
    mishit_side_scale_m DOUBLE NOT NULL,
    side_known BOOLEAN NOT NULL,
    model_version VARCHAR NOT NULL,
    PRIMARY KEY (player, club, swing, ball)
);
