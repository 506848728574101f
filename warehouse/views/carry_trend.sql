-- relation: carry_trend
-- comment: Carry and spread in still air session by session, with the level over time.
-- grain: player, club, swing, ball, session
-- columns:
--   started_at: When the session began; NULL where unknown [UTC]
--   shots: Shots of that club and swing in the session
--   carry_m: Centre of clean strikes in that session [m]
--   carry_sd_m: Spread of clean strikes in that session [m]
--   level_m: Level of carry after that session [m]
--   level_low_m: Lower end of the level's 90 % interval [m]
--   level_high_m: Upper end of the level's 90 % interval [m]
CREATE OR REPLACE VIEW carry_trend AS
SELECT
    player, club, swing, ball, session_id, started_at, shots,
    carry_m, carry_m / 0.9144 AS carry_yd,
    carry_sd_m, carry_sd_m / 0.9144 AS carry_sd_yd,
    level_m, level_m / 0.9144 AS level_yd,
    level_low_m, level_low_m / 0.9144 AS level_low_yd,
    level_high_m, level_high_m / 0.9144 AS level_high_yd
FROM fits.carry_sessions
ORDER BY player, club, swing, ball, started_at, session_id;
