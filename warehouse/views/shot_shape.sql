-- relation: shot_shape
-- comment: Where a player's shots start and how they curve, by club.
-- grain: player, club
-- columns:
--   shots: Clean full swings with start direction and side (part swings if there are no others)
--   start_direction_deg: Centre of the start direction, right positive [deg]
--   start_direction_se_deg: Its standard error [deg]
--   start_direction_sd_deg: Spread of the start direction [deg]
--   curve_deg: Centre of the curve, direction of landing less start direction [deg]
--   curve_se_deg: Its standard error [deg]
--   curve_sd_deg: Spread of the curve [deg]
--   share_curving_right: Share of shots that curve right by more than 1 deg
--   share_curving_left: Share of shots that curve left by more than 1 deg
--   share_straight: Share of shots that curve by no more than 1 deg
--   stock_shape: The curve that comes most often, in words; fade and draw where the player's hand
--     is known
--   share_stock_shape: Share of shots that curve so
--   share_stock_low: Lower end of its 90 % interval
--   share_stock_high: Upper end of its 90 % interval
--   share_other_shape: Share of shots that curve to the rarer side
--   share_other_low: Lower end of its 90 % interval
--   share_other_high: Upper end of its 90 % interval
--   two_way: Whether the other shape is too common for one side to be counted on
--   width_m: Width across the target line that holds 80 % of the shots [m]
--   width_stock_m: The same for shots of the stock shape alone; NULL unless two curves explain the
--     shots better than one [m]
--   width_gain_m: Fairway width gained by one dependable shape [m]
--   width_gain_se_m: Its standard error [m]
CREATE OR REPLACE VIEW shot_shape AS
SELECT
    player, club, shots,
    start_direction_deg, start_direction_se_deg, start_direction_sd_deg,
    curve_deg, curve_se_deg, curve_sd_deg,
    share_curving_right, share_curving_left, share_straight, stock_shape,
    share_stock_shape, share_stock_low, share_stock_high,
    share_other_shape, share_other_low, share_other_high, two_way,
    width_m, yards(width_m) AS width_yd,
    width_stock_m, yards(width_stock_m) AS width_stock_yd,
    width_gain_m, yards(width_gain_m) AS width_gain_yd,
    width_gain_se_m, yards(width_gain_se_m) AS width_gain_se_yd
FROM fits.shot_shapes
ORDER BY player, club;
