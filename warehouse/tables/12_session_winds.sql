-- relation: fits.session_winds
-- comment: The wind that each session was brought to still air with.
-- grain: session
CREATE TABLE IF NOT EXISTS fits.session_winds (
    player VARCHAR NOT NULL,
    session_id VARCHAR NOT NULL,
    wind_source VARCHAR,
    wind_speed_mps DOUBLE,
    wind_from_deg DOUBLE,
    head_wind_mps DOUBLE,
    head_wind_se_mps DOUBLE,
    head_wind_estimate_mps DOUBLE,
    head_wind_estimate_se_mps DOUBLE,
    head_wind_low_mps DOUBLE,
    head_wind_high_mps DOUBLE,
    cross_wind_mps DOUBLE,
    cross_wind_se_mps DOUBLE,
    cross_wind_estimate_mps DOUBLE,
    cross_wind_estimate_se_mps DOUBLE,
    cross_wind_low_mps DOUBLE,
    cross_wind_high_mps DOUBLE,
    shots_used INTEGER,
    wind_reason VARCHAR,
    PRIMARY KEY (player, session_id)
);
