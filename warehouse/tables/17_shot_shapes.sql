-- relation: fits.shot_shapes
-- comment: Start direction, curve and stock shape.
-- grain: player, club
CREATE TABLE IF NOT EXISTS fits.shot_shapes (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    shots INTEGER,
    start_direction_deg DOUBLE,
    start_direction_se_deg DOUBLE,
    start_direction_sd_deg DOUBLE,
    curve_deg DOUBLE,
    curve_se_deg DOUBLE,
    curve_sd_deg DOUBLE,
    share_curving_right DOUBLE,
    share_curving_left DOUBLE,
    share_straight DOUBLE,
    stock_shape VARCHAR,
    share_stock_shape DOUBLE,
    share_stock_low DOUBLE,
    share_stock_high DOUBLE,
    share_other_shape DOUBLE,
    share_other_low DOUBLE,
    share_other_high DOUBLE,
    two_way BOOLEAN,
    width_m DOUBLE,
    width_stock_m DOUBLE,
    width_gain_m DOUBLE,
    width_gain_se_m DOUBLE,
    PRIMARY KEY (player, club)
);
