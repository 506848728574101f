-- relation: session_flags
-- comment: Sessions and clubs that stand out beyond a player's ordinary day-to-day drift.
-- grain: player, session, club, swing, ball, test
-- columns:
--   started_at: When the session began [UTC]
--   test: outcome (where the ball landed), launch (how it started), residual (where it landed
--     for how it started), or club (which carries as another usually does)
--   feature: What stands out most in that test
--   shift: How far the session as a whole is from the player's history, in shift_unit
--   club_shift: How far this club is, in shift_unit
--   shift_unit: % or deg
--   statistic: Normal deviate of the session's shift
--   threshold: What an ordinary session exceeds once in a hundred times
--   probability: Probability of a statistic so large in an ordinary session
--   past_sessions: Earlier sessions that it was compared with
--   cause: The likely cause in plain words
CREATE OR REPLACE VIEW session_flags AS
SELECT
    player, session_id, started_at, club, swing, ball, test, feature, shift, club_shift,
    shift_unit, statistic, threshold, probability, past_sessions, cause
FROM fits.session_flags
ORDER BY player, started_at, club, swing, ball, test;
