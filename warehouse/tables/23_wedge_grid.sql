-- relation: fits.wedge_grid
-- comment: Wedges and swings for each distance, ranked by expected miss.
-- grain: player, ball, target, rank
CREATE TABLE IF NOT EXISTS fits.wedge_grid (
    player VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    target_yd INTEGER NOT NULL,
    target_m DOUBLE,
    rank INTEGER NOT NULL,
    club VARCHAR,
    swing VARCHAR,
    carry_m DOUBLE,
    carry_se_m DOUBLE,
    carry_sd_m DOUBLE,
    expected_miss_m DOUBLE,
    shots INTEGER,
    provisional BOOLEAN,
    hole BOOLEAN,
    hole_note VARCHAR,
    apex_m DOUBLE,
    headwind_change_m DOUBLE,
    crosswind_side_m DOUBLE,
    PRIMARY KEY (player, ball, target_yd, rank)
);
