-- relation: fits.ball_calibrations
-- comment: Drag and lift of each ball as a player hits it, against the flight model.
-- grain: player, club, ball
CREATE TABLE IF NOT EXISTS fits.ball_calibrations (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    drag_scale DOUBLE,
    drag_scale_se DOUBLE,
    lift_scale DOUBLE,
    lift_scale_se DOUBLE,
    scale_correlation DOUBLE,
    shots_used INTEGER,
    sessions_used INTEGER,
    noise_scale DOUBLE,
    basis VARCHAR,
    reason VARCHAR,
    PRIMARY KEY (player, club, ball)
);
