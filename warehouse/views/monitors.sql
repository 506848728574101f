-- relation: monitors
-- comment: How far each monitor that measured a player reads from the one that measured most of the
--   player's sessions. Still-air carries, levels, trends, flags and spreads have these offsets
--   taken off, so that a change of monitor is no change of the player.
-- grain: player, monitor
-- columns:
--   monitor: What measured, as export, note or settings name it; where none does, the layout of the
--     export stands in for the model; 'unknown' where neither is known
--   named: Whether it has a name; no where a layout stands in
--   reference: Whether the others are held against it
--   shots: Shots with carry that it measured
--   sessions: Sessions that it measured
--   sessions_in_common: Sessions of which it measured a part, and another monitor another
--   carry_offset: How much farther it reads than the reference, in carry [%]
--   carry_offset_se: Its standard error [%]
--   carry_offset_low: Lower end of its 90 % interval [%]
--   carry_offset_high: Upper end of its 90 % interval [%]
--   ball_speed_offset: How much more ball speed it reads; NULL where it has none [%]
--   ball_speed_offset_se: Its standard error [%]
--   ball_speed_offset_low: Lower end of its 90 % interval [%]
--   ball_speed_offset_high: Upper end of its 90 % interval [%]
--   apart: Whether it reads otherwise beyond doubt, in carry or in ball speed
--   told: The same in a sentence
CREATE OR REPLACE VIEW monitors AS
SELECT
    player, monitor, named, reference, shots, sessions, sessions_in_common,
    carry_offset, carry_offset_se, carry_offset_low, carry_offset_high,
    ball_speed_offset, ball_speed_offset_se, ball_speed_offset_low, ball_speed_offset_high,
    apart, told
FROM fits.monitors
ORDER BY player, reference DESC, monitor;
