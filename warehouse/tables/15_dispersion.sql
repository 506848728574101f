-- relation: fits.dispersion
-- comment: Ellipses that hold given shares of the next shots.
-- grain: player, club, swing, ball, level
CREATE TABLE IF NOT EXISTS fits.dispersion (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    level DOUBLE NOT NULL,
    shots INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    centre_carry_m DOUBLE NOT NULL,
    centre_side_m DOUBLE NOT NULL,
    half_axis_long_m DOUBLE NOT NULL,
    half_axis_short_m DOUBLE NOT NULL,
    angle_deg DOUBLE NOT NULL,
    area_m2 DOUBLE NOT NULL,
    shots_held_out INTEGER,
    share_inside DOUBLE,
    provisional BOOLEAN NOT NULL,
    PRIMARY KEY (player, club, swing, ball, level)
);
