-- relation: carry_trend
-- comment: Carry and spread in still air session by session, with the level behind them.
-- grain: player, club, swing, ball, session
-- columns:
--   started_at: When the session began; NULL where unknown [UTC]
--   shots: Shots of that club and swing in the session
--   clean_shots: Expected number of clean strikes among them
--   carry_m: Mean of the clean strikes of that session [m]
--   carry_se_m: Its standard error as a sample of that session [m]
--   carry_sd_m: Spread (standard deviation) of the clean strikes of that session [m]
--   level_m: Level of carry at that session, given all sessions and clubs; NULL without a date [m]
--   level_low_m: Lower end of its 90 % interval [m]
--   level_high_m: Upper end of its 90 % interval [m]
--   current_level_m: Level at the last session [m]
--   current_level_low_m: Lower end of its 90 % interval [m]
--   current_level_high_m: Upper end of its 90 % interval [m]
--   change_m: Change of the level from that session to the last [m]
--   change_low_m: Lower end of its 90 % interval [m]
--   change_high_m: Upper end of its 90 % interval [m]
--   changed: Whether all clubs together show that the last sessions differ from those up to this;
--     said wrongly of 5 % of players who have not changed
CREATE OR REPLACE VIEW carry_trend AS
SELECT
    player, club, swing, ball, session_id, started_at, shots, clean_shots,
    session_carry_m AS carry_m, yards(session_carry_m) AS carry_yd,
    session_carry_se_m AS carry_se_m, yards(session_carry_se_m) AS carry_se_yd,
    session_carry_sd_m AS carry_sd_m, yards(session_carry_sd_m) AS carry_sd_yd,
    level_m, yards(level_m) AS level_yd,
    level_low_m, yards(level_low_m) AS level_low_yd,
    level_high_m, yards(level_high_m) AS level_high_yd,
    current_level_m, yards(current_level_m) AS current_level_yd,
    current_level_low_m, yards(current_level_low_m) AS current_level_low_yd,
    current_level_high_m, yards(current_level_high_m) AS current_level_high_yd,
    change_m, yards(change_m) AS change_yd,
    change_low_m, yards(change_low_m) AS change_low_yd,
    change_high_m, yards(change_high_m) AS change_high_yd, changed
FROM fits.carry_sessions
ORDER BY player, club, swing, ball, started_at, session_id;
