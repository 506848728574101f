-- relation: wedge_grid
-- comment: Which wedge and swing for which distance, every 5 yd, ranked by the miss to expect.
-- grain: player, ball, target_yd, rank
-- columns:
--   target_yd: Distance to cover [yd]
--   target_m: Distance to cover [m]
--   rank: Rank by expected miss, 1 is the best
--   carry_m: Centre of clean strikes, rising with the swing and falling with the loft [m]
--   carry_se_m: Its standard error [m]
--   carry_sd_m: Spread of carry of the next clean shot [m]
--   expected_miss_m: Mean distance of the next shot from the target, mishits included [m]
--   shots: Shots that the fit used
--   provisional: One session only
--   hole: Whether no choice fits this distance
--   hole_note: Which hole in the grid it is, in words
--   apex_m: Usual height of the flight [m]
--   headwind_change_m: Change of carry in a head wind of 5 m/s (11 mph) [m]
--   crosswind_side_m: Change of side in a wind of 5 m/s from the left [m]
CREATE OR REPLACE VIEW wedge_grid AS
SELECT
    player, ball, target_yd, target_m, rank, club, swing,
    carry_m, yards(carry_m) AS carry_yd,
    carry_se_m, yards(carry_se_m) AS carry_se_yd,
    carry_sd_m, yards(carry_sd_m) AS carry_sd_yd,
    expected_miss_m, yards(expected_miss_m) AS expected_miss_yd,
    shots, provisional, hole, hole_note,
    apex_m, yards(apex_m) AS apex_yd,
    headwind_change_m, yards(headwind_change_m) AS headwind_change_yd,
    crosswind_side_m, yards(crosswind_side_m) AS crosswind_side_yd
FROM fits.wedge_grid
ORDER BY player, ball, target_yd, rank;
