-- relation: carry_by_club
-- comment: Carry and spread in still air for each club, swing and ball of a player.
-- grain: player, club, swing, ball
-- columns:
--   shots: Shots with a carry that the fit used
--   sessions: Sessions that they come from
--   carry_m: Centre of clean strikes in still air as the player hits now, all clubs asked [m]
--   carry_se_m: Standard error of that centre [m]
--   carry_mean_m: Centre of clean strikes in still air over all sessions alike [m]
--   carry_sd_m: Spread (standard deviation) of clean strikes [m]
--   carry_within_sd_m: Part of that spread within a session [m]
--   carry_between_sd_m: Part of that spread from session to session [m]
--   carry_p10_m: Nine of ten next shots, mishits included, carry at least this [m]
--   carry_p90_m: Nine of ten next shots, mishits included, carry at most this [m]
--   session_carry_p10_m: Nine of ten next sessions centre at least here [m]
--   session_carry_p90_m: Nine of ten next sessions centre at most here [m]
--   side_m: Centre across the target line as the player aims now, right positive [m]
--   side_se_m: Standard error of the centre across [m]
--   side_sd_m: Spread (standard deviation) across the target line [m]
--   mishit_rate: Share of mishits
--   provisional: One session only, so day-to-day drift is not known from the player's own shots
--   fitted_at: When the newest load of the player was committed; fits follow at once [UTC]
--   model_version: Version of the models
CREATE OR REPLACE VIEW carry_by_club AS
SELECT
    c.player, c.club, c.swing, c.ball, c.shots, c.sessions,
    c.carry_m, yards(c.carry_m) AS carry_yd,
    c.carry_se_m, yards(c.carry_se_m) AS carry_se_yd,
    c.carry_mean_m, yards(c.carry_mean_m) AS carry_mean_yd,
    c.carry_sd_m, yards(c.carry_sd_m) AS carry_sd_yd,
    c.carry_within_sd_m, yards(c.carry_within_sd_m) AS carry_within_sd_yd,
    c.carry_between_sd_m, yards(c.carry_between_sd_m) AS carry_between_sd_yd,
    c.carry_p10_m, yards(c.carry_p10_m) AS carry_p10_yd,
    c.carry_p90_m, yards(c.carry_p90_m) AS carry_p90_yd,
    c.session_carry_p10_m, yards(c.session_carry_p10_m) AS session_carry_p10_yd,
    c.session_carry_p90_m, yards(c.session_carry_p90_m) AS session_carry_p90_yd,
    c.side_m, yards(c.side_m) AS side_yd,
    c.side_se_m, yards(c.side_se_m) AS side_se_yd,
    c.side_sd_m, yards(c.side_sd_m) AS side_sd_yd,
    c.mishit_rate, c.provisional, p.fitted_at, p.model_version
FROM fits.carry AS c
INNER JOIN fits.players AS p ON p.player = c.player
ORDER BY c.player, c.carry_m DESC;
