-- relation: putting_start_line
-- comment: How straight a player's putts start, and what that holes from 5 ft on a level green.
-- grain: player, break
-- columns:
--   break: Which putts: all of them, or those whose export says that they break left-to-right, break
--     right-to-left or are straight; never guessed
--   putts: Putts with a start direction
--   sessions: Sessions that they come from
--   start_direction_deg: Mean start direction, right positive [deg]; of putts that break it holds
--     the line that was read, where the export measures against the hole
--   start_direction_se_deg: Its standard error [deg]
--   start_sd_deg: Spread of the start direction as measured, scatter of the device included [deg]
--   start_sd_low_deg: Lower end of its 90 % interval [deg]
--   start_sd_high_deg: Upper end of its 90 % interval [deg]
--   share_holed_dead_weight: Share holed from 5 ft with no pace left at the hole, started so; NULL
--     for putts that break, of which a level green says nothing
--   share_holed_dead_weight_low: Lower end of its 90 % interval
--   share_holed_dead_weight_high: Upper end of its 90 % interval
--   share_holed_firm: Share holed from 5 ft at 0.5 m/s past the hole, started so
--   share_holed_firm_low: Lower end of its 90 % interval
--   share_holed_firm_high: Upper end of its 90 % interval
--   share_holed_hard: Share holed from 5 ft at 0.9 m/s past the hole, started so
--   share_holed_hard_low: Lower end of its 90 % interval
--   share_holed_hard_high: Upper end of its 90 % interval
--   against_rule_of_thumb: Against the trade's half a degree to one degree (no source)
CREATE OR REPLACE VIEW putting_start_line AS
SELECT
    player, break, putts, sessions, start_direction_deg, start_direction_se_deg,
    start_sd_deg, start_sd_low_deg, start_sd_high_deg,
    share_holed_dead_weight, share_holed_dead_weight_low, share_holed_dead_weight_high,
    share_holed_firm, share_holed_firm_low, share_holed_firm_high,
    share_holed_hard, share_holed_hard_low, share_holed_hard_high,
    against_rule_of_thumb
FROM fits.putting_start_lines
ORDER BY player, break;
