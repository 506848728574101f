-- relation: fits.monitors
-- comment: How far the monitors of a player read from the one that measured most sessions.
-- grain: player, monitor
CREATE TABLE IF NOT EXISTS fits.monitors (
    player VARCHAR NOT NULL,
    monitor VARCHAR NOT NULL,
    named BOOLEAN NOT NULL,
    reference BOOLEAN NOT NULL,
    shots INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    sessions_in_common INTEGER NOT NULL,
    carry_offset DOUBLE,
    carry_offset_se DOUBLE,
    carry_offset_low DOUBLE,
    carry_offset_high DOUBLE,
    ball_speed_offset DOUBLE,
    ball_speed_offset_se DOUBLE,
    ball_speed_offset_low DOUBLE,
    ball_speed_offset_high DOUBLE,
    apart BOOLEAN NOT NULL,
    told VARCHAR NOT NULL,
    PRIMARY KEY (player, monitor)
);
