-- relation: shot_distribution
-- comment: Parameters of the next shot of a club, swing and ball in still air, for samplers.
-- grain: player, club, swing, ball
-- columns:
--   shots: Shots that the fit used
--   sessions: Sessions that they come from
--   carry_m: Centre of clean strikes along the target line, as the player hits now [m]
--   side_m: Centre of clean strikes across it as the player aims now, right positive [m]
--   carry_se_m: Standard error of the centre along [m]
--   side_se_m: Standard error of the centre across [m]
--   within_carry_sd_m: Spread along within a session [m]
--   within_side_sd_m: Spread across within a session [m]
--   within_correlation: Correlation of along and across within a session
--   between_carry_sd_m: Spread of session centres along [m]
--   between_side_sd_m: Spread of session centres across [m]
--   degrees_of_freedom: Degrees of freedom of the bivariate t of clean strikes
--   mishit_rate: Share of mishits
--   mishit_shortfall_m: Mean loss of carry of a mishit, a gamma of shape 2 [m]
--   mishit_long_share: Share of mishits that fly too far instead
--   mishit_side_scale_m: Scale across of a mishit, a t with 3 degrees of freedom [m]
--   side_known: Whether any shot had a side; if not, the side is the population's
--   model_version: Version of the models
CREATE OR REPLACE VIEW shot_distribution AS
SELECT
    player, club, swing, ball, shots, sessions,
    carry_m, yards(carry_m) AS carry_yd,
    side_m, yards(side_m) AS side_yd,
    carry_se_m, yards(carry_se_m) AS carry_se_yd,
    side_se_m, yards(side_se_m) AS side_se_yd,
    within_carry_sd_m, yards(within_carry_sd_m) AS within_carry_sd_yd,
    within_side_sd_m, yards(within_side_sd_m) AS within_side_sd_yd,
    within_correlation,
    between_carry_sd_m, yards(between_carry_sd_m) AS between_carry_sd_yd,
    between_side_sd_m, yards(between_side_sd_m) AS between_side_sd_yd,
    degrees_of_freedom, mishit_rate,
    mishit_shortfall_m, yards(mishit_shortfall_m) AS mishit_shortfall_yd,
    mishit_long_share,
    mishit_side_scale_m, yards(mishit_side_scale_m) AS mishit_side_scale_yd,
    side_known, model_version
FROM fits.shot_distributions
ORDER BY player, carry_m DESC, club, swing, ball;
