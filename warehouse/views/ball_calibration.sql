-- relation: ball_calibration
-- comment: Drag and lift of each ball as a player hits it, against the flight model.
-- grain: player, club, ball
-- columns:
--   drag_scale: Drag against the model's; 1 is the model's ball
--   drag_scale_se: Its standard error
--   lift_scale: Lift against the model's
--   lift_scale_se: Its standard error
--   scale_correlation: Correlation of the two errors
--   shots_used: Shots used
--   sessions_used: Sessions used
--   noise_scale: Scatter found against the scatter expected of a device
--   basis: fitted, or prior where the shots can't tell
--   reason: What it rests on, in plain words
CREATE OR REPLACE VIEW ball_calibration AS
SELECT
    player, club, ball, drag_scale, drag_scale_se, lift_scale, lift_scale_se,
    scale_correlation, shots_used, sessions_used, noise_scale, basis, reason
FROM fits.ball_calibrations
ORDER BY player, club, ball;
