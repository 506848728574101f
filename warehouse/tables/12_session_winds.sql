-- relation: fits.session_winds
-- comment: The wind that each session's shots were brought to still air with.
-- grain: a session
-- columns:
--   wind_source: recorded, recovered from the shots, or assumed-calm
--   head_wind_mps: Wind against the shot; helping is negative [m/s]
--   head_wind_se_mps: Standard error of the head wind [m/s]
--   cross_wind_mps: Wind that pushes the ball right; left is negative [m/s]
--   cross_wind_se_mps: Standard error of the cross wind [m/s]
--   wind_reason: Why this source, in plain words
CREATE TABLE IF NOT EXISTS fits.session_winds (
    player VARCHAR NOT NULL,
    session_id VARCHAR NOT NULL,
    wind_source VARCHAR NOT NULL,
    head_wind_mps DOUBLE,
    head_wind_se_mps DOUBLE,
    cross_wind_mps DOUBLE,
    cross_wind_se_mps DOUBLE,
    wind_reason VARCHAR NOT NULL
);
